"""Faces found by file, by family, by weight; glyphs that are in no font."""

from pathlib import Path

import pytest
from titles.system_fonts import square_font, system_with

from keyer.errors import InputFileError, SettingError
from keyer.titles import fonts
from keyer.titles.coverage import assign_faces, clusters, has, missing
from keyer.titles.fonts import SHIPPED_FAMILY, faces_in, find_face, shipped_faces
from keyer.titles.lines import style_faces
from keyer.titles.model import TextStyle

DEVANAGARI_A = "\u0905"


@pytest.fixture
def only_these_fonts(tmp_path, monkeypatch):
    """A system that has the fonts of one folder and no others."""
    with system_with(tmp_path, monkeypatch):
        yield tmp_path


def test_shipped_family_has_weights_and_italics():
    faces = shipped_faces()
    assert {face.weight for face in faces if not face.italic} == {200, 300, 400, 600, 700, 900}
    assert {face.weight for face in faces if face.italic} == {200, 300, 400, 600, 700, 900}
    described = faces_in(Path(faces[0].path))[0]
    assert described.family.startswith(SHIPPED_FAMILY)


def test_nearest_weight_is_taken():
    assert find_face(SHIPPED_FAMILY, 690, italic=False).weight == 700
    assert find_face("source sans pro", 500, italic=True).weight == 600
    assert find_face("SourceSansPro", 100, italic=False).weight == 200


def test_font_by_file(tmp_path):
    square_font(tmp_path / "Squares.ttf", "Squares", "ab")
    face = find_face("Squares.ttf", 400, italic=False, folder=tmp_path)
    assert (face.family, face.italic, face.variable) == ("Squares", False, False)


def test_font_by_family_on_the_system(only_these_fonts):
    square_font(only_these_fonts / "One.ttf", "Squares of Mine", "ab")
    square_font(only_these_fonts / "Two.ttf", "Squares of Mine", "ab", 800)
    assert find_face("squares of mine", 900, italic=False).weight == 800


def test_unknown_family_names_near_ones():
    with pytest.raises(SettingError, match="Source Sans Pro"):
        find_face("Sauce Sans Pro", 400, italic=False)


@pytest.mark.parametrize("content", [b"", b"no font at all", b"\x00\x01\x00\x00\x00\x09" * 9])
def test_broken_font_file_is_one_line(tmp_path, content):
    (tmp_path / "bad.ttf").write_bytes(content)
    with pytest.raises(InputFileError, match=r"bad\.ttf") as caught:
        find_face("bad.ttf", 400, italic=False, folder=tmp_path)
    assert "\n" not in str(caught.value)


def test_missing_font_file(tmp_path):
    with pytest.raises(InputFileError, match=r"nowhere\.otf does not exist"):
        find_face("nowhere.otf", 400, italic=False, folder=tmp_path)


def test_clusters_keep_marks_with_their_letter():
    assert list(clusters("e\u0301a")) == ["e\u0301", "a"]
    assert list(clusters("")) == []
    assert list(clusters("\u0915\u093f")) == ["\u0915\u093f"]


def test_composed_and_decomposed_are_the_same_to_a_face():
    face = find_face(SHIPPED_FAMILY, 400, italic=False)
    assert has(face, "\u00e9")
    assert has(face, "e\u0301")
    assert missing(face, f"ab{DEVANAGARI_A}a{DEVANAGARI_A}") == [DEVANAGARI_A]


def test_another_font_of_the_system_steps_in(only_these_fonts):
    square_font(only_these_fonts / "Deva.ttf", "Squares", DEVANAGARI_A)
    face = find_face(SHIPPED_FAMILY, 400, italic=False)
    parts = assign_faces(f"ab {DEVANAGARI_A}c", [face])
    assert [(text, part.family) for text, part in parts] == [
        ("ab ", SHIPPED_FAMILY),
        (DEVANAGARI_A, "Squares"),
        ("c", SHIPPED_FAMILY),
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (DEVANAGARI_A, "U\\+0905 DEVANAGARI LETTER A.*fallback"),
        ("\U0001f642", "U\\+1F642 SLIGHTLY SMILING FACE.*take it out"),
        ("a\0b", "control character U\\+0000"),
        ("\ue000", "U\\+E000 a character without a name"),
    ],
)
def test_character_in_no_font_is_named(only_these_fonts, text, says):
    face = find_face(SHIPPED_FAMILY, 400, italic=False)
    with pytest.raises(SettingError, match=says):
        assign_faces(text, [face])


def test_a_font_that_was_replaced_is_read_anew(tmp_path):
    own = tmp_path / "own.ttf"
    own.write_bytes(Path(fonts.shipped_faces()[0].path).read_bytes())
    assert fonts.faces_in(own)
    own.write_bytes(b"no font any more")
    with pytest.raises(InputFileError):
        fonts.faces_in(own)


def test_a_font_of_the_same_name_in_another_folder_is_another(tmp_path, monkeypatch):
    """A style names its file from the folder of its design: "own.ttf" is many files."""
    style = TextStyle(size=9, font="own.ttf")
    for folder, family in (("a", "One"), ("b", "Two")):
        (tmp_path / folder).mkdir()
        monkeypatch.chdir(tmp_path / folder)
        square_font(tmp_path / folder / "own.ttf", family, "ab")
        assert [face.family for face in style_faces(style, Path())] == [family]
