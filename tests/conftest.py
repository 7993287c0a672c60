"""Settings of the test run."""

import os

from hypothesis import settings

settings.register_profile("ci", deadline=None, derandomize=True, max_examples=50)
settings.register_profile("local", deadline=None, max_examples=50)
settings.load_profile("ci" if os.environ.get("CI") else "local")
