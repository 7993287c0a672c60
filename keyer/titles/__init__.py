"""Titles: lettering, panels, designs with named fields, movement, and the store of pages."""
