"""Titles cut out of a frame: the quick way and the renderer's agree."""

import numpy as np
from batch.made import project

from keyer.batch.apart import composed_apart, cut_out
from keyer.batch.job import make_job
from keyer.batch.render_row import RowRenderer
from keyer.batch.scene import Scene


def scene_of(tmp_path, at=None):
    job = make_job(project(tmp_path), ("file", "name"), at=at)
    return Scene(job, job.filled({"file": "a", "name": "Ines"}))


def test_both_ways_agree(tmp_path):
    scene = scene_of(tmp_path)
    laid = scene.plan.frame(scene.index).overlays
    window = (100, 180)
    quick, slow = cut_out(scene, laid, window), composed_apart(scene, laid, window)
    key = quick.set_in(quick.key, window, 320)
    assert np.allclose(key, slow.key, atol=1e-5)
    for a, b in zip(quick.colour, slow.colour, strict=True):
        assert np.allclose(quick.set_in(a, window, 320) * key, b * slow.key, atol=1e-5)


def test_on_its_way_in(tmp_path):
    """Half through its mix, the key is half of what it is in the end."""
    whole, half = scene_of(tmp_path), scene_of(tmp_path, at="16")
    window = (0, 180)
    full = cut_out(whole, whole.plan.frame(whole.index).overlays, window)
    part = cut_out(half, half.plan.frame(half.index).overlays, window)
    overlay = half.plan.frame(half.index).overlays[0]
    assert 0 < overlay.opacity < 1
    key = full.set_in(full.key, window, 320) * overlay.opacity
    assert np.allclose(part.key, key, atol=1e-5)


def test_rows_share_a_scene(tmp_path):
    job = make_job(project(tmp_path), ("file", "name", "back"))
    renderer = RowRenderer(job)
    for back in ("back.png", "other.png", "back.png", ""):
        renderer.render({"file": "a", "name": "Ines", "back": back})
    assert len(renderer._scenes) == 3  # the sheet's own value unsaid is a scene as well
    renderer.close()
