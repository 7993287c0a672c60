"""Pages for a browser: each one file that needs nothing else, on a phone and on paper."""
