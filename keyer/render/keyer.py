"""Keys with everything that is done to their mattes by hand: masks, finishing, shadows.

The steps of `docs/keying.md` in their order: key, masks, finishing, colour where
the matte was raised, shadows. Keys without any of it that are fast do not come
here: they go from codes to codes in one pass.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Picture, Planes
from keyer.kinds.settings import Finish, Light
from keyer.measure.plate import backing_without_shadows
from keyer.pixel.backing import clean_plate
from keyer.pixel.finish import drop_specks, feather, fill_holes, grow
from keyer.pixel.key import take_subject
from keyer.pixel.level_key import luma_band
from keyer.pixel.load import load
from keyer.pixel.masks import apply_masks, draw_mask, join_masks
from keyer.pixel.refill import carry_fill, refill
from keyer.pixel.shadow import shade_of, shadow_of
from keyer.pixel.transfer import to_light
from keyer.render.compose import compose_matte
from keyer.render.frame import Keyed, Matted
from keyer.render.keys import FineKeyer, KeyChoice, Plates, level_keyed
from keyer.sheet.effect import Key
from keyer.sheet.masks import Mask

Plane = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Pictures:
    """What a key is made of at one frame.

    Attributes
    ----------
    picture : Picture
        The overlay's own.
    others : mapping of str to Picture
        Those of the sources that the key names.
    """

    picture: Picture
    others: Mapping[str, Picture]

    def same(self, other: Pictures | None) -> bool:
        """Whether all pictures are the very ones of another frame."""
        return (
            other is not None
            and self.picture is other.picture
            and all(self.others[name] is other.others[name] for name in self.others)
        )

    def clean(self, key: Key) -> Picture | None:
        """Clean plate of a key, if it has one."""
        return None if key.clean_plate is None else self.others[key.clean_plate]


class OverlayKeyer:
    """Keys the pictures of one overlay; what stands is keyed once.

    Parameters
    ----------
    key : Key
    light : {"video", "linear"}
        What the result is mixed in.
    choice : KeyChoice or None
        Of a chroma key.
    first : callable
        Gives the overlay's first pictures.
    """

    def __init__(
        self, key: Key, light: Light, choice: KeyChoice | None, first: Callable[[], Pictures]
    ) -> None:
        self.key, self.light, self.choice = key, light, choice
        self._fine = None
        if choice is not None and key.quality == "fine":

            def plates() -> Plates:
                pictures = first()
                return pictures.picture, pictures.clean(key)

            self._fine = FineKeyer(choice, key, plates)
        self._drawn: dict[tuple[Mask, ...], Plane] = {}
        self._held: tuple[Pictures, Matted] | None = None

    def __call__(self, pictures: Pictures) -> Matted:
        """Key the pictures of a frame.

        Parameters
        ----------
        pictures : Pictures

        Returns
        -------
        Matted
        """
        if self._held is None or not pictures.same(self._held[0]):
            layer = self._keyed(pictures)
            if not self.key.plain:
                layer = self._by_hand(layer, pictures)
            self._held = pictures, layer
        return self._held[1]

    def _keyed(self, pictures: Pictures) -> Matted:
        key, picture = self.key, pictures.picture
        if self._fine is not None:
            return self._fine(picture, pictures.clean(key))
        if self.choice is not None:
            return Matted(*compose_matte(Keyed(picture, self.choice.settings)))
        signal = picture if key.source is None else pictures.others[key.source]
        return level_keyed(picture, signal, key)

    def _by_hand(self, layer: Matted, pictures: Pictures) -> Matted:
        key, finish = self.key, self.key.finish
        garbage, hold = (self._mask(masks, pictures) for masks in (key.garbage, key.hold))
        matte, fill = layer.matte, layer.fill
        changed = _filled(apply_masks(matte, garbage, hold), finish)
        planes = load(pictures.picture)
        if changed is not matte:
            seen = self._without_spill(planes, pictures.picture)
            fill = refill(fill, matte, changed, seen, planes, hold)
        edge = _moved(changed, finish)
        if edge is not changed:
            fill = carry_fill(fill, changed, edge)
        done = replace(layer, fill=fill, matte=edge)
        if self.choice is None or key.shade.strength_percent == 0:
            return done
        shadow = self._shadow(layer, planes, pictures, self.choice)
        return replace(done, shade=shadow if garbage is None else shadow * (1 - garbage))

    def _without_spill(self, planes: Planes, picture: Picture) -> Planes:
        """Take the key hue off the picture as off a solid subject."""
        if self.choice is None:
            return planes
        bare = planes.copy()
        solid = np.ones(planes.shape[1:], np.float32)
        take_subject(bare, solid, self.choice.settings, picture.matrix)
        return bare

    def _mask(self, masks: Sequence[Mask], pictures: Pictures) -> Plane | None:
        """Join masks; shapes are drawn once."""
        shapes = tuple(mask for mask in masks if mask.shape)
        height, width = pictures.picture.height, pictures.picture.width
        if shapes and shapes not in self._drawn:
            drawn = [draw_mask(mask.drawn(width, height), height, width) for mask in shapes]
            self._drawn[shapes] = join_masks(drawn)
        found = [self._drawn[shapes]] if shapes else []
        found += [_brightness(pictures.others[mask.source]) for mask in masks if mask.source]
        return join_masks(found) if found else None

    def _shadow(
        self, layer: Matted, planes: Planes, pictures: Pictures, choice: KeyChoice
    ) -> Plane:
        """Find the shadows on the backing, as dark as they lie on the new background."""
        picture, clean, shade = pictures.picture, pictures.clean(self.key), self.key.shade
        if clean is None:
            lit = backing_without_shadows(planes, choice.backing.rgb, picture.matrix)
        else:
            lit = clean_plate(load(clean), picture.height, picture.width)
        noise = choice.backing.noise_percent / 100
        shadow = shadow_of(planes, lit, layer.matte, layer.fill, noise)
        soft = shade.soft_percent / 100 * picture.height
        found = shade_of(shadow, shade.strength_percent, soft)
        if self.light == "linear":
            left = 1 - found[np.newaxis]
            to_light(left)
            found = 1 - left[0]
        return found


def _brightness(picture: Picture) -> Plane:
    """Take a picture as a mask: its luma, 0..1."""
    matte = np.empty((picture.height, picture.width), np.float32)
    luma_band(load(picture), picture.matrix, matte)
    return matte.clip(0, 1)


def _filled(matte: Plane, finish: Finish) -> Plane:
    """Fill holes and drop specks."""
    if finish.fill_holes > 0:
        matte = fill_holes(matte, finish.fill_holes)
    return drop_specks(matte, finish.drop_specks) if finish.drop_specks > 0 else matte


def _moved(matte: Plane, finish: Finish) -> Plane:
    """Grow and feather an edge."""
    if finish.grow != 0:
        matte = grow(matte, finish.grow)
    return feather(matte, finish.feather)
