"""An image file becomes an array, whatever the camera or the scanner wrote."""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _

#: An image of more pixels is made smaller to about so many: a part's edge is found to a fraction of a
#: pixel, and more pixels only show the lens's own blur.
MOST = 12_600_000

#: A picture that is to be made smaller by nearly a half, or a quarter, is made so.
NEARLY = 0.9

#: Above this an image is refused: decoding it would take more memory than a laptop has free.
TOO_LARGE = 250_000_000

#: Numbers of Exif's own directory and of the focal length as if for film of 36 x 24 mm, and that
#: film's diagonal in mm (Exif 2.3, from memory).
_EXIF, _FOCAL_35 = 0x8769, 0xA405

#: Exif's number for how the picture is turned, and modes that can be made smaller as they are.
_TURNED, _PLAIN = 0x0112, ("L", "RGB", "RGBA")

#: Exif's numbers for maker and model, and its turned pictures that are not mirrored as well.
_MAKER, _MODEL, _QUARTERS = 0x010F, 0x0110, {6: 1, 3: 2, 8: 3}
DIAGONAL_35 = math.hypot(36, 24)

#: Resolutions that differ by a smaller share than this are one; so many times at most they differ.
SAME_DPI, MOST_UNEQUAL = 0.0005, 4.0

#: Least width and height, in pixels.
LEAST = 64


class Photo(NamedTuple):
    """What an image file holds.

    pixels : (h, w, 3) uint8, red, green, blue
    dpi : dots per inch that the file states, at this size, or None
    focal : focal length over the picture's diagonal that the file states, or None
    camera : its maker and model as the file names them, or ""
    turned : how many quarters the sensor's picture was turned clockwise to stand upright
    """

    pixels: np.ndarray
    dpi: float | None = None
    focal: float | None = None
    camera: str = ""
    turned: int = 0

    @property
    def proportion(self) -> float:
        """Longer over shorter side."""
        height, width = self.pixels.shape[:2]
        return max(height, width) / min(height, width)


def load(image: Any) -> Photo:
    """Read an image upright, without alpha, in 8 bits.

    Parameters
    ----------
    image : a path, the file's bytes, or an array (h, w), (h, w, 3) or (h, w, 4) of 8 or 16
        bits, or of floats from 0 to 1

    Raises
    ------
    RepairError
        When it is missing, empty, not an image, or too small or large.
    """
    if isinstance(image, np.ndarray):
        return Photo(_from_array(image))
    return _from_file(image)


def linear_light(pixels: np.ndarray) -> np.ndarray:
    """(h, w, 3) float32 light from 0 to 1 for sRGB values (IEC 61966-2-1).

    Blur mixes light, not pixel values, so an edge is found where the light is half way.
    """
    import cv2

    return np.asarray(cv2.LUT(pixels, _curve()))


def grey_light(pixels: np.ndarray) -> np.ndarray:
    """(h, w) float32 mean of the three colours' light."""
    return np.asarray(linear_light(pixels).mean(axis=2))


@lru_cache(maxsize=1)
def _curve() -> np.ndarray:
    """(256,) light for each value of sRGB."""
    levels = np.arange(256) / 255
    curve = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    return curve.astype(np.float32)


def _from_file(image: Any) -> Photo:
    from PIL import Image, ImageOps, UnidentifiedImageError

    named, raw = _bytes_of(image)
    if not raw:
        raise RepairError(_("{name} is empty; take the photo again").format(name=named))
    limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        with gate.picture(raw) as opened:
            width, height = opened.size
            if width * height > TOO_LARGE:
                raise RepairError(
                    _("{name} has {count} megapixels; save it at 50 megapixels or fewer").format(
                        name=named, count=round(width * height / 1e6)
                    )
                )
            dpi, focal, camera = _dpi(opened), _focal(opened), _camera(opened)
            quarters = _QUARTERS.get(opened.getexif().get(_TURNED, 1), 0)
            shrink = _shrink(width * height)
            if shrink > 1:
                size = (round(width / shrink), round(height / shrink))
                shrink = width / size[0]
                turned = opened.getexif().get(_TURNED, 1)
                opened.draft(None, size)  # a JPEG is decoded at a half or a quarter, never below
                plain = opened if opened.mode in _PLAIN else opened.convert("RGB")
                small = plain.resize(size, Image.Resampling.BOX, reducing_gap=None)
                small.getexif()[_TURNED] = turned
                upright = ImageOps.exif_transpose(small)
            else:
                upright = ImageOps.exif_transpose(opened)
            pixels = _from_pil(upright)
    except UnidentifiedImageError:
        raise RepairError(
            _("{name} is not an image; give a JPEG, PNG or TIFF file").format(name=named)
        ) from None
    except (OSError, SyntaxError, ValueError) as error:
        if isinstance(error, RepairError):
            raise
        raise RepairError(
            _("{name} is damaged ({reason}); copy it from the camera again").format(
                name=named, reason=error
            )
        ) from None
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    pixels = _square(_large_enough(pixels, named), dpi)
    return Photo(pixels, None if dpi is None else max(dpi) / shrink, focal, camera, quarters)


def _shrink(count: int) -> float:
    """By how much a picture of so many pixels is made smaller each way.

    A little more where that is a half or a quarter: then a JPEG is never decoded whole.
    """
    needed = max(1.0, math.sqrt(count / MOST))
    return next((share for share in (2.0, 4.0) if NEARLY * share <= needed <= share), needed)


def _bytes_of(image: Any) -> tuple[str, bytes]:
    if isinstance(image, (bytes, bytearray, memoryview)):
        return _("the image"), bytes(image)
    try:
        path = Path(image)
        return path.name, gate.content(path, gate.PICTURE)
    except TypeError:
        raise RepairError(
            _("image is {kind}; give a file's path, its bytes or an array").format(
                kind=gate.short(image)
            )
        ) from None
    except OSError as error:
        raise gate.unreadable(image, error) from None


def _from_pil(opened: Any) -> np.ndarray:
    if opened.mode.startswith("I") or opened.mode == "F":
        return _from_array(np.asarray(opened))
    if opened.mode in ("RGBA", "LA", "PA") or "transparency" in opened.info:
        return _from_array(np.asarray(opened.convert("RGBA")))
    return np.asarray(opened.convert("RGB"))


def _from_array(array: np.ndarray) -> np.ndarray:
    if array.ndim not in (2, 3) or (array.ndim == 3 and array.shape[2] not in (1, 3, 4)):
        raise RepairError(
            _("image has shape {shape}; give height x width, or that with 3 colours").format(
                shape=array.shape
            )
        )
    if not array.size:
        raise RepairError(_("the image is empty; take the photo again"))
    if array.dtype.kind == "f":
        values = np.clip(np.nan_to_num(array), 0, 1) * 255
    elif array.dtype == np.uint8:
        values = array
    else:
        top = 65535 if array.max() > 255 else 255
        values = np.clip(array, 0, top) * (255 / top)
    values = values if values.dtype == np.uint8 else np.round(values).astype(np.uint8)
    if values.ndim == 2:
        values = values[:, :, None]
    if values.shape[2] == 4:
        cover = values[:, :, 3:].astype(np.float32) / 255
        values = np.round(values[:, :, :3] * cover + 255 * (1 - cover)).astype(np.uint8)
    if values.shape[2] == 1:
        values = np.repeat(values, 3, axis=2)
    return _large_enough(np.ascontiguousarray(values), _("the image"))


def _large_enough(pixels: np.ndarray, named: str) -> np.ndarray:
    height, width = pixels.shape[:2]
    if min(width, height) < LEAST:
        raise RepairError(
            _("{name} is {width} x {height} pixels; give at least {least} each way").format(
                name=named, width=width, height=height, least=LEAST
            )
        )
    return pixels


def _focal(opened: Any) -> float | None:
    """Exif's FocalLengthIn35mmFilm, told as a share of that film's diagonal."""
    stated = opened.getexif().get_ifd(_EXIF).get(_FOCAL_35)
    return float(stated) / DIAGONAL_35 if stated else None


def _camera(opened: Any) -> str:
    """Exif's maker and model."""
    exif = opened.getexif()
    named = " ".join(str(exif.get(key, "")).strip("\0 ") for key in (_MAKER, _MODEL)).strip()
    return gate.fitted(named) if named else ""


def _dpi(opened: Any) -> tuple[float, float] | None:
    """Dots per inch across and down, where both can be those of a scanner."""
    stated = opened.info.get("dpi")
    if not stated:
        return None
    across, down = (float(each) for each in stated)
    # A picture that was turned upright has its two directions exchanged.
    turned = opened.getexif().get(0x0112, 1) >= 5
    found = (down, across) if turned else (across, down)
    return found if all(30 < each < 20_000 for each in found) else None


def _square(pixels: np.ndarray, dpi: tuple[float, float] | None) -> np.ndarray:
    """The picture with as many dots to the inch down as across: the coarser direction is drawn out.

    A fax or a fast scan has, say, 300 across and 150 down.
    """
    if dpi is None or abs(dpi[0] / dpi[1] - 1) < SAME_DPI:
        return pixels
    if not 1 / MOST_UNEQUAL <= dpi[0] / dpi[1] <= MOST_UNEQUAL:
        raise RepairError(
            _(
                "the picture says {across} dots per inch across and {down} down; scan it with the "
                "same resolution both ways"
            ).format(across=round(dpi[0]), down=round(dpi[1]))
        )
    from PIL import Image

    height, width = pixels.shape[:2]
    size = round(width * max(dpi) / dpi[0]), round(height * max(dpi) / dpi[1])
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.BICUBIC))
