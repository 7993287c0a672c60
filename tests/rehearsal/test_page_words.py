"""Keys and values of the sheet that the page's scripts name are those of the sheet."""

import re
from importlib.resources import files

from keyer.rehearsal.controls import controls


def script(name):
    return (files("keyer.rehearsal") / "static" / name).read_text("utf-8")


def known(table):
    return {one["key"]: one for one in controls()[table]}


def test_settings_that_stand_under_more_are_settings():
    block = re.search(r"const SELDOM = \{(.*?)\n\};", script("settings.js"), re.DOTALL)[1]
    tables = dict(re.findall(r"(\w+): \[([^\]]*)\]", block))
    assert {"transition", "source"} <= tables.keys()
    for table, said in tables.items():
        assert set(re.findall(r'"(\w+)"', said)) <= known(table).keys()


def test_what_a_dropped_clip_is_given():
    written = re.findall(r"clip \? \{ file: path, (\w+): true \}", script("arrive.js"))
    assert len(written) == 2
    assert set(written) <= known("source").keys()


def test_the_fit_that_keeps_a_part_in_sight():
    usual, wanted = re.search(
        r'held\.fit\?\.value \?\? "(\w+)"\) === "(\w+)"', script("settings.js")
    ).groups()
    assert usual == known("source")["fit"]["default"] == wanted
