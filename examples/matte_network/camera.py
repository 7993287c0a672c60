"""Plates as cameras record them, made on the processor that trains.

A subject before a lit backing: light mixed in linear light, or in coded values
as a mixer does; light of the backing on the subject; shadows and folds on the
backing; grain, sharpening, chroma of fewer samples, compression by blocks of
cosines. All of it is drawn anew for each batch, from one generator.
"""

from __future__ import annotations

import math
import random
from typing import NamedTuple

import torch
from torch import Tensor
from torch.nn import functional

SIZE = 320


class Batch(NamedTuple):
    """Planes as the network reads them; matte and subject as it shall answer."""

    planes: Tensor
    matte: Tensor
    subject: Tensor
    turn: Tensor


TO_YCC = [
    [0.2126, 0.7152, 0.0722],
    [-0.114572, -0.385428, 0.5],
    [0.5, -0.454153, -0.045847],
]
"""ITU-R BT.709-6, items 3.2 and 3.3."""

LUMA_STEPS = [
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113,
    92, 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
]  # fmt: skip
CHROMA_STEPS = [[17, 18, 24, 47], [18, 21, 26, 66], [24, 26, 56, 99], [47, 66, 99, 99]]
"""ITU-T T.81 Annex K, tables K.1 and K.2."""


def mixed(matrix: Tensor, planes: Tensor) -> Tensor:
    """Apply a 3 x 3 matrix to the channels."""
    return torch.einsum("ij,bjhw->bihw", matrix, planes)


def turned(planes: Tensor, turn: Tensor, sign: int = 1) -> Tensor:
    """Turn the chroma of Y'CbCr planes by the key hue, there or back."""
    cos, sin = (f(turn).view(-1, 1, 1) for f in (torch.cos, torch.sin))
    sin = sign * sin
    _, cb, cr = planes.unbind(1)
    return torch.stack([planes[:, 0], cos * cb + sin * cr, cos * cr - sin * cb], 1)


def light(code: Tensor) -> Tensor:
    """Light of coded values, BT.709-6 item 1.2."""
    power = ((code.clamp(min=0) + 0.099) / 1.099) ** (1 / 0.45)
    return torch.where(code < 0.081, code / 4.5, power)


def code(level: Tensor, root: Tensor | float) -> Tensor:
    """Coded values of light: BT.709-6 item 1.2, or towards a plain root as `root` goes to 1."""
    level = level.clamp(0, 1)
    curve = torch.where(level < 0.018, 4.5 * level, 1.099 * level.clamp(min=1e-6) ** 0.45 - 0.099)
    plain = level.clamp(min=1e-6) ** (1 / 2.2)
    return curve + root * (plain - curve)


def carried(planes: Tensor, known: Tensor) -> Tensor:
    """Carry colours from where they are known to everywhere else: push and pull over a pyramid.

    As `keyer.pixel.mattes.push_pull` does it.
    """
    levels = [(planes * known, known)]
    while min(levels[-1][1].shape[2:]) > 5:
        levels.append(tuple(functional.avg_pool2d(level, 2) for level in levels[-1]))
    sums, share = (level.mean((2, 3), keepdim=True) for level in levels[-1])
    filled = sums / share.clamp(min=1e-6)
    for sums, share in reversed(levels):
        coarse = (
            filled.expand(*sums.shape)
            if filled.shape[-1] == 1
            else functional.interpolate(filled, size=sums.shape[2:], mode="bilinear")
        )
        belief = (4 * share).clamp(max=1)
        filled = belief * sums / share.clamp(min=1e-6) + (1 - belief) * coarse
    return filled


def planes_of(
    plate: Tensor,
    backing: Tensor,
    known: Tensor,
    told: Tensor,
    mixing: Tensor,
    to_ycc: Tensor,
    turn: Tensor,
) -> Tensor:
    """Make the planes that the network reads.

    Parameters
    ----------
    plate, backing, known : (N, 3, H, W)
        R'G'B' of the plate, its backing, and the subject's colour carried outwards.
    told : (N, 1, 1, 1)
        1 where the colour carried is known, 0 where it is not to be used.
    mixing : (N, 1, 1, 1)
        1 where light was mixed, -1 where coded values were, 0 where it is not known.
    to_ycc : (3, 3)
    turn : (N,)

    Returns
    -------
    (N, 15, H, W)
    """
    one, two, three = (turned(mixed(to_ycc, picture), turn) for picture in (plate, backing, known))
    unit = torch.stack([torch.zeros_like(turn), torch.cos(turn), torch.sin(turn)], 1)
    along = torch.einsum("bk,kj->bj", unit, to_ycc)
    plate_light, backing_light, known_light = light(plate), light(backing), light(known)
    lit, behind = (
        torch.einsum("bj,bjhw->bhw", along, picture)[:, None]
        for picture in (plate_light, backing_light)
    )
    coded = 1 - one[:, 1:2] / two[:, 1:2].clamp(min=0.02)
    linear = 1 - lit / behind.clamp(min=0.005)
    shares = [
        _between(seen, back, own)
        for seen, back, own in (
            (plate, backing, known),
            (plate_light, backing_light, known_light),
        )
    ]
    signals = torch.cat([coded, linear], 1).clamp(-0.5, 1.5)
    hints = torch.cat([three, torch.ones_like(coded), *(s.clamp(-0.5, 1.5) for s in shares)], 1)
    return torch.cat([one, two, signals, hints * told, mixing.expand_as(coded)], 1)


def _between(seen: Tensor, backing: Tensor, own: Tensor) -> Tensor:
    """How far a colour lies on the way from the backing's to the subject's own."""
    way = own - backing
    return ((seen - backing) * way).sum(1, keepdim=True) / (way**2).sum(1, keepdim=True).clamp(
        min=0.01
    )


class Camera:
    """Makes batches out of textures and mattes.

    Parameters
    ----------
    device : torch.device
    seed : int
    size : int
        Rows and columns of a crop, a multiple of 64.
    """

    def __init__(self, device: torch.device, seed: int, size: int = SIZE) -> None:
        self.device, self.size = device, size
        self.dice = torch.Generator(device).manual_seed(seed)
        self.coin = random.Random(seed)  # noqa: S311
        self.to_ycc = torch.tensor(TO_YCC, device=device)
        self.to_rgb = torch.linalg.inv(self.to_ycc)
        order, place = (torch.arange(8, device=device).float().view(s) for s in ((-1, 1), (1, -1)))
        cosines = torch.cos((2 * place + 1) * order * math.pi / 16) / 2
        cosines[0] /= math.sqrt(2)
        self.cosines = torch.einsum("ky,lx->klyx", cosines, cosines).reshape(64, 1, 8, 8)
        self.luma_steps = torch.tensor(LUMA_STEPS, device=device).view(8, 8).float()
        self.chroma_steps = torch.full((8, 8), 99.0, device=device)
        self.chroma_steps[:4, :4] = torch.tensor(CHROMA_STEPS, device=device).float()

    def uniform(self, count: int, low: float, high: float) -> Tensor:
        """Numbers between two, one a picture, shaped to go with planes."""
        draw = torch.rand(count, 1, 1, 1, device=self.device, generator=self.dice)
        return low + (high - low) * draw

    def chance(self, count: int, share: float) -> Tensor:
        """1 for a share of the pictures, else 0."""
        return (self.uniform(count, 0, 1) < share).float()

    def spread(self, count: int, low: float, high: float) -> Tensor:
        """Numbers between two, evenly over their logarithms."""
        return torch.exp(self.uniform(count, math.log(low), math.log(high)))

    def normal(self, *shape: int) -> Tensor:
        """Draw normally distributed numbers."""
        return torch.randn(*shape, device=self.device, generator=self.dice)

    def field(self, count: int, cells: int) -> Tensor:
        """Draw a smooth random plane a picture."""
        return functional.interpolate(
            self.normal(count, 1, cells, cells), size=(self.size, self.size), mode="bicubic"
        )

    def blurred(self, planes: Tensor, sigma: float) -> Tensor:
        """Blur by a Gaussian; a wide one on a smaller copy."""
        step = 1
        while sigma / step > 4 and self.size % (2 * step) == 0:
            step *= 2
        small = functional.avg_pool2d(planes, step) if step > 1 else planes
        reach = max(1, math.ceil(2.5 * sigma / step))
        axis = torch.arange(-reach, reach + 1, device=self.device).float()
        kernel = torch.exp(-((axis * step / sigma) ** 2) / 2)
        kernel = kernel / kernel.sum()
        channels = planes.shape[1]
        small = functional.pad(small, (reach,) * 4, mode="replicate")
        across, down = (
            kernel.view(shape).expand(channels, 1, -1, -1)
            for shape in ((1, 1, 1, -1), (1, 1, -1, 1))
        )
        small = functional.conv2d(small, across, groups=channels)
        small = functional.conv2d(small, down.reshape(channels, 1, -1, 1), groups=channels)
        if step == 1:
            return small
        return functional.interpolate(small, scale_factor=step, mode="bilinear")

    def one_of(self, *choices: float) -> float:
        """One of some numbers, for the whole batch."""
        return self.coin.choice(choices)

    def _subject(self, texture: Tensor, turn: Tensor) -> Tensor:
        """Colours of the subject: of all levels and tints, mostly off the key hue."""
        count = len(texture)
        bent = texture.clamp(1e-4, 1) ** self.spread(count, 0.6, 1.7)
        level = mixed(self.to_ycc, bent)[:, :1].mean((2, 3), keepdim=True)
        wanted = self.uniform(count, 0.04, 0.7)
        bent = bent * (wanted / level.clamp(min=0.02)).clamp(0.2, 5)
        tone = bent.mean((2, 3), keepdim=True)
        even = self.chance(count, 0.5)
        bent = bent + even * (tone - bent) * self.uniform(count, 0.3, 0.97)
        ycc = mixed(self.to_ycc, bent.clamp(0, 1))
        # hair, cloth, skin: one colour in more or less light
        one = self.chance(count, 0.4)
        middle = ycc.mean((2, 3), keepdim=True)
        angle, pure = self.uniform(count, -math.pi, math.pi), self.uniform(count, 0, 0.8)
        pure = torch.where(
            self.chance(count, 0.6) > 0,
            middle[:, :1] * pure,
            middle[:, 1:].norm(dim=1, keepdim=True),
        )
        dyed = torch.cat([torch.cos(angle), torch.sin(angle)], 1) * pure
        dyed = dyed * ycc[:, :1] / middle[:, :1].clamp(min=0.02)
        ycc = torch.cat([ycc[:, :1], torch.where(one > 0, dyed, ycc[:, 1:])], 1)
        tint = (self.uniform(count, -math.pi, math.pi) * self.chance(count, 0.6)).flatten()
        ycc = turned(ycc, tint)
        chroma = ycc[:, 1:] * self.uniform(count, 0.1, 1.3)
        # now and then all of it is of one strong hue not far from the backing's
        strong = self.chance(count, 0.04)
        side = torch.sign(self.normal(count, 1, 1, 1)) * self.uniform(count, 0.25, 1.1)
        radius = self.uniform(count, 0.08, 0.35)
        hue = turn.view(-1, 1, 1, 1) + side
        own = torch.cat([torch.cos(hue), torch.sin(hue)], 1) * radius
        chroma = chroma + strong * (own - 0.7 * chroma)
        axes = turned(torch.cat([ycc[:, :1], chroma], 1), turn)
        dice = self.uniform(count, 0, 1)
        lean = torch.where(dice < 0.85, 0.577, 1.7)
        slack = torch.where(
            dice < 0.65, self.uniform(count, -0.01, 0.02), self.uniform(count, 0.02, 0.1)
        )
        limit = axes[:, 2:].abs() * lean + slack
        limit = torch.where(strong > 0, axes[:, 2:].abs() * 4, limit)
        along = torch.minimum(axes[:, 1:2], limit)
        axes = torch.cat([axes[:, :1], along, axes[:, 2:]], 1)
        return mixed(self.to_rgb, turned(axes, turn, -1)).clamp(0, 1)

    def _hue(self, count: int) -> tuple[Tensor, Tensor]:
        """Colour of the backing, and its hue as it is."""
        normal = self.normal(count)
        green = self.chance(count, 0.65).flatten() > 0
        any_hue = self.chance(count, 0.05).flatten() > 0
        angle = torch.where(green, 231 + 11 * normal, 350 + 10 * normal)
        angle = torch.where(
            any_hue, 360 * torch.rand(count, device=self.device, generator=self.dice), angle
        )
        angle = torch.deg2rad(angle)
        chroma = self.uniform(count, 0.12, 0.46).flatten()
        bright = torch.cos(angle) > 0.2
        luma = torch.where(
            bright,
            self.uniform(count, 0.12, 0.42).flatten(),
            self.uniform(count, 0.3, 0.72).flatten(),
        )
        ycc = torch.stack([luma, chroma * torch.cos(angle), chroma * torch.sin(angle)], 1)
        colour = mixed(self.to_rgb, ycc.view(count, 3, 1, 1)).clamp(0.0, 1)
        seen = mixed(self.to_ycc, colour)
        return colour, torch.atan2(seen[:, 2, 0, 0], seen[:, 1, 0, 0])

    def _recorded(self, picture: Tensor) -> Tensor:
        """Sharpening, grain, sampling of chroma, compression, 8 bits."""
        count = len(picture)
        softer = self.blurred(picture, self.one_of(0.7, 1.0, 1.4))
        picture = picture + self.chance(count, 0.25) * self.uniform(count, 0, 0.8) * (
            picture - softer
        )
        grain = self.normal(*picture.shape)
        coarse = self.blurred(grain, 0.7) * 2.3
        grain = torch.where(self.chance(count, 0.3) > 0, coarse, grain)
        grey = grain[:, :1].expand_as(grain)
        grain = torch.where(self.chance(count, 0.2) > 0, grey, grain)
        scale = torch.tensor([1.0, 0.9, 1.25], device=self.device).view(1, 3, 1, 1)
        picture = picture + grain * scale * self.spread(count, 0.0015, 0.03)
        picture = picture.clamp(0, 1)
        ycc = mixed(self.to_ycc, picture)
        fewer = self._fewer(ycc)
        ycc = torch.where(self.chance(count, 0.55) > 0, fewer, ycc)
        picture = mixed(self.to_rgb, ycc).clamp(0, 1)
        return torch.round(picture * 255) / 255

    def _fewer(self, ycc: Tensor) -> Tensor:
        """4:2:0 in either siting, or 4:2:2; some of it coded in blocks."""
        count = len(ycc)
        luma, chroma = ycc[:, :1], ycc[:, 1:]
        left = functional.pad(chroma, (1, 1, 0, 0), mode="replicate")
        sited = (left[..., :-2] + 2 * left[..., 1:-1] + left[..., 2:]) / 4
        way = self.uniform(count, 0, 1)
        whole = functional.avg_pool2d(chroma, 2)
        beside = functional.avg_pool2d(sited[..., ::2], (2, 1))
        small = torch.where(way < 0.6, whole, beside)
        quality = self.uniform(count, 60, 98)
        blocks = self.chance(count, 0.6) > 0
        flat = self.chance(count, 0.4) > 0
        small = torch.where(blocks, self._coded(small, self.chroma_steps, quality, flat), small)
        luma = torch.where(blocks, self._coded(luma, self.luma_steps, quality, flat), luma)
        size = (self.size, self.size)
        grown = functional.interpolate(small, size=size, mode="bilinear")
        held = functional.pad(small, (0, 1, 0, 0), mode="replicate")
        between = (held[..., :-1] + held[..., 1:]) / 2
        across = torch.stack([small, between], -1).flatten(-2)
        moved = functional.interpolate(across, size=size, mode="bilinear")
        repeated = functional.interpolate(small, size=size, mode="nearest")
        wide = functional.interpolate(
            functional.avg_pool2d(chroma, (1, 2)), size=size, mode="bilinear"
        )
        chroma = torch.where(way < 0.6, torch.where(way < 0.54, grown, repeated), moved)
        # what says nothing of its siting is decoded as if it sat in the middle
        chroma = torch.where(way > 0.9, grown, chroma)
        chroma = torch.where((way > 0.8) & (way < 0.9), wide, chroma)
        return torch.cat([luma, chroma], 1)

    def _coded(self, planes: Tensor, steps: Tensor, quality: Tensor, flat: Tensor) -> Tensor:
        """Round the cosines of 8 x 8 pixels: as ITU-T T.81 has it, or all to one step."""
        count, channels, height, width = planes.shape
        scale = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality) / 100
        step = torch.where(flat, 12 * scale, steps.view(1, 64, 1, 1) * scale).clamp(min=1) / 255
        step = step.expand(count, 64, 1, 1).repeat_interleave(channels, 0)
        blocks = functional.conv2d(planes.reshape(-1, 1, height, width), self.cosines, stride=8)
        blocks = torch.round(blocks / step) * step
        done = functional.conv_transpose2d(blocks, self.cosines, stride=8)
        return done.view(count, channels, height, width)

    @torch.no_grad()
    def batch(self, texture: Tensor, matte: Tensor) -> Batch:
        """Make a batch.

        Parameters
        ----------
        texture : (N, 3, size, size) in 0..1
        matte : (N, 1, size, size) in 0..1

        Returns
        -------
        Batch
        """
        count = len(matte)
        colour, turn = self._hue(count)
        subject = self._subject(texture, turn)
        stops = self.field(count, 3) * self.uniform(count, 0, 0.35)
        folds = self.field(count, 11) * self.uniform(count, 0, 0.15) * self.chance(count, 0.4)
        known = (
            0.7 * stops
            + self.field(count, 3) * self.uniform(count, 0, 0.04)
            + 0.3 * self.blurred(stops, 8)
        )
        shadow = (
            (self.field(count, 4) - 0.4).clamp(0, 1)
            * self.uniform(count, 0, 0.9)
            * self.chance(count, 0.12)
        )
        root = self.chance(count, 0.3)
        lit = light(colour) * 2 ** (stops + folds - shadow)
        behind = (code(light(colour) * 2**known, 0.0) + self.normal(count, 3, 1, 1) * 0.005).clamp(
            0, 1
        )
        coded = code(lit, 0.0)
        near = self.blurred(1 - matte, self.one_of(3, 6, 12, 20, 35))
        near = near * self.uniform(count, 0.3, 1) + self.uniform(count, 0, 0.4)
        strength = self.chance(count, 0.8) * self.uniform(count, 0, 1) ** 1.3
        own = light(subject)
        cast = self.chance(count, 0.25)
        in_light = strength * near * lit * (0.2 * (1 - cast) + cast * own)
        seen = code(matte * (own + in_light) + (1 - matte) * lit, root)
        share = 0.33 * strength * near
        veil = self.uniform(count, 0, 1) * self.chance(count, 0.6)
        tint = coded / coded.amax(1, keepdim=True).clamp(min=0.05)
        film = torch.where(
            cast > 0,
            subject * (1 + 2 * share * (tint - 0.5)),
            subject + share * (coded - veil * subject),
        )
        plain = matte * film.clamp(0, 1) + (1 - matte) * coded
        # light that was coded by another root is compared with as it would have been coded
        target = code(own, root)
        linear = self.chance(count, 0.62) > 0
        plate = self._recorded(torch.where(linear, seen, plain))
        target = torch.where(linear, target, subject)
        behind = torch.where(linear & (root > 0), code(light(behind), 1.0), behind)
        known, told = self._carried(plate, matte, target, self._signal(plate, behind, turn))
        mixing = (2 * linear.float() - 1) * self.chance(count, 0.7)
        planes = planes_of(plate, behind, known, told, mixing, self.to_ycc, turn)
        return Batch(planes, matte, turned(mixed(self.to_ycc, target), turn), turn)

    def _signal(self, plate: Tensor, backing: Tensor, turn: Tensor) -> Tensor:
        """Key signal against the backing in light."""
        unit = torch.stack([torch.zeros_like(turn), torch.cos(turn), torch.sin(turn)], 1)
        along = (unit @ self.to_ycc).view(-1, 3, 1, 1)
        lit, behind = ((along * light(p)).sum(1, keepdim=True) for p in (plate, backing))
        return 1 - lit / behind.clamp(min=0.005)

    def _carried(
        self, plate: Tensor, matte: Tensor, subject: Tensor, linear: Tensor
    ) -> tuple[Tensor, Tensor]:
        """Carry the subject's colour out of its solid parts, as far as a first look finds them."""
        count = len(matte)
        step = int(self.one_of(1, 2, 2, 4))
        small, solid = (functional.avg_pool2d(p, step) for p in (plate, matte))
        reach = int(self.one_of(0, 0, 1, 2))
        solid = -functional.max_pool2d(-solid, 2 * reach + 1, 1, reach) if reach else solid
        core = (solid > self.uniform(count, 0.85, 0.99)).float()
        # a first look misses parts: some anywhere, some that have of the backing's hue
        there = functional.interpolate(self.field(count, 7), size=solid.shape[2:])
        missed = (there > self.uniform(count, -0.5, 2)).float() * self.chance(count, 0.4)
        signal = functional.avg_pool2d(linear, step)
        tinted = (signal < self.uniform(count, 0.6, 1.05)).float() * self.chance(count, 0.4)
        core = core * (1 - missed) * (1 - tinted)
        # of a subject all of strands the solid parts lie outside the crop
        usual = subject.mean((2, 3), keepdim=True) + self.normal(count, 3, 1, 1) * 0.03
        bare = (core.mean((2, 3), keepdim=True) < 0.002).float()
        known = carried(small, core) * (1 - bare) + bare * usual
        known = functional.interpolate(known, size=(self.size, self.size), mode="bilinear")
        return known, self.chance(count, 0.6)
