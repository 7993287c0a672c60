"""The network: a small U-Net (O. Ronneberger et al., MICCAI 2015), skips added, not stacked.

It reads fifteen planes: the plate and its backing as luma, chroma along the key
hue and chroma across it (so that green and blue are one problem); the key
signal against the backing in coded values and in light; and, where solid parts
of the subject are known, their colour carried outwards in the same axes, a one,
and how far the plate lies between the two in coded values and in light (zeros
where they are not); and whether light or coded values were mixed. It answers
with the matte and the subject's own colour.
"""

from __future__ import annotations

import itertools

import torch
from torch import Tensor, nn
from torch.nn import functional

WIDTHS = (16, 32, 48, 64, 96, 128)
"""Channels of each level; each has half the rows and columns of the one before."""

PLANES = 15


class Pair(nn.Module):
    """Two convolutions of 3 x 3."""

    def __init__(self, into: int, out: int) -> None:
        super().__init__()
        self.first = nn.Conv2d(into, out, 3, padding=1)
        self.second = nn.Conv2d(out, out, 3, padding=1)

    def forward(self, planes: Tensor) -> Tensor:
        """Filter."""
        return functional.relu(self.second(functional.relu(self.first(planes))))


class Network(nn.Module):
    """Planes in, matte and subject out."""

    def __init__(self, widths: tuple[int, ...] = WIDTHS) -> None:
        super().__init__()
        self.down = nn.ModuleList(
            Pair(into, out) for into, out in zip((PLANES, *widths), widths, strict=False)
        )
        self.narrow = nn.ModuleList(
            nn.Conv2d(wide, thin, 1) for thin, wide in itertools.pairwise(widths)
        )
        self.up = nn.ModuleList(Pair(thin, thin) for thin in widths[:-1])
        self.out = nn.Conv2d(widths[0], 4, 1)

    def forward(self, planes: Tensor) -> Tensor:
        """Give matte (not held in 0..1) and subject (luma, along, across), (N, 4, H, W).

        Rows and columns must be multiples of 32.
        """
        levels, level = [], planes
        for index, pair in enumerate(self.down):
            level = pair(functional.avg_pool2d(level, 2) if index else level)
            levels.append(level)
        for index in reversed(range(len(self.up))):
            grown = functional.interpolate(
                self.narrow[index](level), scale_factor=2.0, mode="nearest"
            )
            level = self.up[index](levels[index] + grown)
        change = self.out(level)
        return torch.cat([planes[:, 7:8].clamp(0, 1), planes[:, :3]], 1) + change
