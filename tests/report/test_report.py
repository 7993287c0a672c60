import base64
import io
import re
from html.parser import HTMLParser
from types import SimpleNamespace

import numpy as np
import pytest
from media.tones import sine, write_sound
from PIL import Image
from report.made_spot import write_spot

from keyer.cli.main import perform
from keyer.errors import InputFileError, OutputError, SheetError
from keyer.kinds.cautions import CAUTION
from keyer.kinds.check_names import NAMES
from keyer.measure.cells import WHOLE
from keyer.report.checks.findings import Finding, Limit
from keyer.report.checks.key_checks import LIMITS
from keyer.report.page.finding_cards import counts, finding_cards, held, value_words
from keyer.report.page.timeline import place_of_frame
from keyer.report.report import chosen_frames, make_report, report_file
from keyer.sheet.load import load_sheet, parse_sheet


@pytest.fixture(scope="module")
def spot(tmp_path_factory):
    return write_spot(tmp_path_factory.mktemp("report") / "spot")


@pytest.fixture(scope="module")
def page(spot):
    return make_report(load_sheet(spot))[0]


class _Reader(HTMLParser):
    """Takes note of ids, links, pictures, and tags that are not closed."""

    VOID = ("meta", "img", "br", "line", "rect", "path", "image", "circle")

    def __init__(self):
        super().__init__()
        self.open, self.ids, self.links, self.sources = [], set(), [], []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.ids |= {found["id"]} if "id" in found else set()
        self.links += [found["href"]] if tag == "a" else []
        self.sources += [found.get("src") or found.get("href")] if tag in {"img", "image"} else []
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        if tag not in self.VOID:
            assert self.open.pop() == tag


def _read(page):
    reader = _Reader()
    reader.feed(page)
    return reader


def test_everything_asked_for_is_on_the_page(page, spot):
    sheet = load_sheet(spot)
    for said in (
        "Row before breakfast", "Cue 2: The jetty", "Storyboard", "Matte, white is subject",
        "Key signal", "Spill as recorded", "Spill left: violet 2.5", "Waveform, luma in percent",
        "Vectorscope, Cb to the right", "Level of luma", "Flashes in a second",
        "Spill left on the subject", "Holes in the matte", "Cue sheet", sheet.digest,
        "<b>201</b> clockWipe/clockwiseTwelve", "The spot over time",
    ):  # fmt: skip
        assert said in page, said
    assert page.count(CAUTION) == 2


def test_the_page_is_well_formed_and_its_links_lead_somewhere(page):
    reader = _read(page)
    assert reader.open == []
    assert {link[1:] for link in reader.links} <= reader.ids
    assert len([one for one in reader.ids if one.startswith("picture-")]) == 10


def test_nothing_is_fetched_and_nothing_runs(page):
    reader = _read(page)
    assert reader.sources
    assert all(source.startswith("data:image/") for source in reader.sources)
    assert set(re.findall(r"url\((.{10})", page)) == {"data:font/"}
    assert "http://" not in page
    assert "https://" not in page
    assert "<script" not in page
    assert "default-src 'none'" in page


def test_the_same_sheet_gives_the_same_page(page, spot):
    assert make_report(load_sheet(spot))[0] == page


def test_a_key_without_backing_is_a_finding_and_the_report_goes_on(spot):
    text = spot.read_text("utf-8").replace('source = "rower"\nin', 'source = "lake"\nin')
    bare = spot.with_name("bare.toml")
    bare.write_text(text, "utf-8")
    page, check = make_report(load_sheet(bare))
    assert check.verdict == "fails"
    assert NAMES["key.backing"] in page
    assert "Something fails" in page


def _card_picture(page, name):
    """Mean colour of the picture on the card of a finding."""
    cards = re.findall(r'<article class="finding.*?</article>', page, re.DOTALL)
    (card,) = [card for card in cards if name in card]
    data = base64.b64decode(re.search(r"data:image/jpeg;base64,([^\"]+)", card)[1])
    return np.asarray(Image.open(io.BytesIO(data))).mean(axis=(0, 1)), card


def test_findings_of_a_backing_show_the_plate_and_not_the_picture_that_is_made_of_it(spot):
    """The plate is mostly green; what it is keyed over is grey."""
    lit = np.asarray(Image.open(spot.parent / "media/rower.png")).astype(float)
    lit *= np.linspace(1, 0.55, 160)[np.newaxis, :, np.newaxis]
    Image.fromarray(lit.astype(np.uint8)).save(spot.parent / "media/uneven.png")
    uneven = spot.with_name("uneven.toml")
    uneven.write_text(spot.read_text("utf-8").replace("rower.png", "uneven.png"), "utf-8")
    page, _ = make_report(load_sheet(uneven))
    colour, card = _card_picture(page, NAMES["backing.evenness"])
    np.testing.assert_allclose(colour, lit.mean(axis=(0, 1)), atol=4)
    assert "as recorded" in card
    bare = spot.with_name("bare.toml")
    text = spot.read_text("utf-8").replace('source = "rower"\nin', 'source = "jetty"\nin')
    bare.write_text(text, "utf-8")
    colour, _ = _card_picture(make_report(load_sheet(bare))[0], NAMES["key.backing"])
    jetty = np.asarray(Image.open(spot.parent / "media/jetty.png")).mean(axis=(0, 1))
    np.testing.assert_allclose(colour, jetty, atol=4)


def test_a_sound_is_drawn_as_long_as_it_is_heard(spot):
    """A second of sound at 25 frames a second, from frame 12 on: it is over on frame 37."""
    write_sound(spot.parent / "media/voice.wav", sine(1.0))
    text = spot.read_text("utf-8") + '[[sound]]\nfile = "media/voice.wav"\nat = 12\n'
    heard = spot.with_name("heard.toml")
    heard.write_text(text, "utf-8")
    sheet = load_sheet(heard)
    page, check = make_report(sheet)
    points = re.findall(r'class="sound" points="([^"]+)"', page)[0].split()
    left, right = (float(point.split(",")[0]) for point in (points[0], points[-1]))
    assert left == pytest.approx(place_of_frame(sheet, 12), abs=0.06)
    assert right == pytest.approx(place_of_frame(sheet, 37), abs=0.06)
    heard.write_text(text.replace("at = 12", "at = 90"), "utf-8")
    page, check = make_report(load_sheet(heard))
    assert any("is cut off at the end of the sheet" in notice for notice in check.notices)
    heard.write_text(text.replace("voice.wav", "none.wav"), "utf-8")
    with pytest.raises(InputFileError, match=r"none\.wav"):
        make_report(load_sheet(heard))


def test_frames_can_be_chosen(spot):
    page = make_report(load_sheet(spot), [7])[0]
    assert page.count("frame 7:") == 1
    assert page.count('class="scoped"') == 1


def test_frames_are_chosen_in_the_middle_of_the_longest_shots(spot):
    """Shots after their transitions: 10 to 25, 45 to 75, 75 to 100."""
    assert chosen_frames(load_sheet(spot)) == [17, 60, 87]
    cues = "".join(f'[[cues]]\nsource = "a"\nat = {4 * n}\n' for n in range(20))
    many = parse_sheet(
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n[sources.a]\nramp = true\n' + cues
    )
    frames = chosen_frames(many)
    assert len(frames) == 10
    assert frames[-1] == (76 + 100) // 2


def _finding(check="timing.black", verdict="fails", first=10, value=3.0, subject="", unit="frames"):
    label = f"00:00:00:{first:02d}"
    limit = Limit("no black", "ours")
    return Finding(
        check, verdict, value, unit, first, first, first, label, label, label,
        WHOLE, limit, "Close the gap.", subject,
    )  # fmt: skip


def test_alike_findings_are_one_card_with_the_worst_first():
    found = [_finding(first=n, verdict="watch" if n == 3 else "fails") for n in (3, 1, 2)]
    (card,) = finding_cards([*found, _finding("levels.range", "holds")])
    assert card.verdict == "fails"
    assert card.name == "Black"
    assert card.when == "00:00:00:01, 00:00:00:02, 00:00:00:03"
    assert card.place is None
    many = [_finding(first=n) for n in range(9)]
    assert finding_cards(many)[0].when.startswith("9 times: 00:00:00:00, ")


def test_what_holds_is_listed_unless_it_also_fails():
    found = [
        _finding(),
        _finding(verdict="holds", first=20),
        _finding("title.contrast", "holds", value=4.72, unit=":1", subject="overlays[4] Closing"),
    ]
    (good,) = held(found)
    assert held([_finding("timing.length", "holds", value=3000.0)])[0].value == "3000 frames"
    assert (good.name, good.subject, good.value) == ("Contrast of the title", "Closing", "4.72:1")
    assert counts(finding_cards(found), 1) == {"fails": 1, "watch": 0, "holds": 1}


def test_every_measure_of_a_key_has_a_name():
    assert set(LIMITS) <= set(NAMES)


def test_outputs_and_inputs_are_checked_before_the_long_walk(spot, tmp_path):
    with pytest.raises(OutputError, match=r"\.html"):
        report_file(spot, tmp_path / "report.pdf", force=False)
    with pytest.raises(OutputError, match="folder"):
        report_file(spot, tmp_path / "none" / "report.html", force=False)
    gone = spot.with_name("gone.toml")
    gone.write_text(spot.read_text("utf-8").replace("media/lake.png", "media/none.png"), "utf-8")
    with pytest.raises((SheetError, InputFileError), match=r"none\.png"):
        report_file(gone, tmp_path / "report.html", force=False)
    assert not list(tmp_path.iterdir())


def test_the_command_says_the_verdict(spot, tmp_path, capsys):
    out = tmp_path / "report.html"
    assert perform(["report", str(spot), "-o", str(out), "--at", "1s"]) == 0
    assert "100 frames" in capsys.readouterr().out
    assert out.read_text("utf-8").startswith("<!DOCTYPE html>")
    assert perform(["report", str(spot), "-o", str(out)]) == 2
    assert "exists" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (1.0, "flashes a second", "1 flash a second"),
        (0.5, "flashes a second", "0.5 flashes a second"),
        (2.0, "frames", "2 frames"),
        (4.75, ":1", "4.75:1"),
    ],
)
def test_a_value_is_said_with_its_unit(value, unit, said):
    assert value_words(SimpleNamespace(check="any", value=value, unit=unit)) == said
