"""A second camera for the trace: bodies are projected point by point into the picture.

Written apart from the painter in ``pictured.py``, which paints a flat sheet and warps it: here
a pinhole with its own focal length, lens centre and bend (k1 and k2 as Brown's model has them, over
the focal length) sees the sheet, the part's walls, the break of its edges, its top and the
holes, each as polygons in the picture; then come light, blur, noise, and JPEG with or without EXIF.
"""

from __future__ import annotations

import io
import itertools
from dataclasses import dataclass, field

import cv2
import numpy as np
import shapely
import shapely.affinity
from PIL import Image

from workbench.measure.photos.sheet_marks import Target, marker_squares

#: Picture elements are drawn this much finer than the picture, then averaged.
FINE = 3


@dataclass(frozen=True)
class Shot:
    """How the picture is taken.

    pixels : width and height
    focal : focal length over the picture's diagonal
    centre : of the lens, off the picture's middle, in pixels
    bend : (k1, k2)
    tilt, towards, roll : of the camera, in degrees
    fill : share of the picture that the sheet fills
    part, wall, table : colours of top, side and what lies under the sheet, linear light 0 to 1
    edge : broken by so many mm, all round, upper and lower
    lift : how far the part is above the plane of the marks, in mm: paper does not lie quite flat
    shades : of the lower break, the wall and the upper break, against the wall's colour
    printed : scale of the print
    blur, noise, quality : of lens in pixels, of sensor in levels, of JPEG
    stated : whether EXIF states the focal length
    camera : its model as EXIF names it
    lamp : how much darker the darkest corner is
    cast : how dark the part's soft shadow is
    dusk : share of the light that reaches the paper through a hole
    """

    pixels: tuple[int, int] = (1500, 2000)
    focal: float = 0.62
    centre: tuple[float, float] = (0.0, 0.0)
    bend: tuple[float, float] = (0.0, 0.0)
    tilt: float = 0.0
    towards: float = 0.0
    roll: float = 0.0
    fill: float = 0.92
    part: tuple[float, float, float] = (0.05, 0.06, 0.09)
    wall: tuple[float, float, float] | None = None
    table: tuple[float, float, float] = (0.12, 0.08, 0.05)
    grain: float = 0.1
    edge: float = 0.0
    lift: float = 0.0
    shades: tuple[float, float, float] = (0.75, 1.0, 1.25)
    printed: float = 1.0
    blur: float = 0.7
    noise: float = 2.0
    quality: int = 92
    stated: bool = True
    camera: str = ""
    lamp: float = 0.15
    cast: float = 0.15
    paper: float = 0.85
    dusk: float = 1.0
    hidden: tuple[int, ...] = field(default=())


class Lens:
    """Where points of space, in mm from the sheet's lower left corner, are in the picture."""

    def __init__(self, shot: Shot, sheet: Target) -> None:
        wide, tall = shot.pixels
        self.f = shot.focal * float(np.hypot(wide, tall))
        self.middle = np.array([wide - 1, tall - 1]) / 2 + shot.centre
        self.k = shot.bend
        lean, towards, roll = np.radians([shot.tilt, shot.towards, shot.roll])
        back = np.array(
            [np.sin(lean) * np.cos(towards), np.sin(lean) * np.sin(towards), np.cos(lean)]
        )
        up = np.array([-np.sin(roll), np.cos(roll), 0.0])
        right = np.cross(up, back)
        right /= np.linalg.norm(right)
        self.axes = np.array([right, -np.cross(back, right), -back])
        goal = np.array([sheet.size[0] / 2, sheet.size[1] / 2, 0.0]) * shot.printed
        corners = np.array([(x, y, 0.0) for x in (0, sheet.size[0]) for y in (0, sheet.size[1])])
        near, far = 100.0, 5000.0
        for _halving in range(40):
            self.place = goal + back * (near + far) / 2
            seen = np.abs(self(corners * shot.printed) - self.middle) / (np.array(shot.pixels) / 2)
            near, far = (
                ((near + far) / 2, far) if seen.max() > shot.fill else (near, (near + far) / 2)
            )

    def __call__(self, points: np.ndarray) -> np.ndarray:
        """(n, 2) pixels of (n, 3) points."""
        seen = (points - self.place) @ self.axes.T
        flat = seen[:, :2] / seen[:, 2:]
        square = (flat**2).sum(axis=1, keepdims=True)
        return flat * (1 + self.k[0] * square + self.k[1] * square**2) * self.f + self.middle


def photograph(
    outline: np.ndarray,
    shot: Shot,
    thickness: float,
    seed: int = 0,
    holes: tuple[tuple[float, float, float], ...] = (),
    sheet: Target | None = None,
    prints: tuple[tuple[float, float, float, float], ...] = (),
) -> bytes:
    """A JPEG of a part on the sheet.

    outline : (n, 2) in mm on the sheet as measured, anticlockwise; holes : (x, y, diameter)
    prints : (x, y, diameter, light 0 to 1) of round spots on the part's top
    """
    sheet = sheet or Target()
    rng = np.random.default_rng(seed)
    lens = Lens(shot, sheet)
    wide, tall = shot.pixels
    light = np.empty((tall * FINE, wide * FINE, 3), dtype=np.float32)
    small = rng.normal(0, shot.grain, (tall // 8 + 1, wide // 8 + 1)).astype(np.float32)
    weave = cv2.resize(small, light.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    light[:] = np.array(shot.table, dtype=np.float32) * (1 + weave[:, :, None])

    def fill(ring: np.ndarray, level: float, colour) -> None:
        points = lens(np.column_stack([_dense(ring), np.full(len(_dense(ring)), level)]))
        _paint(light, points, colour)

    width, height = sheet.size  # the paper is as large as ever, however the print came out
    fill(np.array([(0, 0), (width, 0), (width, height), (0, height)]), 0, (shot.paper,) * 3)
    for marker in sheet.ids:
        if marker not in shot.hidden:
            _marker(fill, sheet, marker, shot.printed)
    if shot.cast:
        _cast(light, lens, outline, thickness, shot.cast)
    rings = [outline, *(_circle(*hole)[::-1] for hole in holes)]
    wall = shot.wall or tuple(0.8 * np.array(shot.part))
    _body(light, lens, rings, thickness, shot, wall)
    for x, y, across, shade in prints:
        fill(_circle(x, y, across), thickness + shot.lift, (shade,) * 3)
    return _developed(light, shot, rng)


def _body(light, lens, rings, thickness, shot, wall) -> None:
    """Walls from the far to the near, then the top: what is in front hides what is behind."""
    paper = light.copy()
    e = min(shot.edge, 0.45 * thickness)
    levels = (
        [(0.0, e), (e, 0.0), (thickness - e, 0.0), (thickness, e)]
        if e
        else [
            (0.0, 0.0),
            (thickness, 0.0),
        ]
    )
    cover = np.zeros(light.shape[:2], dtype=np.uint8)
    levels = [(z + shot.lift, inset) for z, inset in levels]
    stacks = [[(_inset(_dense(ring), inset), z) for z, inset in levels] for ring in rings]
    shades = shot.shades if e else [1.0]
    for stack in stacks[:1]:
        for (low, z0), (high, z1), shade in zip(stack, stack[1:], shades, strict=False):
            a = lens(np.column_stack([low, np.full(len(low), z0)]))
            b = lens(np.column_stack([high, np.full(len(high), z1)]))
            quads = [
                shapely.MultiPoint([a[i - 1], a[i], b[i], b[i - 1]]).convex_hull
                for i in range(len(a))
            ]
            _paint_shape(light, shapely.union_all(quads), np.clip(np.array(wall) * shade, 0, 1))
        top, z = stack[-1]
        ring = lens(np.column_stack([top, np.full(len(top), z)]))
        _paint(light, ring, shot.part)
        _paint(cover, ring, 1)
    for stack in stacks[1:]:
        # Through a hole: its far wall, and what both rims leave open of the paper.
        (low, z0), (high, z1) = stack[0], stack[-1]
        upper = np.zeros_like(cover)
        lower = np.zeros_like(cover)
        _paint(upper, lens(np.column_stack([high, np.full(len(high), z1)])), 1)
        _paint(lower, lens(np.column_stack([low, np.full(len(low), z0)])), 1)
        light[(upper > 0)] = wall
        light[(upper > 0) & (lower > 0)] = shot.dusk * paper[(upper > 0) & (lower > 0)]


def _inset(ring: np.ndarray, by: float) -> np.ndarray:
    """A dense ring moved in by ``by`` mm along its normals, mitred at the corners."""
    if not by:
        return ring
    ahead, behind = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    behind /= np.linalg.norm(behind, axis=1, keepdims=True)
    inward = np.column_stack([-ahead[:, 1] - behind[:, 1], ahead[:, 0] + behind[:, 0]])
    inward /= np.maximum((inward**2).sum(axis=1, keepdims=True) / 2, 1e-6)
    return ring + by * inward


def _dense(ring: np.ndarray, step: float = 2.0) -> np.ndarray:
    """The ring with points every few mm, so that a bent lens bends its sides."""
    parts = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(1, int(np.hypot(*(b - a)) / step))
        parts.append(a + np.linspace(0, 1, count, endpoint=False)[:, None] * (b - a))
    return np.concatenate(parts)


def _circle(x: float, y: float, across: float) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, 96, endpoint=False)
    return np.array([x, y]) + across / 2 * np.column_stack([np.cos(turn), np.sin(turn)])


def _paint(light: np.ndarray, seen: np.ndarray, colour) -> None:
    _paint_shape(light, shapely.Polygon(seen), colour)


def _paint_shape(light: np.ndarray, shape, colour) -> None:
    """Fill the elements whose middle is inside.

    OpenCV's filling takes in what an edge touches, more of it where the edge slants, so that a
    side would come out wrong by hundredths of a millimetre.
    """
    fine = shapely.affinity.affine_transform(
        shape.buffer(0), (FINE, 0, 0, FINE, (FINE - 1) / 2, (FINE - 1) / 2)
    )
    rows, across = [], []
    for ring in (r for p in getattr(fine, "geoms", [fine]) for r in (p.exterior, *p.interiors)):
        for (x0, y0), (x1, y1) in itertools.pairwise(np.array(ring.coords)):
            low, high = np.clip(np.ceil(sorted((y0, y1))).astype(int), 0, len(light))
            if high > low:
                rows.append(np.arange(low, high))
                across.append(x0 + (rows[-1] - y0) * (x1 - x0) / (y1 - y0))
    if not rows:
        return
    row, start = np.concatenate(rows), np.concatenate(across)
    order = np.lexsort((start, row))
    ends = np.clip(np.ceil(start[order]).astype(int), 0, light.shape[1])
    for y, a, b in zip(row[order][::2], ends[::2], ends[1::2], strict=True):
        light[y, a:b] = colour


def _marker(fill, sheet: Target, marker: int, printed: float) -> None:
    corners = sheet.corners(marker) * printed
    fill(corners, 0, (0.03,) * 3)
    squares = marker_squares(marker)
    x0, y0 = corners[0]
    side = (corners[1, 0] - x0) / 6
    white = []
    for row, column in zip(*np.nonzero(squares), strict=True):
        x, y = x0 + column * side, y0 - row * side
        white.append(shapely.box(x - 1e-6, y - side - 1e-6, x + side + 1e-6, y + 1e-6))
    whole = shapely.union_all(white)
    for polygon in getattr(whole, "geoms", [whole]):
        fill(np.array(polygon.exterior.coords)[:-1], 0, (0.85,) * 3)
        for hole in polygon.interiors:
            fill(np.array(hole.coords)[:-1], 0, (0.03,) * 3)


def _cast(light, lens, outline, thickness, dark) -> None:
    mask = np.zeros(light.shape[:2], dtype=np.float32)
    moved = _dense(outline) + np.array([0.35, -0.25]) * thickness
    _paint(mask, lens(np.column_stack([moved, np.zeros(len(moved))])), 1.0)
    scale = np.linalg.norm(np.diff(lens(np.array([[0, 0, 0], [1, 0, 0.0]])), axis=0)) * FINE
    small = cv2.resize(mask, None, fx=0.2, fy=0.2, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), max(0.5, scale * (0.5 + 0.3 * thickness) * 0.2))
    light *= (1 - dark * cv2.resize(soft, mask.shape[::-1]))[:, :, None]


def _developed(light: np.ndarray, shot: Shot, rng: np.random.Generator) -> bytes:
    wide, tall = shot.pixels
    picture = cv2.resize(light, (wide, tall), interpolation=cv2.INTER_AREA)
    slope = np.add.outer(np.linspace(0, 1, tall), np.linspace(0, 1, wide)) / 2
    picture *= (1 - shot.lamp * slope).astype(np.float32)[:, :, None]
    picture = cv2.GaussianBlur(picture, (0, 0), shot.blur)
    bright = np.where(picture <= 0.0031308, picture * 12.92, 1.055 * picture ** (1 / 2.4) - 0.055)
    values = bright * 255 + rng.normal(0, shot.noise, picture.shape)
    image = Image.fromarray(np.clip(np.round(values), 0, 255).astype(np.uint8))
    stream = io.BytesIO()
    exif = Image.Exif()
    if shot.stated:
        exif.get_ifd(0x8769)[0xA405] = round(shot.focal * float(np.hypot(36, 24)))
    if shot.camera:
        exif[0x0110] = shot.camera
    image.save(stream, "JPEG", quality=shot.quality, exif=exif)
    return stream.getvalue()
