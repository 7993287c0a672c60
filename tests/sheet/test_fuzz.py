import datetime as dt
from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st
from sheet.making import documents

from keyer.errors import SheetError
from keyer.sheet.load import build_sheet

junk = st.recursive(
    st.none().map(lambda _: dt.time(7, 32))
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=6)
    | st.sampled_from(["${x}", "cut", "wipe", "00:00:01:00", 10**400, -(10**400), "1s"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["at", "in", "use", "kind", "source", "x"]), inner, max_size=3
        )
    ),
    max_leaves=4,
)


def places(data, path=()):
    """Path of every value, containers as well."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in pairs:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from places(value, (*path, key))


@given(documents(), st.data())
def test_whatever_stands_where_it_should_not_is_a_fault_and_never_a_crash(data, draw):
    for _ in range(draw.draw(st.integers(1, 3))):
        path = draw.draw(st.sampled_from(sorted(places(data), key=repr)))
        holder = data
        for step in path[:-1]:
            holder = holder[step]
        match draw.draw(st.sampled_from(["other", "gone", "more"])):
            case "other":
                holder[path[-1]] = draw.draw(junk)
            case "gone":
                del holder[path[-1]]
            case "more" if isinstance(holder, dict):
                holder[draw.draw(st.sampled_from(["extra", "use", "kind", "length"]))] = 1
        if not data:
            break
    with suppress(SheetError):
        sheet = build_sheet(data)
        assert sheet.cues
        return
    # Refused: then by faults that say where and what.
    try:
        build_sheet(data)
    except SheetError as error:
        found = error.faults
    assert found
    assert all(fault.message and "\n" not in str(fault) for fault in found)


@given(st.dictionaries(st.sampled_from(["version", "sheet", "cues", "include", "keys"]), junk))
def test_any_data_at_all_is_read_or_refused(data):
    with suppress(SheetError):
        build_sheet(data)
