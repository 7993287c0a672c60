"""Every command that writes, on a full disk and on one that is read-only: one line, nothing left.

    python tests/disks.py

Not a part of the default test run: it mounts two file systems in memory, which takes root on
Linux. The read-only one stands for any folder that cannot be written; root may write the others.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from cli.whole_project import make_project, plate
from media.made import write_clip

from keyer.errors import OutputError
from keyer.rehearsal.arrivals import keep
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.edits import Edit

COMMANDS = (
    "still sheet.toml --at 1 -o DISK/o.png",
    "still sheet.toml --at 1 --at 2 -o DISK/new",
    "clip sheet.toml -o DISK/o.mov",
    "clip sheet.toml -o DISK/o.mp4",
    "clip sheet.toml -o DISK/o.gif",
    "clip sheet.toml -o DISK/o.webp",
    "board sheet.toml -o DISK/o.png",
    "board sheet.toml -o DISK/o.pdf",
    "report sheet.toml -o DISK/o.html",
    "cues sheet.toml -o DISK/o.csv",
    "cues sheet.toml -o DISK/o.html",
    "approve DISK/plain.toml",
    "compare old.toml sheet.toml -o DISK/o.html",
    "compare old.toml sheet.toml -o DISK/o.png",
    "convert DISK/plain.toml --format 32x18@50 -o DISK/o.toml",
    "convert sheet.toml --format 32x18@50 -o o.toml --force --board DISK/o.pdf",
    "remake made.png -o DISK/o.png",
    "batch sheet.toml rows.csv -d DISK/out --jobs 1",
    "batch sheet.toml rows.csv -d DISK/out --jobs 1 --format clip",
    "batch sheet.toml rows.csv -d out --force --jobs 1 --contact DISK/o.png",
    "key plate.png --over back.png -o DISK/o.png",
    "key plate.png --over back.png -o o.png --force --matte-out DISK/o.png",
    "key plate.png --over back.png -o o.png --force --board DISK/o.pdf",
    "key shot.mov --over back.png -o DISK/o.mkv",
    "key shot.mov -o DISK/o.mov",
    "key shot.mov -o DISK/o-%04d.png",
    "key shot.mov --at 2 -o o.png --force --matte-out DISK/m.png",
    "mix back.png third.png -o DISK/o.png",
    "wipe back.png third.png --pattern 1 -o DISK/o.png",
    "patterns --family move --chart DISK/o.png",
    "survey plate.png -o DISK/o.png",
    "title designs/name.toml -o DISK/o.png",
    "title designs/name.toml -o DISK/o.png --kind keyfill",
    "title designs/name.toml --save 9 --pages DISK/pages",
    "demo DISK/demo",
)


PLAIN = """version = 1
[sheet]
format = "64x36@25"
length = 4
[sources]
a = { colour = "#102030" }
[[cues]]
source = "a"
"""


def page_tried(disk: Path) -> list[str]:
    """Change, save and drop a picture on the rehearsal page of a sheet there; what is wrong."""
    before, sheet = sorted(disk.rglob("*")), disk / "plain.toml"
    picture = (disk.parent / "project" / "back.png").read_bytes()
    draft, wrong = Draft(sheet), []
    edit = Edit("set", "cues[0].name", "x")

    async def parts() -> AsyncIterator[bytes]:
        yield picture

    for name, act in (
        ("a change", lambda: draft.edit([edit])),
        ("saving", draft.save),
        ("a picture", lambda: asyncio.run(keep(disk, "b.png", parts()))),
    ):
        try:
            act()
            wrong.append(f"{name} was taken")
        except OutputError as error:
            wrong += [] if len(str(error).splitlines()) == 1 else [str(error)]
    if draft.text != PLAIN or sheet.read_text("utf-8") != PLAIN:
        wrong.append("the sheet is another")
    return wrong + [f"{path} is left" for path in disk.rglob("*") if path not in before]


def tried(command: str, project: Path, disk: Path) -> list[str]:
    """Run a command; returns what is wrong with how it ended."""
    before = sorted(disk.rglob("*"))
    done = subprocess.run(
        [sys.executable, "-m", "keyer", *command.replace("DISK", str(disk)).split()],
        cwd=project,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    said = [line for line in done.stderr.splitlines() if not line.startswith("keyer: drawing")]
    said = [line for line in said if "compiling" not in line]
    wrong = [] if done.returncode == 3 else [f"exit code {done.returncode}"]
    if len(said) != 1 or not said[0].startswith("keyer: ") or "defect" in said[0]:
        wrong += said or ["nothing was said"]
    wrong += [f"{path} is left" for path in disk.rglob("*") if path not in before]
    return wrong


def main() -> int:
    """Try every command on both disks; returns 1 if anything was wrong."""
    bad = 0
    with tempfile.TemporaryDirectory(prefix="disks-") as place:
        project, disk = Path(place, "project"), Path(place, "disk")
        project.mkdir()
        disk.mkdir()
        text = make_project(project).read_text("utf-8")
        (project / "old.toml").write_text(text.replace("in = 0\n", "in = 2\n", 1), "utf-8")
        write_clip(
            project / "shot.mov", codec="png", layout="rgb24", frames=4, size=(64, 36),
            draw=lambda *_: plate(),
        )  # fmt: skip
        shutil.copy(Path(__file__).parent / "cli" / "whole_project.py", disk)
        made = [sys.executable, "-m", "keyer", "still", "sheet.toml", "--at", "1", "-o"]
        subprocess.run([*made, "made.png"], cwd=project, check=True, stdout=subprocess.DEVNULL)
        for kind in ("full", "read-only"):
            subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", disk], check=True)
            try:
                (disk / "plain.toml").write_text(PLAIN, encoding="utf-8")
                if kind == "full":
                    (disk / "rest").write_bytes(bytes(os.statvfs(disk).f_bavail * 4096))
                else:
                    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
                wrong = page_tried(disk)
                bad += bool(wrong)
                print(f"{kind}: the page: {'; '.join(wrong) or 'three lines, nothing left'}")
                for command in COMMANDS:
                    wrong = tried(command, project, disk)
                    bad += bool(wrong)
                    print(
                        f"{kind}: {command}: {'; '.join(wrong) or 'one line, nothing left'}",
                        flush=True,
                    )
            finally:
                subprocess.run(["umount", disk], check=True)
    print(f"{bad} of {2 * len(COMMANDS) + 2} went wrong")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
