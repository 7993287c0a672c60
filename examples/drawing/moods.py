"""Times of day at the lake: the numbers behind its pictures. Colours are coded."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Ridge:
    """A line of hills or a wooded shore.

    Attributes
    ----------
    height, relief : float
        Mean height above the horizon, and swing about it, picture heights.
    cells : float
        Rises and falls in one picture height along it.
    colour : str
        Colour of the ground.
    haze : float
        Share of air over it, 0..1.
    trees : float
        Height of single trees, picture heights.
    reach : x, width or None
        Where a headland ends and over what width it sinks; a negative width
        for one that comes in from the right.
    """

    height: float
    relief: float
    cells: float
    colour: str
    haze: float
    trees: float = 0.0
    reach: tuple[float, float] | None = None


@dataclass(frozen=True)
class Mood:
    """A time of day at the lake.

    Attributes
    ----------
    horizon : float
        Picture heights from the top.
    sky : elevation above the horizon (picture heights) and colour, ascending
    sun : x, elevation in picture heights
    sun_colour, sun_level, glow : its colour, light of its disc and of the air about it
    haze : str
        Colour of distant air.
    ridges : from far to near
    mist : float
        Density of the mist on the water, 0..1.
    water : str
        Colour of what is under the surface.
    ripple : float
        Slope of the waves.
    clouds : float
        0 (clear) to 1.
    cloud_light, cloud_shade : colours
    ambient, lamp : colours of the light from all sides and from the sun on things nearby
    exposure : float
    seed : int
    """

    horizon: float
    sky: tuple[tuple[float, str], ...]
    sun: tuple[float, float]
    sun_colour: str
    sun_level: float
    glow: float
    haze: str
    ridges: tuple[Ridge, ...]
    mist: float
    water: str
    ripple: float
    clouds: float
    cloud_light: str
    cloud_shade: str
    ambient: str
    lamp: str
    exposure: float
    seed: int


MORNING = Mood(
    horizon=0.53,
    sky=(
        (0.0, "#FBDDBE"), (0.06, "#F8D5C0"), (0.15, "#E6CCCB"), (0.28, "#BFC6D6"),
        (0.48, "#8FAACB"), (1.0, "#6688AB"),
    ),
    sun=(0.47, 0.150),
    sun_colour="#FFE6C4",
    sun_level=14.0,
    glow=2.6,
    haze="#EBD2C6",
    ridges=(
        Ridge(0.135, 0.075, 1.1, "#4F6B8E", 0.55),
        Ridge(0.085, 0.060, 1.5, "#3E5F76", 0.44),
        Ridge(0.040, 0.040, 2.2, "#2C4750", 0.30, 0.006),
        Ridge(0.022, 0.010, 3.0, "#25373A", 0.16, 0.016, (-0.30, 0.35)),
        Ridge(0.016, 0.008, 3.4, "#22312F", 0.10, 0.020, (0.70, -0.22)),
    ),
    mist=0.80,
    water="#1B2B31",
    ripple=0.030,
    clouds=0.50,
    cloud_light="#FFE8D6",
    cloud_shade="#9CA6B8",
    ambient="#8E9AA8",
    lamp="#FFE2C0",
    exposure=1.22,
    seed=3,
)  # fmt: skip

EVENING = Mood(
    horizon=0.54,
    sky=(
        (0.0, "#FFC36B"), (0.05, "#FFB160"), (0.13, "#F4955C"), (0.25, "#CF7C70"),
        (0.42, "#8A6E8C"), (0.65, "#55608F"), (1.0, "#35477A"),
    ),
    sun=(-0.42, 0.092),
    sun_colour="#FFD08A",
    sun_level=40.0,
    glow=3.0,
    haze="#F2A864",
    ridges=(
        Ridge(0.070, 0.050, 1.1, "#7A4F57", 0.60),
        Ridge(0.050, 0.045, 1.6, "#5A3B42", 0.42),
        Ridge(0.024, 0.026, 2.3, "#38272C", 0.24, 0.006),
        Ridge(0.026, 0.012, 3.0, "#1E1618", 0.08, 0.020, (0.42, -0.40)),
    ),
    mist=0.25,
    water="#1A1B26",
    ripple=0.046,
    clouds=0.78,
    cloud_light="#FFA873",
    cloud_shade="#7A5876",
    ambient="#5E5A78",
    lamp="#FFB060",
    exposure=1.1,
    seed=11,
)  # fmt: skip
