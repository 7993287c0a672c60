"""Arrays in, arrays out: the arithmetic of pictures. No paths, no models."""
