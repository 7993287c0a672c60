"""Each check against a sheet with its fault and one without, at small size."""

import json

import numpy as np
import pytest
from PIL import Image
from report.spots import (
    CRAWL,
    HEAD,
    HEIGHT,
    WIDTH,
    bad,
    bright_clip,
    checked,
    cut,
    found,
    picture,
    plate,
    short_clip,
    stripes,
    title,
)

from keyer.errors import InputFileError
from keyer.kinds.cautions import CAUTION
from keyer.measure.cells import WHOLE
from keyer.report.checks.check import check_file

OVER = '[[overlays]]\nsource = "{source}"\n'
MIX = 'transition = { kind = "mix", length = 10 }\n'
ALL = {
    "levels.range", "flash.general", "flash.general_picture", "flash.red", "flash.red_picture",
    "stripes.pattern", "timing.black", "timing.length", "timing.stray_frame",
}  # fmt: skip


def test_a_clean_spot_holds(tmp_path):
    report = checked(tmp_path, cut(("blue", 0), ("grey", 100)))
    assert bad(report) == []
    assert report.verdict == "holds"
    assert {finding.check for finding in report.findings} == ALL
    assert all((f.first, f.last) == (0, 249) for f in report.findings)
    data = json.loads(json.dumps(report.as_dict(), allow_nan=False))
    assert data["caution"] == CAUTION
    assert data["frames"] == 250
    first = data["findings"][0]
    assert {"check", "verdict", "value", "unit", "limit", "source", "remedy", "place"} <= set(first)
    assert first["last_timecode"] == "00:00:09:24"


@pytest.mark.parametrize(("flashes", "verdict"), [(2, "holds"), (3, "watch"), (4, "fails")])
def test_flashes(tmp_path, flashes, verdict):
    order = [("black", 0)] if flashes else []
    for i in range(flashes):
        order += [("white", 50 + 6 * i), ("black", 53 + 6 * i)]
    report = checked(tmp_path, cut(*order, ("blue", 100)))
    (finding,) = found(report, "flash.general")
    assert (finding.verdict, finding.value) == (verdict, flashes)
    (picture_finding,) = found(report, "flash.general_picture")
    assert picture_finding.verdict == verdict
    assert picture_finding.place == WHOLE
    if verdict == "fails":
        # the fourth white comes at 68, three and a half flashes after 50
        assert (finding.first, finding.worst_timecode) == (41, "00:00:02:21")
        assert "WCAG 2.3.1" in finding.limit.source
        assert "tested as the broadcaster asks" in finding.remedy
        assert report.verdict == "fails"
    assert found(report, "flash.red")[0].verdict == "holds"


def test_red_flashes_of_even_brightness(tmp_path):
    """Red and grey of one luminance: no general flash, but a red one."""
    order = [(("red", "even")[i % 2], 50 + 3 * i) for i in range(10)]
    report = checked(tmp_path, cut(("even", 0), *order, ("even", 90)))
    assert found(report, "flash.general")[0].verdict == "holds"
    (red,) = found(report, "flash.red")
    assert (red.verdict, red.value) == ("fails", 4.5)  # nine changes within 25 frames
    assert found(report, "flash.red_picture")[0].verdict == "fails"


@pytest.mark.parametrize(("pairs", "verdict"), [(4, "holds"), (12, "fails")])
def test_stripes(tmp_path, pairs, verdict):
    tables = picture(tmp_path, "bars.png", stripes(192 / pairs))
    report = checked(tmp_path, tables + cut(("blue", 0), ("bars", 100), ("blue", 130)))
    (finding,) = found(report, "stripes.pattern")
    assert finding.verdict == verdict
    if verdict == "fails":
        assert (finding.first, finding.last) == (100, 129)
        assert finding.value == pytest.approx(100, abs=1)
        assert "12 pairs" in finding.remedy


@pytest.mark.parametrize(
    ("name", "verdict", "says"),
    [("squares", "fails", "rows of elements"), ("fine", "watch", "not measured")],
)
def test_rows_of_elements_and_what_is_too_fine(tmp_path, name, verdict, says):
    """BT.1702: stripes "may be formed by rows of repetitive elements"; squares of 24 and 2."""
    y, x = np.mgrid[:540, :960]
    side = {"squares": 24, "fine": 2}[name]
    tables = picture(
        tmp_path, "rows.png", np.repeat(((x // side + y // side) % 2)[..., None], 3, 2)
    )
    body = tables + cut(("blue", 0), ("rows", 10), ("blue", 30))
    path = tmp_path / "sheet.toml"
    text = HEAD.format(length=40).replace("192x108", "960x540")
    path.write_text(text + body, encoding="utf-8")
    (finding,) = found(check_file(path), "stripes.pattern")
    assert (finding.verdict, finding.first, finding.last) == (verdict, 10, 29)
    assert finding.value == pytest.approx(100, abs=1)
    assert says in finding.remedy


@pytest.mark.parametrize(
    ("share", "luma", "verdict"), [(0.1, 255, "fails"), (0.1, 235, "holds"), (0.018, 255, "holds")]
)
def test_levels_beyond_white(tmp_path, share, luma, verdict):
    """Code 255 is 109 %; two rows of 108 are 1.9 %, of which the filter leaves one."""
    body = bright_clip(tmp_path, share, luma) + cut(("blue", 0), ("bright", 20), ("blue", 40))
    report = checked(tmp_path, body)
    (finding,) = found(report, "levels.range")
    assert finding.verdict == verdict
    if verdict == "fails":
        assert (finding.first, finding.last) == (20, 39)
        assert finding.place.height == pytest.approx(9.3, abs=1)
        assert "109 %" in finding.remedy


def test_levels_are_measured_before_a_mix_brings_them_back(tmp_path):
    body = bright_clip(tmp_path, 0.1) + cut(("blue", 0), ("bright", 20))
    body += 'transition = { kind = "mix", length = 9 }\n'
    (finding,) = found(checked(tmp_path, body, "60"), "levels.range")
    assert 25 < finding.first <= 29  # only once the mix is nearly all clip
    assert finding.last == 59


def test_black_is_a_gap_unless_the_sheet_asks_for_it(tmp_path):
    dark = picture(tmp_path, "dark.png", np.zeros((HEIGHT, WIDTH, 3)))
    report = checked(tmp_path, dark + cut(("blue", 0), ("dark", 50), ("blue", 54)))
    (finding,) = found(report, "timing.black")
    assert (finding.verdict, finding.value, finding.first, finding.last) == ("fails", 4, 50, 53)
    longer = checked(tmp_path, dark + cut(("blue", 0), ("dark", 50), ("blue", 80)))
    assert found(longer, "timing.black")[0].verdict == "watch"
    fade = cut(("blue", 0)) + "[[cues]]\nat = 50\n"
    fade += 'transition = { kind = "fade", length = 10 }\n' + cut(("blue", 100))
    assert found(checked(tmp_path, fade), "timing.black")[0].verdict == "holds"


def test_black_that_is_meant_is_no_fault(tmp_path):
    """A mix to a black source and back, a black source cut to, and a spot that ends in black."""
    mixed = cut(("blue", 0), ("black", 50), ("blue", 70)).replace("at = 50", f"at = 50\n{MIX}")
    assert found(checked(tmp_path, mixed), "timing.black")[0].verdict == "holds"
    short = cut(("blue", 0), ("black", 50), ("blue", 54))
    assert found(checked(tmp_path, short), "timing.black")[0].verdict == "holds"
    dark = picture(tmp_path, "dark.png", np.zeros((HEIGHT, WIDTH, 3)))
    ends = checked(tmp_path, dark + cut(("blue", 0), ("dark", 240)))
    assert found(ends, "timing.black")[0].verdict == "holds"
    begins = checked(tmp_path, dark + cut(("dark", 0), ("blue", 5)))
    assert found(begins, "timing.black")[0].verdict == "fails"


def test_a_transition_that_ends_with_the_sheet_is_not_over_on_its_last_frame(tmp_path):
    """By hand: of 9 frames the last is 9 / 10 there, and the tenth would be the whole picture."""
    body = cut(("blue", 0), ("black", 241)) + MIX.replace("10", "9")
    (finding,) = found(checked(tmp_path, body), "timing.last_frame")
    assert (finding.verdict, finding.value, finding.first) == ("watch", 90.0, 249)
    assert "a frame earlier" in finding.remedy
    earlier = cut(("blue", 0), ("black", 240)) + MIX.replace("10", "9")
    assert found(checked(tmp_path, earlier), "timing.last_frame") == []
    over = (
        cut(("blue", 0))
        + OVER.format(source="grey")
        + 'transition_out = { kind = "mix", length = 9 }\n'
    )
    (finding,) = found(checked(tmp_path, over), "timing.last_frame")
    assert (finding.subject, finding.value) == ("overlays[0] grey", 90.0)


@pytest.mark.parametrize("at", [1, 50, 249])
def test_a_picture_of_a_single_frame(tmp_path, at):
    after = [("grey", at + 1)] if at < 249 else []
    order = [("blue", 0), ("white", at), *after]
    if at == 1:
        order = [("white", 0), ("grey", 1)]
    (finding,) = found(checked(tmp_path, cut(*order)), "timing.stray_frame")
    frame = 0 if at == 1 else at
    assert (finding.verdict, finding.first, finding.last) == ("fails", frame, frame)


def test_a_lamp_that_flashes_is_watch(tmp_path):
    report = checked(tmp_path, cut(("blue", 0), ("white", 50), ("blue", 51)))
    (finding,) = found(report, "timing.stray_frame")
    assert (finding.verdict, finding.first) == ("watch", 50)


@pytest.mark.parametrize(
    "order", [[("blue", 0), ("grey", 50)], [("blue", 0), ("white", 50), ("grey", 52)]]
)
def test_cuts_and_two_frames_are_no_stray_frame(tmp_path, order):
    report = checked(tmp_path, cut(*order))
    assert found(report, "timing.stray_frame")[0].verdict == "holds"


def test_a_transition_of_one_frame_is_none_either(tmp_path):
    body = cut(("blue", 0), ("white", 50)) + 'transition = { kind = "mix", length = 1 }\n'
    assert found(checked(tmp_path, body), "timing.stray_frame")[0].verdict == "holds"


@pytest.mark.parametrize(
    ("length", "verdict"),
    [('"10s"', "holds"), ("249", "watch"), ("251", "watch"), ("200", "holds")],
)
def test_length_to_the_frame(tmp_path, length, verdict):
    (finding,) = found(checked(tmp_path, cut(("blue", 0)), length), "timing.length")
    assert finding.verdict == verdict
    if length == "249":
        assert finding.remedy.startswith("249 frames are 1 too short for 10 s")


def test_a_clip_that_ends_on_air(tmp_path):
    body = short_clip(tmp_path, 20) + cut(("blue", 0), ("short", 50), ("blue", 80))
    report = checked(tmp_path, body)
    (finding,) = found(report, "timing.source_end")
    assert not any("off air" in text for text in report.notices)  # it is said once
    assert (finding.verdict, finding.first, finding.last) == ("fails", 70, 79)
    assert finding.value == 10
    assert finding.subject == "cues[1] short"
    held = body.replace('file = "short.mp4"', 'file = "short.mp4"\nfreeze = true')
    assert found(checked(tmp_path, held), "timing.source_end") == []


def test_a_transition_longer_than_its_source(tmp_path):
    """The clip covers its cue but not the mix that takes it off."""
    body = short_clip(tmp_path, 20) + cut(("blue", 0), ("short", 50), ("blue", 68))
    body += 'transition = { kind = "mix", length = 10 }\n'
    (finding,) = found(checked(tmp_path, body), "timing.source_end")
    assert (finding.first, finding.last, finding.value) == (70, 77, 8)
    assert "is over before its transition is" in finding.remedy


def keyed(name="subject"):
    key = 'key = { kind = "chroma", acceptance = 100, clip = 4, gain = 1.1 }\n'
    return OVER.format(source=name) + "in = 10\nout = 60\n" + key


def test_a_key_that_holds_and_one_that_does_not(tmp_path):
    for hole, verdict in ((False, "holds"), (True, "fails")):
        body = picture(tmp_path, "subject.png", plate(hole=hole)) + cut(("grey", 0)) + keyed()
        (finding,) = found(checked(tmp_path, body), "coverage.holes")
        assert finding.verdict == verdict
        assert finding.subject == "overlays[0] subject"
        assert (finding.first, finding.last) == (10, 59)


def test_the_worst_frame_of_a_key_is_named(tmp_path):
    from media.made import write_clip

    def draw(number, *_):
        rgb = plate(hole=15 <= number < 25)
        return (rgb * 255).astype(np.uint8)

    write_clip(tmp_path / "subject.mkv", codec="ffv1", layout="bgr0", frames=50,
               size=(192, 108), options={}, draw=draw)  # fmt: skip
    body = '[sources.subject]\nfile = "subject.mkv"\n' + cut(("grey", 0)) + keyed()
    (finding,) = found(checked(tmp_path, body), "coverage.holes")
    assert finding.verdict == "fails"
    assert (finding.first, finding.last) == (25, 30)  # looked at every fifth frame from 10 on
    assert 25 <= finding.worst <= 30


def test_a_plate_without_backing_is_a_finding(tmp_path):
    grey = picture(tmp_path, "subject.png", np.full((108, 192, 3), 0.5))
    report = checked(tmp_path, grey + cut(("blue", 0)) + keyed())
    (finding,) = found(report, "key.backing")
    assert finding.verdict == "fails"
    assert (finding.first, finding.last) == (10, 59)
    assert found(report, "levels.range")[0].verdict == "holds"  # the rest is checked all the same


@pytest.mark.parametrize(
    ("ink", "back", "verdict"),
    [("#FFFFFF", "blue", "holds"), ("#FFFFFF", "white", "fails"), ("#B0B0B0", "grey", "fails")],
)
def test_title_contrast(tmp_path, ink, back, verdict):
    body = title(tmp_path, ink=ink) + cut((back, 0))
    body += OVER.format(source="trial") + "in = 10\nout = 110\n"
    (finding,) = found(checked(tmp_path, body), "title.contrast")
    assert finding.verdict == verdict
    assert (finding.first, finding.last) == (10, 109)
    assert finding.place.top > 70


def test_title_contrast_is_worst_where_the_picture_changes(tmp_path):
    body = title(tmp_path) + cut(("blue", 0), ("white", 50), ("blue", 60))
    body += OVER.format(source="trial") + "in = 10\nout = 110\n"
    (finding,) = found(checked(tmp_path, body), "title.contrast")
    assert (finding.verdict, finding.value) == ("fails", 1.0)
    assert (finding.first, finding.last) == (50, 55)


@pytest.mark.parametrize(("frames", "verdict"), [(49, "watch"), (37, "fails"), (50, "holds")])
def test_reading_time_is_that_in_which_it_is_fully_there(tmp_path, frames, verdict):
    """Two words: 2 s are easy, 1.5 s the least; ten frames of mixes do not count."""
    body = title(tmp_path) + cut(("blue", 0)) + OVER.format(source="trial")
    body += f"in = 10\nout = {20 + frames}\n"
    body += 'transition_in = { kind = "mix", length = 6 }\n'
    body += 'transition_out = { kind = "mix", length = 4 }\n'
    (finding,) = found(checked(tmp_path, body), "title.reading_time")
    assert finding.verdict == verdict
    assert (finding.first, finding.last) == (16, 15 + frames)


def test_a_title_that_is_never_fully_there(tmp_path):
    body = title(tmp_path) + cut(("blue", 0)) + OVER.format(source="trial")
    body += 'in = 10\nout = 20\ntransition_in = { kind = "mix", length = 6 }\n'
    body += 'transition_out = { kind = "mix", length = 4 }\n'
    report = checked(tmp_path, body)
    (finding,) = found(report, "title.reading_time")
    assert (finding.verdict, finding.value) == ("fails", 0)
    assert found(report, "title.contrast") == []


BUILT = """
[[build]]
parts = ["words"]
length = {length}
kind = "{kind}"
towards = "{towards}"
{more}
[[leave]]
parts = ["words"]
length = 5
"""


@pytest.mark.parametrize(("frames", "verdict"), [(49, "watch"), (37, "fails"), (50, "holds")])
def test_reading_time_of_a_built_title_is_that_in_which_it_is_built(tmp_path, frames, verdict):
    """Two words: 2 s are easy, 1.5 s the least; 20 frames of build and 5 of going do not count."""
    built = BUILT.format(length=20, kind="wipe", towards="right", more="soft = 4")
    body = title(tmp_path, move=built) + cut(("blue", 0)) + OVER.format(source="trial")
    body += f"in = 10\nout = {35 + frames}\n"
    (finding,) = found(checked(tmp_path, body), "title.reading_time")
    assert finding.verdict == verdict
    assert (finding.first, finding.last) == (30, 29 + frames)


@pytest.mark.parametrize(
    ("way", "verdict", "frames"),
    [
        ('kind = "slide"\ntowards = "up"', "holds", (10, 199)),
        ('kind = "slide"\ntowards = "up"\ndistance = 12', "fails", (10, 26)),
    ],
)
def test_letters_stay_in_the_safe_area_while_they_come(tmp_path, way, verdict, frames):
    """The box rests 4 % above title-safe: from 12 % below it starts outside.

    By hand: letters rest 2 of 108 rows above the edge of the area and come from 13 below, so
    step 16 of 20, at 10 + 16, is the last on which (1 - 17 / 21) x 13 rows are more than 2.
    """
    built = f'[[build]]\nparts = ["words"]\nlength = 20\ncurve = "linear"\n{way}\n'
    body = title(tmp_path, place="x = 2", move=built) + cut(("blue", 0))
    body += OVER.format(source="trial") + "in = 10\nout = 200\n"
    finding = found(checked(tmp_path, body), "title.safe_area")[0]
    assert finding.verdict == verdict
    assert (finding.first, finding.last) == frames


def test_a_logo_alone_is_not_read(tmp_path):
    Image.new("RGB", (20, 20), (250, 200, 20)).save(tmp_path / "logo.png")
    (tmp_path / "bug.toml").write_text(
        'name = "Bug"\n[styles.s]\n[[boxes]]\nid = "logo"\nplace = "top right"\nheight = 10\n'
        'picture = { file = "logo.png" }\n',
        encoding="utf-8",
    )
    body = '[sources.bug.title]\ndesign = "bug.toml"\n' + cut(("blue", 0))
    report = checked(tmp_path, body + OVER.format(source="bug") + "in = 10\nout = 20\n")
    assert found(report, "title.reading_time") == []
    assert found(report, "title.safe_area")[0].verdict == "holds"


@pytest.mark.parametrize("shape", ["1x1@25", "2x2@60", "3x200@24", "400x2@29.97", "30x30@50"])
def test_odd_formats_are_checked(tmp_path, shape):
    path = tmp_path / "sheet.toml"
    text = HEAD.format(length=12).replace("192x108@25", shape) + cut(("blue", 0), ("grey", 6))
    path.write_text(text, encoding="utf-8")
    assert check_file(path).verdict == "holds"


@pytest.mark.parametrize(("place", "verdict"), [("x = 2", "holds"), ("x = -2", "watch"),
                                                ("x = -9", "fails")])  # fmt: skip
def test_safe_area(tmp_path, place, verdict):
    body = title(tmp_path, place=place) + cut(("blue", 0)) + OVER.format(source="trial")
    (finding,) = found(checked(tmp_path, body), "title.safe_area")
    assert finding.verdict == verdict
    assert "ST 2046-1" in finding.limit.source


@pytest.mark.parametrize(("frames", "verdict"), [(30, "fails"), (110, "holds")])
def test_a_crawl_has_to_pass(tmp_path, frames, verdict):
    body = title(tmp_path, move=CRAWL) + cut(("blue", 0)) + OVER.format(source="trial")
    report = checked(tmp_path, body + f"in = 10\nout = {10 + frames}\n")
    assert found(report, "title.passage")[0].verdict == verdict
    assert found(report, "title.safe_area") == []
    assert found(report, "title.reading_time") == []


def test_a_title_as_the_base_stands_on_black(tmp_path):
    body = title(tmp_path) + cut(("blue", 0), ("trial", 50), ("blue", 150))
    report = checked(tmp_path, body)
    (finding,) = found(report, "title.contrast")
    assert (finding.verdict, finding.first, finding.last) == ("holds", 50, 149)
    assert finding.value > 7  # thin strokes at this size are not quite white
    assert finding.subject == "cues[1] trial"


@pytest.mark.parametrize(
    "pose", ["scale = 80", "position = [52, 45]", "scale = 60, position = [70, 30]"]
)
def test_a_title_that_the_sheet_moves_is_measured_where_it_stands(tmp_path, pose):
    """Grey on grey: no contrast; white on grey (0x70): 4.9:1 by WCAG, by hand."""
    over = cut(("grey", 0)) + OVER.format(source="trial") + f"placement = {{ {pose} }}\n"
    faint = checked(tmp_path, title(tmp_path, ink="#787878") + over)
    (finding,) = found(faint, "title.contrast")
    assert (finding.verdict, faint.verdict) == ("fails", "fails")
    clear = checked(tmp_path, title(tmp_path) + over)
    assert found(clear, "title.contrast")[0].value == pytest.approx(4.9, abs=0.25)


def test_a_moved_title_is_measured_against_what_is_there(tmp_path):
    """A white title at the foot; raised by half a picture it stands on a white sky."""
    split = np.full((HEIGHT, WIDTH, 3), 0.1)
    split[: HEIGHT // 2] = 1.0
    body = picture(tmp_path, "split.png", split) + title(tmp_path) + cut(("split", 0))
    below = body + OVER.format(source="trial") + "placement = { scale = 99 }\n"
    assert found(checked(tmp_path, below), "title.contrast")[0].verdict == "holds"
    above = body + OVER.format(source="trial") + "placement = { position = [50, 0] }\n"
    assert found(checked(tmp_path, above), "title.contrast")[0].verdict == "fails"


@pytest.mark.parametrize(
    "pose",
    [
        "position = [960, 540], scale = 0.5",
        "scale = 0",
        "keyframes = [{ at = 0, opacity = 0 }]",
    ],
)
def test_an_overlay_that_is_never_seen_fails(tmp_path, pose):
    over = cut(("blue", 0)) + OVER.format(source="grey")
    (finding,) = found(checked(tmp_path, over + f"placement = {{ {pose} }}\n"), "overlay.seen")
    assert (finding.verdict, finding.first, finding.last) == ("fails", 0, 249)
    assert "percent of the picture" in finding.remedy
    comes = "keyframes = [{ at = 0, position = [-100, 50] }, { at = 100, position = [50, 50] }]"
    assert found(checked(tmp_path, over + f"placement = {{ {comes} }}\n"), "overlay.seen") == []


def test_overlays_of_every_kind_are_seen(tmp_path):
    body = title(tmp_path) + picture(tmp_path, "plate.png", plate()) + cut(("blue", 0))
    body += (
        OVER.format(source="trial") + OVER.format(source="plate") + 'key = { kind = "chroma" }\n'
    )
    body += OVER.format(source="plate") + 'key = { kind = "luminance" }\n'
    assert found(checked(tmp_path, body, "50"), "overlay.seen") == []


def test_findings_begin_with_the_worst(tmp_path):
    body = picture(tmp_path, "dark.png", np.zeros((HEIGHT, WIDTH, 3)))
    body += cut(("blue", 0), ("dark", 50), ("blue", 80), ("dark", 120), ("blue", 124))
    verdicts = [f.verdict for f in checked(tmp_path, body, "249").findings]
    assert verdicts == sorted(verdicts, key=["fails", "watch", "holds"].index)


def test_series_have_a_value_for_every_frame(tmp_path):
    report = checked(tmp_path, cut(("blue", 0), ("white", 30)), "60")
    series = {one.name: one for one in report.series}
    for name in ("levels.highest_luma", "flash.general", "stripes.area", "light.mean"):
        assert series[name].frames == tuple(range(60))
        assert len(series[name].values) == 60
    # by hand, BT.601: (0.299 * 32 + 0.587 * 48 + 0.114 * 96) / 255
    assert series["levels.highest_luma"].values[29:31] == pytest.approx((19.09, 100), abs=0.01)
    assert series["flash.general"].values[29:31] == (0, 0.5)


def test_progress_is_told(tmp_path):
    path = tmp_path / "sheet.toml"
    path.write_text(HEAD.format(length=5) + cut(("blue", 0)), encoding="utf-8")
    told = []
    check_file(path, lambda done, total: told.append((done, total)))
    assert told == [(i, 5) for i in range(1, 6)]


def test_a_clip_that_breaks_while_it_is_read(tmp_path):
    body = short_clip(tmp_path, 40) + cut(("short", 0))
    whole = (tmp_path / "short.mp4").read_bytes()
    (tmp_path / "short.mp4").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(InputFileError):
        checked(tmp_path, body)
