"""From a plan to pictures: the one renderer."""
