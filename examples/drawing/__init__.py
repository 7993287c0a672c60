"""What drew the pictures of the demo project."""
