"""Empty lines about tables that are put in: one each, and nothing else moves."""

import tomllib

from keyer.documents.spacing import spaced

OLD = """a = 1
[one]
b = 2


[two]
c = 3
# of the third
[[three]]
d = 4
"""


def test_a_table_put_in_is_set_off_and_the_others_stay():
    new = OLD.replace("# of the third", "[two.new]\ne = 5\n\n\n# of the third")
    assert spaced(OLD, new) == OLD.replace("# of the third", "\n[two.new]\ne = 5\n\n# of the third")


def test_a_table_put_in_at_the_end_and_without_empty_lines():
    new = OLD.replace("# of the third", "[[four]]\n# of the third") + "[[four]]\nd = 5\n\n\n"
    found = spaced(OLD, new)
    assert found.endswith("d = 4\n\n[[four]]\nd = 5\n")
    assert "c = 3\n\n[[four]]\n\n# of the third" in found


def test_without_a_new_heading_nothing_changes():
    new = OLD.replace("c = 3", "c = 4\n\n\n")
    assert spaced(OLD, new) == new


def test_a_text_of_many_lines_stays_as_it_is():
    said = '[new]\nx = """\n[y]\n\n\n[z]\n"""\n'
    assert tomllib.loads(spaced(OLD, OLD + said))["new"] == {"x": "[y]\n\n\n[z]\n"}


def test_a_text_that_begins_has_no_empty_line_first():
    assert spaced("", "\n[a]\nb = 1\n[c]\n") == "[a]\nb = 1\n\n[c]\n"
