"""A proof on paper: the texts large enough to be read letter by letter, with a box to tick."""

from __future__ import annotations

from pathlib import Path

from keyer.batch.proof import Proof, ProofTitle, Sketch
from keyer.errors import OutputError
from keyer.kinds.check_names import NAMES
from keyer.kinds.figures import figures
from keyer.kinds.formats import VideoFormat
from keyer.kinds.verdicts import Verdict
from keyer.measure.cells import Place
from keyer.media.files import Files
from keyer.media.write import together, write_bytes, write_still
from keyer.paper.cells import ACCENT, GREY, INK, PALE
from keyer.paper.column import VERDICT_COLOURS, Column
from keyer.paper.grid import MARGIN, Area, Heading, draw_heading
from keyer.paper.page import Block, Page, Words, line_of, lines_of, paper_size, style, width_of
from keyer.paper.pdf import pages_pdf
from keyer.paper.raster import page_picture
from keyer.render.recipe import program

_NUMBER, _NAME = style(10.5, ACCENT, 700), style(8, GREY)
_TEXT, _LENGTHS = style(12, INK), style(9, INK)
_TICK, _SKETCH, _LENGTHS_WIDTH, _SAID = 4.0, 24.0, 36.0, 78.0
"""Widths of the box to tick, the sketch, the lengths and the verdicts, in mm."""

_NUMBER_WIDTH, _GAP = 13.0, 4.0
_NAME_PITCH, _PITCH, _SMALL_PITCH, _BETWEEN = 4.2, 5.5, 4.0, 2.4
_MOST_LINES, _HAIR, _WIDE = 12, 0.15, 16 / 9
_SCREEN, _FREE, _PANEL = "#EEF1F3", "#C3CBD1", "#8195A0"


def name_proof(output: Path, files: Files) -> None:
    """Name the output of a proof, before anything is worked out.

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() not in {".png", ".pdf"}:
        msg = f"output must end in .pdf or .png for a proof, got {output}."
        raise OutputError(msg)
    files.write(output)


def write_proof(proof: Proof, output: Path, files: Files) -> list[Path]:
    """Write a proof as a PDF, or as a PNG a page.

    Parameters
    ----------
    proof : Proof
    output : Path
        Named to `files` already; further PNGs are numbered after it.
    files : Files

    Raises
    ------
    OutputError
    """
    pages = lay_proof(proof)
    if output.suffix.lower() == ".pdf":
        data = pages_pdf(pages, title=f"Proof: {proof.what}", subject="", program=program())
        write_bytes(output, data, files)
        return [output]
    more = range(2, len(pages) + 1)
    names = [output, *(output.with_name(f"{output.stem}-{n}{output.suffix}") for n in more)]
    for name in names[1:]:
        files.write(name)
    with together(files):
        for name, page in zip(names, pages, strict=True):
            write_still(name, page_picture(page), files)
    return names


def lay_proof(proof: Proof) -> list[Page]:
    """Lay a proof out on landscape sheets of A4, as many as it takes."""
    pages: list[Page] = []
    areas: list[Area] = []
    y = 0.0

    def turn() -> float:
        page = Page(*paper_size("A4"))
        pages.append(page)
        areas.append(draw_heading(page, _heading(proof, first=len(pages) == 1)))
        return areas[-1].y

    y = turn()
    for one in proof.titles:
        marked = len(pages[-1].items)
        below = _draw(pages[-1], one, proof, areas[-1], y)
        if below > areas[-1].y + areas[-1].height and y > areas[-1].y:
            del pages[-1].items[marked:]
            y = turn()
            below = _draw(pages[-1], one, proof, areas[-1], y)
        y = below
    for n, page in enumerate(pages, 1):
        _count(page, f"{n} of {len(pages)}")
    return pages


def _heading(proof: Proof, *, first: bool) -> Heading:
    counts, many = proof.counts, len(proof.titles)
    facts = []
    if first:
        judged = f"{counts['fails']} fail, {counts['watch']} to watch"
        repeats = sum(any("says the same" in note for note in one.notes) for one in proof.titles)
        says = "says" if repeats == 1 else "say"
        more = f"; {repeats} {says} the same as another" if repeats else ""
        facts.append(f"{many} title{'' if many == 1 else 's'}: {judged}{more}.")
        zones = ", ".join(zone.name for zone in proof.rules.zones)
        if zones:
            facts.append(f"Kept free by the {proof.rules.source}: {zones} (grey in the sketches).")
    foot = f"Tick each text once it has been read letter by letter.  ·  {program()}"
    return Heading("Proof of titles", proof.what, tuple(facts), foot)


def _count(page: Page, text: str) -> None:
    """Write the page's number at the right of the foot."""
    line = line_of(text, _NAME)
    margin = MARGIN * page.width
    left = page.width - margin - width_of(line)
    page.items.append(Words(left, page.height - 0.72 * margin, line))


def _draw(page: Page, one: ProofTitle, proof: Proof, area: Area, top: float) -> float:
    """Draw a title and the rule under it; returns where the next one starts."""
    items, left = page.items, area.x
    _box(page, left, top + 0.6, _TICK)
    left += _TICK + 3
    items.append(Words(left, top + 3.8, line_of(str(one.number), _NUMBER, _NUMBER_WIDTH)))
    left += _NUMBER_WIDTH
    height = _sketch(page, one, proof, left, top + 0.4)
    left += _SKETCH + _GAP
    right = area.x + area.width
    width = right - _SAID - _LENGTHS_WIDTH - 2 * _GAP - left
    y = top
    named = "  ·  ".join(part for part in (one.name, one.when) if part)
    if named:
        items.append(Words(left, y + 3.0, line_of(named, _NAME, width)))
        y += _NAME_PITCH
    for text in one.lines:
        for line in lines_of(text, _TEXT, width, _MOST_LINES):
            items.append(Words(left, y + 4.4, line))
            y += _PITCH
    lengths = _lengths(page, one, right - _SAID - _GAP - _LENGTHS_WIDTH, top)
    said = _verdicts(page, one, right - _SAID, top)
    below = max(top + 0.4 + height, y, lengths, said) + _BETWEEN
    items.append(Block(area.x, below - _BETWEEN / 2, area.width, _HAIR, PALE))
    return below


def _box(page: Page, x: float, y: float, side: float) -> None:
    """Draw an empty square."""
    page.items.append(Block(x, y, side, side, GREY))
    page.items.append(Block(x + 0.2, y + 0.2, side - 0.4, side - 0.4, "#FFFFFF"))


def _lengths(page: Page, one: ProofTitle, left: float, top: float) -> float:
    words = "1 word" if one.words == 1 else f"{one.words} words"
    said = [f"{one.letters} letters, {words}"] if one.letters else []
    if one.needed:
        said.append(f"to read: {one.needed:.1f} s")
    if one.on_screen is not None:
        said.append(f"on screen: {one.on_screen:.1f} s")
    for n, text in enumerate(said):
        page.items.append(
            Words(left, top + 3.4 + n * _SMALL_PITCH, line_of(text, _LENGTHS, _LENGTHS_WIDTH))
        )
    return top + len(said) * _SMALL_PITCH


def _verdicts(page: Page, one: ProofTitle, left: float, top: float) -> float:
    column = Column(page, left, top - 1.1, _SAID)
    if one.fault:
        column.verdict("Cannot be drawn", "", "fails", one.fault)
    order = {"fails": 0, "watch": 1}
    bad = [verdict for verdict in one.verdicts if verdict.verdict in order]
    for verdict in sorted(bad, key=lambda verdict: order[verdict.verdict]):
        name = NAMES.get(verdict.measure, verdict.measure)
        column.verdict(name, _value(verdict), verdict.verdict, verdict.remedy)
    for note in one.notes:
        column.text(f"{note[0].upper()}{note[1:]}.")
    return column.y if one.fault or bad or one.notes else top


def _value(verdict: Verdict) -> str:
    return f"{figures(verdict.measure, verdict.value)} {verdict.unit}"


def _sketch(page: Page, one: ProofTitle, proof: Proof, left: float, top: float) -> float:
    """Draw where a title stands, and what has to stay free; returns the height."""
    aspect = _aspect(proof.video)
    width = _SKETCH * min(1.0, aspect / _WIDE)  # a tall picture takes no more of the paper's height
    height = width / aspect
    screen = Place(0, 0, 100, 100)

    def put(place: Place, colour: str) -> None:
        x, y = left + place.left * width / 100, top + place.top * height / 100
        size = place.width * width / 100, place.height * height / 100
        page.items.append(Block(x, y, *size, colour))

    put(screen, _SCREEN)
    for zone in proof.rules.zones:
        put(zone.place, _FREE)
    for part in one.sketch:
        put(_place(part), INK if part[0] else _PANEL)
    clash = any(v.measure == "title.zone" and v.verdict != "holds" for v in one.verdicts)
    for part in one.sketch if clash else ():
        for zone in proof.rules.zones:
            both = _both(_place(part), zone.place)
            if both is not None and not _whole(part):
                put(both, VERDICT_COLOURS["fails"])
    return height


def _aspect(video: VideoFormat) -> float:
    return float(video.width * video.pixel_aspect / video.height)


def _place(part: Sketch) -> Place:
    return Place(*part[1:])


def _whole(part: Sketch) -> bool:
    """Whether a part fills the picture: a ground, which is in no zone's way."""
    return not part[0] and part[3] >= 100 and part[4] >= 100


def _both(one: Place, other: Place) -> Place | None:
    """Find the part of the picture that lies in both."""
    left, top = max(one.left, other.left), max(one.top, other.top)
    right = min(one.left + one.width, other.left + other.width)
    bottom = min(one.top + one.height, other.top + other.height)
    return Place(left, top, right - left, bottom - top) if right > left and bottom > top else None
