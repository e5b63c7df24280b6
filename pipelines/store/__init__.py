"""The DuckDB store: what came in with its history, what runs worked out, what pages may read."""
