"""The `keyer` command: gathers the commands and turns errors into one line and an exit code."""

from __future__ import annotations

import gc
import os
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module

import typer

from keyer.cli.commands import COMMANDS, Grouped
from keyer.cli.voice import own_voice, tell
from keyer.errors import KeyerError, SheetError
from keyer.kinds import stopping

DEFECT, REQUEST, DISK = 1, 2, 3
CLOSED = 141
"""Exit code where nobody reads on: 128 and the number of SIGPIPE, as shells have it."""


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
        cls=Grouped,
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
    tell("keyer: " + " ".join(str(message).split()))


def perform(arguments: Sequence[str]) -> int:
    """Run a command and return its exit code; no command at all is a call for help."""
    arguments = arguments or ["--help"]
    debug = "--debug" in arguments
    with own_voice(debug=debug):
        try:
            code = _performed(arguments)
            sys.stdout.flush()
        except BrokenPipeError:
            _close_output()
            return CLOSED
        except OSError as error:
            if debug:
                traceback.print_exc()
            if stopping.heard():
                return _stopped()
            _say(_of_the_system(error))
            if error.filename is None:
                _close_output()
            return DISK
        except Exception as error:  # noqa: BLE001  the last line of defence
            if debug:
                traceback.print_exc()
            if stopping.heard():
                return _stopped()
            what = f"{type(error).__name__}: {error}"
            _say(f"defect: {what}. Run again as 'keyer --debug ...' and report it.")
            return DEFECT
        finally:
            stopping.take_back()
            stopping.advise("")
    return code


def _performed(arguments: Sequence[str]) -> int:
    """Run a command; what is wrong with the request or an input is told, a defect is raised."""
    try:
        result = _command_line(arguments)(list(arguments), prog_name="keyer", standalone_mode=False)
    except typer.TyperException as error:
        _say(error.format_message())
        return REQUEST
    except KeyerError as error:
        if stopping.heard():
            return _stopped()
        several = isinstance(error, SheetError) and error.faults  # else a name holds a line's end
        first, *more = (str(error).splitlines() if several else [str(error)]) or [""]
        _say(first)
        tell(*more)
        return error.exit_code
    except SystemExit as error:  # 0: words for a shell; else a reader that has gone away
        return CLOSED if error.code else 0
    except typer.Abort as error:  # of Ctrl-C, and of an end of file, which is a defect here
        if isinstance(error.__context__, EOFError):
            raise error.__context__ from None
        result = stopping.INTERRUPTED
    except KeyboardInterrupt:
        result = stopping.INTERRUPTED
    if result == stopping.INTERRUPTED:  # so the parser's library tells of Ctrl-C, too
        return _stopped()
    return int(result) if isinstance(result, int) else 0


def _stopped() -> int:
    """Say that the command was stopped, and how to go on."""
    for line in stopping.last_words():
        _say(line)
    return stopping.INTERRUPTED


def _of_the_system(error: OSError) -> str:
    """Say what the system refused, where nobody nearer to it has."""
    reason = (error.strerror or str(error)).lower()
    if error.filename is None:
        return f"standard output cannot be written: {reason}. Make room, or name another place."
    return (
        f"{os.fsdecode(error.filename)} cannot be used: {reason}. Check its name and permissions."
    )


def _close_output() -> None:
    """Drop what standard output does not take, or the end of the program would fail on it."""
    try:
        sys.stdout.flush()
    except OSError:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def run() -> None:
    """Run the command that the process was started with, and end with its exit code."""
    # the many objects of a start are no garbage: looking for it took a fifteenth of a short
    # command, and looking through them once more when the process ends took an eighth
    gc.set_threshold(200_000, 50, 50)
    stopping.leave(perform(sys.argv[1:]))
