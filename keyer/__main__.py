"""`keyer` and `python -m keyer`: stops are heard before anything that takes time is loaded."""

from __future__ import annotations

import sys

from keyer.kinds import stopping


def run() -> None:
    """Run the `keyer` command and exit with its code."""
    try:
        stopping.listen()
        from keyer.cli.main import run as run_command

        run_command()
    except KeyboardInterrupt:
        stopping.take_back()
        print(f"keyer: {stopping.STOPPED}", file=sys.stderr)  # noqa: T201  nothing else is loaded
        stopping.leave(stopping.INTERRUPTED)


if __name__ == "__main__":
    run()
