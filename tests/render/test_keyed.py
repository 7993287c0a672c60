"""Masks, finishing, shadows, clean plates and picked areas of keys, as a sheet has them."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from media.made import write_clip
from plates.proof import KINDS, make
from render.frames import Base, ByKey, Frame, compose, compose_clear

from keyer.errors import NoBackingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Finish, Shade
from keyer.measure.plate import backing_surface
from keyer.measure.survey import survey_plate
from keyer.media.source import open_source
from keyer.pixel.colour.load import from_array, load, to_array
from keyer.render.clip import render_clip
from keyer.render.finishing import Finished
from keyer.render.keying import Key as FastKey
from keyer.render.plan import Plan
from keyer.render.recipe import recipe_of
from keyer.render.session import Session
from keyer.render.still import render_still
from keyer.sheet.effect import Key
from keyer.sheet.load import build_sheet
from keyer.sheet.masks import Mask

WIDTH, HEIGHT = 240, 136
GREEN = np.array((0.12, 0.6, 0.16))
LIME = np.array((0.5, 0.85, 0.2))
SKIN = np.array((0.75, 0.5, 0.4))


def scene(stand=True, product=LIME, seed=1, noise=0.006):
    """A subject before a green backing with a product of nearly its hue, and a stand beside it."""
    picture = np.empty((HEIGHT, WIDTH, 3))
    picture[:] = GREEN
    picture[20:, 90:150] = SKIN
    if product is not None:
        picture[70:100, 108:132] = product
    if stand:
        picture[10:, 10:18] = 0.3
    picture = cv2.GaussianBlur(picture, (0, 0), 0.7)
    picture += np.random.default_rng(seed).normal(0, noise, picture.shape)
    return RgbPicture(
        np.ascontiguousarray((255 * picture.clip(0, 1) + 0.5).astype(np.uint8).transpose(2, 0, 1))
    )


def keyed(key, picture=None, light="video", **others):
    """Key one picture as a plan does it."""
    return ByKey(key, picture or scene(), light=light, **others)


STAND = Mask("rectangle", (2, 0, 8, 100))
PRODUCT = Mask("rectangle", (45, 51.5, 10, 22))
QUALITIES = ["fast", "fine"]


@pytest.mark.parametrize("quality", QUALITIES)
def test_a_garbage_mask_takes_the_stand_out(quality):
    bare = keyed(Key("chroma", quality=quality))
    masked = keyed(Key("chroma", quality=quality, garbage=(STAND,)))
    assert bare.matte[40:, 12:16].min() > 0.9
    assert masked.matte[:, 6:20].max() == 0
    assert masked.fill[:, :, 6:20].max() == 0
    np.testing.assert_array_equal(masked.matte[:, 40:], bare.matte[:, 40:])
    np.testing.assert_array_equal(masked.fill[:, :, 40:], bare.fill[:, :, 40:])


def test_a_lime_product_is_told_by_the_survey_and_saved_by_a_hold_in_mask():
    picture = scene()
    planes = load(picture)
    told = survey_plate(planes, "bt709").subject
    area = 24 * 30 / (60 * 116)
    assert told.clash_percent == pytest.approx(100 * area, rel=0.25)
    lost = keyed(Key("chroma"))
    held = keyed(Key("chroma", hold=(PRODUCT,)))
    inside = np.s_[74:96, 112:128]
    assert lost.matte[inside].mean() < 0.9
    assert held.matte[inside].min() == 1
    # the hue of the product is its own, and no spill
    np.testing.assert_allclose(held.fill[:, *inside], planes[:, *inside], atol=1e-6)


@pytest.mark.parametrize(
    ("name", "colour"),
    [("green eyes", (0.35, 0.6, 0.35)), ("a blue-green scarf", (0.1, 0.55, 0.45))],
)
def test_hold_in_masks_save_other_hues_near_the_backing(name, colour):
    picture = scene(product=np.array(colour))
    assert survey_plate(load(picture), "bt709").subject.clash_percent > 1, name
    inside = np.s_[74:96, 112:128]
    held = keyed(Key("chroma", quality="fine", hold=(PRODUCT,)), picture)
    assert held.matte[inside].min() == 1
    np.testing.assert_allclose(held.fill[:, *inside], load(picture)[:, *inside], atol=1e-6)


def test_masks_of_all_kinds_are_joined():
    drawn = np.zeros((3, HEIGHT, WIDTH), np.uint8)
    drawn[:, :30, 200:] = 255
    masks = (
        Mask("ellipse", (50, 20, 20, 20)),
        Mask("polygon", (0, 60, 10, 60, 10, 100, 0, 100)),
        Mask(source="drawn"),
    )
    layer = keyed(Key("chroma", hold=masks), drawn=RgbPicture(drawn))
    assert layer.matte[27, 120] == 1
    assert layer.matte[100, 5] == 1
    assert layer.matte[15, 220] == 1
    assert layer.matte[60, 220] == 0


def test_luminance_keys_take_masks_too():
    key = Key("luminance", garbage=(STAND,), hold=(PRODUCT,), finish=Finish(grow=1))
    layer = keyed(key)
    assert layer.matte[:, 6:18].max() == 0
    assert layer.matte[76:94, 114:126].min() == 1


@pytest.mark.parametrize("quality", QUALITIES)
def test_growing_and_feathering(quality):
    plain = keyed(Key("chroma", quality=quality))
    wide, narrow, soft = (
        keyed(Key("chroma", quality=quality, finish=finish))
        for finish in (Finish(grow=2.5), Finish(grow=-2.5), Finish(feather=9))
    )

    def edge(layer):  # columns from the left side of the subject to its middle, area of the matte
        return float(layer.matte[40:60, 60:120].sum()) / 20

    assert edge(wide) - edge(plain) == pytest.approx(2.5, abs=0.3)
    assert edge(narrow) - edge(plain) == pytest.approx(-2.5, abs=0.3)
    row = soft.matte[50, 60:120]
    assert ((row > 0.02) & (row < 0.98)).sum() == pytest.approx(9, abs=3)
    # no rim of backing comes with what was grown
    colour = wide.fill[:, 50, 87:90].mean(1) / wide.matte[50, 87:90].mean()
    np.testing.assert_allclose(colour, SKIN, atol=0.12)


def test_holes_and_specks_by_area():
    picture = scene(stand=False, product=None)
    planes = picture.planes.copy()
    planes[:, 60:64, 110:114] = (255 * GREEN[:, None, None]).astype(np.uint8)
    planes[:, 30:33, 200:203] = 200
    picture = RgbPicture(planes)
    plain = keyed(Key("chroma"), picture)
    done = keyed(Key("chroma", finish=Finish(fill_holes=40, drop_specks=30)), picture)
    assert plain.matte[61, 111] == 0
    assert done.matte[58:66, 108:116].min() == 1
    assert plain.matte[31, 201] == 1
    assert done.matte[28:36, 198:206].max() == 0
    small = keyed(Key("chroma", finish=Finish(fill_holes=4, drop_specks=2)), picture)
    np.testing.assert_array_equal(small.matte, plain.matte)


def shaded():
    """A plate with a shadow to the right of the subject, and the share that it takes."""
    picture = scene(stand=False, product=None, noise=0.0)
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH]
    away = np.hypot((rows - 80) / 40, (columns - 190) / 26)
    shadow = 0.4 * np.clip((1.3 - away) / 0.6, 0, 1)
    shadow[:, 85:155] = 0
    planes = picture.planes * (1 - shadow) + np.random.default_rng(3).normal(0, 1.5, (3, 1, 1))
    grain = np.random.default_rng(4).normal(0, 1.2, picture.planes.shape)
    return RgbPicture((planes + grain).clip(0, 255).astype(np.uint8)), shadow


@pytest.mark.parametrize("quality", QUALITIES)
@pytest.mark.parametrize("strength", [50, 100])
def test_a_shadow_lies_on_the_new_background(quality, strength):
    picture, shadow = shaded()
    layer = keyed(Key("chroma", quality=quality, shade=Shade(strength)), picture)
    white = RgbPicture(np.full((3, HEIGHT, WIDTH), 0.8, np.float32))
    done = compose(Frame(Base(white), (layer,)), np.float32).planes
    deep = shadow > 0.39
    expected = 0.8 * (1 - 0.4 * strength / 100)
    assert done[:, deep].mean() == pytest.approx(expected, abs=0.02)
    assert done[:, 20:60, 20:60].mean() == pytest.approx(0.8, abs=0.005)
    # the matte that is measured is the subject's alone
    np.testing.assert_array_equal(layer.matte, keyed(Key("chroma", quality=quality), picture).matte)


def test_a_shadow_in_linear_light_darkens_alike():
    picture, shadow = shaded()
    white = RgbPicture(np.full((3, HEIGHT, WIDTH), 0.8, np.float32))
    levels = []
    for light in ("video", "linear"):
        layer = keyed(Key("chroma", shade=Shade(100)), picture, light)
        done = compose(Frame(Base(white), (layer,), light), np.float32).planes
        levels.append(done[:, shadow > 0.39].mean())
    assert levels[1] == pytest.approx(levels[0], abs=0.02)


def test_a_shadow_goes_with_the_overlay():
    """Half there, it is half as dark; it is in the opacity, and in what an encoder gets."""
    picture, shadow = shaded()
    layer = keyed(Key("chroma", shade=Shade(100)), picture)
    deep = shadow > 0.39
    white = RgbPicture(np.full((3, HEIGHT, WIDTH), 0.8, np.float32))
    layer.opacity = 0.5
    half = compose(Frame(Base(white), (layer,)), np.float32).planes
    assert half[:, deep].mean() == pytest.approx(0.8 * 0.8, abs=0.02)
    nothing = RgbPicture(
        np.zeros((3, HEIGHT, WIDTH), np.float32), np.zeros((HEIGHT, WIDTH), np.float32)
    )
    layer.opacity = 1.0
    clear = compose_clear(Frame(Base(nothing), (layer,)))
    assert clear.alpha[deep].mean() == pytest.approx(0.4, abs=0.02)
    assert clear.planes[:, deep].max() < 0.02


def test_garbage_takes_the_shadow_with_it():
    picture, _ = shaded()
    right = Mask("rectangle", (68, 0, 32, 100))
    layer = keyed(Key("chroma", shade=Shade(100), garbage=(right,)), picture)
    assert layer.shade[:, 170:].max() == 0


def test_a_clean_plate_is_the_backing():
    """Light that no bow follows: a step in the backing, seen in the clean plate."""
    step = np.ones((HEIGHT, WIDTH))
    step[:, :70] = 0.72
    plain = scene(stand=False, product=None)
    empty = np.empty((HEIGHT, WIDTH, 3))
    empty[:] = GREEN
    clean = (255 * empty * step[..., None] + 0.5).astype(np.uint8)
    seen = np.where(step < 1, plain.planes * step, plain.planes).astype(np.uint8)
    picture, behind = RgbPicture(seen), from_array(clean)
    without = keyed(Key("chroma", quality="fine"), picture)
    key = Key("chroma", quality="fine", clean_plate="empty")
    with_it = keyed(key, picture, empty=behind)
    clear = np.s_[20:, 20:80]
    assert with_it.matte[clear].mean() <= without.matte[clear].mean()
    assert with_it.matte[clear].mean() < 0.002


def test_a_picked_area_finds_a_backing_that_auto_refuses():
    """Warm backings are never taken for one unless named: skin has their hue."""
    warm = np.empty((HEIGHT, WIDTH, 3))
    warm[:] = (0.75, 0.5, 0.2)
    warm[20:, 90:150] = (0.2, 0.3, 0.7)
    warm += np.random.default_rng(1).normal(0, 0.005, warm.shape)
    picture = from_array((255 * warm.clip(0, 1) + 0.5).astype(np.uint8))
    with pytest.raises(NoBackingError):
        _ = keyed(Key("chroma"), picture).matte
    layer = keyed(Key("chroma", sample=(5, 10, 20, 50)), picture)
    assert layer.matte[40:, 100:140].min() > 0.98
    assert layer.matte[:, :80].mean() < 0.01


def test_what_stands_is_keyed_once_and_a_moved_mask_anew():
    picture, first, second = scene(), scene(seed=2), scene(seed=3)
    key = Key("chroma", garbage=(Mask(source="m"),))
    session = Session()
    one = keyed(key, picture, session=session, m=first).at(0)
    assert keyed(key, picture, session=session, m=first).at(0) is one
    assert keyed(key, picture, session=session, m=second).at(0) is not one


# --- over time


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A moving plate, a mask and a background."""
    path = tmp_path_factory.mktemp("keyer")
    write_clip(
        path / "plate.mkv",
        frames=8,
        draw=lambda number, *_: to_array(scene(seed=number, product=None)),
        size=(WIDTH, HEIGHT),
    )
    return path


def sheet_with(folder, **key):
    data = {
        "version": 1,
        "sheet": {"format": f"{WIDTH}x{HEIGHT}@25", "length": 8},
        "sources": {"plate": {"file": "plate.mkv"}, "grey": {"colour": "#506070"}},
        "cues": [{"source": "grey"}],
        "overlays": [{"source": "plate", "key": {"kind": "chroma", **key}}],
    }
    return build_sheet(data, folder=folder)


BY_HAND = {
    "garbage": [{"rectangle": [0, 0, 12, 100], "soft": 2}],
    "grow": 0.5,
    "feather": 2.0,
    "shadow": 80.0,
}


@pytest.mark.parametrize("key", [{"quality": "fine"}, BY_HAND, {"quality": "fine", **BY_HAND}])
def test_a_still_is_the_clips_frame_wherever_one_begins(folder, tmp_path, key):
    sheet = sheet_with(folder, **key)
    render_clip(sheet, tmp_path / "out.mov", codec="png")
    source = open_source(tmp_path / "out.mov")
    for frame in (5, 2, 0):
        np.testing.assert_array_equal(to_array(source.read(frame)), render_still(sheet, frame))
    source.close()


def test_settings_by_hand_are_part_of_the_digest(folder):
    plain = recipe_of(sheet_with(folder)).digest
    for key in ({"grow": 0.5}, {"hold": [{"ellipse": [1, 2, 3, 4]}]}, {"shadow_soft": 1.0}):
        assert recipe_of(sheet_with(folder, **key)).digest != plain


def test_without_anything_by_hand_a_fast_key_stays_in_one_pass(folder):
    with Plan(sheet_with(folder)) as plan:
        assert isinstance(plan.frame(0).layers[0].node, FastKey)
    with Plan(sheet_with(folder, sample=[10, 10, 20, 20])) as plan:
        assert isinstance(plan.frame(0).layers[0].node, FastKey)
    with Plan(sheet_with(folder, grow=0.5)) as plan:
        assert isinstance(plan.frame(0).layers[0].node, Finished)


FLICKER = 0.4
"""Standard deviation in time that solid and clear parts stay under, percent of full scale."""


@pytest.mark.parametrize("noise", [0.006, 0.012])
def test_a_still_subject_does_not_flicker(noise):
    """Thirty frames of one subject with new grain in each."""
    kind = replace(next(kind for kind in KINDS if kind.name == "strands"), noise=0.0)
    plate = make(kind, 120, 160, seed=4)
    random = np.random.default_rng(5)
    pictures = []
    for _ in range(30):
        grain = random.normal(0, noise, plate.recorded.shape)
        codes = (255 * (plate.recorded + grain).clip(0, 1) + 0.5).astype(np.uint8)
        pictures.append(RgbPicture(codes))
    layers = {quality: ByKey(Key("chroma", quality=quality), *pictures) for quality in QUALITIES}
    mattes = {name: [layer.at(i).alpha for i in range(30)] for name, layer in layers.items()}
    backing = layers["fine"].plan.choice().backing.rgb
    surfaces = [backing_surface(load(picture), backing, "bt709").planes for picture in pictures]
    for quality, frames in mattes.items():
        swing = 100 * np.std(frames, axis=0)
        for part in (plate.matte == 0, plate.matte == 1):
            assert swing[part].mean() < FLICKER / 4, quality
            away = cv2.erode(part.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
            assert np.quantile(swing[away], 0.99) < FLICKER, quality
        edge = (plate.matte > 0) & (plate.matte < 1)
        # a mixture is read off two colours some 0.4 apart, each channel with its grain
        assert swing[edge].mean() < 100 * noise / 0.4, quality
    # grain moves the backing model by far less than itself
    assert 100 * np.std(surfaces, axis=0).mean() < 20 * noise
