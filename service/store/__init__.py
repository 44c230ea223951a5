"""Stored designs, over SQLAlchemy Core."""
