"""Coverage of a key's matte, held against the plate where there is one."""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane
from keyer.kinds.verdicts import Verdict
from keyer.measure.against_plate import KeyedFrom
from keyer.measure.coverage import judge_coverage, measure_coverage
from keyer.render.plan import Plan
from keyer.sheet.sheet import Overlay


def keyed_from(plan: Plan, overlay: Overlay, frame: int) -> KeyedFrom | None:
    """Work out the plate that an overlay's matte is keyed from at a frame.

    Parameters
    ----------
    plan : Plan
    overlay : Overlay
    frame : int
        Of the sheet.

    Returns
    -------
    KeyedFrom or None
        None without a chroma key: no other has a backing.
    """
    if overlay.key is None or overlay.key.kind != "chroma":
        return None
    return plate_of_key(plan, overlay, frame)


def plate_of_key(plan: Plan, overlay: Overlay, frame: int) -> KeyedFrom:
    """Work out the plate that a chroma key's matte is keyed from; as `keyed_from`."""
    key = plan.key_plan(overlay)
    plate, masks = key.plate(frame), key.by_hand(frame)
    ready = plan.evaluator.prepare(*plate.inputs, *masks)
    planes, backing = plate.pictures(ready)
    by_hand = None
    if masks:
        by_hand = np.maximum.reduce([ready.of(one) for one in masks]) > 0
    return KeyedFrom(planes, backing, plate.hue_deg, plate.matrix, by_hand)


def judge_matte(matte: Plane, plate: KeyedFrom | None) -> list[Verdict]:
    """Measure and judge the coverage of a matte.

    Parameters
    ----------
    matte : (H, W) float32
        Before the subject is placed.
    plate : KeyedFrom or None
        From `keyed_from`.
    """
    return judge_coverage(measure_coverage(matte, plate), matte.shape[0])
