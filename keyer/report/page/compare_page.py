"""A comparison as a page: what has changed, which frames, and pairs of pictures."""

from __future__ import annotations

from typing import Any

from keyer.render.recipe import program
from keyer.report.page.pictures import jpeg_uri
from keyer.report.page.render import render_page
from keyer.report.versions.compare import Comparison, Pair
from keyer.report.versions.compare_words import (
    change_lines,
    count_words,
    difference_words,
    length_words,
    run_words,
)


def compare_page(made: Comparison) -> str:
    """Write a comparison as one HTML file."""
    new = made.new
    counted = " ".join(text for text in (count_words(made), length_words(made)) if text)
    return render_page(
        "compare.html.j2",
        kind="Compared",
        title=new.title or new.name,
        facts=f"From {made.called} to {new.name}",
        note="",
        counted=counted,
        changes=change_lines(made.changes),
        runs=[run_words(made, run) for run in made.runs],
        pairs=[_pair(made, pair) for pair in made.pairs],
        called=made.called,
        program=program(),
        name=new.name,
        digest=new.digest,
        before=made.old.digest,
    )


def _pair(made: Comparison, pair: Pair) -> dict[str, Any]:
    return {
        "time": made.new.label(pair.frame),
        "frame": pair.frame,
        "before": jpeg_uri(pair.before, float(made.old.format.display_aspect)),
        "now": jpeg_uri(pair.now, float(made.new.format.display_aspect)),
        "words": difference_words(pair.difference),
        "changes": [str(change) for change in pair.changes],
    }
