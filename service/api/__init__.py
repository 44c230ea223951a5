"""HTTP only: one module per resource, views of a few lines."""
