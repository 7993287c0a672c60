"""Coverage of mattes with a known answer."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from signals import matte_signals as mattes
from signals.row import Row

from keyer.measure.coverage import judge_coverage, measure_coverage

SHARES = "common practice: clear up to 0.02, solid from 0.98 of a matte"
PARTS = "ours: 4-connected parts up to 0.2 %, counted by SciPy"
THIN = "ours: semi-transparent parts, watch above 0.005 %, fail above 0.05 %"
OPEN = "ours: openings, watch above 0.005 %, up to 0.2 % each"
EDGE = "edge width: 1 / slope where the matte crosses one half"
NATURAL = "common practice: edges of 4 and 10 px up to 1080 lines, in proportion beyond"
BALANCE = "ours: all clear or all solid, watch above 99.5 %, fail above 99.99 %"


def _shares(matte) -> str:
    found = measure_coverage(matte)
    return f"{found.clear_percent:g}, {found.edge_percent:g}, {found.solid_percent:g} %"


def _verdict(matte, check) -> str:
    found = judge_coverage(measure_coverage(matte), matte.shape[0])
    return next(v.verdict for v in found if v.measure == f"coverage.{check}")


def matte_rows() -> Iterator[Row]:
    """Every signal of this module."""
    signal = "a ramp of 1000 columns: clear, edge, solid"
    yield Row(SHARES, signal, "2, 96, 2 %", lambda: _shares(mattes.ramp()))
    for code, shares in ((5, "100, 0, 0 %"), (6, "0, 100, 0 %"), (249, "0, 100, 0 %"),
                         (250, "0, 0, 100 %")):  # fmt: skip
        signal = f"code {code} of 255: clear, edge, solid"
        yield Row(SHARES, signal, shares, lambda code=code: _shares(mattes.codes(code)))
    yield from _parts()
    yield from _edges()
    for share, expected in ((0.994, "holds"), (0.996, "watch"), (1, "fails")):
        for solid, name in ((True, "solid"), (False, "clear")):
            yield Row(
                BALANCE,
                f"{100 * share:g} % of the picture {name}",
                expected,
                lambda share=share, solid=solid: _verdict(mattes.shared(share, solid), "balance"),
            )


def _parts() -> Iterator[Row]:
    matte = mattes.random_blobs()
    for name, mask in (("holes", matte < 0.98), ("specks", matte > 0.02)):
        yield Row(
            PARTS,
            f"smoothed noise: {name}",
            str(mattes.parts(mask)),
            lambda name=name: str(getattr(measure_coverage(matte), name).count),
        )
    for check, solid in (("holes", True), ("specks", False)):
        for pixels in (103, 104, 1036, 1037):
            share = 100 * pixels / (mattes.WIDTH * mattes.HEIGHT)
            yield Row(
                THIN,
                f"{pixels} px of 0.5 in the {'subject' if solid else 'backing'}: {share:.4f} %",
                "fails" if share > 0.05 else "watch" if share > 0.005 else "holds",
                lambda pixels=pixels, check=check, solid=solid: _verdict(
                    mattes.with_part(pixels, 0.5, in_subject=solid), check
                ),
            )
    for pixels, expected in ((103, "holds"), (104, "watch"), (4147, "watch"), (4148, "holds")):
        yield Row(
            OPEN,
            f"{pixels} clear px in the subject",
            expected,
            lambda pixels=pixels: _verdict(
                mattes.with_part(pixels, 0, in_subject=True), "openings"
            ),
        )


def _edges() -> Iterator[Row]:
    def width(matte) -> str:
        return f"{measure_coverage(matte).edge_width_px:.1f} px"

    for pixels, angle in ((0.001, 0), (2, 0), (5, 30), (8, 45), (5, 77)):
        yield Row(
            EDGE,
            f"a ramp of {pixels:.0f} px at {angle} degrees" if pixels > 1 else "a hard step",
            f"{max(pixels, 1):.1f} px",
            lambda pixels=pixels, angle=angle: width(mattes.edge(pixels, angle)),
        )
    for sigma in (1.5, 3):
        yield Row(
            EDGE,
            f"a step blurred by a Gaussian of {sigma} px",
            f"{sigma * np.sqrt(2 * np.pi):.1f} px",
            lambda sigma=sigma: width(mattes.soft_edge(sigma)),
        )
    for pixels, lines, expected in (
        (3.9, 1080, "holds"), (4.1, 1080, "watch"), (9.9, 1080, "watch"), (10.1, 1080, "fails"),
        (3.9, 540, "holds"), (4.1, 540, "watch"), (7.9, 2160, "holds"), (8.1, 2160, "watch"),
    ):  # fmt: skip
        yield Row(
            NATURAL,
            f"an edge of {pixels} px in {lines} lines",
            expected,
            lambda pixels=pixels, lines=lines: _verdict(
                mattes.edge(pixels, 0, (lines, 200)), "edge_width"
            ),
        )
