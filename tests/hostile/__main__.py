"""`python -m tests.hostile --count N`: as many hostile inputs as one likes."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.run import main

sys.exit(main())
