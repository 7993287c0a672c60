"""Pages as a PDF: letters as letters, that can be searched and copied, pictures as JPEG.

Letters that PDF cannot hold as a font (of a variable font, or leaned) are put
in as pictures of letters.
"""

from __future__ import annotations

import datetime as dt
import io
import logging
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import parse_colour
from keyer.media.encode_still import encode_still
from keyer.paper.page import DOTS_PER_MM, DPI, MM_PER_INCH, Block, Page, Photo, Stroke, Words
from keyer.pixel.colour.load import from_array
from keyer.titles.fonts import Face
from keyer.titles.ink import Canvas, Placed, draw_ink
from keyer.titles.lines import Line, Piece

if TYPE_CHECKING:
    from fpdf import FPDF

PHOTO_DPI = 300
"""Pictures are brought down to this; common practice for offset printing."""

LETTERS_DPI = 800
_POINTS = 72 / DPI
_NO_DATE = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
"""The same sheet gives the same file, whenever it is made."""


def pages_pdf(pages: Sequence[Page], *, title: str, subject: str, program: str) -> bytes:
    """Write pages as a PDF.

    Parameters
    ----------
    pages : sequence of Page
    title, subject, program : str
        For the document's properties.
    """
    from fpdf import FPDF

    logging.getLogger("fontTools").setLevel(logging.ERROR)
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(auto=False)
    pdf.set_margin(0)
    pdf.c_margin = 0
    pdf.set_title(_as_text(title))
    pdf.set_subject(_as_text(subject))
    pdf.set_creator(program)
    pdf.set_producer(program)
    pdf.set_creation_date(_NO_DATE)
    fonts: dict[Face, str | None] = {}
    for page in pages:
        pdf.add_page(format=(page.width, page.height))
        for item in page.items:
            match item:
                case Block():
                    pdf.set_fill_color(*_codes(item.colour))
                    pdf.rect(item.x, item.y, item.width, item.height, style="F")
                case Photo():
                    _put(pdf, item)
                case Words():
                    _write(pdf, item, fonts)
                case Stroke():
                    pdf.set_draw_color(*_codes(item.colour))
                    pdf.set_line_width(item.thickness)
                    pdf.polyline(list(item.points))
    return bytes(pdf.output())


def _as_text(name: str) -> str:
    """Write a name that may hold bytes that are no UTF-8."""
    return name.encode("utf-8", "replace").decode("utf-8")


def _codes(colour: str) -> tuple[int, int, int]:
    red, green, blue = (round(255 * part) for part in parse_colour(colour))
    return red, green, blue


def _put(pdf: FPDF, photo: Photo) -> None:
    pixels = photo.pixels
    most = max(round(photo.width / MM_PER_INCH * PHOTO_DPI), 1)
    if pixels.shape[1] > most:
        rows = max(round(photo.height / MM_PER_INCH * PHOTO_DPI), 1)
        pixels = np.asarray(cv2.resize(pixels, (most, rows), interpolation=cv2.INTER_AREA))
    jpeg = encode_still(from_array(pixels), Path("photo.jpg"))
    pdf.image(io.BytesIO(jpeg), photo.x, photo.y, photo.width, photo.height)


def _write(pdf: FPDF, words: Words, fonts: dict[Face, str | None]) -> None:
    for piece in words.line.pieces:
        if piece.text.isspace():
            continue
        font = _font(pdf, piece, fonts)
        if font is None:
            _draw(pdf, words, piece)
            continue
        pdf.set_font(font, size=piece.size * _POINTS)
        pdf.set_text_color(*_codes(piece.style.colour))
        pdf.set_text_shaping(use_shaping_engine=True, direction="rtl" if piece.rtl else "ltr")
        # the shaping is that of `cell`, whose baseline lies 0.3 of the font size below its middle
        pdf.set_xy(words.x + piece.x / DOTS_PER_MM, words.baseline - 0.3 * pdf.font_size)
        pdf.cell(w=piece.advance / DOTS_PER_MM, h=0, text=piece.text)


def _font(pdf: FPDF, piece: Piece, fonts: dict[Face, str | None]) -> str | None:
    """Name of a piece's face in the document; None for one that it cannot hold."""
    face = piece.face
    if piece.slant or face.variable:
        return None
    if face not in fonts:
        name = f"face{len(fonts)}"
        try:
            pdf.add_font(name, fname=_outline_file(face), collection_font_number=face.index)
            fonts[face] = name
        except Exception:  # noqa: BLE001  a font that cannot be embedded is drawn
            fonts[face] = None
    return fonts[face]


def _outline_file(face: Face) -> str:
    """Return the TrueType twin of a face, where there is one: every reader of PDF takes it."""
    twin = Path(face.path).with_suffix(".ttf")
    return str(twin) if twin.is_file() else face.path


def _draw(pdf: FPDF, words: Words, piece: Piece) -> None:
    """Put letters into a PDF page as a picture."""
    up = LETTERS_DPI / DPI
    large = Piece(
        piece.text, piece.style, piece.face, piece.size * up, piece.slant, piece.rtl,
        0.0, piece.advance * up, piece.capitals * up,
    )  # fmt: skip
    line = Line((large,), large.advance, large.size, large.size, large.rtl)
    ink = draw_ink([Placed(line, 0.0, 0.0)], Canvas(1, 1))
    for mark in (one.letters for one in ink):
        cover = np.clip(255 * mark.coverage + 0.5, 0, 255).astype(np.uint8)
        scale = 1 / (DOTS_PER_MM * up)
        height, width = (side * scale for side in cover.shape)
        x = words.x + piece.x / DOTS_PER_MM + mark.left * scale
        y = words.baseline + mark.top * scale
        pdf.image(_stencil(cover, piece.style.colour), x, y, width, height)


def _stencil(cover: NDArray[np.uint8], colour: str) -> io.BytesIO:
    shape = (3, *cover.shape)
    codes = np.array(_codes(colour), np.uint8)[:, np.newaxis, np.newaxis]
    planes = np.ascontiguousarray(np.broadcast_to(codes, shape))
    return io.BytesIO(encode_still(RgbPicture(planes, cover), Path("letters.png")))
