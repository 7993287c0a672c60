"""A key plate on paper: its survey, and the steps of a key."""
