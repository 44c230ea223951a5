"""Documents that come in: JSON to engine types, complaints with their place."""
