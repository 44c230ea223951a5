"""Spreadsheets and many buildings: the command line and the batch runner."""
