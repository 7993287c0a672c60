"""Every command that writes, on a full disk and on one that is read-only: one line, nothing left.

    python tests/disks.py

Not a part of the default test run: it mounts two file systems in memory, which takes root on
Linux. The read-only one stands for any folder that cannot be written; root may write the others.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from cli.whole_project import make_project

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
    "remake made.png -o DISK/o.png",
    "batch sheet.toml rows.csv -d DISK/out --jobs 1",
    "batch sheet.toml rows.csv -d DISK/out --jobs 1 --format clip",
    "batch sheet.toml rows.csv -d out --force --jobs 1 --contact DISK/o.png",
    "key plate.png --over back.png -o DISK/o.png",
    "key plate.png --over back.png -o o.png --force --matte-out DISK/o.png",
    "key plate.png --over back.png -o o.png --force --board DISK/o.pdf",
    "mix back.png third.png -o DISK/o.png",
    "wipe back.png third.png --pattern 1 -o DISK/o.png",
    "patterns --family move --chart DISK/o.png",
    "survey plate.png -o DISK/o.png",
    "title designs/name.toml -o DISK/o.png",
    "title designs/name.toml --save 9 --pages DISK/pages",
    "demo DISK/demo",
)


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
        make_project(project)
        shutil.copy(Path(__file__).parent / "cli" / "whole_project.py", disk)
        made = [sys.executable, "-m", "keyer", "still", "sheet.toml", "--at", "1", "-o"]
        subprocess.run([*made, "made.png"], cwd=project, check=True, stdout=subprocess.DEVNULL)
        for kind in ("full", "read-only"):
            subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", disk], check=True)
            try:
                if kind == "full":
                    (disk / "rest").write_bytes(bytes(os.statvfs(disk).f_bavail * 4096))
                else:
                    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
                for command in COMMANDS:
                    wrong = tried(command, project, disk)
                    bad += bool(wrong)
                    print(f"{kind}: {command}: {'; '.join(wrong) or 'one line, nothing left'}")
            finally:
                subprocess.run(["umount", disk], check=True)
    print(f"{bad} of {2 * len(COMMANDS)} went wrong")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
