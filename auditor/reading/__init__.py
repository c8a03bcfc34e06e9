"""Files to models: TOML, tables, secrets and profiles, and where each value stood."""
