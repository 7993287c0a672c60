"""The whole story in the browser: from an empty page to a saved sheet, by mouse and keys."""

import base64
import subprocess
import sys
import tomllib
import wave

import numpy as np
import pytest
from media.made import write_clip
from PIL import Image
from rehearsal.browser import drawn, served

WIDTH, HEIGHT = 320, 180

PIXELS = """() => {
  const canvas = document.querySelector('#canvas');
  return [...canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data];
}"""


def picture(seed: int) -> np.ndarray:
    """A ground with detail, another for each seed."""
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    waves = [
        120 + 70 * np.sin(rows / (17 + 5 * n) + seed) * np.cos(columns / 23 + seed * n)
        for n in range(3)
    ]
    return np.stack(waves, 2).clip(0, 255).astype(np.uint8)


def green(step: int, *size: int) -> np.ndarray:
    """A round subject before an even green wall, further to the right at each step."""
    del size
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH]
    far = np.hypot((columns - 140 - step) / 50, (rows - 110) / 60)
    frame = np.full((HEIGHT, WIDTH, 3), (40, 190, 60), np.uint8)
    frame[far < 1] = (150, 120, 105)
    return frame


@pytest.fixture
def brought(tmp_path):
    """What a producer brings: two pictures, a clip before green, and sound."""
    folder = tmp_path / "brought"
    folder.mkdir()
    for seed, name in enumerate(("harbour", "street")):
        Image.fromarray(picture(seed)).save(folder / f"{name}.png")
    write_clip(
        folder / "guest.mkv", codec="ffv1", layout="bgr0", frames=50, size=(WIDTH, HEIGHT),
        options={}, draw=green,
    )  # fmt: skip
    with wave.open(str(folder / "guide.wav"), "wb") as out:
        out.setparams((1, 2, 48000, 0, "NONE", ""))
        tone = 8000 * np.sin(2 * np.pi * 440 * np.arange(48000 * 8) / 48000)
        out.writeframes(tone.astype("<i2").tobytes())
    return folder


def drop(tab, *files) -> None:
    """Drop files on the page, as a hand does."""
    listed = [
        {"name": one.name, "data": base64.b64encode(one.read_bytes()).decode()} for one in files
    ]
    transfer = tab.evaluate_handle(
        """async (listed) => {
          const transfer = new DataTransfer();
          for (const { name, data } of listed) {
            const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
            transfer.items.add(new File([bytes], name));
          }
          return transfer;
        }""",
        listed,
    )
    tab.dispatch_event("body", "drop", {"dataTransfer": transfer})


def at(tab, x: float, y: float) -> tuple[float, float]:
    """Where a point of the picture is on the screen, by percent."""
    box = tab.locator("#picture").bounding_box()
    return box["x"] + box["width"] * x / 100, box["y"] + box["height"] * y / 100


def drag(tab, start: tuple[float, float], end: tuple[float, float]) -> None:
    tab.mouse.move(*start)
    tab.mouse.down()
    for step in range(1, 6):
        tab.mouse.move(*(a + (b - a) * step / 5 for a, b in zip(start, end, strict=True)))
    tab.mouse.up()


def go(tab, frame: int) -> None:
    """Go to a frame by a click on the ruler."""
    box = tab.locator("#ruler").bounding_box()
    length = int(tab.locator("#ruler").get_attribute("aria-valuemax")) + 1
    tab.mouse.click(box["x"] + box["width"] * (frame + 0.05) / length, box["y"] + 8)
    tab.get_by_text(f"frame {frame} of").wait_for()


def written(tab, path: str, key: str, value) -> None:
    """Wait until a setting stands in the sheet."""
    tab.wait_for_function(
        "async ([path, key, value]) => { const { value: held } = await import('/static/state.js');"
        " return JSON.stringify(held(path, key)) === JSON.stringify(value); }",
        arg=[path, key, value],
    )


def save(tab) -> None:
    tab.locator("body").press("Control+s")
    tab.get_by_text("Saved", exact=True).wait_for()


def begin(tab, brought) -> None:
    """Two pictures dropped on the empty page, the format, and a first save."""
    tab.locator("#empty").wait_for()
    drop(tab, brought / "harbour.png", brought / "street.png")
    tab.locator("[data-row='cues[1]']").wait_for()
    tab.locator("#whole").click()
    tab.get_by_label("Format").fill(f"{WIDTH}x{HEIGHT}@25")
    tab.get_by_label("Format").press("Enter")
    tab.get_by_text(f"{WIDTH}x{HEIGHT}@25 · 200 frames").wait_for()
    tab.locator("#whole").click()
    save(tab)


def take_a_bordered_wipe(tab) -> None:
    """Chosen on the wall, then its border."""
    row = tab.locator("[data-row='cues[1]']")
    row.locator(".open").click()
    row.get_by_label("Pattern").click()
    tab.get_by_label("Find a pattern").fill("circle")
    tab.locator("#patterns button:visible img[src]").first.wait_for()
    tab.locator("#patterns button:visible", has_text="ellipseWipe/").first.click()
    written(tab, "cues[1].transition", "pattern", "ellipseWipe/circle")
    row.get_by_label("Border", exact=True).first.fill("3")
    row.get_by_label("Border", exact=True).first.press("Enter")
    written(tab, "cues[1].transition", "border", 3)
    colour = row.get_by_label("Border colour", exact=True).and_(row.locator("[type=text]"))
    colour.fill("#FFC83D")
    colour.press("Enter")
    written(tab, "cues[1].transition", "border_colour", "#FFC83D")


def key_the_guest(tab, brought) -> None:
    """A clip dropped, keyed, its backing picked, held in by a shape, and moved by hand."""
    go(tab, 20)
    drop(tab, brought / "guest.mkv")
    guest = tab.locator("[data-row='overlays[0]']")
    guest.locator(".open").click()
    guest.get_by_role("button", name="Chroma key").click()
    guest.get_by_role("button", name="Pick the backing").click()
    tab.mouse.click(*at(tab, 10, 20))
    guest.get_by_role("button", name="Find it again by itself").wait_for()
    guest.get_by_role("button", name="Draw a hold-in matte").click()
    for corner in ((40, 50), (50, 50), (50, 70), (40, 70)):
        tab.mouse.click(*at(tab, *corner))
    tab.keyboard.press("Enter")
    guest.get_by_role("button", name="Place it").click()
    tab.locator(".handle.area").wait_for()
    drag(tab, at(tab, 20, 20), at(tab, 30, 24))
    written(tab, "overlays[0].placement", "position", [60, 53.5])  # snapped: its top at 3.5 %


def type_a_lower_third(tab) -> None:
    go(tab, 110)
    tab.get_by_role("button", name="a title…").click()
    tab.locator("#designs img[src]").first.wait_for()
    tab.locator("#designs button", has_text="Jetty").click()
    title = tab.locator("[data-row='overlays[1]']")
    title.get_by_label("name", exact=True).fill("Ada Wren")
    title.get_by_label("role", exact=True).fill("Keeps the ferry")
    fields = {"name": "Ada Wren", "role": "Keeps the ferry"}
    written(tab, "sources.jetty.title", "fields", fields)
    tab.keyboard.press("Escape")


def lay_the_sound(tab, brought) -> None:
    tab.keyboard.press("Home")
    tab.get_by_text("frame 0 of").wait_for()
    drop(tab, brought / "guide.wav")
    tab.locator("[data-row='sound[0]']").wait_for()


def play(tab) -> None:
    tab.locator("#play").click()
    tab.get_by_text("photosensitive epilepsy").wait_for()
    tab.locator("#play").click()
    tab.wait_for_function("() => document.querySelector('#canvas').dataset.played > 10")
    tab.locator("#play").click()


@pytest.mark.slow
def test_from_an_empty_page_to_a_saved_sheet(tab, brought, tmp_path):
    folder = tmp_path / "spot"
    folder.mkdir()
    path = folder / "spot.toml"
    with served(path) as (address, _):
        tab.goto(address)
        begin(tab, brought)
        take_a_bordered_wipe(tab)
        key_the_guest(tab, brought)
        type_a_lower_third(tab)
        lay_the_sound(tab, brought)
        play(tab)
        tab.locator("#compare").click()
        tab.locator("#changes li", has_text="ellipseWipe/circle").wait_for()
        tab.locator("#compare").click()
        save(tab)
        go(tab, 112)
        drawn(tab, 112)
        shown = np.array(tab.evaluate(PIXELS), np.uint8).reshape(HEIGHT, WIDTH, 4)[..., :3]

    told = tomllib.loads(path.read_text())
    sample = told["overlays"][0]["key"].pop("sample")
    assert sample == pytest.approx([10 - 0.8, 20 - 0.8 * 16 / 9, 1.6, 1.6 * 16 / 9], abs=0.3)
    (hold,) = told["overlays"][0]["key"].pop("hold")
    corners = [[40, 50], [50, 50], [50, 70], [40, 70]]
    assert np.allclose(hold.pop("polygon"), corners, atol=0.3)
    assert hold == {}
    assert told == {
        "version": 1,
        "sheet": {"title": "A first effect", "format": f"{WIDTH}x{HEIGHT}@25", "length": 200},
        "sources": {
            "harbour": {"file": "media/harbour.png"},
            "street": {"file": "media/street.png"},
            "guest": {"file": "media/guest.mkv", "freeze": True},
            "jetty": {"title": {
                "design": "designs/jetty.toml",
                "fields": {"name": "Ada Wren", "role": "Keeps the ferry"},
            }},
        },
        "cues": [
            {"source": "harbour"},
            {"source": "street", "at": 100, "transition": {
                "kind": "wipe", "length": 25, "pattern": "ellipseWipe/circle", "soft": 4,
                "border": 3, "border_colour": "#FFC83D",
            }},
        ],
        "overlays": [
            {"source": "guest", "in": 20, "key": {"kind": "chroma"},
             "placement": {"scale": 100, "position": [60, 53.5]}},
            {"name": "Jetty", "source": "jetty", "in": 110, "out": 200,
             "transition_in": {"kind": "mix", "length": 13},
             "transition_out": {"kind": "mix", "length": 13}},
        ],
        "sound": [{"file": "media/guide.wav", "at": 0}],
    }  # fmt: skip
    still = folder / "still.png"
    command = [sys.executable, "-m", "keyer", "still", path, "--at", "112", "-o", still]
    subprocess.run(command, check=True, capture_output=True)
    np.testing.assert_array_equal(shown, np.asarray(Image.open(still)))
