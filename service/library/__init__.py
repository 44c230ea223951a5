"""Packaged data of the library and its one generic reader."""

from service.library.complaints import COMPLAINT_CODES, Complaint
from service.library.contents import Family, Library, LibraryDamagedError, library, overlaid

__all__ = ["COMPLAINT_CODES", "Complaint", "Family", "Library", "LibraryDamagedError", "library", "overlaid"]
