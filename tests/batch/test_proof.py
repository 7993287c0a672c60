"""Proofs of titles: texts as they stand, their lengths, and what they clash with."""

import re
from fractions import Fraction

import pytest
from batch.made import DESIGN, SHEET, project, table

from keyer.batch.page_rows import RowsOrder, add_pages
from keyer.batch.proof_page import lay_proof, write_proof
from keyer.batch.proof_titles import RowsProof, proof_pages, proof_rows, proof_sheet
from keyer.errors import OutputError, SettingError
from keyer.kinds.formats import parse_format
from keyer.media.files import Files
from keyer.paper.page import Block, Words

RULES = """
version = 1
station = "Lantern"
[[zones]]
name = "mark"
box = [80, 0, 20, 20]
[[zones]]
name = "subtitles"
box = [0, 75, 50, 25]
"""


def ruled(folder):
    sheet = project(folder)
    (folder / "lantern.toml").write_text(RULES)
    sheet.write_text(SHEET.replace("[sheet]", '[sheet]\nrules = "lantern.toml"'))
    return sheet


def rows(folder, text):
    return RowsProof(ruled(folder), table(folder, text))


def measures(title):
    return {one.measure: one for one in title.verdicts}


def test_a_title_of_a_sheet(tmp_path):
    sheet = project(tmp_path)
    sheet.write_text(SHEET.replace('role = ""', 'name = "Ines", role = "the lake"'))
    (one,) = proof_sheet(sheet).titles
    assert (one.number, one.name, one.lines) == (1, "guest", ("Ines", "the lake"))
    # 4 + 3 + 4 letters, three words; 160 words a minute and at least 2 s
    assert (one.letters, one.words, one.needed) == (11, 3, 2.0)
    # frames 10 to 89 less a mix of 12 frames, at 25 a second
    assert one.on_screen == float(Fraction(80 - 12, 25))
    assert one.when == "00:00:00:10 to 00:00:03:14"
    assert one.verdict == "holds"


def test_each_row_is_read_as_it_stands_on_screen(tmp_path):
    found = proof_rows(rows(tmp_path, "file,name,role\na,Ines,a b c d e f g h i\nb,Tilda,\n"))
    first, second = found.titles
    assert (first.number, first.name, first.lines[0]) == (2, "a", "Ines")
    assert (second.number, second.lines) == (3, ("Tilda",))
    assert found.noun == "row"


def test_a_long_text_is_shown_with_the_ends_of_its_lines(tmp_path):
    words = "keeps the boats and the bells"
    (one,) = proof_rows(rows(tmp_path, f"file,name,role\na,Ines,{words}\n")).titles
    assert len(one.lines) == 3
    assert " ".join(one.lines[1:]) == words


def test_what_stands_in_a_zone_fails_and_the_zone_is_named(tmp_path):
    (one,) = proof_rows(rows(tmp_path, "file,name,role\na,Ines,\n")).titles
    zone = measures(one)["title.zone"]
    assert (zone.verdict, "Keep the subtitles free" in zone.remedy) == ("fails", True)
    assert "mark" not in zone.remedy
    assert one.verdict == "fails"


def test_the_hurried_reader_is_told(tmp_path):
    order = rows(tmp_path, "file,name,role\na,Ines,a b c d e f g h i\n")
    order.sheet.write_text(order.sheet.read_text().replace("out = 90", "out = 60"))
    (one,) = proof_rows(order).titles
    # ten words: 3.75 s at 160 a minute, 3 s at 200; frames 22 to 59 are 1.52 s
    assert (one.needed, one.on_screen) == (3.75, 1.52)
    assert measures(one)["title.reading_time"].verdict == "fails"


@pytest.mark.parametrize(
    ("row", "says", "lines"),
    [
        ("a,,role", "field name must not be empty", ("role",)),
        (f"a,{'x' * 90},", "too wide", ("x" * 90,)),
        ("a,\ue000,", "U\\+E000", ("\ue000",)),
    ],
)
def test_what_cannot_be_drawn_is_in_the_proof_with_its_text(tmp_path, row, says, lines):
    found = proof_rows(rows(tmp_path, f"file,name,role\n{row}\nb,Tilda,\n"))
    bad, good = found.titles
    assert re.search(says, bad.fault)
    assert (bad.lines, bad.verdict, good.fault) == (lines, "fails", "")


def test_a_row_whose_sheet_does_not_hold_is_told(tmp_path):
    found = proof_rows(rows(tmp_path, "file,name,role,back\na,Ines,,\nb,Tilda,,[\n"))
    assert found.titles[0].fault == ""
    table(tmp_path, "file,name,role,tint\na,Ines,,\nb,Tilda,,#GG\n")
    _, bad = proof_rows(RowsProof(tmp_path / "sheet.toml", tmp_path / "rows.csv")).titles
    assert "#GG" in bad.fault


def test_texts_that_repeat_are_told(tmp_path):
    found = proof_rows(rows(tmp_path, "file,name,role\na,Ines,x\nb,Tilda,x\nc,Ines,x\n"))
    assert [one.notes for one in found.titles] == [(), (), ("says the same as row 2",)]


def test_rows_are_chosen_and_columns_checked_as_for_a_batch(tmp_path):
    order = rows(tmp_path, "file,name,role\na,Ines,x\nb,Tilda,x\n")
    chosen = RowsProof(order.sheet, order.rows, only="3")
    assert [one.number for one in proof_rows(chosen).titles] == [3]
    with pytest.raises(SettingError, match="column 'nme' sets nothing"):
        proof_rows(rows(tmp_path, "file,nme\na,Ines\n"))


def test_letters_are_counted_as_readers_count_them(tmp_path):
    """Two letters, each with a mark of its own (UAX #29): U+0065 U+0301, U+0061 U+030A."""
    (one,) = proof_rows(rows(tmp_path, "file,name,role\na,e\u0301a\u030a,\n")).titles
    assert (one.letters, one.words) == (2, 1)


def test_what_reads_from_the_right_keeps_its_order(tmp_path):
    text = "שירה abc לוי"
    (one,) = proof_rows(rows(tmp_path, f"file,name,role\na,{text},\n")).titles
    assert one.lines == (text,)


def test_pages_are_proofed_and_a_damaged_one_is_told(tmp_path):
    project(tmp_path)
    data = table(tmp_path, "page,name,note\n3,Ines,first half\n4,Tilda,\n")
    add_pages(RowsOrder(data, tmp_path / "design.toml", tmp_path / "pages"))
    (tmp_path / "pages" / "0004.toml").write_text("x = \n")
    (tmp_path / "lantern.toml").write_text(RULES)
    video = parse_format("320x180@25")
    found = proof_pages(tmp_path / "pages", [3, 4], video, tmp_path / "lantern.toml")
    first, bad = found.titles
    assert (first.number, first.name, first.lines, first.on_screen) == (
        3,
        "first half",
        ("Ines",),
        None,
    )
    assert measures(first)["title.zone"].verdict == "fails"
    assert (bad.number, "0004.toml" in bad.fault) == (4, True)
    assert found.counts == {"fails": 2, "watch": 0, "holds": 0}


def words_of(page):
    return [item.line.text for item in page.items if isinstance(item, Words)]


def test_every_text_is_on_paper_once_and_pages_are_numbered(tmp_path):
    names = [f"Guest {n}" for n in range(24)]
    lines = "".join(f"{n},{name},\n" for n, name in enumerate(names))
    found = proof_rows(rows(tmp_path, "file,name,role\n" + lines))
    pages = lay_proof(found)
    said = [text for page in pages for text in words_of(page)]
    assert [text for text in said if text.startswith("Guest")] == names
    assert f"1 of {len(pages)}" in words_of(pages[0])
    for page in pages:
        low = max(item.y + item.height for item in page.items if isinstance(item, Block))
        assert low <= page.height
        assert max(i.baseline for i in page.items if isinstance(i, Words)) < page.height


def test_a_text_longer_than_a_sheet_of_paper_is_laid_out(tmp_path):
    (tmp_path / "crawl").mkdir()
    sheet = project(tmp_path / "crawl")
    design = DESIGN + '[move]\nkind = "crawl"\npixels = 4\n'
    (sheet.parent / "design.toml").write_text(design.replace('fit = "shrink"\nsmallest = 6\n', ""))
    text = " ".join(f"word{n}" for n in range(60))
    sheet.write_text(SHEET.replace('role = ""', f'name = "{text}"'))
    found = proof_sheet(sheet)
    assert measures(found.titles[0])["title.passage"].verdict == "fails"
    assert found.titles[0].words == 60
    assert len(lay_proof(found)) == 1


@pytest.mark.slow
def test_the_same_proof_is_the_same_file(tmp_path):
    found = proof_rows(rows(tmp_path, "file,name,role\na,Ines,x\n"))
    for name in ("a.pdf", "b.pdf"):
        write_proof(found, tmp_path / name, Files())
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_title_of_an_effect_is_proofed_where_the_spot_shows_it(tmp_path):
    """Half of the picture, at the left of its foot: so large are the letters, and so it clashes."""
    sheet = ruled(tmp_path)
    text = sheet.read_text().replace('role = ""', 'name = "Ines"')
    sheet.write_text(text)
    (alone,) = proof_sheet(sheet).titles
    inner = text[text.index("[[overlays]]") :].replace("[[overlays]]", "[[effects.one.overlays]]")
    inner = inner.replace("transition_in", "# transition_in").replace("out = 90", "out = 50")
    sheet.write_text(
        text[: text.index("[[overlays]]")]
        + '[sources.one]\neffect = "one"\n[[effects.one.cues]]\nsource = "back"\n'
        + inner
        + '[[overlays]]\nsource = "one"\nin = 20\nout = 80\n'
        "placement = { scale = 50, position = [25, 75] }\n"
    )
    (one,) = proof_sheet(sheet).titles
    assert (one.name, one.lines) == ('guest (effect "one", overlay 1)', ("Ines",))
    # frames 10 to 49 of the effect, which begins on frame 20
    assert (one.when, one.on_screen) == ("00:00:01:05 to 00:00:02:19", 1.6)
    sizes = [measures(title)["title.letter_height"].value for title in (alone, one)]
    assert sizes[1] == pytest.approx(sizes[0] / 2, rel=0.02)
    assert measures(one)["title.zone"].verdict == "fails"


def test_a_rows_own_picture_is_an_input(tmp_path):
    order = rows(tmp_path, "file,name,role,face\na,Ines,,back.png\nb,Tilda,,none.png\n")
    box = '[[boxes]]\nid = "f"\nplace = "top"\nheight = 9\npicture = { file = "${face}" }\n'
    field = '[fields.face]\nkind = "picture"\ndefault = ""\n'
    (tmp_path / "design.toml").write_text(
        DESIGN.replace("[styles.big]", field + "[styles.big]") + box
    )
    found = proof_rows(order)
    assert [bool(one.fault) for one in found.titles] == [False, True]
    files = Files(force=True)
    files.write(tmp_path / "back.png")
    with pytest.raises(OutputError, match="is an input"):
        files.read(*found.inputs)


def test_a_tall_picture_takes_no_more_paper(tmp_path):
    order = rows(tmp_path, "file,name,role\na,Al,\nb,Bo,\n")
    order.sheet.write_text(order.sheet.read_text().replace("320x180@25", "180x320@25"))
    (page,) = lay_proof(proof_rows(order))
    tops = [
        item.baseline for item in page.items if isinstance(item, Words) and item.line.text in "23"
    ]
    assert tops[1] - tops[0] < 20
