"""Each check of the mix with its fault and without, on short tones."""

from dataclasses import replace

import numpy as np
import pytest
from media.tones import sine, write_sound

from keyer.report.checks.check import check_sheet
from keyer.report.checks.sound_checks import R128, check_sound
from keyer.sheet.load import parse_sheet
from keyer.sheet.station import Station

HEAD = """version = 1
[sheet]
format = "32x18@25"
length = "{length}s"
{asked}
[sources.a]
colour = "#707070"
[[cues]]
source = "a"
[[sound]]
name = "Tone"
file = "tone.wav"
"""
ASKED = "loudness = { target = -24.0, tolerance = 1.0, true_peak = -2.0 }"


def made(folder, samples, *, asked="", length=4, more=""):
    write_sound(folder / "tone.wav", np.stack([samples, samples]))
    return parse_sheet(HEAD.format(asked=asked, length=length) + more, folder=folder)


def found(sheet, check):
    return [one for one in check_sound(sheet)[0] if one.check == check]


def faded(samples):
    ramp = np.minimum(1, np.arange(samples.size) / 4800).astype(np.float32)
    return samples * ramp[::-1]


@pytest.mark.parametrize(
    ("dbfs", "asked", "verdict"),
    [
        (-23.0, "", "holds"),
        (-23.6, "", "watch"),
        (-23.0, ASKED, "holds"),
        (-22.5, ASKED, "fails"),
        (-25.5, ASKED, "fails"),
    ],
)
def test_loudness(tmp_path, dbfs, asked, verdict):
    """A stereo tone of 1 kHz reads its level (EBU Tech 3341, case 1, from memory), to 0.1."""
    sheet = made(tmp_path, faded(sine(4, level=10 ** (dbfs / 20))), asked=asked)
    (finding,) = found(sheet, "sound.loudness")
    assert finding.verdict == verdict
    assert finding.value == pytest.approx(dbfs, abs=0.15)
    assert (finding.first, finding.last) == (0, 99)
    if verdict != "holds":
        off = dbfs - (-24 if asked else -23)
        assert ("Lower" if off > 0 else "Raise") in finding.remedy
        assert "as advice" in finding.limit.source or asked


@pytest.mark.parametrize(
    ("level", "asked", "verdict"),
    [(0.5, "", "holds"), (0.95, "", "watch"), (0.85, ASKED, "fails"), (1.2, "", "fails")],
)
def test_true_peak(tmp_path, level, asked, verdict):
    """By hand: 0.5 is -6, 0.85 -1.4, 0.95 -0.4, 1.2 +1.6 dBTP."""
    (finding,) = found(made(tmp_path, faded(sine(4, level=level)), asked=asked), "sound.true_peak")
    assert finding.verdict == verdict
    assert finding.value == pytest.approx(20 * np.log10(level), abs=0.2)


def test_a_gap_of_silence(tmp_path):
    samples = sine(8, level=0.1)
    samples[2 * 48_000 : 5 * 48_000] = 0
    (finding,) = found(made(tmp_path, faded(samples), length=8), "sound.silence")
    assert (finding.verdict, finding.value) == ("watch", 3.0)
    assert (finding.first, finding.last) == (50, 124)
    samples = sine(8, level=0.1)
    samples[2 * 48_000 : 3 * 48_000] = 0
    (finding,) = found(made(tmp_path, faded(samples), length=8), "sound.silence")
    assert finding.verdict == "holds"


def test_nothing_is_heard_at_all(tmp_path):
    sheet = made(tmp_path, sine(4, level=1e-4))
    (finding,) = found(sheet, "sound.silence")
    assert finding.verdict == "fails"
    (finding,) = found(sheet, "sound.loudness")
    assert finding.verdict == "watch"


@pytest.mark.parametrize(
    ("seconds", "more", "verdict", "where"),
    [
        (6, "", "fails", "with the sheet"),
        (6, "fade_out = 0\nout = 50\n", "fails", "at its out"),
        (6, "fade_out = 10\nout = 50\n", "holds", ""),
        (3, "", "watch", "with its file"),
    ],
)
def test_a_sound_that_is_cut_off(tmp_path, seconds, more, verdict, where):
    sheet = made(tmp_path, sine(seconds, level=0.2), more=more, asked=ASKED)
    (finding,) = found(sheet, "sound.end")
    assert finding.verdict == verdict
    guide = made(tmp_path, sine(seconds, level=0.2), more=more)
    (advice,) = found(guide, "sound.end")
    assert advice.verdict == ("holds" if verdict == "holds" else "watch")
    assert where in finding.remedy
    assert finding.subject == "sound[0] Tone"
    last = {"with the sheet": 99, "at its out": 49, "": 49, "with its file": 74}[where]
    assert finding.last == last


def test_a_sheet_that_fades_as_a_whole_takes_its_sound_along(tmp_path):
    sheet = made(tmp_path, sine(6, level=0.2), asked="fade_out = { length = 10 }")
    (finding,) = found(sheet, "sound.end")
    assert finding.verdict == "holds"


def test_the_check_of_a_sheet_hears_it(tmp_path):
    report = check_sheet(made(tmp_path, faded(sine(4, level=1.2))))
    assert report.verdict == "fails"
    assert report.findings[0].check == "sound.true_peak"
    without = parse_sheet(HEAD.format(asked="", length=1).partition("[[sound]]")[0])
    assert not any(one.check.startswith("sound.") for one in check_sheet(without).findings)


@pytest.mark.parametrize("asked", ["", ASKED])
def test_the_stations_loudness_goes_before_the_sheets(tmp_path, asked):
    rules = 'version = 1\nstation = "Upper Moss Vision"\n[loudness]\ntarget = -20\n'
    (tmp_path / "moss.toml").write_text(rules, encoding="utf-8")
    quiet = faded(sine(4, level=10 ** (-23 / 20)))
    sheet = made(tmp_path, quiet, asked=f'rules = "moss.toml"\n{asked}')
    (finding,) = found(sheet, "sound.loudness")
    assert (finding.verdict, finding.limit.text) == ("fails", "-20 LUFS, 0.5 LU either way")
    assert finding.limit.source == "rules of Upper Moss Vision, as ITU-R BS.1770-5"


def test_a_station_that_asks_of_the_mix_is_as_strict(tmp_path):
    sheet = made(tmp_path, sine(6, level=0.2))
    station = Station("Trial", "", tmp_path / "rules.toml", loudness=R128)
    (finding,) = found(replace(sheet, station=station), "sound.end")
    assert finding.verdict == "fails"
