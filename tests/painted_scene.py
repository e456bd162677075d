"""Photos that were never taken: a part on a photo sheet, a card's side or a scanner's glass.

For tests: the true outline is known, so a trace can be judged. Lesson nine ships one of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely

from workbench.measure.outlines.outline import Outline
from workbench.measure.photos.rectify import CARD
from workbench.measure.photos.sheet_marks import MARKER, Target, marker_squares


@dataclass(frozen=True)
class Scene:
    """How the picture is taken.

    pixels : width and height of the picture
    tilt, azimuth, roll : the camera leans by ``tilt`` degrees off the sheet's normal, towards
        ``azimuth``, and is rolled about its own axis
    zoom : part of the picture's width that the sheet's width fills, about
    bend : the lens's k, as in :class:`workbench.measure.photos.rectify.View`
    blur : standard deviation of the lens's blur, in pixels
    noise : standard deviation of the noise, in levels of 255
    uneven : how much dimmer the dimmest part of the sheet is lit
    shadow : how dark a soft shadow beside the part is, 0 to 1, and its width in mm
    colour : of the part, sRGB 0 to 255
    hidden : numbers of markers that are covered
    """

    pixels: tuple[int, int] = (1500, 2000)
    tilt: float = 0.0
    azimuth: float = 0.0
    roll: float = 0.0
    zoom: float = 0.9
    bend: float = 0.0
    blur: float = 0.8
    noise: float = 2.0
    uneven: float = 0.0
    shadow: float = 0.0
    shadow_width: float = 5.0
    colour: tuple[int, int, int] = (60, 70, 85)
    hidden: tuple[int, ...] = field(default=())


#: Texels per mm of the painted sheet before the camera looks at it.
_FINE = 10


def photo_on_sheet(
    outline: Outline,
    scene: Scene,
    seed: int = 0,
    target: Target | None = None,
    holes: tuple[tuple[float, float, float], ...] = (),
    thickness: float = 0.0,
) -> np.ndarray:
    """(h, w, 3) uint8 picture of a part on the photo sheet.

    outline : in sheet coordinates, mm
    holes : (x, y, diameter) in mm
    thickness : of the part, in mm: its upper edges are nearer to the camera
    """
    sheet = target or Target()
    rings = [_ring(*hole) for hole in holes]
    border = outline.chords()
    if thickness:
        place = camera_place(sheet.size, scene)
        border = _silhouette(border, place, thickness)
        rings = [_open(ring, place, thickness) for ring in rings]
    light = _paint_part(_painted_sheet(sheet, scene.hidden), sheet.size[1], border, scene, rings)
    return _shoot(light, sheet.size, scene, seed)


def photo_with_card(
    outline: Outline, scene: Scene, seed: int = 0, card_at: tuple[float, float] = (20.0, 20.0)
) -> np.ndarray:
    """(h, w, 3) uint8 picture of a part with an ID-1 card beside it, on dark cloth.

    outline : in mm on a table of 210 x 297; the card's lower left corner is at ``card_at``
    """
    table = (210.0, 297.0)
    light = np.full((*_texels(table), 3), 0.05, dtype=np.float32)
    _fill(light, table[1], _rounded_card(card_at), (0.75, 0.80, 0.70))
    light = _paint_part(light, table[1], outline.chords(), scene, ())
    return _shoot(light, table, scene, seed)


def scan(
    outline: Outline,
    dpi: float,
    seed: int = 0,
    colour: tuple[int, int, int] = (60, 70, 85),
    noise: float = 1.5,
) -> np.ndarray:
    """(h, w, 3) uint8 flatbed scan; outline in mm from the lower left corner, y up."""
    import cv2

    ring = outline.chords()
    width, height = ring.max(axis=0) + 8.0
    per_mm = dpi / 25.4
    tall, wide = int(height * per_mm), int(width * per_mm)
    corners = np.column_stack([ring[:, 0], tall / per_mm - ring[:, 1]])
    cover = _cover_of((tall, wide), corners * per_mm - 0.5)[:, :, None]
    light = 0.9 * (1 - cover) + _linear(colour) * cover
    return _developed(cv2.GaussianBlur(light, (0, 0), 0.6), noise, np.random.default_rng(seed))


def _texels(size: tuple[float, float]) -> tuple[int, int]:
    return round(size[1] * _FINE), round(size[0] * _FINE)


def _linear(colour: tuple[int, int, int]) -> np.ndarray:
    values = np.array(colour) / 255
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4).astype(
        np.float32
    )


def _to_texels(points: np.ndarray, height: float) -> np.ndarray:
    """mm with y up become texel indices whose whole numbers are texel middles."""
    return np.column_stack([points[:, 0], height - points[:, 1]]) * _FINE - 0.5


def _cover(shape: tuple[int, int], height: float, points: np.ndarray) -> np.ndarray:
    """(h, w) float32 share of each texel that a polygon in mm covers."""
    return _cover_of(shape, _to_texels(points, height))


def _cover_of(shape: tuple[int, int], corners: np.ndarray) -> np.ndarray:
    """(h, w) float32 share of each texel that a polygon in texels covers."""
    import cv2

    inside = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(inside, [np.round(corners * 256).astype(np.int32)], 1, cv2.LINE_8, 8)
    rim = np.zeros(shape, dtype=np.uint8)
    cv2.polylines(rim, [np.round(corners).astype(np.int32)], True, 1, 5)
    rows, columns = np.nonzero(rim)
    cover = inside.astype(np.float32)
    spots = np.column_stack([columns, rows]).astype(float)
    cover[rows, columns] = np.clip(0.5 - _distance(spots, corners), 0, 1)
    return cover


def _distance(spots: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """(n,) distance of spots (n, 2) from a polygon's border, below 0 inside it."""
    nearest = np.full(len(spots), np.inf)
    inside = np.zeros(len(spots), dtype=bool)
    x, y = spots.T
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        edge = b - a
        share = np.clip(((spots - a) @ edge) / (edge @ edge), 0, 1)
        nearest = np.minimum(nearest, np.hypot(*(spots - a - share[:, None] * edge).T))
        if a[1] != b[1]:
            crosses = (a[1] > y) != (b[1] > y)
            inside ^= crosses & (x < a[0] + (y - a[1]) * edge[0] / edge[1])
    return np.where(inside, -nearest, nearest)


def _fill(
    light: np.ndarray, height: float, points: np.ndarray, colour: tuple[float, float, float]
) -> None:
    cover = _cover(light.shape[:2], height, points)[:, :, None]
    light[:] = light * (1 - cover) + np.array(colour, dtype=np.float32) * cover


@lru_cache(maxsize=2)
def _painted_sheet(sheet: Target, hidden: tuple[int, ...]) -> np.ndarray:
    light = np.full((*_texels(sheet.size), 3), 0.86, dtype=np.float32)
    for marker in sheet.ids:
        if marker not in hidden:
            _paint_marker(light, sheet, marker)
    light.setflags(write=False)
    return light


def _paint_marker(light: np.ndarray, sheet: Target, marker: int) -> None:
    squares = marker_squares(marker)
    corner = sheet.corners(marker)[0]
    side = MARKER / len(squares)
    for row, line in enumerate(squares):
        for column, white in enumerate(line):
            if not white:
                x, y = corner[0] + column * side, corner[1] - row * side
                # Whole texels, so that black squares meet without a light seam.
                box = np.round(
                    np.array([x, sheet.size[1] - y, x + side, sheet.size[1] - y + side]) * _FINE
                ).astype(int)
                light[box[1] : box[3], box[0] : box[2]] = 0.03


def _paint_part(
    light: np.ndarray,
    height: float,
    border: np.ndarray,
    scene: Scene,
    rings: Iterable[np.ndarray],
) -> np.ndarray:
    import cv2

    cover = _cover(light.shape[:2], height, border)
    for ring in rings:
        cover = np.minimum(cover, 1 - _cover(light.shape[:2], height, ring))
    if scene.shadow:
        shift = np.array([[1, 0, 2.0 * _FINE], [0, 1, 1.5 * _FINE]])
        moved = cv2.warpAffine(cover, shift, cover.shape[::-1])
        small = cv2.resize(moved, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
        soft = cv2.GaussianBlur(small, (0, 0), scene.shadow_width * _FINE / 4 / 2)
        light = light * (1 - scene.shadow * cv2.resize(soft, cover.shape[::-1])[:, :, None])
    part = _linear(scene.colour)
    return light * (1 - cover[:, :, None]) + part * cover[:, :, None]


def _ring(x: float, y: float, diameter: float) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    return np.array([x, y]) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])


def _seen_above(points: np.ndarray, place: np.ndarray, above: float) -> np.ndarray:
    """Where points (n, 2) that are ``above`` mm over the sheet seem to lie on it."""
    return points + (points - place[:2]) * above / (place[2] - above)


def _silhouette(points: np.ndarray, place: np.ndarray, thickness: float) -> np.ndarray:
    """(m, 2) border of a thick part on the sheet: its lower and upper edge and all between."""
    upper = _seen_above(points, place, thickness)
    sides = [
        shapely.MultiPoint([*points[[i - 1, i]], *upper[[i - 1, i]]]).convex_hull
        for i in range(len(points))
    ]
    whole = shapely.union_all([shapely.Polygon(points), shapely.Polygon(upper), *sides])
    return np.array(whole.exterior.coords)[:-1]


def _open(ring: np.ndarray, place: np.ndarray, thickness: float) -> np.ndarray:
    """(m, 2) what a hole leaves open to the camera: what is inside both its rims."""
    rims = shapely.Polygon(ring), shapely.Polygon(_seen_above(ring, place, thickness))
    return np.array(rims[0].intersection(rims[1]).exterior.coords)[:-1]


def camera_place(size: tuple[float, float], scene: Scene) -> np.ndarray:
    """(3,) where the camera stands, in mm from the sheet's lower left corner, z up."""
    return _stood(size, scene)[1]


def _rounded_card(at: tuple[float, float]) -> np.ndarray:
    width, height = CARD
    radius = 3.18
    middles = [
        (width - radius, height - radius),
        (radius, height - radius),
        (radius, radius),
        (width - radius, radius),
    ]
    turn = np.linspace(0, np.pi / 2, 12)
    rings = [
        np.array(middle)
        + radius * np.column_stack([np.cos(turn + i * np.pi / 2), np.sin(turn + i * np.pi / 2)])
        for i, middle in enumerate(middles)
    ]
    return np.concatenate(rings) + np.array(at)


def _shoot(light: np.ndarray, size: tuple[float, float], scene: Scene, seed: int) -> np.ndarray:
    import cv2

    rng = np.random.default_rng(seed)
    map_x, map_y = _texels_seen(size, scene)
    # Texels per pixel: soften the paint by that first, so that sampling does not alias.
    coarse = float(
        np.hypot(
            map_x[::50, 1::50] - map_x[::50, :-1:50], map_y[::50, 1::50] - map_y[::50, :-1:50]
        ).mean()
    )
    if coarse > 1:
        light = cv2.GaussianBlur(light, (0, 0), 0.35 * coarse)
    picture = cv2.remap(
        light,
        map_x,
        map_y,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(0.12, 0.10, 0.08),
    )
    if scene.uneven:
        angle = rng.uniform(0, 2 * np.pi)
        wide, tall = scene.pixels
        slope = np.add.outer(
            np.arange(tall, dtype=np.float32) / tall * np.sin(angle),
            np.arange(wide, dtype=np.float32) / wide * np.cos(angle),
        )
        picture *= (1 - scene.uneven * (slope - slope.min()) / np.ptp(slope))[:, :, None]
    if scene.blur:
        picture = cv2.GaussianBlur(picture, (0, 0), scene.blur)
    return _developed(picture, scene.noise, rng)


def _texels_seen(size: tuple[float, float], scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """(h, w) float32 texel column and row that each pixel looks at."""
    wide, tall = scene.pixels
    middle = ((wide - 1) / 2, (tall - 1) / 2)
    x, y = np.meshgrid(
        np.arange(wide, dtype=np.float32) - middle[0], np.arange(tall, dtype=np.float32) - middle[1]
    )
    radius = (x**2 + y**2) / np.float32(np.hypot(*middle) ** 2)
    straight = np.ones_like(radius)
    for _round in range(4 if scene.bend else 0):
        straight = 1 / (1 + np.float32(scene.bend) * radius * straight**2)
    x, y = x * straight, y * straight
    back = np.linalg.inv(_stood(size, scene)[0])
    back = (back / back[2, 2]).astype(np.float32)
    depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
    across = (back[0, 0] * x + back[0, 1] * y + back[0, 2]) / depth
    up = (back[1, 0] * x + back[1, 1] * y + back[1, 2]) / depth
    return across * _FINE - 0.5, (size[1] - up) * _FINE - 0.5


def _developed(light: np.ndarray, noise: float, rng: np.random.Generator) -> np.ndarray:
    """(h, w, 3) uint8 sRGB values of linear light, with noise."""
    levels = np.linspace(0, 1, 4096)
    curve = np.where(levels <= 0.0031308, levels * 12.92, 1.055 * levels ** (1 / 2.4) - 0.055)
    values = (curve * 255).astype(np.float32)[(np.clip(light, 0, 1) * 4095 + 0.5).astype(np.uint16)]
    values += rng.standard_normal(values.shape, dtype=np.float32) * noise
    return np.clip(values + 0.5, 0, 255).astype(np.uint8)


def _stood(size: tuple[float, float], scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """A pinhole above the sheet: (3, 3) from its mm to pixels about the picture's middle; (3,) place."""
    tilt, azimuth, roll = np.radians([scene.tilt, scene.azimuth, scene.roll])
    out = np.array([np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), np.cos(tilt)])
    right = np.cross([-np.sin(roll), np.cos(roll), 0], out)
    right /= np.linalg.norm(right)
    turn = np.array([right, np.cross(-out, right), -out])
    focal = 1.1 * max(scene.pixels)
    middle = np.array([size[0] / 2, size[1] / 2, 0])
    corners = np.array([(x, y, 1.0) for x in (0, size[0]) for y in (0, size[1])])
    distance = max(size) * 1.5
    matrix, place = np.eye(3), middle
    for _round in range(6):  # step back until the whole sheet is in the picture
        place = middle + out * distance
        matrix = np.diag([focal, focal, 1.0]) @ np.column_stack(
            [turn[:, 0], turn[:, 1], turn @ -place]
        )
        seen = corners @ matrix.T
        reach = np.abs(seen[:, :2] / seen[:, 2:]).max(axis=0) * 2 / np.array(scene.pixels)
        distance *= reach.max() / scene.zoom
    return matrix, place
