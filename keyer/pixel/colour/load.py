"""The one place that converts the depth of samples, and the doors for arrays.

Inside, a picture is planar float32, nominal 0..1; it is loaded a band at a time
from whatever depth it was stored in, and stored again with rounding to the
nearest code. At the doors pictures are rows x columns x channels.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.arrays import AnyPlane, Planes
from keyer.kinds.picture import Picture, RgbPicture, YccPicture
from keyer.pixel.colour.decode_ycc import decode_box
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel_beside

Flat = NDArray[Any]

FULL_SCALE: dict[np.dtype[Any], int] = {np.dtype(np.uint8): 255, np.dtype(np.uint16): 65535}
"""Code of nominal white for each integer depth; float32 has white at 1."""

_DEPTHS = "uint8, uint16 or float32"


def _from_codes_plainly(codes: Flat, scale: np.float32, out: Flat) -> None:
    np.multiply(codes, scale, out=out)


def _to_codes_plainly(values: Flat, white: np.float32, out: Flat) -> None:
    codes = values * white
    codes += np.float32(0.5)
    np.fmax(codes, 0, out=codes)
    np.minimum(codes, white, out=codes)
    np.copyto(out, codes, casting="unsafe")


@kernel_beside(_from_codes_plainly)
def _from_codes(codes: Flat, scale: np.float32, out: Flat) -> None:
    for i in range(codes.size):
        out[i] = np.float32(codes[i]) * scale


@kernel_beside(_to_codes_plainly)
def _to_codes(values: Flat, white: np.float32, out: Flat) -> None:
    """Round half up and clamp; NaN, which no comparison holds for, becomes 0."""
    for i in range(values.size):
        code = values[i] * white + np.float32(0.5)
        code = code if code > np.float32(0.0) else np.float32(0.0)
        code = code if code < white else white
        out[i] = np.int32(code)


def _load_plane(plane: AnyPlane, white: int | None, out: NDArray[np.float32]) -> None:
    if white is None:
        np.copyto(out, plane)
    else:
        _from_codes(plane.reshape(-1), np.float32(1 / white), out.reshape(-1))


def load_box(picture: Picture, box: tuple[int, int, int, int], out: Planes) -> None:
    """Convert a part of a picture to planar float32 R'G'B'.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
    box : (left, top, right, bottom)
        Ends excluded. Of a Y'CbCr picture it begins on a column that has chroma.
    out : (3, rows, columns) float32
        Each plane C-contiguous. Nominal 0..1; float32 pictures and Y'CbCr codes
        outside the nominal range go beyond it.
    """
    left, top, right, bottom = box
    if isinstance(picture, YccPicture):
        decode_box(picture, left, top, out)
        return
    white = FULL_SCALE.get(picture.planes.dtype)
    for channel in range(3):
        part = picture.planes[channel, top:bottom, left:right]
        _load_plane(np.ascontiguousarray(part), white, out[channel])


def load_band(picture: Picture, top: int, bottom: int, out: Planes) -> None:
    """Convert rows of a picture to planar float32 R'G'B'; as `load_box`, from side to side."""
    load_box(picture, (0, top, picture.width, bottom), out)


def load_alpha_box(
    picture: Picture, box: tuple[int, int, int, int], out: NDArray[np.float32]
) -> None:
    """Convert a part of a picture's opacity to float32.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
    box : (left, top, right, bottom)
        Ends excluded.
    out : (rows, columns) float32, C-contiguous
        0 clear, 1 opaque; 1 everywhere for a picture without alpha.
    """
    if picture.alpha is None:
        out.fill(1.0)
        return
    if isinstance(picture, YccPicture):
        white: int | None = (1 << picture.bits) - 1
    else:
        white = FULL_SCALE.get(picture.alpha.dtype)
    left, top, right, bottom = box
    _load_plane(np.ascontiguousarray(picture.alpha[top:bottom, left:right]), white, out)


def load_alpha_band(picture: Picture, top: int, bottom: int, out: NDArray[np.float32]) -> None:
    """Convert rows of a picture's opacity to float32; as `load_alpha_box`, from side to side."""
    load_alpha_box(picture, (0, top, picture.width, bottom), out)


def store_band(band: NDArray[np.float32], out: AnyPlane, top: int) -> None:
    """Store a band into rows of whole planes at their depth.

    Parameters
    ----------
    band : (C, rows, W) or (rows, W) float32
        Each plane C-contiguous.
    out : (C, H, W) or (H, W) uint8, uint16 or float32, C-contiguous
        Integer depths are clamped to 0..1 and rounded as floor(x white + 0.5)
        (the rule of BT.709-6); float32 is stored as it is.
    top : int
        First row in `out`.
    """
    if band.ndim == 3:
        for channel in range(band.shape[0]):
            store_band(band[channel], out[channel], top)
        return
    rows = out[top : top + band.shape[0]]
    white = FULL_SCALE.get(out.dtype)
    if white is None:
        np.copyto(rows, band)
    else:
        _to_codes(band.reshape(-1), np.float32(white), rows.reshape(-1))


def load(picture: Picture) -> Planes:
    """Convert a whole picture to planar float32 R'G'B'.

    Parameters
    ----------
    picture : RgbPicture or YccPicture

    Returns
    -------
    (3, H, W) float32
    """
    planes = np.empty((3, picture.height, picture.width), np.float32)
    run_bands(
        picture.height,
        picture.width,
        lambda top, bottom: load_band(picture, top, bottom, planes[:, top:bottom]),
    )
    return planes


def load_alpha(picture: Picture) -> NDArray[np.float32]:
    """Convert a whole picture's opacity to float32.

    Parameters
    ----------
    picture : RgbPicture or YccPicture

    Returns
    -------
    (H, W) float32
        0 clear, 1 opaque.
    """
    alpha = np.empty((picture.height, picture.width), np.float32)
    load_alpha_band(picture, 0, picture.height, alpha)
    return alpha


def store(values: NDArray[np.float32], depth: DTypeLike) -> AnyPlane:
    """Store whole float32 planes at a depth.

    Parameters
    ----------
    values : (C, H, W) or (H, W) float32, C-contiguous
    depth : dtype
        uint8, uint16 or float32.

    Returns
    -------
    array of the same shape
        Clamped and rounded as `store_band` does; `values` itself for float32.
    """
    if np.dtype(depth) == np.float32:
        return values
    out = np.empty(values.shape, depth)
    run_bands(
        values.shape[-2],
        values.shape[-1],
        lambda top, bottom: store_band(values[..., top:bottom, :], out, top),
    )
    return out


def plane_at_depth(plane: AnyPlane, depth: DTypeLike) -> AnyPlane:
    """Convert planes of full-range codes to another depth.

    Parameters
    ----------
    plane : (C, H, W) or (H, W) uint8, uint16 or float32, C-contiguous
    depth : dtype
        uint8, uint16 or float32.

    Returns
    -------
    array of the same shape
        `plane` itself where it has that depth already.
    """
    if plane.dtype == np.dtype(depth):
        return plane
    white = FULL_SCALE.get(plane.dtype)
    deep, values = plane.reshape(-1, plane.shape[-1]), np.empty(plane.shape, np.float32)
    rows = values.reshape(deep.shape)
    run_bands(
        len(deep), deep.shape[1], lambda top, end: _load_plane(deep[top:end], white, rows[top:end])
    )
    return store(values, depth)


def at_depth(picture: RgbPicture, depth: DTypeLike) -> RgbPicture:
    """Convert a picture to another depth.

    Parameters
    ----------
    picture : RgbPicture
    depth : dtype
        uint8, uint16 or float32.

    Returns
    -------
    RgbPicture
        `picture` itself where it has that depth already.
    """
    if picture.planes.dtype == np.dtype(depth):
        return picture
    alpha = None if picture.alpha is None else plane_at_depth(picture.alpha, depth)
    return RgbPicture(plane_at_depth(picture.planes, depth), alpha, picture.matrix)


def _checked(array: NDArray[Any], name: str) -> NDArray[Any]:
    """Return `array` as (H, W, C), or refuse it."""
    cube = array[..., np.newaxis] if array.ndim == 2 else array
    if cube.ndim != 3 or cube.shape[2] not in {1, 3, 4} or 0 in cube.shape:
        msg = (
            f"{name} must be rows x columns x 1, 3 or 4 channels (or rows x columns) and not "
            f"empty, got shape {array.shape}. Move channels last with numpy.moveaxis."
        )
        raise FrameShapeError(msg)
    if cube.dtype not in FULL_SCALE and cube.dtype != np.float32:
        msg = f"{name} must be {_DEPTHS}, got {array.dtype}. Convert it with astype(numpy.float32)."
        raise FrameShapeError(msg)
    if cube.dtype == np.float32 and not np.isfinite(cube).all():
        msg = f"{name} must hold finite numbers, found NaN or infinity. Use numpy.nan_to_num first."
        raise FrameShapeError(msg)
    return np.ascontiguousarray(cube)


def from_array(array: NDArray[Any], *, name: str = "picture") -> RgbPicture:
    """Make a picture of an array that a caller gave.

    Parameters
    ----------
    array : (H, W), (H, W, 1), (H, W, 3) or (H, W, 4) uint8, uint16 or float32
        Grey, R'G'B' or R'G'B' with straight alpha. uint8 255, uint16 65535 and
        float32 1.0 are nominal white.
    name : str
        How the caller's parameter is called, for messages.

    Returns
    -------
    RgbPicture
        A copy, at the array's own depth.

    Raises
    ------
    FrameShapeError
        If shape or depth is another, or a number is not finite.
    """
    import cv2

    cube = _checked(np.asarray(array), name)
    height, width, channels = cube.shape
    planes = np.empty((3, height, width), cube.dtype)
    if channels == 1:
        planes[:] = cube[..., 0]
        return RgbPicture(planes)
    alpha = np.empty((height, width), cube.dtype) if channels == 4 else None
    targets = [*planes] if alpha is None else [*planes, alpha]

    def work(top: int, bottom: int) -> None:
        parts = [target[top:bottom] for target in targets]
        for part, channel in zip(parts, cv2.split(cube[top:bottom], parts), strict=True):
            if channel is not part:  # contiguous parts of the right type are filled in place
                part[:] = channel

    run_bands(height, width, work)
    return RgbPicture(planes, alpha)


def to_array(picture: RgbPicture) -> NDArray[Any]:
    """Make an array of a picture, channels last, for a caller.

    Returns
    -------
    (H, W, 3) or, with alpha, (H, W, 4)
        A new array of the picture's own depth.
    """
    import cv2

    planes = [*picture.planes] if picture.alpha is None else [*picture.planes, picture.alpha]
    cube = np.empty((picture.height, picture.width, len(planes)), picture.planes.dtype)

    def work(top: int, bottom: int) -> None:
        part = cube[top:bottom]
        merged = cv2.merge([plane[top:bottom] for plane in planes], part)
        if merged is not part:
            part[:] = merged

    run_bands(picture.height, picture.width, work)
    return cube
