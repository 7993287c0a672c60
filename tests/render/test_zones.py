"""What a station keeps free, drawn into stills."""

import numpy as np
import pytest
from PIL import Image

from keyer.errors import SettingError
from keyer.measure.cells import Place
from keyer.measure.safe_areas import SafeArea
from keyer.measure.title_rules import NO_RULES, TitleRules, Zone
from keyer.render.stills import render_files
from keyer.render.zones import refuse_no_zones, with_zones
from keyer.report.versions.remake import remake_file

MARK = TitleRules("rules of Lantern", zones=(Zone("mark", Place(75, 10, 20, 25)),))


@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
def test_a_zone_is_outlined_and_lighter_and_the_rest_stays(depth):
    full = np.iinfo(depth).max
    grey = np.full((200, 400, 3), full // 2, depth)
    before = grey.copy()
    zoned = with_zones(grey, MARK)
    assert zoned.dtype == depth
    assert (grey == before).all()
    # by hand: 75 to 95 % of 400 columns, 10 to 35 % of 200 rows
    apart = np.argwhere((zoned != grey).any(axis=2))
    assert [*apart.min(0), *apart.max(0)] == [20, 300, 69, 379]
    assert (zoned[20, 300:380] == full).all()
    assert (zoned[21, 301:379] == 0).all()
    # a haze of 30 %: 0.5 + 0.3 * 0.5
    assert zoned[30, 310, 0] == pytest.approx(0.65 * full, rel=0.01)


def test_a_zone_is_named_where_the_name_has_room():
    grey = np.full((400, 800, 3), 128, np.uint8)
    named, small = (
        with_zones(grey, TitleRules(zones=(Zone("mark", Place(10, 10, width, 25)),)))
        for width in (40, 3)
    )
    # inside the lines, 1 px each: letters alone are lighter than the haze, 166
    assert (named[44:136, 84:396] > 200).any(axis=2).sum() > 20
    assert not (small[44:136, 84:100] > 200).any()


def test_of_a_name_that_no_font_can_write_whole_the_rest_is_written():
    grey = np.full((400, 800, 3), 128, np.uint8)
    place = Place(10, 10, 40, 25)
    whole, rest = (
        with_zones(grey, TitleRules(zones=(Zone(name, place),))) for name in ("mark", "m\ue000ark")
    )
    assert (whole == rest).all()


def test_safe_areas_of_a_station_are_outlined():
    zoned = with_zones(np.full((200, 400, 3), 128, np.uint8),
                       TitleRules(safe=SafeArea(0.9, 0.8, "ours")))  # fmt: skip
    lit = np.argwhere((zoned == 255).all(axis=2))
    # by hand: 90 % leave 20 columns and 10 rows at each side
    assert [*lit.min(0), *lit.max(0)] == [10, 20, 189, 379]
    assert (zoned[20, 40:360] == 255).all()


def test_without_zones_there_is_nothing_to_draw():
    with pytest.raises(SettingError, match="zones needs a station's rules with zones"):
        refuse_no_zones(NO_RULES)


SHEET = """version = 1
[sheet]
format = "160x90@25"
length = 10
{rules}
[sources.grey]
colour = "#404040"
[[cues]]
source = "grey"
"""


def test_a_still_with_zones_says_how_it_was_made(tmp_path):
    (tmp_path / "lantern.toml").write_text(
        'version = 1\nstation = "Lantern"\n[[zones]]\nname = "mark"\nbox = [80, 10, 10, 20]\n'
    )
    sheet, still = tmp_path / "spot.toml", tmp_path / "still.png"
    sheet.write_text(SHEET.format(rules='rules = "lantern.toml"'))
    render_files(sheet, ["1"], still, show="zones", force=False)
    with Image.open(still) as image:
        assert image.getpixel((128, 9)) == (255, 255, 255)
        assert image.getpixel((10, 50)) == (0x40, 0x40, 0x40)
    assert remake_file(still, tmp_path / "again.png").same
    sheet.write_text(SHEET.format(rules=""))
    with pytest.raises(SettingError, match="zones needs a station's rules"):
        render_files(sheet, ["1"], tmp_path / "none.png", show="zones", force=False)
    assert not (tmp_path / "none.png").exists()
