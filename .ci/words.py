"""Fail on words that were given up: each has one of the glossary's in its place.

The glossary is docs/glossary.md. What commands print stands in the code and, as
their help, in docs/commands.md, so the sources are all that need be looked at.
"""

import re
import subprocess
import sys
from pathlib import Path

RETIRED = {
    r"crew[ _]?sheet": "cue sheet",
    r"story[ _]board": "storyboard",
    r"(?<!--)garbage mask": "garbage matte",
    r"hold-in mask": "hold-in matte",
    r"grains through": "noise shows in the backing",
    r"veiled": "semi-transparent",
    r"border edge": "border softness",
    r"spill (is )?taken off": "spill suppression",
    r"picture that (goes|comes)\b": "outgoing, incoming picture",
    r"guide[ _]sound": "guide track",
    r"\b(ends|end) on air": "source runs out",
    r"want(s|ed)? watching": "the verdict is watch",
    r"measures along time": "measurements over time",
    r"dots an inch": "dpi",
    r"--gallery": "--chart",
    r"mid-shot": "middle of the shot",
    r"outside the levels": "outside R 103 levels",
    r"\bOnAir\b": "OpenSource",
    r"\bclass (Moment|Told|Notes)\b": "a name that says what it is",
    r"\b(straighten|draw_in|draw_out|drop_thin)\b": "unpremultiply, erode, dilate, opening",
    r"fit = \"(stretch|centre)\"": "CSS object-fit: cover, contain, fill, none",
}
"""What is no longer said (regular expressions, case ignored but in names), and what is."""

PLACES = ("keyer", "tests", "docs", "examples", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
SUFFIXES = {".py", ".md", ".toml", ".js", ".css", ".html", ".j2", ".csv"}


def main() -> int:
    """Print each place of a retired word; 1 if there is one."""
    names = subprocess.run(  # noqa: S603
        ["git", "ls-files", *PLACES],  # noqa: S607
        capture_output=True, text=True, check=True,
    ).stdout.splitlines()  # fmt: skip
    found = 0
    for path in map(Path, names):
        if path.suffix not in SUFFIXES or not path.is_file():
            continue
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        for number, line in enumerate(lines, 1):
            for word, instead in RETIRED.items():
                fixed = "\\b" in word and any(c.isupper() for c in word)
                if hit := re.search(word, line, 0 if fixed else re.IGNORECASE):
                    sys.stdout.write(f"{path}:{number}: {hit[0]!r}: say {instead}\n")
                    found += 1
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
