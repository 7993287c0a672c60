"""The pattern library: wipe patterns as data, read from `patterns/`."""
