"""Evendrop's engine and its faces: the service for one building at a time and for other systems."""
