"""The pure engine: a building in, a design out. No files, no clock, no randomness, no web."""
