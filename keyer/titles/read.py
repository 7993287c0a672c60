"""Title designs from TOML: every fault at once, by path and line."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.mistaken import refuse_sheet
from keyer.documents.read import parse_toml, read_text
from keyer.documents.refusals import refusals
from keyer.titles.design import Design
from keyer.titles.design_faults import cross_faults
from keyer.titles.fonts import is_font_file


@dataclass(frozen=True)
class DesignFile:
    """A design, the text it was read from, the folder of its fonts and pictures, its name there."""

    design: Design
    text: str
    folder: Path
    name: str = "design.toml"

    @property
    def digest(self) -> str:
        """SHA-256 of the text, hexadecimal."""
        return hashlib.sha256(self.text.encode()).hexdigest()

    def files(self) -> list[Path]:
        """List the files that it is read from: its own, its fonts and its pictures."""
        return [self.folder / self.name, *self.font_files(), *self.picture_files()]

    def picture_files(self) -> list[Path]:
        """List the pictures that it shows by itself: its own, and those its fields begin with."""
        shown = {one.file for box in self.design.boxes if (one := box.picture) and not one.field}
        rules = self.design.fields
        shown |= {rules[name].default or "" for name in self.design.picture_fields()} - {""}
        return [self.folder / file for file in sorted(shown)]

    def font_files(self) -> list[Path]:
        """List the font files that it names."""
        return [self.folder / font for font in self.fonts()]

    def fonts(self) -> list[str]:
        """List the font files that it names, as it names them."""
        styles = self.design.styles.values()
        fonts = sorted({font for style in styles for font in (style.font, *style.fallback)})
        return [font for font in fonts if is_font_file(font)]


def load_design(path: str | Path) -> DesignFile:
    """Load a title design.

    Parameters
    ----------
    path : str or Path
        A TOML file; fonts that it names are found from its folder.

    Raises
    ------
    InputFileError
        If the file cannot be read, or is no text.
    SheetError
        If the design does not hold; lists every fault.
    """
    file = Path(path)
    return parse_design(read_text(file, "a title design"), file.name, folder=file.parent)


def parse_design(text: str, name: str = "design", *, folder: str | Path = ".") -> DesignFile:
    """Read a title design from its text.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        File name, for messages.
    folder : str or Path
        From which fonts are found.

    Raises
    ------
    SheetError
        If the design does not hold; lists every fault.
    """
    data = parse_toml(text, name)
    refuse_sheet(data, name, "a title design")
    places = Places(name, {path: Place(name, line) for path, line in line_map(text).items()})
    try:
        design = Design.model_validate(data)
    except ValidationError as error:
        raise sheet_error(name, refusals(error, data, places, Design)) from None
    faults = [places.fault(path, message) for path, message in cross_faults(design)]
    if faults:
        raise sheet_error(name, faults)
    return DesignFile(design, text, Path(folder), name)
