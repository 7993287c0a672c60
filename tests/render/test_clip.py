import subprocess
import sys
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
from media.made import number_of, write_clip
from media.tones import sine, write_sound
from render.spots import CARD, FIVE_RATES, SIZE, SUFFIXES, effects, numbers_in, sheet_of

from keyer.errors import (
    OutputError,
    TimeError,
)
from keyer.kinds.timing import RATES
from keyer.media.codecs import CODECS
from keyer.media.source import open_source
from keyer.pixel.colour.load import load, load_alpha, store, to_array
from keyer.render.clip import render_clip
from keyer.render.still import render_still


# --- the right frame at the right time
def due(local, sheet_rate, clip_rate, first, count, *, speed=Fraction(1), loop=False):
    """Frame of a clip that is due: whole frames that have passed, counted in exact fractions."""
    step = int(Fraction(local) * clip_rate * speed / sheet_rate)
    return first + (step % count if loop else min(step, count - 1))


@pytest.mark.parametrize("clip_rate", FIVE_RATES)
@pytest.mark.parametrize("rate", FIVE_RATES)
def test_every_frame_has_its_number_through_cues_trims_and_loops(media, tmp_path, rate, clip_rate):
    """From the start, from a cue, trimmed, looped, at double speed, and with a time of its own."""
    name = f"n{clip_rate}.mp4"
    plain, trimmed = {"file": name}, {"file": name, "in": 20, "out": 27}
    sheet = sheet_of(
        media,
        rate,
        60,
        sources={
            "plain": plain,
            "held": trimmed | {"freeze": True},
            "looped": trimmed | {"loop": True},
            "fast": plain | {"speed": 2.0, "in": 5},
            "own time": plain | {"at": 3},
        },
        cues=[
            {"source": "plain"},
            {"source": "held", "at": 10},
            {"source": "looped", "at": 22},
            {"source": "fast", "at": 40},
            {"source": "own time", "at": 50},
        ],
    )
    path = tmp_path / "a.mkv"
    render_clip(sheet, path)
    ours, theirs = RATES[rate], RATES[clip_rate]
    expected = [due(n, ours, theirs, 0, 200) for n in range(10)]
    expected += [due(n, ours, theirs, 20, 7) for n in range(12)]
    expected += [due(n, ours, theirs, 20, 7, loop=True) for n in range(18)]
    expected += [due(n, ours, theirs, 5, 195, speed=Fraction(2)) for n in range(10)]
    expected += [due(n - 3, ours, theirs, 0, 200) for n in range(50, 60)]
    assert numbers_in(path) == expected


@pytest.mark.parametrize("codec", [n for n, c in CODECS.items() if c.least == (1, 1)])
def test_every_codec_keeps_every_frame(media, tmp_path, codec):
    sheet = sheet_of(
        media, "29.97", 40, sources={"n": {"file": "n29.97.mp4"}}, cues=[{"source": "n"}]
    )
    path = tmp_path / f"a{SUFFIXES[codec]}"
    report = render_clip(sheet, path, codec=codec, start=3, end="00:00:01;02")
    assert report.frames == 29
    assert numbers_in(path) == list(range(3, 32))
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.average_rate == RATES["29.97"]
        stamps = sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None)
        steps = [float((b - a) * stream.time_base) for a, b in pairwise(stamps)]
    tick = 1e-3 if path.suffix == ".mkv" else 1e-9  # Matroska counts milliseconds
    np.testing.assert_allclose(steps, 1001 / 30_000, atol=tick)


def test_an_overlay_s_clip_runs_in_step_beside_the_base(media, tmp_path):
    """The top half shows the overlay's number, the bottom half the base's."""
    sheet = sheet_of(
        media,
        "25",
        30,
        sources={"a": {"file": "n25.mp4"}, "b": {"file": "n50.mp4", "in": 8}},
        cues=[{"source": "a"}],
        overlays=[
            {"source": "b", "in": 5, "placement": {"crop": [0, 0, 0, 60], "position": [50, 50]}}
        ],
    )
    path = tmp_path / "a.mov"
    render_clip(sheet, path, codec="png")
    source = open_source(path)
    for index in range(30):
        planes = load(source.read(index))
        assert number_of(planes[:, -20:]) == index
        if index >= 5:
            assert number_of(planes[:, :20]) == 8 + 2 * (index - 5)
    source.close()


# --- stills and clips are the same
@pytest.mark.parametrize("codec", ["png", "ffv1"])
@pytest.mark.parametrize("base", ["n25.mp4", "deep.png"])
def test_a_still_is_the_frame_of_the_lossless_clip(media, tmp_path, codec, base):
    sheet = sheet_of(media, "25", 18, **effects(base))
    path = tmp_path / f"a{SUFFIXES[codec]}"
    render_clip(sheet, path, codec=codec)
    source = open_source(path)
    assert source.props.bits == (16 if base == "deep.png" else 8)
    for index in (0, 2, 4, 7, 9, 13, 17):
        still = render_still(sheet, index)
        np.testing.assert_array_equal(to_array(source.read(index)), still)
    source.close()


def test_codes_that_nothing_touches_pass_through(media, tmp_path):
    """Y'CbCr of the clip, written without loss, is that of its source where no title lies."""
    sheet = sheet_of(
        media,
        "25",
        8,
        sources={"a": {"file": "n25.mp4"}, "c": {"title": CARD}},
        cues=[{"source": "a"}],
    )
    path = tmp_path / "a.mp4"
    render_clip(sheet, path)
    source, clip = open_source(media / "n25.mp4"), open_source(path)
    away = source.read(4).luma.astype(int) - clip.read(4).luma
    assert np.abs(away).mean() < 1.5  # H.264 at its own setting, no more
    source.close()
    clip.close()


# --- the same every time
@pytest.mark.parametrize("codec", SUFFIXES)
def test_the_same_sheet_gives_the_same_bytes_with_any_threads(media, tmp_path, codec):
    sheet = sheet_of(media, "25", 18, **effects(), sound=[{"file": "tone.wav", "at": 2}])
    made = []
    for name, threads in (("a", 1), ("b", 2), ("c", 1), ("d", 3)):
        path = tmp_path / f"{name}{SUFFIXES[codec]}"
        render_clip(sheet, path, codec=codec, threads=threads)
        made.append(path.read_bytes())
    assert made[0] == made[1] == made[2] == made[3]


def test_pictures_that_stay_are_worked_out_once(media, tmp_path, monkeypatch):
    from keyer.render import clip_pictures as module

    count = []
    real = module.picture
    monkeypatch.setattr(module, "picture", lambda *a, **k: count.append(1) or real(*a, **k))
    sheet = sheet_of(
        media,
        "25",
        40,
        sources={"a": {"file": "deep.png"}, "card": {"title": CARD}},
        cues=[{"source": "a"}],
        overlays=[{"source": "card", "in": 10, "transition_in": {"kind": "mix", "length": 5}}],
    )
    render_clip(sheet, tmp_path / "a.mov", codec="png")
    assert len(count) == 1 + 5 + 1


# --- opacity
def test_a_clear_base_leaves_the_subject_with_its_opacity(media, tmp_path):
    sheet = sheet_of(
        media,
        "25",
        3,
        sources={
            "nothing": {"clear": True},
            "shade": {"file": "shade.png"},
        },
        cues=[{"source": "nothing"}],
        overlays=[{"source": "shade", "opacity": 0.5}],
    )
    path = tmp_path / "a.mov"
    render_clip(sheet, path, codec="prores-4444")
    found = open_source(path).read(1)
    shade = open_source(media / "shade.png").read(0)
    np.testing.assert_allclose(load_alpha(found), load_alpha(shade) / 2, atol=3e-3)
    # what is written otherwise is over black
    still = render_still(sheet, 1)
    over_black = store(load(shade) * load_alpha(shade) / 2, np.uint8)
    np.testing.assert_allclose(still.transpose(2, 0, 1).astype(int), over_black, atol=1)


def test_a_clear_base_is_never_made_opaque_in_silence(media, tmp_path):
    def sheet(base):
        sources = {"nothing": {"clear": True}, "shade": {"file": "shade.png"}}
        return sheet_of(
            media, "25", 3, sources=sources, cues=[{"source": base}], overlays=[{"source": "shade"}]
        )

    usual = render_clip(sheet("nothing"), tmp_path / "a.mov")
    assert (usual.shape.codec, usual.notices) == ("prores-4444", ())
    assert load_alpha(open_source(tmp_path / "a.mov").read(1)).min() < 1
    for name, codec in (("a.mp4", None), ("b.mov", "prores-hq"), ("a.gif", None), ("a.mkv", None)):
        (said,) = render_clip(sheet("nothing"), tmp_path / name, codec=codec).notices
        assert said.startswith("nothing: clear in places, and ")
        assert "prores-4444" in said
    (said,) = render_clip(sheet("shade"), tmp_path / "c.mp4").notices
    assert said.startswith("shade: clear in places, and h264 keeps no alpha")
    assert render_clip(sheet("grey"), tmp_path / "d.mp4").notices == ()


def test_an_opaque_base_is_written_opaque(media, tmp_path):
    path = tmp_path / "a.mov"
    render_clip(sheet_of(media, "25", 18, **effects()), path, codec="prores-4444", end=3)
    assert load_alpha(open_source(path).read(1)).min() == 1.0


# --- spans, outputs
@pytest.mark.parametrize(
    ("span", "finding"),
    [
        ({"start": 5, "end": 5}, "to must come after from"),
        ({"start": 9, "end": 3}, "to must come after from"),
        ({"end": 21}, "to must lie within the sheet"),
        ({"start": 20}, "from must lie within the sheet"),
        ({"start": "soon"}, "from must be a time"),
    ],
)
def test_refused_spans(media, tmp_path, span, finding):
    with pytest.raises(TimeError, match=finding):
        render_clip(sheet_of(media), tmp_path / "a.mp4", **span)


def test_progress_is_told_after_every_picture(media, tmp_path):
    told = []
    render_clip(sheet_of(media), tmp_path / "a.mp4", progress=lambda *at: told.append(at))
    assert told == [(number, 20) for number in range(1, 21)]


def test_outputs_and_inputs_are_kept(media, tmp_path):
    path = tmp_path / "a.mp4"
    path.write_bytes(b"precious")
    with pytest.raises(OutputError, match="exists"):
        render_clip(sheet_of(media), path)
    write_clip(path, frames=3)
    sheet = sheet_of(media, sources={"a": {"file": str(path)}})
    with pytest.raises(OutputError, match="is an input"):
        render_clip(sheet, path, force=True)
    sound = write_sound(tmp_path / "b.mov", sine(1), codec="pcm_s16le")
    with pytest.raises(OutputError, match="is an input"):
        render_clip(sheet_of(media, sound=[{"file": str(sound)}]), sound, force=True)


@pytest.mark.parametrize("after", [0, 1, 7])
def test_an_interruption_leaves_nothing_and_no_thread(media, tmp_path, after):
    import threading

    def progress(done, total):
        if done > after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        render_clip(sheet_of(media, "25", 18, **effects()), tmp_path / "a.mp4", progress=progress)
    assert not list(tmp_path.iterdir())
    assert not [thread for thread in threading.enumerate() if thread.name == "keyer-ahead"]


FULL = """
import resource, signal, sys
from keyer.cli.main import perform
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))
sys.exit(perform(sys.argv[2:]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of file size are for Unix")
@pytest.mark.parametrize(("codec", "limit"), [("h264", 100), ("png", 20_000), ("gif", 20_000)])
def test_a_full_disk_is_one_line_and_leaves_nothing(media, tmp_path, codec, limit):
    """A limit on the size of files fails a write as a full disk does."""
    sheet = tmp_path / "spot.toml"
    sheet.write_text(
        f'version = 1\n[sheet]\nformat = "{SIZE}@25"\nlength = 60\n'
        f"[sources.a]\nfile = '{media / 'shade.png'}'\n[sources.b]\nfile = '{media / 'n25.mp4'}'\n"
        '[[cues]]\nsource = "a"\n[[cues]]\nsource = "b"\nat = 2\n'
        'transition = { kind = "mix", length = 50 }\n',
        encoding="utf-8",
    )
    output = tmp_path / f"a{SUFFIXES[codec]}"
    run = subprocess.run(
        [sys.executable, "-c", FULL, str(limit), "clip", sheet, "-o", output, "--codec", codec],
        capture_output=True,
        text=True,
        check=False,
        timeout=100,
    )
    assert run.returncode == 3, run.stderr
    assert len(run.stderr.strip().splitlines()) == 1
    assert "cannot be" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["spot.toml"]


def test_many_sheets_one_after_the_other_leave_no_file_open(media, tmp_path):
    def descriptors():
        folder = Path("/proc/self/fd")  # of Linux alone
        return len(list(folder.iterdir())) if folder.is_dir() else 0

    sheet = sheet_of(media, "25", 18, **effects(), sound=[{"file": "tone.wav"}])
    render_clip(sheet, tmp_path / "a.mp4", end=3)
    before = descriptors()
    for number in range(5):
        render_clip(sheet, tmp_path / f"{number}.mp4", end=3)
    assert descriptors() <= before
