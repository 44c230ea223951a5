"""Packaged data of the library and its one generic reader."""
