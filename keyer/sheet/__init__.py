"""The effect sheet: a TOML document that says what happens when."""
