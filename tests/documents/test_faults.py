from keyer.documents.faults import Place, Places, nearest, sheet_error, show_value
from keyer.errors import Fault, KeyerError, SheetError


def test_a_fault_reads_as_path_line_and_message():
    assert str(Fault("a[0].b", 3, "is wrong.")) == "a[0].b, line 3: is wrong."
    assert str(Fault("a", None, "is wrong.")) == "a: is wrong."
    assert str(Fault("", 7, "is wrong.")) == "line 7: is wrong."
    assert str(Fault("", None, "is wrong.")) == "is wrong."
    assert str(Fault("a", 2, "is wrong.", "house.toml")) == "house.toml: a, line 2: is wrong."
    assert str(Fault("", None, "is wrong.", "house.toml")) == "house.toml: is wrong."


def test_the_error_counts_and_lists_in_the_order_of_the_file_each_once():
    late, early = Fault("b", 9, "late."), Fault("a", 2, "early.")
    other = Fault("z", 1, "elsewhere.", "house.toml")
    error = sheet_error("spot.toml", [late, other, early, late])
    assert error.faults == (early, late, other)
    assert str(error).splitlines() == [
        "spot.toml: 3 faults",
        "a, line 2: early.",
        "b, line 9: late.",
        "house.toml: z, line 1: elsewhere.",
    ]
    assert str(sheet_error("x", [early])).startswith("x: 1 fault\n")


def test_the_error_is_a_value_error_and_the_programs_own():
    assert issubclass(SheetError, ValueError)
    assert issubclass(SheetError, KeyerError)
    assert SheetError("plain").faults == ()


def test_places_fall_back_to_the_table_around():
    places = Places("spot", {("a",): Place("spot", 4), ("a", 0, "b"): Place("house", 6)})
    assert places.fault(("a", 0, "b", "c"), "x.") == Fault("a[0].b.c", 6, "x.", "house")
    assert places.fault(("a", 1), "x.") == Fault("a[1]", 4, "x.")
    assert places.fault(("q",), "x.") == Fault("q", None, "x.")


def test_adopted_places_bring_the_tables_around_only_where_there_are_none():
    places = Places("spot", {("a",): Place("spot", 4)})
    other = {("a",): Place("house", 1), ("a", "x"): Place("house", 2), ("b",): Place("house", 3)}
    other[("b", "y")] = Place("house", 5)
    places.adopt(Places("spot", other), [("a", "x")])
    places.adopt(Places("spot", other), [("b", "y")])
    assert places.find(("a",)) == Place("spot", 4)
    assert places.find(("a", "x")) == Place("house", 2)
    assert places.find(("b",)) == Place("house", 3)


def test_the_nearest_name_is_suggested_whatever_its_case():
    assert nearest("Rowre", ["lake", "rower"]) == " Did you mean 'rower'?"
    assert nearest("zzz", ["lake", "rower"]) == " Known: lake, rower."
    assert nearest("zzz", [str(number) for number in range(100, 120)]) == ""
    assert nearest("zzz", []) == ""


def test_values_are_shown_short_and_on_one_line():
    assert show_value(value=True) == "true"
    assert show_value({"a": 1}) == "a table"
    assert show_value([1, 2]) == "a list of 2"
    assert show_value(10**9999) == "an enormous number"
    assert show_value(2.5) == "2.5"
    assert show_value("a\nb") == "'a\\nb'"
    assert len(show_value("x" * 999)) == 60


def test_more_than_ten_faults_are_told_as_a_count():
    faults = [Fault(f"k{n}", n, "unknown key.") for n in range(1, 31)]
    error = sheet_error("x.toml", reversed(faults))
    lines = str(error).splitlines()
    assert lines[0] == "x.toml: 30 faults"
    assert lines[1:-1] == [f"k{n}, line {n}: unknown key." for n in range(1, 11)]
    assert lines[-1] == "and 20 more. Correct these first."
    assert error.faults == tuple(faults)
