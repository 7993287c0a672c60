"""Pages in millimetres: what stands on them, and two ways to put them on paper."""
