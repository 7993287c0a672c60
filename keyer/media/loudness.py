"""Loudness and peaks of a mix, measured as it passes.

Programme loudness is that of ITU-R BS.1770 (K-weighting, gated), true peak
that of its annex 2, both by libavfilter's meter; sample peak is the largest
sample.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.media.sound import SAMPLE_RATE

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame

_GATE_LUFS = -70.0
"""Absolute gate of BS.1770: nothing below it counts."""


@dataclass(frozen=True)
class Loudness:
    """Loudness and peaks of all that a meter has heard.

    Attributes
    ----------
    integrated_lufs : float or None
        Programme loudness; None if all is below the gate of -70 LUFS, or
        shorter than a gating block of 0.4 s.
    true_peak_dbtp : float or None
        Between the samples too; None for digital silence.
    sample_peak_dbfs : float or None
    """

    integrated_lufs: float | None
    true_peak_dbtp: float | None
    sample_peak_dbfs: float | None


def _decibels(level: float) -> float | None:
    return round(20 * math.log10(level), 2) if level > 1e-6 else None


class LoudnessMeter:
    """Measures 48 kHz stereo, block by block."""

    def __init__(self) -> None:
        import av.filter

        graph = av.filter.Graph()
        enter = graph.add_abuffer(
            sample_rate=SAMPLE_RATE,
            format="flt",
            layout="stereo",
            time_base=Fraction(1, SAMPLE_RATE),
        )
        meter = graph.add("ebur128", "peak=true:metadata=1:framelog=quiet")
        leave = graph.add("abuffersink")
        enter.link_to(meter)
        meter.link_to(leave)
        graph.configure()
        self._graph = graph
        self._found: dict[str, str] = {}
        self._peak = 0.0
        self._count = 0

    def hear(self, block: NDArray[np.float32]) -> None:
        """Take the next samples into the measurement.

        Parameters
        ----------
        block : (2, n) float32
            Full scale at 1.
        """
        import av

        if not block.shape[1]:
            return
        self._peak = max(self._peak, float(np.abs(block).max()))
        samples = np.ascontiguousarray(block.T).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(samples, format="flt", layout="stereo")
        frame.sample_rate = SAMPLE_RATE
        frame.pts, frame.time_base = self._count, Fraction(1, SAMPLE_RATE)
        self._count += block.shape[1]
        self._pass(frame)

    def _pass(self, frame: AudioFrame | None) -> None:
        import av

        self._graph.push(frame)
        while True:
            try:
                heard = self._graph.pull()
            except (av.error.BlockingIOError, av.error.EOFError):
                return
            self._found = dict(heard.metadata) or self._found

    def result(self) -> Loudness:
        """Return what was found; nothing can be heard afterwards."""
        self._pass(None)
        integrated = float(self._found.get("lavfi.r128.I", "nan"))
        true_peak = float(self._found.get("lavfi.r128.true_peak", "0"))
        return Loudness(
            round(integrated, 2) if integrated > _GATE_LUFS else None,
            _decibels(max(true_peak, self._peak)),
            _decibels(self._peak),
        )
