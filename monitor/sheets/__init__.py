"""A resin's sheet: read from a TOML file, checked, kept."""
