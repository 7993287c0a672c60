"""TOML documents of any kind: read, checked against models, refused by path and line."""
