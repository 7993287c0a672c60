"""Arrays in, frozen dataclasses out: what a picture or a matte is worth."""
