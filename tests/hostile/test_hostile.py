"""The harness itself: it reaches every command and option, and sees what is wrong."""

import json
import re
import subprocess
import sys
from pathlib import Path
from subprocess import PIPE

import pytest
from hostile import oracles
from hostile.cases import KINDS, kind_of, make
from hostile.options import every_option
from hostile.orders import GOOD_ORDERS
from hostile.project import write_project
from hostile.run import run

from keyer.cli.main import COMMANDS


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hostile") / "good"
    folder.mkdir()
    write_project(folder)
    return folder


def test_every_command_and_option_of_the_help_is_reached():
    page = (Path(__file__).parents[2] / "docs/commands.md").read_text(encoding="utf-8")
    told = set(re.findall(r"^ {2}(?:-\w, )?(--[a-z-]+)", page, re.MULTILINE)) - {"--help"}
    assert {name for _, option in every_option() for name in option.names} >= told
    assert {order.split()[0] for order in GOOD_ORDERS} == set(COMMANDS)


@pytest.mark.timeout(300)
def test_a_small_fixed_part_of_all_hostile_inputs_breaks_no_promise(good):
    results = list(run(good, 1, 3 * len(KINDS)))
    assert len(results) == 3 * len(KINDS)
    assert [result for result in results if result["faults"]] == []


@pytest.mark.parametrize(
    ("processes", "told"),
    [
        ([[["took 30.0 s"]], [[], []]], [[], []]),
        ([[["took 30.0 s"]], [["took 31.0 s"], []]], [["took 31.0 s"], []]),
        ([[["took 30.0 s", "exit 1"], []]], [["took 30.0 s", "exit 1"], []]),
        ([[[], None], [[]]], [[], []]),
        ([[None], [None], [[]]], [["hang over 20 s"], []]),
    ],
)
def test_what_takes_too_long_is_tried_once_more(good, monkeypatch, processes, told):
    """A busy machine is no finding. None: the process ends within a case, and says nothing."""
    waiting = iter(processes)

    def worker(arguments):
        lines = []
        for n, faults in enumerate(next(waiting), int(arguments[2])):
            lines.append(json.dumps({"begin": n}))
            if faults is None:
                break
            lines.append(json.dumps({"number": n, "faults": faults}))
        script = f"print({chr(10).join(lines)!r}, flush=True)"
        return subprocess.Popen([sys.executable, "-c", script], stdout=PIPE, stderr=PIPE)

    monkeypatch.setattr("hostile.run._worker", worker)
    assert [result["faults"] for result in run(good, 1, 2)] == told


def test_kinds_take_turns():
    kinds = tuple(KINDS)
    assert sorted(kind_of(number, kinds) for number in range(100, 100 + len(kinds))) == sorted(
        kinds
    )


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"resumed"}))
def test_the_same_numbers_make_the_same_case(good, tmp_path, monkeypatch, kind):
    import shutil

    made = []
    for name in ("first", "second"):
        shutil.copytree(good, tmp_path / name)
        (tmp_path / name / "out").mkdir()
        monkeypatch.chdir(tmp_path / name)
        case = make(3, 7, kind, tmp_path / name)
        made.append((case, oracles.contents(tmp_path / name)))
    assert made[0] == made[1]


def ran(**facts):
    usual = {
        "words": ["mix", "a.png", "b.png", "-o", "out/o.png"], "code": 3, "out": "",
        "err": "keyer: a.png is broken.\n", "seconds": 0.1, "peak": 1, "before": {"a.png": "1"},
        "after": {"a.png": "1"},
    }  # fmt: skip
    return oracles.Ran(**{**usual, **facts})


@pytest.mark.parametrize(
    ("facts", "fault"),
    [
        ({}, ""),
        ({"err": "keyer: s.toml: 2 faults\na: is wrong.\nb: is wrong.\n", "code": 2}, ""),
        ({"code": 1}, "exit 1"),
        ({"err": ""}, "without a line"),
        ({"err": "libpng warning: x\nkeyer: a.png is broken.\n"}, "foreign text"),
        ({"err": "keyer: a.png is broken.\nkeyer: x\nyes\n"}, "more than one line"),
        ({"err": "keyer: \x1b[31m is broken.\n"}, "control characters"),
        ({"err": "keyer: s: 99 faults\n" + "a: b\n" * 99}, "100 lines"),
        ({"after": {}}, "is gone"),
        ({"after": {"a.png": "2"}}, "was changed"),
        ({"after": {"a.png": "1", "out/.o.1234.png": "3"}}, "left over"),
        ({"after": {"a.png": "1", "out/o.png": "3"}}, "refused, yet wrote"),
        ({"after": {"a.png": "1", "c.png": "3"}, "code": 0}, "came from nowhere"),
        ({"seconds": 21.0}, "took 21.0 s"),
        ({"peak": 3 * 10**9}, "took 3.00 GB"),
        ({"words": ["measure", "a.png", "--json"], "out": "{"}, "no JSON"),
    ],
)
def test_broken_promises_are_seen(facts, fault):
    faults = oracles.judge(ran(**facts))
    assert any(fault in found for found in faults) if fault else not faults
