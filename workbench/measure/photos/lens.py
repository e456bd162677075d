"""The user's own camera: what its lens does, learnt from photos of the photo sheet alone.

One photo tells its lens poorly: a shorter focal length from further away looks much the same. Several,
taken from different sides, share one lens and tell it well; every later photo of that camera is
then traced with it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from workbench import folders, gate
from workbench.errors import RepairError
from workbench.measure.photos import image_file
from workbench.measure.photos.image_file import Photo
from workbench.measure.photos.rectify import View, seen_marks
from workbench.words import _, number

#: Fewest and most photos of one camera.
FEWEST, MOST = 5, 20

#: By how much a lens changes from photo to photo, standard: its focal length with the focus, as a
#: logarithm, its centre with the stabiliser, in half diagonals, and its bend. Common practice, no
#: source.
CHANGES = np.array([0.004, 0.003, 0.003, 0.004, 0.004])

#: A focal length less sure than this, as a logarithm, is no better than what files state.
UNSURE = 0.02

#: Pictures whose proportions differ by more than this share are cut differently.
SAME_PROPORTION = 0.004

#: Folder of the kept lenses in the user's data.
FOLDER = "cameras"

#: How many standard deviations a photo may be off its camera's lens.
UNLIKE = 5.0


@dataclass(frozen=True, eq=False)
class Lens:
    """What is known of one camera's lens.

    camera : as its files name it
    stated : focal length over the picture's diagonal that its files state, or None
    proportion : longer over shorter side of its pictures
    values : (5,) logarithm of the focal length over the diagonal, the lens's centre off the
        picture's middle in half diagonals, right and down as the sensor lies, and Brown's k1, k2
    covariance : (5, 5) of these
    photos : how many it was learnt from
    misfit : root mean square distance of their marks from where they should be, in pixels
    """

    camera: str
    stated: float | None
    proportion: float
    values: np.ndarray
    covariance: np.ndarray
    photos: int
    misfit: float

    def suits(self, picture: Photo) -> bool:
        """Whether a picture is of this camera, at this zoom and uncut, as its file says."""
        return bool(self.camera) and not _unlike(self, picture)

    def of(self, picture: Photo) -> tuple[np.ndarray, np.ndarray]:
        """(5,) values and (5, 5) covariance, the centre's as the picture stands upright."""
        turn = np.eye(5)
        turn[1:3, 1:3] = np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), picture.turned)
        return turn @ self.values, turn @ self.covariance @ turn.T

    def is_unlike(self, view: View, picture: Photo) -> bool:
        """Whether a view that was solved with this lens had to leave it far behind."""
        assert view.pose is not None
        values, covariance = self.of(picture)
        off = view.pose[:5] - values - np.array([math.log(2 * view.half), 0, 0, 0, 0])
        return bool(off @ np.linalg.solve(covariance, off) > UNLIKE**2)

    def to_json(self) -> str:
        return json.dumps(
            {
                "camera": self.camera,
                "stated": self.stated,
                "proportion": self.proportion,
                "values": self.values.tolist(),
                "covariance": self.covariance.tolist(),
                "photos": self.photos,
                "misfit": self.misfit,
            },
            indent=1,
        )

    @property
    def file(self) -> str:
        """Name of its file: one for each camera, zoom and form of picture."""
        named = "".join(c if c.isalnum() else "-" for c in self.camera.lower()) or "camera"
        zoom = round(100 * math.exp(self.values[0]) if self.stated is None else 100 * self.stated)
        return f"{named}-{zoom}-{round(100 * self.proportion)}.json"

    def __str__(self) -> str:
        focal = math.exp(self.values[0])
        return _(
            "{camera}: calibrated from {photos} photos, whose marks fit to {misfit} pixels. Focal length "
            "{focal} of the picture's diagonal, u {doubt}; bend {bend}, u {bend_doubt}"
        ).format(
            camera=self.camera or _("camera without a name"),
            photos=self.photos,
            misfit=number(self.misfit, 2),
            focal=number(focal, 4),
            doubt=number(focal * math.sqrt(self.covariance[0, 0]), 4),
            bend=number(self.values[3], 4),
            bend_doubt=number(math.sqrt(self.covariance[3, 3]), 4),
        )


class _Marked(NamedTuple):
    """One photo's marks: places (n, 3) in mm, seen (n, 2) in pixels as the sensor lies."""

    places: np.ndarray
    seen: np.ndarray


def lens_of(images: Sequence[Any], progress: Callable[[float, str], None] | None = None) -> Lens:
    """The lens of the camera that took these photos of the photo sheet.

    Parameters
    ----------
    images : five to twenty paths or files' bytes, from different sides, some leaning by 20 to 40
        degrees; nothing needs to lie on the sheet
    progress : called with a share from 0 to 1 and a word or two

    Raises
    ------
    RepairError
        When they are too few, of several cameras, show too few markers, or do not tell the focal
        length.
    """
    if not FEWEST <= len(images) <= MOST:
        given = _("{count} photos were given; give {fewest} to {most} of the photo sheet")
        if len(images) == 1:
            given = _("one photo was given; give {fewest} to {most} of the photo sheet")
        raise RepairError(given.format(count=len(images), fewest=FEWEST, most=MOST))
    first: Photo | None = None
    marked: list[_Marked] = []
    for k, image in enumerate(images):
        if progress:
            progress(k / len(images), _("photo {number}").format(number=k + 1))
        picture = image_file.load(image)
        first = first or picture
        name = image if isinstance(image, (str, Path)) else k + 1
        if odd := _unlike(picture, first):
            raise RepairError(
                _("photo {name}: {odd}; give photos of one camera, at one zoom and uncut").format(
                    name=name, odd=odd
                )
            )
        try:
            marked.append(_marks(picture, first))
        except RepairError as error:
            raise RepairError(_("photo {name}: {error}").format(name=name, error=error)) from None
    assert first is not None
    return _solved(marked, first)


def _marks(picture: Photo, first: Photo) -> _Marked:
    import cv2

    grey = cv2.cvtColor(picture.pixels, cv2.COLOR_RGB2GRAY)
    _sheet, places, seen = seen_marks(grey, picture.pixels)
    size = np.array(picture.pixels.shape[1::-1])
    back = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), picture.turned)
    spread = math.hypot(*first.pixels.shape[:2]) / math.hypot(*size)
    off = (seen - (size - 1) / 2) @ back.T * spread
    return _Marked(np.column_stack([places, np.zeros(len(places))]), off)


def _solved(marked: list[_Marked], first: Photo) -> Lens:
    """OpenCV's calibration, with one focal length and no skew."""
    import cv2

    tall, wide = first.pixels.shape[:2]
    size = (tall, wide) if first.turned % 2 else (wide, tall)
    middle = (np.array(size) - 1) / 2
    diagonal = math.hypot(*middle) * 2
    start = np.array(
        [[(first.focal or 0.7) * diagonal, 0, middle[0]], [0, 0, middle[1]], [0, 0, 1.0]]
    )
    start[1, 1] = start[0, 0]
    flags = (
        cv2.CALIB_USE_INTRINSIC_GUESS
        | cv2.CALIB_FIX_ASPECT_RATIO
        | cv2.CALIB_ZERO_TANGENT_DIST
        | cv2.CALIB_FIX_K3
    )
    misfit, matrix, bends, turns, spots = cv2.calibrateCamera(
        [m.places.astype(np.float32) for m in marked],
        [(m.seen + middle).astype(np.float32) for m in marked],
        size,
        start,
        np.zeros(5),
        flags=flags,
    )
    focal, bends = float(matrix[0, 0]), bends.ravel()
    # Its columns: the pose's six, both focal lengths, the centre's two, k1, k2 and the rest.
    known = np.zeros((5, 5))
    for m, turn, spot in zip(marked, turns, spots, strict=True):
        _seen, slopes = cv2.projectPoints(m.places, turn, spot, matrix, bends)
        pose = slopes[:, :6]
        own = np.column_stack([slopes[:, 6:8].sum(axis=1) * focal, slopes[:, 8:12]])
        own[:, 1:3] *= diagonal / 2
        own -= pose @ np.linalg.lstsq(pose, own, rcond=None)[0]
        known += own.T @ own
    freedom = sum(m.seen.size - 6 for m in marked) - 5
    noise = misfit**2 * sum(len(m.seen) for m in marked) / freedom
    # The four corners of a marker are off together.
    covariance = 4 * noise * np.linalg.inv(known) + np.diag(CHANGES**2)
    if covariance[0, 0] > UNSURE**2:
        raise RepairError(
            _(
                "the photos give the focal length only to {percent} %; take at least three of "
                "them leaning by about 30 degrees, each from another side, the sheet filling the "
                "picture"
            ).format(percent=number(100 * math.sqrt(covariance[0, 0]), 1))
        )
    centre = (matrix[:2, 2] - middle) / (diagonal / 2)
    return Lens(
        first.camera,
        first.focal,
        max(size) / min(size),
        np.array([math.log(focal / diagonal), *centre, *bends[:2]]),
        covariance,
        len(marked),
        float(misfit),
    )


def _unlike(one: Photo | Lens, other: Photo | Lens) -> str:
    """What makes two pictures those of different cameras, zooms or forms; "" where nothing does."""
    if one.camera != other.camera:
        return _("the camera is {camera!r}").format(camera=one.camera)
    stated = [p.stated if isinstance(p, Lens) else p.focal for p in (one, other)]
    if (stated[0] is None) != (stated[1] is None) or abs(
        (stated[0] or 1) / (stated[1] or 1) - 1
    ) > 0.01:
        return _("another focal length")
    forms = [p.proportion for p in (one, other)]
    if abs(forms[0] / forms[1] - 1) > SAME_PROPORTION:
        return _("another picture format")
    return ""


def read_lens(path: str | Path) -> Lens:
    """A lens from its file.

    Raises
    ------
    RepairError
        When the file is missing or holds none.
    """
    place = Path(path)
    try:
        told = gate.json_file(place, gate.TEXT)
        values, covariance = (np.array(told[k], dtype=float) for k in ("values", "covariance"))
        found = Lens(
            str(told["camera"]),
            None if told["stated"] is None else float(told["stated"]),
            float(told["proportion"]),
            values,
            covariance,
            int(told["photos"]),
            float(told["misfit"]),
        )
        sound = values.shape == (5,) and covariance.shape == (5, 5)
        if not (sound and np.isfinite(values).all() and np.linalg.eigvalsh(covariance)[0] > 0):
            raise ValueError
    except OSError as error:
        raise gate.unreadable(place.name, error) from None
    except (ValueError, KeyError, TypeError, np.linalg.LinAlgError):
        raise RepairError(
            _("{name} is no camera file; make it again with workbench camera").format(
                name=place.name
            )
        ) from None
    return found


def kept_lenses() -> Iterator[Path]:
    """Files of the lenses that the user, or whoever shares a folder, has kept."""
    for place in folders.folders():
        yield from sorted((place / FOLDER).glob("*.json"))


def given_or_kept(lens: Lens | str | Path | None, picture: Photo) -> Lens | None:
    """The lens that was given, or its file's, or the kept one of the camera that took a picture."""
    if lens is not None:
        return lens if isinstance(lens, Lens) else read_lens(lens)
    if not picture.camera:
        return None
    found = (read_lens(path) for path in kept_lenses())
    return next((known for known in found if known.suits(picture)), None)
