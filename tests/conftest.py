"""Settings of the test run."""

import signal
import sys
import threading

import pytest
from hypothesis import settings

# the same cases at every run; `pytest --hypothesis-profile=search` looks for others
settings.register_profile("steady", deadline=None, derandomize=True, max_examples=50)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile("steady")

_heard = []


def _listen(event, arguments):
    if event == "open" and _heard[-1] is not None and isinstance(arguments[0], str):
        mode = arguments[1]
        if mode is None or "r" in mode:
            _heard[-1].add(arguments[0])


@pytest.fixture
def opened():
    """The files that Python opens to read while the test runs."""
    if not _heard:
        sys.addaudithook(_listen)  # it stays, and hears nothing where nobody asks
    found = set()
    _heard.append(found)
    yield found
    _heard[-1] = None


if threading.current_thread() is threading.main_thread():
    # where tests run in the background Ctrl-C is ignored, and programs that they start inherit that
    signal.signal(signal.SIGINT, signal.default_int_handler)
