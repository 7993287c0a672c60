"""The `keyer` command: gathers the commands and turns errors into one line and an exit code."""

from __future__ import annotations

import gc
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module

import typer

from keyer.errors import KeyerError

DEFECT, REQUEST, INTERRUPTED = 1, 2, 130
STOPPED = "stopped; nothing was half-written."

COMMANDS = (
    "demo",
    "survey",
    "key",
    "wipe",
    "mix",
    "measure",
    "sheet",
    "rehearse",
    "still",
    "clip",
    "patterns",
    "title",
    "batch",
    "board",
    "remake",
    "cues",
    "check",
    "report",
)
"""In the order of the help; each is a module of `keyer.cli`."""


def _options(
    debug: bool = typer.Option(False, "--debug", help="Show the traceback of a defect."),
) -> None:
    """Options of every command; `--debug` is read by `run`."""


def _command_line(arguments: Sequence[str]) -> typer.Typer:
    """Gather the one command that is asked for, or all for the help: each takes a while."""
    app = typer.Typer(
        name="keyer",
        help="Decide a television effect before the control room is booked: see it, "
        "and measure it.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    app.callback()(_options)
    first = next((word for word in arguments if word != "--debug"), "")
    for name in (first,) if first in COMMANDS else COMMANDS:
        import_module(f"keyer.cli.{name}").register(app)
    return app


def _say(message: str) -> None:
    """Print one line on standard error."""
    print("keyer: " + " ".join(str(message).split()), file=sys.stderr)


def perform(arguments: Sequence[str]) -> int:
    """Run a command and return its exit code."""
    try:
        result = _command_line(arguments)(list(arguments), prog_name="keyer", standalone_mode=False)
    except typer.TyperException as error:
        _say(error.format_message())
        return REQUEST
    except KeyerError as error:
        if "\n" in str(error):
            print(f"keyer: {error}", file=sys.stderr)
        else:
            _say(str(error))
        return error.exit_code
    except (KeyboardInterrupt, typer.Abort):
        _say(STOPPED)
        return INTERRUPTED
    except BrokenPipeError:
        return DEFECT
    except Exception as error:  # noqa: BLE001  the last line of defence
        if "--debug" in arguments:
            traceback.print_exc()
        what = f"{type(error).__name__}: {error}"
        _say(f"defect: {what}. Run again as 'keyer --debug ...' and report it.")
        return DEFECT
    if result == INTERRUPTED:  # how the parser's library tells of Ctrl-C
        _say(STOPPED)
    return int(result) if isinstance(result, int) else 0


def run() -> None:
    """Entry point of the `keyer` command."""
    # the many objects of a start are no garbage: looking for it took a fifteenth of a short
    # command, and looking through them once more when the process ends took an eighth
    gc.set_threshold(200_000, 50, 50)
    code = perform(sys.argv[1:])
    gc.freeze()
    sys.exit(code)
