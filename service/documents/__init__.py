"""Everything that goes out: tables and their renderings."""
