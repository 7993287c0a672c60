"""A file of another kind than is wanted is told in one fault, with what to name instead."""

from fractions import Fraction

import pytest

from keyer.errors import SheetError
from keyer.sheet.load import parse_sheet
from keyer.sheet.station import load_station
from keyer.titles.read import parse_design

DESIGN = 'name = "Two lines"\n[styles.a]\nsize = 5\n[[boxes]]\nid = "a"\n'
SHEET = (
    'version = 1\n[sheet]\nformat = "32x16@25"\nlength = 10\n[sources.a]\nramp = true\n'
    '[[cues]]\nsource = "a"\n'
)


@pytest.mark.parametrize(
    ("parse", "text", "name", "says"),
    [
        (parse_sheet, DESIGN, "two.toml", "is a title design, not an effect sheet"),
        (parse_design, SHEET, "spot.toml", "is an effect sheet, not a title design"),
        (parse_sheet, "file,name\na,Ines\n", "names.csv", "It is a table of rows: name a sheet"),
        (parse_design, "file,name\na,Ines\n", "names.CSV", "It is a table of rows: name a sheet"),
    ],
)
def test_one_fault_names_the_kind(parse, text, name, says):
    with pytest.raises(SheetError, match=says) as caught:
        parse(text, name)
    assert len(caught.value.faults) == 1


def test_a_broken_text_that_is_no_table_by_its_name_has_no_hint():
    with pytest.raises(SheetError) as caught:
        parse_sheet("file,name\na,Ines\n", "spot.toml")
    assert "table of rows" not in str(caught.value)


def test_a_sheet_is_no_rules_of_a_station(tmp_path):
    file = tmp_path / "spot.toml"
    file.write_text(SHEET)
    with pytest.raises(SheetError, match="is an effect sheet, not a station's rules") as caught:
        load_station(file, Fraction(25))
    assert len(caught.value.faults) == 1
