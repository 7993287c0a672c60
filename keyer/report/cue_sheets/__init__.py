"""The cue sheet: one row an event, as a page or as CSV."""
