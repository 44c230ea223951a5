"""The building as the integrator knows it: places, ways, outlets, users, and how short forms expand."""
