"""The painter: the latest request of a slot, the hand first, what is played drawn once."""

import threading
from collections import Counter

from keyer.rehearsal.pictures import Painter, Request
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 20
[sources]
a = { gradient = { first = "#000000", second = "#FFFFFF" } }
[[cues]]
source = "a"
"""


def painted(asked, then=None, last=1):
    """Frames as they are delivered for what is asked at once, up to `last` of the last slot."""
    found, over = [], threading.Event()

    def deliver(request, head, data):
        assert data
        assert head["frame"] == request.frame
        found.append((request.slot, request.frame))
        if then:
            then(painter, request)
        if len(found) == last:
            over.set()

    painter = Painter(deliver)
    try:
        with painter._wake:  # all of it is there before anything is drawn
            painter._sheet = parse_sheet(SHEET)
            for slot, requests in asked.items():
                painter._waiting[slot] = list(requests)
            painter._wake.notify()
        assert over.wait(60)
    finally:
        painter.close()
    return found


def test_the_picture_under_the_hand_comes_first():
    asked = {
        "wall": [Request("wall", 1, rows=90)],
        "rest": [Request("rest", 2)],
        "hand": [Request("hand", 3, rows=90)],
    }
    assert painted(asked, last=3) == [("hand", 3), ("rest", 2), ("wall", 1)]


def test_what_is_played_is_drawn_once_however_often_it_is_asked_for():
    frames = [Request("play", n, rows=90, tag=1) for n in range(6)]

    def again(painter, request):
        if request.frame < 5:  # the window has not got it yet and asks for all of it anew
            painter.ask("play", frames)

    found = painted({"play": frames}, again, last=6)
    assert Counter(found) == {("play", n): 1 for n in range(6)}


def test_what_is_played_again_is_drawn_again():
    frames = [Request("play", n, rows=90, tag=1) for n in range(3)]

    def again(painter, request):
        if request.frame == 2 and request.tag == 1:
            painter.ask("play", [Request("play", 0, rows=90, tag=2)])

    assert painted({"play": frames}, again, last=4)[-1] == ("play", 0)


def test_what_cannot_be_hashed_can_be_asked_for_again_while_it_is_drawn():
    """A variation has its sheet, and a window sends what tag it likes."""
    varied = parse_sheet(SHEET)
    walls = [Request("wall", n, rows=90, of="instead", sheet=varied) for n in range(3)]
    frames = [Request("play", n, rows=90, tag={"run": 1}) for n in range(3)]
    errors = []

    def again(painter, request):
        try:
            if request == walls[0]:
                painter.ask("wall", walls)
            if request == frames[0]:
                painter.ask("play", frames)
        except TypeError as error:
            errors.append(error)

    found = painted({"wall": walls, "play": frames}, again, last=6)
    assert not errors
    assert Counter(found) == {(slot, n): 1 for slot in ("play", "wall") for n in range(3)}
