"""`python -m keyer`."""

from keyer.cli.main import run

run()
