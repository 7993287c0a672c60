"""Files renamed and moved aside: nothing is replaced, and nothing that comes meanwhile is lost."""

import pytest

from keyer.media import rename as renaming
from keyer.media.rename import move_aside, rename


def test_a_file_gets_another_name(tmp_path):
    (tmp_path / "a").write_text("one")
    rename(tmp_path / "a", tmp_path / "b")
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"b": "one"}


@pytest.mark.parametrize("links", [True, False])
def test_a_name_that_is_taken_stays_as_it_is(tmp_path, monkeypatch, links):
    if not links:
        monkeypatch.setattr(renaming.Path, "hardlink_to", _no_links)
    (tmp_path / "a").write_text("one")
    (tmp_path / "b").write_text("two")
    with pytest.raises(FileExistsError):
        rename(tmp_path / "a", tmp_path / "b")
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a": "one", "b": "two"}


def test_a_file_system_without_links_will_do(tmp_path, monkeypatch):
    monkeypatch.setattr(renaming.Path, "hardlink_to", _no_links)
    (tmp_path / "a").write_text("one")
    rename(tmp_path / "a", tmp_path / "b")
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"b": "one"}


def _no_links(path, target):
    raise PermissionError(1, "Operation not permitted")


def test_what_is_saved_meanwhile_under_the_old_name_stays(tmp_path, monkeypatch):
    """Somebody replaces the file between the two steps of the move."""
    old, new, fresh = tmp_path / "a", tmp_path / "b", tmp_path / "fresh"
    old.write_text("one")
    link = renaming.Path.hardlink_to

    def and_replaced(path, target):
        link(path, target)
        if path == new:
            fresh.write_text("two")
            fresh.replace(old)

    monkeypatch.setattr(renaming.Path, "hardlink_to", and_replaced)
    rename(old, new)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a": "two", "b": "one"}


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(FileNotFoundError):
        rename(tmp_path / "a", tmp_path / "b")
    with pytest.raises(FileNotFoundError):
        move_aside(tmp_path / "a", tmp_path / "home")


def test_what_lies_aside_stays(tmp_path):
    for text in ("one", "two", "three"):
        (tmp_path / "a.txt").write_text(text)
        move_aside(tmp_path / "a.txt", tmp_path / "home")
    found = {path.name: path.read_text() for path in (tmp_path / "home").iterdir()}
    assert found == {"a.txt": "one", "a-2.txt": "two", "a-3.txt": "three"}


@pytest.mark.parametrize("again", [False, True])
def test_of_two_who_move_a_file_at_once_one_has_it(tmp_path, monkeypatch, again):
    """The other one is quick: it begins and ends between the two steps of the first."""
    old, link = tmp_path / "a", renaming.Path.hardlink_to
    old.write_text("one")

    def and_moved(path, target):
        monkeypatch.setattr(renaming.Path, "hardlink_to", link)
        link(path, target)
        move_aside(old, tmp_path / "home")
        if again:
            old.write_text("two")

    monkeypatch.setattr(renaming.Path, "hardlink_to", and_moved)
    with pytest.raises(FileNotFoundError):
        move_aside(old, tmp_path / "home")
    found = [path.read_text() for path in (tmp_path / "home").iterdir()]
    assert found == ["one"]
    assert [path.read_text() for path in tmp_path.glob("a")] == ["two"] * again
