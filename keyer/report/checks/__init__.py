"""The check of a spot: one walk over its frames, what each check looks at, its findings."""
