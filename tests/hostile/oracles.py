"""What must hold whatever comes in: the promises of the README, looked at from outside."""

import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path

LONGEST_SECONDS = 20
MOST_BYTES = 2_000_000_000
MOST_LINES = 40
"""Ten faults and their count, and a notice or two for each of the sources."""
LONGEST_LINE = 4000
ENDINGS = {0, 2, 3, 4}
"""Done, a wrong request, a bad file, a check that did not pass."""

_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f\x80-\x9f\u2028\u2029]")
_FOREIGN = re.compile(
    r"Traceback|defect:|standard output cannot|Error:|Warning|WARN|libpng|libtiff|TIFF\w+:"
    r"|\[\w+ @ 0x|malformed name record",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Ran:
    """What a command did.

    Attributes
    ----------
    words : list of str
    code : int
    out, err : str
    seconds : float
    peak : int
        Bytes of memory at most.
    before, after : dict
        Digest of every file by its path.
    """

    words: list[str]
    code: int
    out: str
    err: str
    seconds: float
    peak: int
    before: dict[str, str]
    after: dict[str, str]


def contents(folder: Path) -> dict[str, str]:
    """Digest of every file below a folder; a word for what is no plain file."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = str(path.relative_to(folder))
        if path.is_symlink() or not path.is_file():
            found[name] = "folder" if path.is_dir() and not path.is_symlink() else "special"
        else:
            found[name] = hashlib.sha256(path.read_bytes()).hexdigest()
    return found


def judge(ran: Ran) -> list[str]:
    """List the promises that were broken."""
    return [fault for oracle in (_ending, _lines, _files, _limits, _json) for fault in oracle(ran)]


def _ending(ran: Ran) -> list[str]:
    if ran.code in ENDINGS:
        return []
    last = ran.err.strip().splitlines()[-3:]
    return [f"exit {ran.code}: {' | '.join(last)}"]


def _lines(ran: Ran) -> list[str]:
    faults = []
    lines = ran.err.splitlines() if ran.err.isascii() else ran.err.split("\n")
    lines = [line for line in lines if line]
    if ran.code and not lines:
        faults.append(f"exit {ran.code} without a line")
    if len(lines) > MOST_LINES:
        faults.append(f"{len(lines)} lines on standard error")
    if any(len(line) > LONGEST_LINE for line in lines):
        faults.append(f"a line of {max(map(len, lines))} letters")
    if found := next((line for line in lines if _CONTROL.search(line)), None):
        faults.append(f"control characters on standard error: {found!r:.200}")
    if found := next((line for line in ran.out.split("\n") if _CONTROL.search(line)), None):
        faults.append(f"control characters on standard output: {found!r:.200}")
    if lines and not lines[0].startswith("keyer: "):
        faults.append(f"foreign text: {lines[0]!r:.200}")
    elif found := next((line for line in lines if _FOREIGN.search(line)), None):
        faults.append(f"foreign text: {found!r:.200}")
    said = [n for n, line in enumerate(lines) if line.startswith("keyer: ")]
    tail = lines[said[-1] :] if said else lines
    if len(tail) > 1 and not re.search(r": \d+ faults?", tail[0]):
        faults.append(f"more than one line: {tail[1]!r:.200}")
    return faults


def _files(ran: Ran) -> list[str]:
    faults = []
    forced = "--force" in ran.words
    for name, digest in ran.before.items():
        if name not in ran.after:
            faults.append(f"{name} is gone")
        elif (
            ran.after[name] != digest and not (forced and _named(ran, name)) and not _own(ran, name)
        ):
            faults.append(f"{name} was changed")
    new = [name for name in ran.after if name not in ran.before]
    for name in new:
        if _journal(ran, name):
            continue
        if Path(name).name.startswith(".") and Path(name).name not in (
            "." + Path(w).name[1:] for w in ran.words
        ):
            faults.append(f"{name} was left over")
        elif not name.startswith("out") and not _named(ran, name) and not _own(ran, name):
            faults.append(f"{name} came from nowhere")
    if ran.code in {2, 3} and ran.words[0] != "batch" and new:
        faults.append(f"refused, yet wrote {new[0]}")
    return faults


def _named(ran: Ran, name: str) -> bool:
    """Whether the command line names a file, or the stem of a set of files."""
    stem = Path(name).stem
    return any(word and (word in name or Path(word).stem[:40] in stem) for word in ran.words[1:])


def _own(ran: Ran, name: str) -> bool:
    """Whether a file is one that the command keeps for itself, such as a page or a manifest."""
    kept = name.startswith(("pages", "out/set")) and ran.words[0] in {"title", "pages", "batch"}
    made = name.startswith(("spot", "media")) and ran.words[0] == "rehearse"
    return kept or made or (".approved-" in name and ran.words[0] == "approve")


def _journal(ran: Ran, name: str) -> bool:
    """Whether a file is the journal of changes that are not saved yet."""
    return ran.words[0] == "rehearse" and name == f".{ran.words[1]}.rehearsal"


def _limits(ran: Ran) -> list[str]:
    faults = []
    if ran.seconds > LONGEST_SECONDS:
        faults.append(f"took {ran.seconds:.1f} s")
    if ran.peak > MOST_BYTES:
        faults.append(f"took {ran.peak / 1e9:.2f} GB")
    return faults


def _json(ran: Ran) -> list[str]:
    if "--json" not in ran.words or not ran.out.strip() or "--help" in ran.words:
        return []
    try:
        json.loads(ran.out)
    except ValueError as error:
        return [f"no JSON on standard output: {error}"]
    return []
