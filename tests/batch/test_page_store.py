"""Pages deleted, renumbered and handed on: nothing is lost, whoever else works in the store."""

import shutil
from concurrent.futures import ThreadPoolExecutor

import pytest
from batch.made import project

from keyer.batch import page_store
from keyer.batch.one_title import TitleOrder, save_page
from keyer.batch.page_store import choose_pages, delete_pages, export_pages, renumber_pages
from keyer.errors import InputFileError, OutputError, SettingError, StorageError
from keyer.kinds.formats import parse_format
from keyer.titles.page_list import listed_page, page_numbers
from keyer.titles.pages import load_page

VIDEO = parse_format("320x180@25")


def save(folder, number, name, *, force=False):
    order = TitleOrder(folder / "design.toml", None, folder / "pages", VIDEO, {"name": name})
    return save_page(order, number, force=force)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kept")
    project(folder)
    for number, name in ((3, "Ines"), (4, "Tilda"), (6, "Wren"), (40, "Jory")):
        save(folder, number, name)
    return folder


@pytest.fixture
def folder(kept, tmp_path):
    return shutil.copytree(kept, tmp_path / "project")


@pytest.fixture
def store(folder):
    return folder / "pages"


def said(store):
    return {n: listed_page(store, n).fields["name"] for n in page_numbers(store)}


ALL = {3: "Ines", 4: "Tilda", 6: "Wren", 40: "Jory"}


@pytest.mark.parametrize(
    ("numbers", "found"),
    [("", [3, 4, 6, 40]), ("4", [4]), ("4-10", [4, 6]), ("6-", [6, 40]), ("40, 3", [3, 40]),
     ("1-99", [3, 4, 6, 40])],
)  # fmt: skip
def test_pages_are_chosen_by_number_and_span(store, numbers, found):
    assert choose_pages(store, numbers) == found


@pytest.mark.parametrize(
    ("numbers", "says"),
    [("5", r"page 5 is not in .*Near: 3, 4, 6, 40"), ("7-39", "from 7 to 39"), ("41-", "the last"),
     ("6-4", r"must go up.*4-6"), ("x", "numbers of pages"), ("0", "1, 99999")],
)  # fmt: skip
def test_what_is_not_there_is_refused(store, numbers, says):
    with pytest.raises(SettingError, match=says):
        choose_pages(store, numbers)
    with pytest.raises(SettingError, match="--pages"):
        choose_pages(store / "none", numbers)


def test_a_deleted_page_lies_aside_and_comes_back(store):
    moved = delete_pages(store, [4, 40])
    assert said(store) == {3: "Ines", 6: "Wren"}
    with pytest.raises(SettingError, match=r"It was deleted: move .*0004\.toml back"):
        load_page(store, 4)
    moved[4].rename(store / moved[4].name)
    assert said(store) == {3: "Ines", 4: "Tilda", 6: "Wren"}
    assert load_page(store, 4).notices == ()


def test_every_page_deleted_under_a_number_is_kept(folder, store):
    for name in ("Tilda", "Ada", "Bo"):
        save(folder, 4, name, force=True)
        delete_pages(store, [4])
    found = sorted(path.read_text() for path in (store / "deleted").iterdir())
    assert [next(n for n in ("Ada", "Bo", "Tilda") if f'"{n}"' in text) for text in found] == [
        "Ada", "Bo", "Tilda",
    ]  # fmt: skip


def test_two_who_delete_and_save_at_once_lose_nothing(folder, store):
    """Pages are kept under one number, as soon as it is free, while two others delete it."""
    names = [f"Guest {n}" for n in range(6)]

    def saving():
        for name in names:
            while True:
                try:
                    save(folder, 50, name)
                except OutputError:
                    continue
                break

    with ThreadPoolExecutor(3) as pool:
        saver = pool.submit(saving)

        def deleting():
            while not saver.done():
                delete_pages(store, [50])

        others = [pool.submit(deleting) for _ in range(2)]
        for one in (saver, *others):
            one.result()
    delete_pages(store, [50])
    texts = [path.read_text() for path in (store / "deleted").iterdir()]
    assert sorted(name for text in texts for name in names if f'"{name}"' in text) == sorted(names)
    assert not list(store.rglob(".keyer-*"))


@pytest.mark.parametrize(("numbers", "first"), [([3, 4, 6], 4), ([3, 4, 6], 2), ([4, 6, 40], 3)])
def test_pages_move_over_each_other_and_keep_their_gaps(store, numbers, first):
    if first == 3:
        delete_pages(store, [3])
    shift = first - numbers[0]
    assert renumber_pages(store, numbers, first) == {n: n + shift for n in numbers}
    rest = {n: name for n, name in ALL.items() if n not in numbers and not (first == 3 and n == 3)}
    assert said(store) == {**rest, **{n + shift: ALL[n] for n in numbers}}


@pytest.mark.parametrize(
    ("numbers", "first", "says"),
    [([3, 4], 6, "a page 6"), ([3, 4], 39, "a page 40"), ([3], 0, "1, 99999"),
     ([3, 40], 99_990, "1, 99999")],
)  # fmt: skip
def test_no_page_takes_anothers_number(store, numbers, first, says):
    with pytest.raises(SettingError, match=says):
        renumber_pages(store, numbers, first)
    assert said(store) == ALL


def test_a_number_taken_meanwhile_puts_all_back(folder, store, monkeypatch):
    real = page_store.rename

    def and_saved(old, new):
        if old.name == "0003.toml":
            save(folder, 13, "Ada")
        real(old, new)

    monkeypatch.setattr(page_store, "rename", and_saved)
    with pytest.raises(SettingError, match="a page 13"):
        renumber_pages(store, [3, 4], 13)
    assert said(store) == {**ALL, 13: "Ada"}


def test_a_store_that_takes_no_change_is_told(store, monkeypatch):
    def refused(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(page_store, "rename", refused)
    monkeypatch.setattr(page_store, "move_aside", refused)
    with pytest.raises(StorageError, match="page 3 cannot be moved: permission denied"):
        renumber_pages(store, [3], 13)
    with pytest.raises(StorageError, match="page 3 cannot be moved: permission denied"):
        delete_pages(store, [3])
    assert said(store) == ALL


def test_pages_go_into_another_store_with_all_they_need(folder, store):
    other = folder / "other"
    export_pages(store, [3, 6], other, force=False)
    assert said(other) == {3: "Ines", 6: "Wren"}
    shutil.rmtree(store)
    (folder / "design.toml").unlink()
    page = load_page(other, 6)
    assert (page.fields, page.notices) == ({"name": "Wren"}, ())


def test_pages_of_another_store_are_not_replaced(folder, store):
    other = folder / "other"
    export_pages(store, [4], other, force=False)
    (other / "0004.toml").write_text("mine")
    with pytest.raises(OutputError, match=r"0004\.toml exists"):
        export_pages(store, [3, 4], other, force=False)
    assert sorted(path.name for path in other.glob("*.toml")) == ["0004.toml"]
    export_pages(store, [3, 4], other, force=True)
    assert said(other) == {3: "Ines", 4: "Tilda"}
    with pytest.raises(OutputError, match="is an input"):
        export_pages(store, [3], store, force=True)


@pytest.mark.parametrize("design", ["../../etc", "cd" * 32])
def test_a_damaged_page_is_not_handed_on(folder, store, design):
    text = (store / "0004.toml").read_text()
    was = listed_page(store, 4).design
    (store / "0004.toml").write_text(text.replace(was, design))
    with pytest.raises(InputFileError, match=r"SHA-256|design\.toml is missing"):
        export_pages(store, [3, 4], folder / "other", force=False)
    assert not (folder / "other").exists()


def other_store(folder):
    return {path.name: path.read_text() for path in (folder / "other").glob("*.toml")}


@pytest.mark.parametrize("force", [False, True])
def test_a_number_taken_meanwhile_leaves_none_of_the_pages(folder, store, monkeypatch, force):
    """Somebody else keeps a page between the look at the store and the third page of four."""
    other = folder / "other"
    other.mkdir()
    if force:
        (other / "0003.toml").write_text("mine")
    real = page_store._place

    def and_taken(home, target, *, replace):
        if target.name == "0006.toml":
            (other / "0006.toml").mkdir() if replace else (other / "0006.toml").write_text("theirs")
        real(home, target, replace=replace)

    monkeypatch.setattr(page_store, "_place", and_taken)
    with pytest.raises(OutputError, match=r"0006\.toml"):
        export_pages(store, [3, 4, 6, 40], other, force=force)
    (other / "0006.toml").rmdir() if force else (other / "0006.toml").unlink()
    assert other_store(folder) == ({"0003.toml": "mine"} if force else {})
    assert not list(other.glob(".keyer-*"))


def test_pages_that_a_full_disk_does_not_take_leave_none(folder, store, monkeypatch):
    real, written = page_store.write_bytes, []

    def full(path, data, files=None):
        if path.name == "0040.toml":
            raise OSError(28, "No space left on device")
        written.append(path.name)
        real(path, data, files)

    monkeypatch.setattr(page_store, "write_bytes", full)
    with pytest.raises(StorageError, match="no space left"):
        export_pages(store, [3, 4, 40], folder / "other", force=False)
    assert "0004.toml" in written
    assert other_store(folder) == {}
