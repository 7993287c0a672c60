"""One title as a picture: from a design or a page, over a picture or apart from one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np

from keyer.batch.bands import coded
from keyer.batch.page_store import keep
from keyer.batch.render_row import codes
from keyer.batch.stored import KINDS, Stored
from keyer.errors import SettingError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import RgbPicture
from keyer.kinds.ranges import one_of
from keyer.kinds.verdicts import Verdict
from keyer.measure.title_rules import NO_RULES
from keyer.media.files import Files
from keyer.media.source import open_source
from keyer.media.write import write_bytes
from keyer.pixel.colour.load import load, to_array
from keyer.pixel.compose.fit import fit
from keyer.render.effect import Effect
from keyer.render.evaluate import Evaluator
from keyer.render.graph import Layer
from keyer.render.leaves import Lettering, given
from keyer.render.lettering import shown_pictures
from keyer.render.sinks.pictures import picture
from keyer.sheet.station import load_station
from keyer.titles.checks import check_title
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn
from keyer.titles.moving import time_title
from keyer.titles.page_list import page_name
from keyer.titles.pages import Page, load_page, page_files
from keyer.titles.read import DesignFile, load_design


@dataclass(frozen=True)
class TitleOrder:
    """Options of `keyer title`, as the command line gives them.

    Attributes
    ----------
    design : Path or None
        A title design; None for a page.
    page : int or None
        A page's number in the store.
    store : Path
    fields : mapping
        Field name to text; over a page's own.
    kind : {"over", "keyfill", "alpha"}
    over : Path or None
        The picture behind, where kind is "over"; also for the contrast.
    format : VideoFormat
    frame : int or None
        Of the title's own time, for one that moves, flashes or is built up;
        None: the first on which all of it is built, or half of it has passed.
    allow_flash : bool
    rules : Path or None
        A station's rules that it is held against.
    bits : {8, 16} or None
    premultiplied : bool
        As of `keyer.batch.stored.Stored`.
    """

    design: Path | None
    page: int | None
    store: Path
    format: VideoFormat
    fields: Mapping[str, str] = field(default_factory=dict)
    kind: str = "alpha"
    over: Path | None = None
    frame: int | None = None
    allow_flash: bool = False
    rules: Path | None = None
    bits: int | None = None
    premultiplied: bool = False


@dataclass(frozen=True)
class TitleReport:
    """A title made: the files, the checks, what to know, and the frames that it needs to pass."""

    outputs: tuple[Path, ...]
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...]
    frames_needed: int | None


def filled(order: TitleOrder) -> tuple[DesignFile, dict[str, str], tuple[str, ...]]:
    """Find the design and the values of its fields.

    Raises
    ------
    KeyerError
    """
    if (order.design is None) == (order.page is None):
        msg = "a title needs a design or a page's number, one of them."
        raise SettingError(msg)
    if order.page is not None:
        page = load_page(order.store, order.page)
        return page.design, {**page.fields, **_found(order, page.design)}, page.notices
    design = load_design(order.design or Path())
    return design, _found(order, design), ()


def _found(order: TitleOrder, design: DesignFile) -> dict[str, str]:
    """Give the fields that are asked for; pictures are found from where one works."""
    names = [name for name in design.design.picture_fields() if order.fields.get(name)]
    return {**order.fields, **{name: str(Path(order.fields[name]).absolute()) for name in names}}


@dataclass(frozen=True)
class ReadyTitle:
    """A title drawn, whose files are yet to be written."""

    report: TitleReport
    pictures: tuple[bytes, ...]
    files: Files

    def write(self) -> TitleReport:
        """Write the pictures that were drawn.

        Raises
        ------
        OutputError
        """
        for target, data in zip(self.report.outputs, self.pictures, strict=True):
            write_bytes(target, data, self.files)
        return self.report


def check_kind(order: TitleOrder) -> None:
    """Refuse a kind that is none, or that lacks its picture.

    Raises
    ------
    SettingError
    """
    one_of("kind", order.kind, KINDS)
    if order.kind == "over" and order.over is None:
        msg = "kind over needs a picture to lay the title over (--over PICTURE)."
        raise SettingError(msg)


def prepare_title(
    order: TitleOrder, output: Path, *, force: bool = False, behind: RgbPicture | None = None
) -> ReadyTitle:
    """Draw a title for a PNG, or two for key and fill.

    Parameters
    ----------
    order : TitleOrder
    output : Path
        With "keyfill", `-fill` and `-key` are put before the suffix.
    force : bool
        Replace outputs that exist.
    behind : RgbPicture, optional
        What `read_behind` gives, if it was read before.

    Raises
    ------
    KeyerError
        If the title cannot be made, or its files not be written.
    """
    return prepare_filled(order, output, filled(order), Files(force=force), behind)


Filled = tuple[DesignFile, dict[str, str], tuple[str, ...]]
"""A design, the values of its fields, and what is to be said of it."""


def prepare_filled(
    order: TitleOrder,
    output: Path,
    what: Filled,
    files: Files,
    behind: RgbPicture | None = None,
) -> ReadyTitle:
    """Draw a title whose design is known; as `prepare_title`.

    Parameters
    ----------
    order : TitleOrder
    output : Path
    what : Filled
    files : Files
        Of the command.
    behind : RgbPicture, optional
    """
    check_kind(order)
    form = _FORMS.get(output.suffix.lower())
    if form is None:
        msg = f"output must end in .png or .tif, got {output}."
        raise SettingError(msg)
    stored = Stored(order.kind, form, order.bits, order.premultiplied)
    design, fields, notices = what
    video = order.format
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    rules = load_station(order.rules, video.rate).titles if order.rules else NO_RULES
    timed = time_title(
        design, fields, canvas, video.rate, allow_flash=order.allow_flash, matrix=video.matrix
    )
    drawn = timed.at(timed.fullest if order.frame is None else order.frame)
    marks = ("-fill", "-key") if order.kind == "keyfill" else ("",)
    targets = [output.with_name(f"{output.stem}{mark}{output.suffix}") for mark in marks]
    shown = shown_pictures(design, fields)
    files.read(*design.files(), *shown, *_also(order))
    for target in targets:
        files.write(target)
    behind = read_behind(order) if behind is None else behind
    verdicts = check_title(
        drawn, None if behind is None else load(behind), safe=design.design.safe, rules=rules
    )
    report = TitleReport(
        tuple(targets), tuple(verdicts), (*notices, *drawn.notes), timed.frames_needed
    )
    return ReadyTitle(report, tuple(_encoded(stored, drawn, behind)), files)


def _also(order: TitleOrder) -> list[Path]:
    """List the inputs of a title beside its design."""
    page = None if order.page is None else order.store / page_name(order.page)
    return [path for path in (page, order.over, order.rules) if path is not None]


def read_behind(order: TitleOrder) -> RgbPicture | None:
    """Read the picture behind a title, fitted to its format; None where none is named.

    Raises
    ------
    InputFileError
    """
    if order.over is None:
        return None
    video = order.format
    source = open_source(order.over)
    try:
        fitted = fit(
            source.read(0),
            video.width,
            video.height,
            pixel_aspect_in=source.props.pixel_aspect,
            pixel_aspect_out=video.pixel_aspect,
        )
    finally:
        source.close()
    return picture(given(fitted), Evaluator(), np.uint16 if order.bits == 16 else np.uint8)


_FORMS = {".png": "png", ".tif": "tiff", ".tiff": "tiff"}


def _encoded(stored: Stored, drawn: Drawn, behind: RgbPicture | None) -> list[bytes]:
    coding = stored.coding(Fraction(drawn.canvas.pixel_aspect).limit_denominator(1000))
    depth = stored.depth()
    if stored.kind == "over" and behind is not None:
        title = Lettering((), behind.width, behind.height, lambda: drawn)
        laid = Effect(given(behind), (Layer(title),))
        return [coded(to_array(picture(laid, Evaluator(), depth)), coding)]
    full = drawn.full()
    alpha = np.zeros_like(full.planes[0]) if full.alpha is None else full.alpha
    if stored.kind == "alpha":
        planes = full.planes * alpha if stored.premultiplied else full.planes
        return [coded(codes(np.concatenate([planes, alpha[np.newaxis]]), depth), coding)]
    return [
        coded(codes(full.planes * alpha, depth), coding),
        coded(codes(alpha[np.newaxis], depth)[..., 0], coding),
    ]


def save_page(order: TitleOrder, number: int, *, note: str = "", force: bool = False) -> Path:
    """Keep a title in the store under a number.

    Parameters
    ----------
    order : TitleOrder
    number : int
    note : str
    force : bool
        Replace a page that has the number.

    Returns
    -------
    Path
        The page's file.

    Raises
    ------
    KeyerError
    """
    design, fields, _ = filled(order)
    kept = page_files(Page(number, design, fields, note))
    page, *rest = kept
    # a page's number is the store's to give: with force a page may take its own place
    inputs = () if order.page is not None else design.files()
    store = Files(inputs, force=force)
    file = store.write(store.folder(order.store) / page)
    store.make_folder(order.store)
    parts = Files(inputs, force=True)
    for name in rest:
        keep(order.store / name, kept[name], parts)
    write_bytes(file, kept[page], store)  # the page last: it is there only with all that it needs
    return file
