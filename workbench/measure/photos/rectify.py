"""From pixels to millimetres: where the camera stood, from marks whose places are known.

A plane seen by a camera is mapped by a homography; a lens bends that by k r^2, r measured from
the middle of the image in units of its half diagonal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from workbench.errors import RepairError
from workbench.measure.photos.image_file import grey_light
from workbench.measure.photos.least_squares import fitted
from workbench.measure.photos.sheet_marks import Target, dictionary, target_with
from workbench.words import _, with_unit

#: ISO/IEC 7810 ID-1 card, width and height in mm.
CARD = (85.60, 53.98)

#: Four corners leave nothing over to judge a card's view by: its misfit is taken as this, in pixels.
CARD_MISFIT = 1.0

#: Fewest markers that are needed.
FEWEST = 4

#: A marker's sides are looked for within so many pixels of its corners.
REACH = 3.0
AROUND = math.ceil(REACH) + 3

#: Markers further off than this, in mm, root mean square, lie on a sheet that is not flat.
CURLED = 0.4

#: The usual focal length over the picture's diagonal, where the file does not tell it, and how far
#: it may be off, as a logarithm. Common practice, no source: telephones' main lenses have about
#: 0.6, their longer ones and cameras up to 1.3.
USUAL, USUAL_DOUBT = 0.7, 0.35

#: The same for the focal length that the file states: it is rounded to whole mm.
STATED_DOUBT = 0.03

#: How far a lens's centre is from the picture's middle, in half diagonals, and what its k1 and k2
#: may be: standard, before the markers tell. Common practice, no source.
OFF_CENTRE, BENT, TWISTED = 0.01, 0.15, 0.1


@dataclass(frozen=True, eq=False)
class View:
    """How a plane in mm is seen in an image.

    homography : (3, 3) from mm to straight pixels, about ``middle``
    middle : (2,) the image's middle, in pixels
    half : half of the image's diagonal, in pixels
    bend : the lens's k, without unit
    misfit : root mean square distance of the known marks from where they should be, in pixels
    marks : how many known points there were
    known : (n, 2) their places, in mm
    twist : the lens's second k
    pose : of a camera solved from the marks: (11,) as :func:`_posed` takes them
    spread : (11, 11) whose product with its own transpose is the pose's covariance
    """

    homography: np.ndarray
    middle: np.ndarray
    half: float
    bend: float = 0.0
    misfit: float = 0.0
    marks: int = 0
    known: np.ndarray | None = None
    twist: float = 0.0
    pose: np.ndarray | None = None
    spread: np.ndarray | None = None

    def pixels(self, points: np.ndarray) -> np.ndarray:
        """(n, 2) places in the image for (n, 2) points in mm."""
        return _seen(self.homography, (self.bend, self.twist), self.middle, self.half, points)

    def millimetres(self, seen: np.ndarray) -> np.ndarray:
        """(n, 2) places in mm for (n, 2) points in the image; the lens's bend is undone too."""
        bent = np.asarray(seen, dtype=float) - self.middle
        straight = bent
        for _round in range(8):
            radius = (straight**2).sum(axis=1, keepdims=True) / self.half**2
            straight = bent / (1 + self.bend * radius + self.twist * radius**2)
        flat = (
            np.column_stack([straight, np.ones(len(straight))]) @ np.linalg.inv(self.homography).T
        )
        return flat[:, :2] / flat[:, 2:]

    def moved(self, step: np.ndarray) -> View:
        """The view of a camera whose pose is off by ``step`` (11,)."""
        assert self.pose is not None
        return _posed(self, self.pose + step)

    def printed(self, share: float) -> View:
        """The view of a sheet that was printed to ``share`` of its size."""
        known = None if self.known is None else self.known * share
        if self.pose is None:
            matrix = self.homography @ np.diag([1 / share, 1 / share, 1])
            return replace(self, homography=matrix, known=known)
        further = np.zeros(11)
        further[10] = math.log(share)
        return replace(self.moved(further), known=known)

    def scale(self, point: np.ndarray) -> float:
        """Pixels per mm near a point (2,) in mm, the smaller of the two directions."""
        step = 0.5
        near = self.pixels(point + step * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]]))
        spread = np.array([near[0] - near[1], near[2] - near[3]]) / (2 * step)
        return float(np.linalg.svd(spread, compute_uv=False)[-1])


def seen_marks(grey: np.ndarray, pixels: np.ndarray) -> tuple[Target, np.ndarray, np.ndarray]:
    """The photo sheet in an image: which it is, its marks' (n, 2) places in mm, and pixels.

    grey : (h, w) uint8, as seen; pixels : (h, w, 3) uint8, for the fractions of a pixel

    Raises
    ------
    RepairError
        When too few markers are seen, naming how many and what may be wrong.
    """
    markers = _markers(grey)
    numbers = list(markers)
    sheets = [sheet for sheet in map(target_with, numbers) if sheet is not None]
    sheet = max(sheets, key=sheets.count) if sheets else None
    count = sheets.count(sheet) if sheet else 0
    if sheet is None or count < FEWEST:
        raise RepairError(
            _(
                "{count} of the photo sheet's markers can be seen and {fewest} are needed; get "
                "the whole sheet into the photo, sharp and without glare"
            ).format(count=count, fewest=FEWEST)
        )
    seen, places = [], []
    for marker, corners in markers.items():
        if target_with(marker) == sheet:
            seen.append(_sharpen(pixels, corners))
            places.append(sheet.corners(marker))
    return sheet, np.concatenate(places), np.concatenate(seen)


def refuse_curled(view: View, sheet: Target) -> None:
    """RepairError where a sheet's marks lie as on no flat sheet."""
    off = view.misfit / view.scale(np.array(sheet.size) / 2)
    if off > CURLED:
        raise RepairError(
            _(
                "the markers lie {off} from where a flat sheet would show them; "
                "lay the sheet flat, hold the camera still and take the photo again"
            ).format(off=with_unit(off))
        )


def _markers(grey: np.ndarray) -> dict[int, np.ndarray]:
    """Every marker that is seen, by its number: (4, 2) corners to a pixel or so.

    Looked for at several sizes of the picture and of the threshold's window, because each alone
    misses some where the light is uneven or the picture soft.
    """
    import cv2

    found: dict[int, np.ndarray] = {}
    for longest in (1000, 1600, 2400):
        shrink = max(1.0, max(grey.shape) / longest)
        size = (round(grey.shape[1] / shrink), round(grey.shape[0] / shrink))
        small = grey if shrink == 1 else cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
        for widest in (23, 63):
            settings = cv2.aruco.DetectorParameters()
            settings.adaptiveThreshWinSizeMax = widest
            settings.perspectiveRemovePixelPerCell = 8
            detector = cv2.aruco.ArucoDetector(dictionary(), settings)
            corners, ids, _rejected = detector.detectMarkers(small)
            for marker, around in zip([] if ids is None else ids.ravel(), corners, strict=True):
                seen = (around.reshape(4, 2) + 0.5) * (np.array(grey.shape[1::-1]) / size) - 0.5
                found.setdefault(int(marker), seen)
        if shrink == 1:
            break
    return found


def fit_view(places: np.ndarray, seen: np.ndarray, shape: tuple[int, ...], lens: bool) -> View:
    """The view that best maps ``places`` (n, 2) in mm to ``seen`` (n, 2) in pixels."""
    import cv2

    middle = np.array([(shape[1] - 1) / 2, (shape[0] - 1) / 2])
    half = float(np.hypot(*middle))
    first, _inliers = cv2.findHomography(
        places.astype(np.float64), (seen - middle).astype(np.float64), cv2.RANSAC, 6.0
    )
    if first is None:
        raise RepairError(
            _("the marks lie on one line; get the whole sheet or card into the photo")
        )
    start = np.append((first / first[2, 2]).ravel()[:8], 0.0)
    scale = np.maximum(np.abs(start), 1e-6)
    scale[8] = 0.01

    def misses(values: np.ndarray) -> np.ndarray:
        matrix = np.append(values[:8] * scale[:8], 1.0).reshape(3, 3)
        bend = values[8] * scale[8] if lens else 0.0
        return (_seen(matrix, (bend, 0.0), middle, half, places) - seen).ravel()

    values = fitted(misses, start / scale, soft=1.0).x
    matrix = np.append(values[:8] * scale[:8], 1.0).reshape(3, 3)
    bend = float(values[8] * scale[8]) if lens else 0.0
    freedom = max(1, seen.size - (9 if lens else 8))
    misfit = float(np.sqrt((misses(values) ** 2).sum() / freedom * 2))
    return View(matrix, middle, half, bend, misfit, len(seen), places)


def fit_camera(
    places: np.ndarray,
    seen: np.ndarray,
    shape: tuple[int, ...],
    stated: float | None = None,
    known: tuple[np.ndarray, np.ndarray] | None = None,
) -> View:
    """A camera that sees ``places`` (n, 2) in mm at ``seen`` (n, 2) in pixels.

    A pinhole with the lens's centre and two of Brown's radial terms, all solved from the marks; what
    these do not tell comes from what lenses are like, so that the covariance has both.

    Parameters
    ----------
    stated : focal length over the picture's diagonal, where the file states it
    known : the lens's (5,) values, the first as a logarithm over the picture's diagonal, and
        their (5, 5) covariance, where the camera is known
    """
    flat = fit_view(places, seen, shape, lens=False)
    expected, covariance = known or usual_lens(stated)
    expected = expected + np.array([math.log(2 * flat.half), 0, 0, 0, 0])
    weight = np.linalg.inv(np.linalg.cholesky(covariance))
    start = _first_pose(flat, math.exp(expected[0]))
    start[1:5] = expected[1:]

    def misses(pose: np.ndarray, sigma: float = 1.0) -> np.ndarray:
        off = (_posed(flat, pose).pixels(places) - seen).ravel() / sigma
        return np.append(off, weight @ (pose[:5] - expected))

    sigma = max(0.2, flat.half / 5000)
    for _round in range(2):
        fit = fitted(partial(misses, sigma=sigma), start, soft=3.0)
        start = fit.x
        off = misses(start)[: seen.size]
        # Half of the marks at least are as good as their typical one.
        sigma = max(0.02, 1.4826 * float(np.median(np.abs(off))))
    freedom = max(1, seen.size - 11)
    misfit = float(np.sqrt((off**2).sum() / freedom * 2))
    spread = np.linalg.pinv(fit.slopes)
    root = np.linalg.cholesky(spread @ spread.T + 1e-18 * np.eye(11))
    view = _posed(flat, start)
    return replace(view, misfit=misfit, marks=len(seen), known=places, spread=root)


def usual_lens(stated: float | None = None) -> tuple[np.ndarray, np.ndarray]:
    """What is known of a lens before the marks tell: (5,) values and (5, 5) covariance.

    stated : focal length over the picture's diagonal, where the file states it
    """
    doubt = STATED_DOUBT if stated else USUAL_DOUBT
    values = np.array([math.log(stated or USUAL), 0, 0, 0, 0])
    return values, np.diag(np.square([doubt, OFF_CENTRE, OFF_CENTRE, BENT, TWISTED]))


def _first_pose(flat: View, focal: float) -> np.ndarray:
    """(11,) pose of a camera of this focal length that sees the plane nearly as ``flat`` has it."""
    import cv2

    axes = np.diag([1 / focal, 1 / focal, 1.0]) @ flat.homography
    axes = axes * 2 / (np.linalg.norm(axes[:, 0]) + np.linalg.norm(axes[:, 1]))
    axes = -axes if axes[2, 2] < 0 else axes
    left, _stretch, right = np.linalg.svd(axes[:, :2], full_matrices=False)
    plane = left @ right
    turn = np.column_stack([plane, np.cross(plane[:, 0], plane[:, 1])])
    spot = axes[:, 2]
    return np.array(
        [
            *(math.log(focal), 0, 0, 0, 0),
            *cv2.Rodrigues(turn)[0].ravel(),
            *(spot[0] / spot[2], spot[1] / spot[2], math.log(spot[2] / focal)),
        ]
    )


def placed(pose: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(3, 3) turn and (3,) place in mm of the plane, as the camera of this pose sees it."""
    import cv2

    distance = math.exp(pose[10] + pose[0])
    return cv2.Rodrigues(pose[5:8].reshape(3, 1))[0], distance * np.append(pose[8:10], 1.0)


def _posed(view: View, pose: np.ndarray) -> View:
    """The view of a camera by its pose.

    Parameters
    ----------
    pose : (11,) logarithm of the focal length in pixels, the lens's centre off the picture's middle
        in half diagonals (2), k1 and k2, and where the plane is: a rotation vector (3), its origin over
        its distance (2), and the logarithm of that over the focal length, which the plane's
        size in the picture tells, whatever the focal length
    """
    focal = math.exp(pose[0])
    turn, spot = placed(pose)
    matrix = np.diag([focal, focal, 1.0]) @ np.column_stack([turn[:, 0], turn[:, 1], spot])
    share = (view.half / focal) ** 2
    origin = view.middle - (view.pose[1:3] if view.pose is not None else 0.0) * view.half
    return replace(
        view,
        homography=matrix,
        middle=origin + pose[1:3] * view.half,
        bend=float(pose[3]) * share,
        twist=float(pose[4]) * share**2,
        pose=pose,
    )


def view_of_scan(dpi: float, shape: tuple[int, ...]) -> View:
    """A flatbed scan: even scale, mm from the image's lower left corner, y up."""
    per_mm = dpi / 25.4
    middle = np.array([(shape[1] - 1) / 2, (shape[0] - 1) / 2])
    low = shape[0] - 1 - middle[1]
    matrix = np.array([[per_mm, 0, -middle[0]], [0, -per_mm, low], [0, 0, 1]])
    return View(matrix, middle, float(np.hypot(*middle)))


def view_of_card(corners: np.ndarray, shape: tuple[int, ...]) -> View:
    """The view in which four corners (4, 2), in pixels and in order, are an ID-1 card's.

    mm from the card's lower left corner. Of the two ways to lay the card, the one whose sides
    are nearer to its proportions is taken.
    """
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if sides[0] + sides[2] < sides[1] + sides[3]:
        corners = np.roll(corners, -1, axis=0)
    if _turns_right(corners):
        corners = corners[[1, 0, 3, 2]]
    width, height = CARD
    places = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=float)
    view = fit_view(places, corners, shape, lens=False)
    return replace(view, misfit=CARD_MISFIT)


def _turns_right(corners: np.ndarray) -> bool:
    """Whether the corners run clockwise as seen, in pixels whose y runs down."""
    x, y = corners.T
    return bool((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0)


def _seen(
    matrix: np.ndarray,
    bend: tuple[float, float],
    middle: np.ndarray,
    half: float,
    points: np.ndarray,
) -> np.ndarray:
    flat = matrix[:, :2] @ np.asarray(points).T + matrix[:, 2:]
    straight = flat[:2] / flat[2]
    radius = (straight[0] ** 2 + straight[1] ** 2) / half**2
    return (
        np.ascontiguousarray((straight * (1 + bend[0] * radius + bend[1] * radius**2)).T) + middle
    )


def _sharpen(pixels: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """A marker's corners (4, 2) to a fraction of a pixel: where lines fitted to its sides meet."""
    # The light about the marker is all that is looked at.
    low = np.maximum(np.floor(corners.min(axis=0)).astype(int) - AROUND, 0)
    high = np.ceil(corners.max(axis=0)).astype(int) + AROUND + 1
    light = grey_light(pixels[low[1] : high[1], low[0] : high[0]])
    lines = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        points = low + edge_points(light, a + 0.12 * (b - a) - low, a + 0.88 * (b - a) - low)
        lines.append(line_through(points) if len(points) >= 6 else None)
    refined = corners.astype(float).copy()
    for i in range(4):
        before, after = lines[i - 1], lines[i]
        if before is not None and after is not None:
            refined[i] = meeting(before, after, refined[i])
    return refined


def edge_points(light: Any, a: np.ndarray, b: np.ndarray, reach: float = REACH) -> np.ndarray:
    """(n, 2) points in pixels where the brightness turns most steeply across the line a to b."""
    import cv2

    length = float(np.hypot(*(b - a)))
    count = max(6, int(length / 1.5))
    along = (b - a) / length
    across = np.array([-along[1], along[0]])
    offsets = np.arange(-reach - 1, reach + 1.01, 0.5)
    base = a + np.linspace(0, length, count)[:, None] * along
    spots = base[:, None, :] + offsets[None, :, None] * across
    columns, rows = np.moveaxis(spots.astype(np.float32), 2, 0)
    profile = cv2.remap(light, columns, rows, cv2.INTER_LINEAR).astype(float)
    slope = profile[:, 2:] - profile[:, :-2]
    slope = slope * np.sign(slope.sum())
    weight = np.clip(slope - 0.25 * slope.max(axis=1, keepdims=True), 0, None)
    strong = slope.max(axis=1) > 0.35 * np.median(slope.max(axis=1)) + 1e-9
    where = (weight * offsets[1:-1]).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-9)
    return (base + where[:, None] * across)[strong]


def line_through(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A point (2,) on the line that fits points (n, 2) best, and its direction (2,)."""
    keep = points
    for _round in range(3):
        middle = keep.mean(axis=0)
        direction = np.linalg.svd(keep - middle, full_matrices=False)[2][0]
        off = np.abs((points - middle) @ np.array([-direction[1], direction[0]]))
        keep = points[off <= max(0.15, 2.5 * np.median(off))]
    return middle, direction


def meeting(
    one: tuple[np.ndarray, np.ndarray],
    other: tuple[np.ndarray, np.ndarray],
    fallback: np.ndarray,
    within: float = 4.0,
) -> np.ndarray:
    """Where two lines meet, or the fallback (2,) where that is not ``within`` pixels of it."""
    system = np.column_stack([one[1], -other[1]])
    if abs(np.linalg.det(system)) < 0.1:
        return fallback
    distance = np.linalg.solve(system, other[0] - one[0])
    found = one[0] + distance[0] * one[1]
    return found if np.hypot(*(found - fallback)) < within else fallback
