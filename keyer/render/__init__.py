"""The renderer: plans of frames, graphs of nodes, and pictures worked out from them."""
