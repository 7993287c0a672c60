"""Draw the small pictures of `docs/patterns.md` anew (run without arguments)."""

from pathlib import Path

from PIL import Image

from keyer.library.reference import look_pictures, pattern_pictures

PICTURES = Path(__file__).resolve().parents[1] / "docs" / "pictures"

if __name__ == "__main__":
    for folder in ("patterns", "backgrounds"):
        (PICTURES / folder).mkdir(exist_ok=True)
    for name, picture in pattern_pictures():
        image = Image.fromarray(picture).quantize(32)
        image.save(PICTURES / "patterns" / name, optimize=True)
    for name, picture in look_pictures():
        Image.fromarray(picture).save(PICTURES / "backgrounds" / name, quality=85)
