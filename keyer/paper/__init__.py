"""Paper: how pictures and words are laid out on pages in millimetres; pixels or PDF of them."""
