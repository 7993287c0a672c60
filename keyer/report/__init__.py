"""What a rendered sheet amounts to: checks, and documents about them."""
