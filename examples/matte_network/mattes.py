"""Drawn mattes to train with: bodies, hair, fur, wires, nets, leaves, glass, smoke, letters, tubes.

Everything is drawn four times too large and averaged down, so that the matte of
a strand thinner than a pixel is the share of the pixel that it covers. Then the
lens and the shutter do their part: sharp, soft, out of focus here and there, or
smeared along a line.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

Matte = NDArray[np.float32]
Canvas = NDArray[np.uint8]
Rng = np.random.Generator

SIZE = 640
"""Rows and columns of a matte."""

OVER = 4
"""How much larger it is drawn."""

WHOLE = SIZE * OVER

OPEN, CLOSED = False, True
"""Lines whose ends are not joined, and those whose are."""


def covered(draw: Callable[[Canvas], None]) -> Matte:
    """Give what is drawn in 255 on a large canvas as coverage of each pixel."""
    canvas = np.zeros((WHOLE, WHOLE), np.uint8)
    draw(canvas)
    small = cv2.resize(canvas, (SIZE, SIZE), interpolation=cv2.INTER_AREA)
    return small.astype(np.float32) / 255


def laid(under: Matte, over: Matte, density: float = 1.0) -> Matte:
    """Lay one matte over another."""
    return 1 - (1 - under) * (1 - np.float32(density) * over)


def _outline(centre: NDArray[np.float64], radius: float, rng: Rng) -> NDArray[np.int32]:
    """Give a closed line about a centre: round, or of straight pieces."""
    if rng.random() < 0.5:
        count = int(rng.integers(3, 12))
        angle = np.sort(rng.uniform(0, 2 * np.pi, count))
        reach = radius * rng.uniform(0.5, 1.3, count)
    else:
        angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
        reach = np.full_like(angle, radius)
        for order in range(2, 7):
            reach += (
                radius * rng.uniform(0, 0.4 / order) * np.cos(order * angle + rng.uniform(0, 7))
            )
    squeeze = rng.uniform(0.5, 1.6)
    points = np.stack([np.cos(angle) * reach, np.sin(angle) * reach * squeeze], 1)
    return (centre + points).astype(np.int32)


def body(rng: Rng, most: int = 4) -> Matte:
    """Draw a few solid shapes."""

    def draw(canvas: Canvas) -> None:
        for _ in range(rng.integers(1, most + 1)):
            centre = rng.uniform(0.05, 0.95, 2) * WHOLE
            cv2.fillPoly(canvas, [_outline(centre, rng.uniform(0.06, 0.38) * WHOLE, rng)], 255)

    return covered(draw)


def _paths(
    rng: Rng,
    roots: NDArray[np.float64],
    angles: NDArray[np.float64],
    length: float,
    curl: float,
) -> list[NDArray[np.int32]]:
    """Curved lines from roots, in sixteenths of a canvas pixel."""
    steps = 14
    count = len(roots)
    step = length / steps * rng.uniform(0.4, 1.4, count)
    bend = rng.normal(0, curl, count)
    place, angle = roots.astype(np.float64).copy(), angles.copy()
    points = [place.copy()]
    for _ in range(steps):
        angle = angle + bend * 0.3 + rng.normal(0, curl * 0.5, count)
        place = place + step[:, None] * np.stack([np.cos(angle), np.sin(angle)], 1)
        points.append(place.copy())
    lines = np.stack(points, 1)
    return [(line * 16).astype(np.int32) for line in lines]


def _groups(
    matte: Matte, rng: Rng, make: Callable[[], list[NDArray[np.int32]]], widths: tuple[float, float]
) -> Matte:
    """Lay groups of lines, each of a width and a density of its own, over a matte."""
    for _ in range(rng.integers(2, 6)):
        width = max(1, round(OVER * np.exp(rng.uniform(*np.log(widths)))))
        lines = make()

        def draw(
            canvas: Canvas, lines: list[NDArray[np.int32]] = lines, width: int = width
        ) -> None:
            cv2.polylines(canvas, lines, OPEN, 255, width, cv2.LINE_AA, 4)

        density = 1.0 if rng.random() < 0.6 else rng.uniform(0.35, 1)
        matte = laid(matte, covered(draw), density)
    return matte


def hairy(rng: Rng) -> Matte:
    """Draw a body with hair or fur along its rim."""
    matte = body(rng, 3)
    soft = cv2.GaussianBlur(matte, (0, 0), 6)
    rim = np.argwhere((matte > 0.3) & (matte < 0.9))
    if len(rim) < 10:
        return matte
    down, across = cv2.Sobel(soft, -1, 0, 1), cv2.Sobel(soft, -1, 1, 0)
    length = float(np.exp(rng.uniform(np.log(12), np.log(220)))) * OVER
    curl, lean = rng.uniform(0.02, 0.4), rng.uniform(-1.2, 1.2)
    spread = rng.uniform(0.1, 0.6)
    many = int(np.exp(rng.uniform(np.log(15), np.log(500))))
    part = rim[
        (rim @ rng.normal(0, 1, 2)).argsort()[: max(10, int(len(rim) * rng.uniform(0.2, 1)))]
    ]

    def make() -> list[NDArray[np.int32]]:
        picked = part[rng.integers(0, len(part), many)]
        out = np.arctan2(-down[picked[:, 0], picked[:, 1]], -across[picked[:, 0], picked[:, 1]])
        angles = out + lean + rng.normal(0, spread, many)
        inward = np.stack([np.cos(out), np.sin(out)], 1) * 4
        return _paths(rng, (picked[:, ::-1] - inward) * OVER, angles, length, curl)

    return _groups(matte, rng, make, (0.25, 2.2))


def loose(rng: Rng) -> Matte:
    """Single lines over a body or over nothing: strands, wires, twigs."""
    matte = body(rng, 2) if rng.random() < 0.6 else np.zeros((SIZE, SIZE), np.float32)
    straight = rng.random() < 0.5

    def make() -> list[NDArray[np.int32]]:
        many = int(rng.integers(3, 60))
        roots = rng.uniform(-0.1, 1.1, (many, 2)) * WHOLE
        angles = rng.uniform(0, 2 * np.pi, many)
        curl = 0.0 if straight else rng.uniform(0.02, 0.3)
        return _paths(rng, roots, angles, rng.uniform(100, 900) * OVER, curl)

    return _groups(matte, rng, make, (0.5, 8) if rng.random() < 0.6 else (0.8, 1.4))


def net(rng: Rng) -> Matte:
    """Draw a mesh, a fence, a sieve, over a body or over nothing."""
    turn, pitch = rng.uniform(0, np.pi), float(np.exp(rng.uniform(np.log(5), np.log(60))))
    cross = turn + rng.choice([np.pi / 2, np.pi / 3, rng.uniform(0.5, 2.6)])
    thick = max(1, round(OVER * min(pitch * 0.5, np.exp(rng.uniform(np.log(0.5), np.log(7))))))
    wave, both = rng.uniform(0, 0.4) * (rng.random() < 0.4), rng.random() < 0.8

    def draw(canvas: Canvas) -> None:
        along = np.linspace(-1, 1, 160) * WHOLE
        for angle in (turn, cross) if both else (turn,):
            ahead, aside = (
                np.array([np.cos(angle), np.sin(angle)]),
                np.array([-np.sin(angle), np.cos(angle)]),
            )
            for offset in np.arange(-0.75 * WHOLE, 0.75 * WHOLE, pitch * OVER):
                sway = offset + wave * pitch * OVER * np.sin(along / (pitch * OVER) + offset)
                line = WHOLE / 2 + along[:, None] * ahead + sway[:, None] * aside
                cv2.polylines(
                    canvas, [(line * 16).astype(np.int32)], OPEN, 255, thick, cv2.LINE_AA, 4
                )

    mesh = covered(draw)
    if rng.random() < 0.6:
        mesh *= body(rng, 2)
    return laid(mesh, body(rng, 2)) if rng.random() < 0.5 else mesh


def leaves(rng: Rng) -> Matte:
    """Many small blobs on stalks."""
    size = float(np.exp(rng.uniform(np.log(3), np.log(40))))
    middle, spread = rng.uniform(0.2, 0.8, 2) * WHOLE, rng.uniform(0.15, 0.6) * WHOLE

    def draw(canvas: Canvas) -> None:
        for _ in range(int(rng.integers(30, 400))):
            place = (middle + rng.normal(0, 1, 2) * spread).astype(int)
            axes = np.maximum(size * OVER * rng.uniform([0.5, 0.15], [1.5, 0.6]), 1).astype(int)
            turn = rng.uniform(0, 360)
            cv2.ellipse(canvas, place.tolist(), axes.tolist(), turn, 0, 360, 255, -1, cv2.LINE_AA)
            if rng.random() < 0.5:
                end = place + rng.normal(0, 3 * size * OVER, 2).astype(int)
                thick = int(rng.integers(1, 9))
                cv2.line(canvas, place.tolist(), end.tolist(), 255, thick, cv2.LINE_AA)

    return covered(draw)


def letters(rng: Rng) -> Matte:
    """Lettering and straight bars: hard edges at all angles."""

    def draw(canvas: Canvas) -> None:
        for _ in range(int(rng.integers(1, 12))):
            text = "".join(chr(rng.integers(33, 126)) for _ in range(rng.integers(1, 9)))
            scale, place = rng.uniform(1, 24), (rng.uniform(-0.2, 0.9, 2) * WHOLE).astype(int)
            thick = max(1, int(scale * rng.uniform(0.5, 5)))
            face = int(rng.integers(0, 8))
            cv2.putText(canvas, text, place.tolist(), face, scale, 255, thick, cv2.LINE_AA)

    turned = cv2.getRotationMatrix2D((SIZE / 2, SIZE / 2), rng.uniform(0, 360), 1)
    matte = covered(draw)
    if rng.random() < 0.5:
        matte = np.asarray(cv2.warpAffine(matte, turned, (SIZE, SIZE), flags=cv2.INTER_CUBIC))
    return matte.clip(0, 1)


def tubes(rng: Rng) -> Matte:
    """Rings, spokes and frames of tube."""

    def draw(canvas: Canvas) -> None:
        for _ in range(int(rng.integers(1, 6))):
            centre, radius = (rng.uniform(0, 1, 2) * WHOLE).astype(int), int(rng.uniform(40, 900))
            thick = max(1, int(OVER * np.exp(rng.uniform(np.log(0.6), np.log(14)))))
            flat = int(radius * rng.uniform(0.3, 1))
            turn = rng.uniform(0, 180)
            cv2.ellipse(
                canvas, centre.tolist(), (radius, flat), turn, 0, 360, 255, thick, cv2.LINE_AA
            )
            for angle in rng.uniform(0, 2 * np.pi, int(rng.integers(0, 30))):
                end = centre + (radius * np.array([np.cos(angle), np.sin(angle)])).astype(int)
                spoke = max(1, int(thick * rng.uniform(0.1, 0.6)))
                cv2.line(canvas, centre.tolist(), end.tolist(), 255, spoke, cv2.LINE_AA)

    matte = covered(draw)
    return laid(matte, body(rng, 2)) if rng.random() < 0.5 else matte


def cloud(rng: Rng) -> Matte:
    """Smoke, dust, a veil of cloth: density that changes softly."""
    density = np.zeros((SIZE, SIZE), np.float32)
    for octave in range(int(rng.integers(2, 6))):
        cells = int(3 * 2**octave)
        coarse = rng.random((cells, cells)).astype(np.float32)
        grown = cv2.resize(coarse, (SIZE, SIZE), interpolation=cv2.INTER_CUBIC)
        density += grown * np.float32(rng.uniform(0.4, 0.7) ** octave)
    density -= np.quantile(density, rng.uniform(0.05, 0.6))
    return (density / max(density.max(), 1e-3) * rng.uniform(0.3, 1.1)).clip(0, 1)


def plain(rng: Rng) -> Matte:
    """Next to nothing to find: all solid, all clear, or one long edge."""
    if rng.random() < 0.4:
        return np.full((SIZE, SIZE), float(rng.random() < 0.7), np.float32)
    rows, cols = np.mgrid[0:SIZE, 0:SIZE].astype(np.float32)
    angle = rng.uniform(0, 2 * np.pi)
    place = (cols - SIZE / 2) * np.cos(angle) + (rows - SIZE / 2) * np.sin(angle)
    width = float(np.exp(rng.uniform(np.log(0.7), np.log(120))))
    return np.asarray((place / width + rng.uniform(-40, 40) / width + 0.5).clip(0, 1), np.float32)


def add_glass(matte: Matte, rng: Rng) -> Matte:
    """Panes, bottles and films of even density, in front of the backing or let into the body."""
    let_in = rng.random() < 0.5
    for _ in range(int(rng.integers(1, 4))):
        centre, radius = rng.uniform(0.1, 0.9, 2) * WHOLE, rng.uniform(0.04, 0.3) * WHOLE
        outline = _outline(centre, radius, rng)

        def draw(canvas: Canvas, outline: NDArray[np.int32] = outline) -> None:
            cv2.fillPoly(canvas, [outline], 255)

        pane = covered(draw)
        if rng.random() < 0.3:
            pane = cv2.GaussianBlur(pane, (0, 0), rng.uniform(1, 8))
        density = rng.uniform(0.05, 0.95)
        if let_in:
            matte = matte * (1 - pane * np.float32(1 - density))
        else:
            matte = laid(matte, pane, density)
            if rng.random() < 0.5:
                thick = int(rng.integers(2, 24))

                def rim(
                    canvas: Canvas, outline: NDArray[np.int32] = outline, thick: int = thick
                ) -> None:
                    cv2.polylines(canvas, [outline], CLOSED, 255, thick)

                matte = laid(matte, covered(rim), rng.uniform(0.2, 1))
    return matte


def pierced(matte: Matte, rng: Rng) -> Matte:
    """Holes through which the backing is seen."""

    def draw(canvas: Canvas) -> None:
        for _ in range(int(rng.integers(1, 14))):
            place, radius = (rng.uniform(0, 1, 2) * WHOLE).astype(int), int(rng.uniform(3, 140))
            axes = (radius, max(1, int(radius * rng.uniform(0.1, 1))))
            cv2.ellipse(canvas, place.tolist(), axes, rng.uniform(0, 180), 0, 360, 255, -1)

    return matte * (1 - covered(draw))


def _smeared(matte: Matte, rng: Rng) -> Matte:
    length, angle = int(rng.uniform(5, 60)) | 1, rng.uniform(0, np.pi)
    kernel = np.zeros((length, length), np.float32)
    middle = (length - 1) / 2
    step = np.array([np.cos(angle), np.sin(angle)]) * middle
    first, last = ((middle + sign * step).round().astype(int).tolist() for sign in (-1, 1))
    cv2.line(kernel, first, last, 1.0, 1)
    kernel /= kernel.sum()
    return np.asarray(cv2.filter2D(matte, -1, kernel, borderType=cv2.BORDER_REPLICATE))


def shot(matte: Matte, rng: Rng) -> Matte:
    """Soften or smear a matte, as lens and shutter do."""
    way = rng.random()
    if way < 0.3:
        return np.asarray(cv2.GaussianBlur(matte, (0, 0), rng.uniform(0.3, 0.7)))
    if way < 0.5:
        return matte
    if way < 0.65:
        return np.asarray(cv2.GaussianBlur(matte, (0, 0), rng.uniform(0.7, 2.5)))
    if way < 0.82:
        other = np.asarray(cv2.GaussianBlur(matte, (0, 0), rng.uniform(2.5, 14)))
    else:
        other = _smeared(matte, rng)
    if rng.random() < 0.3:
        return other
    ramp = np.mgrid[0:SIZE, 0:SIZE][rng.integers(2)].astype(np.float32) / SIZE - rng.uniform(
        0.2, 0.8
    )
    share = (ramp * rng.uniform(-8, 8) + 0.5).clip(0, 1)
    return np.asarray(matte * (1 - share) + other * share, np.float32)


KINDS: tuple[tuple[Callable[[Rng], Matte], float], ...] = (
    (hairy, 0.34),
    (loose, 0.16),
    (body, 0.12),
    (net, 0.08),
    (leaves, 0.09),
    (letters, 0.05),
    (tubes, 0.07),
    (cloud, 0.04),
    (plain, 0.05),
)


def matte(seed: int) -> Canvas:
    """Draw one matte.

    Parameters
    ----------
    seed : int

    Returns
    -------
    (SIZE, SIZE) uint8
        255 = subject.
    """
    rng = np.random.default_rng([16, seed])
    kinds, shares = zip(*KINDS, strict=True)
    drawn = kinds[rng.choice(len(kinds), p=shares)](rng)
    if rng.random() < 0.3:
        drawn = add_glass(drawn, rng)
    if rng.random() < 0.2:
        drawn = pierced(drawn, rng)
    if rng.random() < 0.12:
        drawn = 1 - drawn
    return (shot(drawn, rng).clip(0, 1) * 255 + 0.5).astype(np.uint8)
