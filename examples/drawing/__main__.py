"""`python -m examples.drawing FOLDER`: draw anew what the demo is made of."""

import sys
from pathlib import Path

from examples.drawing.media import draw_demo

if __name__ == "__main__":
    folder = Path(sys.argv[1])
    folder.mkdir()
    draw_demo(folder)
