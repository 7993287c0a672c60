"""Pictures for the page: drawn beside the server, the latest request first.

A request names a slot; a newer one in the same slot takes its place. What a
hand is waiting for comes before what is only looked at: the picture under the
hand, then the exact one, then the small ones.
"""

from __future__ import annotations

import json
import struct
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import KeyerError
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.load import to_array
from keyer.rehearsal.numbers import key_remedies, row_numbers
from keyer.rehearsal.said import fault_words
from keyer.render.evaluate import Outdated, while_wanted
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.render.still import frame_picture
from keyer.sheet.effect import Key
from keyer.sheet.sheet import Sheet

JPEG_QUALITY = 92
MOST_OPEN = 200
"""Sources kept open; beyond, all are closed and those that are needed opened again."""

SMALL_ROWS = 180
"""Height of the rows' small pictures, for dense screens."""


@dataclass(frozen=True)
class Request:
    """A picture that a window has asked for: frame, size and view.

    Attributes
    ----------
    slot : str
        One of `ORDER`; a newer request takes an older one's place.
    frame : int
    view : str
        As in `keyer.render.still.SHOWS`.
    rows : int or None
        Height; None: the sheet's own, without loss.
    tag : Any
        Sent back with the picture.
    of : {"now", "before", "instead"}
        The sheet as it is, the one that it is compared with, or `sheet`.
    sheet : Sheet or None
        A variation of the sheet.
    """

    slot: str
    frame: int
    view: str = "picture"
    rows: int | None = None
    tag: Any = None
    of: str = "now"
    sheet: Sheet | None = None


ORDER = ("hand", "before", "play", "rest", "measure", "small", "wall", "remedies")


def packed(head: dict[str, Any], data: bytes) -> bytes:
    """Join what is said of a picture and the picture, for a binary message.

    Returns
    -------
    bytes
        Length of the head (32 bits, big-endian), the head as JSON, the picture.
    """
    said = json.dumps(head).encode()
    return struct.pack(">I", len(said)) + said + data


def scaled_sheet(sheet: Sheet, rows: int | None) -> Sheet:
    """Make a sheet for smaller pictures; what is measured in pixels shrinks with them.

    Parameters
    ----------
    sheet : Sheet
    rows : int or None
        Height; never more than the sheet's own.
    """
    video = sheet.format
    if rows is None or rows >= video.height:
        return sheet
    share = rows / video.height
    width = 2 * max(round(video.width * share / 2), 1)
    overlays = tuple(
        replace(one, key=_scaled_key(one.key, share)) if one.key else one for one in sheet.overlays
    )
    return replace(sheet, format=replace(video, width=width, height=rows), overlays=overlays)


def _scaled_key(key: Key, share: float) -> Key:
    finish = key.finish
    return replace(
        key,
        finish=replace(
            finish,
            fill_holes=finish.fill_holes * share**2,
            drop_specks=finish.drop_specks * share**2,
            grow=finish.grow * share,
            feather=finish.feather * share,
        ),
    )


def jpeg(picture: NDArray[Any]) -> bytes:
    """Code a picture for the screen: 4:4:4, since coloured edges are what is looked at.

    Parameters
    ----------
    picture : (H, W, 3) or (H, W) uint8
    """
    colour = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR) if picture.ndim == 3 else picture
    sampling = cv2.IMWRITE_JPEG_SAMPLING_FACTOR_444
    options = [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY, cv2.IMWRITE_JPEG_SAMPLING_FACTOR, sampling]
    return cv2.imencode(".jpg", colour, options)[1].tobytes()


def eight_bits(result: RgbPicture | NDArray[np.float32]) -> NDArray[np.uint8]:
    """Bring a picture to the eight bits of the screen.

    Parameters
    ----------
    result : RgbPicture, or (H, W) float32

    Returns
    -------
    (H, W, 3) or (H, W) uint8
    """
    array = to_array(result) if isinstance(result, RgbPicture) else result
    if array.dtype == np.uint8:
        return np.asarray(array, np.uint8)
    full = 65535.0 if array.dtype == np.uint16 else 1.0
    return np.rint(np.clip(array / full, 0, 1) * 255).astype(np.uint8)


class Painter:
    """Draws what is asked for, in a thread of its own.

    Parameters
    ----------
    deliver : callable
        Told the request, the head of the answer and the picture; from the thread.
    """

    def __init__(self, deliver: Callable[[Request, dict[str, Any], bytes], None]) -> None:
        self._deliver = deliver
        self._wake = threading.Condition()
        self._waiting: dict[str, list[Request]] = {}
        self._sheet: Sheet | None = None
        self._revision = 0
        self._before: Sheet | None = None
        self._session = Session()
        self._plans: dict[tuple[str, int | None], tuple[Sheet, Plan]] = {}
        self._drawing: Request | None = None
        self._played: list[Request] = []  # of which not all can be hashed
        self._ends = False
        self._thread = threading.Thread(target=self._run, name="painter", daemon=True)
        self._thread.start()

    def take(self, sheet: Sheet, revision: int) -> None:
        """Draw this sheet from now on; small pictures of the one before are dropped."""
        with self._wake:
            self._sheet, self._revision = sheet, revision
            self._waiting.pop("small", None)
            self._waiting.pop("wall", None)

    def compare(self, sheet: Sheet | None) -> None:
        """Have another sheet to compare with, or none any more."""
        with self._wake:
            self._before = sheet

    def ask(self, slot: str, requests: list[Request]) -> None:
        """Ask for pictures, in place of what the slot was asked for before.

        What is played is asked for again while it is on its way, and drawn once.
        """
        with self._wake:
            if slot == "play":
                self._played = [one for one in self._played if one in requests]
            made = [self._drawing, *(self._played if slot == "play" else ())]
            self._waiting[slot] = [one for one in requests if one not in made]
            self._wake.notify()

    def close(self) -> None:
        """Stop, and let go of every file."""
        with self._wake:
            self._ends = True
            self._wake.notify()
        self._thread.join(timeout=10)
        self._session.close()

    def _run(self) -> None:
        while True:
            with self._wake:
                while not self._ends and not any(self._waiting.values()):
                    self._wake.wait()
                if self._ends:
                    return
                slot = next(name for name in ORDER if self._waiting.get(name))
                request = self._drawing = self._waiting[slot].pop(0)
                sheets = {"now": self._sheet, "before": self._before, "instead": request.sheet}
                sheet = sheets[request.of]
                revision = self._revision
            if sheet is not None and 0 <= request.frame < sheet.length:
                self._draw(request, sheet, revision)
            self._drawing = None

    def _draw(self, request: Request, sheet: Sheet, revision: int) -> None:
        head = {
            "slot": request.slot, "frame": request.frame, "view": request.view,
            "revision": revision, "tag": request.tag, "exact": request.rows is None,
        }  # fmt: skip
        try:
            with while_wanted(lambda: not self._ends and not self._hand_waits(request)):
                data = self._picture(request, sheet)
        except Outdated:  # a hand is waiting for another picture; this one comes after it
            with self._wake:
                self._waiting.setdefault(request.slot, []).insert(0, request)
            return
        except KeyerError as error:
            head["error"] = fault_words(error)
            data = b""
        except Exception as error:  # noqa: BLE001  a defect must not end the page
            head["error"] = f"defect: {type(error).__name__}: {error}"
            data = b""
        if request.slot == "play":
            with self._wake:
                self._played.append(request)
        self._deliver(request, head, data)

    def _hand_waits(self, request: Request) -> bool:
        """Whether the picture under a hand is asked for while another one is drawn."""
        return request.slot != "hand" and bool(self._waiting.get("hand"))

    def _picture(self, request: Request, sheet: Sheet) -> bytes:
        plan = self._plan(sheet, request.of, request.rows)
        if request.slot == "measure":
            return row_numbers(plan, request.view, request.frame)
        if request.slot == "remedies":
            return key_remedies(plan, request.view, request.frame)
        result = frame_picture(plan, request.frame, request.view)
        if request.rows is None:
            return exact_png(result, packed=False)  # it goes no further than this computer
        array = eight_bits(result)
        if request.slot == "small":
            height, width = array.shape[:2]
            size = (round(width * SMALL_ROWS / height), SMALL_ROWS)
            array = np.asarray(cv2.resize(array, size, interpolation=cv2.INTER_AREA), np.uint8)
        return jpeg(array)

    def _plan(self, sheet: Sheet, of: str, rows: int | None) -> Plan:
        """Plan a sheet; what an edit has not changed of it stays open and worked out."""
        kept = self._plans.get((of, rows))
        if kept is None or kept[0] is not sheet:
            if self._session.open_sources > MOST_OPEN:
                self._session.close()
                self._plans.clear()
            scaled = scaled_sheet(sheet, rows)
            chosen = any(level.keyed_by_chroma for level in sheet.levels())
            larger = self._plan(sheet, of, None) if chosen and scaled is not sheet else None
            plan = Plan(scaled, self._session, keys=larger)
            self._plans[of, rows] = kept = (sheet, plan)
        return kept[1]


def exact_png(result: RgbPicture | NDArray[np.float32], *, packed: bool = True) -> bytes:
    """Code a picture without loss, in its own depth; unpacked it is larger, and quicker."""
    array = to_array(result) if isinstance(result, RgbPicture) else result
    if array.dtype.kind == "f":
        array = np.rint(np.clip(array, 0, 1) * 65535).astype(np.uint16)
    colour = array[..., ::-1] if array.ndim == 3 else array
    options = [cv2.IMWRITE_PNG_COMPRESSION, int(packed)]
    return cv2.imencode(".png", np.ascontiguousarray(colour), options)[1].tobytes()
