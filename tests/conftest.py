"""Settings of the test run."""

from hypothesis import settings

# the same cases at every run; `pytest --hypothesis-profile=search` looks for others
settings.register_profile("steady", deadline=None, derandomize=True, max_examples=50)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile("steady")
