"""`keyer sheet`: a sheet read, and the schema for editors."""

import json
import tomllib

from jsonschema import Draft202012Validator
from support import DEMO

from keyer.cli.main import perform

REQUEST = 2


def test_the_schema_holds_and_the_demo_s_sheets_hold_by_it(capsys):
    assert perform(["sheet", "--schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    Draft202012Validator.check_schema(schema)
    for name in ("sheet.toml", "desk.toml", "backgrounds.toml"):
        document = tomllib.loads((DEMO / name).read_text("utf-8"))
        Draft202012Validator(schema).validate(document)


def test_a_sheet_that_holds(capsys):
    assert perform(["sheet", str(DEMO / "desk.toml"), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["format"], found["frames"], found["overlays"]) == ("1080p25", 150, 1)


def test_a_sheet_that_does_not(tmp_path, capsys):
    path = tmp_path / "sheet.toml"
    path.write_text("version = 1\n[sheet]\nformat = '1080p25'\nlenght = '6s'\n")
    assert perform(["sheet", str(path)]) == REQUEST
    assert "length" in capsys.readouterr().err


def test_one_must_be_named(capsys):
    assert perform(["sheet"]) == REQUEST
    assert "--schema" in capsys.readouterr().err
