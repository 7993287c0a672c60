"""A TOML file of the library, read and checked against its model."""

from __future__ import annotations

from pathlib import Path
from typing import Generic, TypeVar

from pydantic import BaseModel, ValidationError

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import Path as Keys
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text
from keyer.documents.refusals import refusal
from keyer.errors import Fault, SheetError

M = TypeVar("M", bound=BaseModel)


class CheckedFile(Generic[M]):
    """A file whose form holds, with the line of each of its keys."""

    def __init__(self, path: Path, kind: str, model: type[M]) -> None:
        self.path = path
        text = read_text(path, kind)
        values = parse_toml(text, path.name)
        lines = {key: Place(path.name, line) for key, line in line_map(text).items()}
        self.places = Places(path.name, lines)
        try:
            self.document = model.model_validate(values)
        except ValidationError as error:
            faults = [
                self.fault(detail["loc"], refusal(detail, detail["loc"], model))
                for detail in error.errors()
            ]
            raise self.error(faults) from None

    def fault(self, keys: Keys, message: str) -> Fault:
        """Make a fault at a key."""
        return self.places.fault(keys, message)

    def error(self, faults: list[Fault]) -> SheetError:
        """Make the error that lists faults."""
        return sheet_error(self.path.name, faults)
