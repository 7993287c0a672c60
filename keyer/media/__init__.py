"""Picture files: the one place that opens them and the one that writes them."""
