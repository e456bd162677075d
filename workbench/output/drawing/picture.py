"""A picture of a part, as a camera would show it: soft light, a shadow on the table, clear edges."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np

from workbench.errors import RepairError
from workbench.output.drawing.paper import ACCENT, PAPER, RULE
from workbench.output.drawing.raster import Camera, Pixels, covered, rasterise
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.words import _

#: From the front, a little from the right, and from above.
OUT = (0.42, -0.80, 0.48)

#: Where the light comes from: over the left shoulder of the eye.
LIGHT = (-0.50, -0.72, 0.85)

#: Surfaces that meet at less than this, in degrees, look as one curved surface.
CREASE = 30.0

#: Pixels for each millimetre where a picture goes on paper: about 150 to the inch.
FINE = 6

#: A triangle whose corners look the same way but for this, as a share, is flat.
_FLAT = 1e-3

#: Finer pixels for each pixel of the picture, along each side.
_FINER = 2

_LARGEST = 4000


def picture(
    subject: Repair | tuple[np.ndarray, np.ndarray],
    size: tuple[int, int] = (640, 480),
    grid: float = 0.0,
    out: tuple[float, float, float] = OUT,
    colour: str = ACCENT,
    paper: str = PAPER,
    deep: bool = True,
) -> bytes:
    """A picture of a repair, or of a mesh, as the bytes of a PNG file.

    subject : a repair, as it stands on the bench; or vertices (n, 3) in mm and faces (m, 3)
    size : width and height in pixels, up to 4000
    grid : a line on the table every so many mm; none for 0
    out : direction from the part to the eye
    colour : of the part
    paper : of the table
    deep : whether what is near looks larger; else all edges keep their directions

    Raises RepairError when the repair does not build, or the size cannot be.
    """
    from PIL import Image

    vertices, faces = mesh(build(subject)) if isinstance(subject, Repair) else subject
    pixels = shaded(vertices, faces, size, grid, out, colour, paper, deep)
    into = BytesIO()
    Image.fromarray(np.round(255 * pixels).astype(np.uint8)).save(into, "png")
    return into.getvalue()


def shaded(
    vertices: np.ndarray,
    faces: np.ndarray,
    size: tuple[int, int] = (640, 480),
    grid: float = 0.0,
    out: tuple[float, float, float] = OUT,
    colour: str = ACCENT,
    paper: str = PAPER,
    deep: bool = True,
) -> np.ndarray:
    """The picture as an array (h, w, 3) of 0 to 1; parameters as for :func:`picture`."""
    if not all(isinstance(side, int) and 8 <= side <= _LARGEST for side in size):
        raise RepairError(
            _("picture size is {size} pixels; give two whole numbers from 8 to {most}").format(
                size=size, most=_LARGEST
            )
        )
    fine = (size[0] * _FINER, size[1] * _FINER)
    camera = _camera(vertices, fine, np.array(out) / np.linalg.norm(out), deep)
    seen = rasterise(camera.project(vertices), faces, fine)
    shown = seen.triangle >= 0
    # The table has soft shadows and lines only, so the picture's own pixels are fine enough for it.
    far = replace(camera, scale=camera.scale / _FINER, size=size)
    table = _table(vertices, faces, far, grid, _rgb(paper))
    bright = np.where(_edges(seen, vertices, faces), np.float32(0.45), np.float32(1))
    lit = _surface(vertices, faces, camera, seen, _rgb(colour)) * bright[shown][:, None]
    coarse = table * _coarse(np.where(shown, 0, bright))[..., None]
    part = np.zeros(shown.shape, dtype=np.float32)
    for channel in range(3):  # one at a time: arrays this large stay with the process
        part[shown] = lit[:, channel]
        coarse[..., channel] += _coarse(part)
    return np.clip(coarse, 0, 1)


def _coarse(image: np.ndarray) -> np.ndarray:
    """The means (h, w, ...) of each :data:`_FINER` by :data:`_FINER` pixels."""
    corners = [image[i::_FINER, j::_FINER] for i in range(_FINER) for j in range(_FINER)]
    return sum(corners[1:], start=corners[0]) / np.float32(len(corners))


def _rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255


def _camera(vertices: np.ndarray, size: tuple[int, int], out: np.ndarray, deep: bool) -> Camera:
    """Looks at the middle of the part from where the part and its shadow fill the picture."""
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    centre = (low + high) / 2
    reach = max(float(np.linalg.norm(high - low)), 1e-6)
    distance = 4.0 * reach if deep else np.inf
    camera = Camera(out, centre, 1.0, size, distance)
    for _pass in range(2):
        spots = camera.project(np.concatenate([vertices, _shadow(vertices)]))[:, :2]
        left_top, right_bottom = spots.min(axis=0), spots.max(axis=0)
        across = np.maximum(right_bottom - left_top, 1e-9)
        scale = camera.scale * float((0.84 * np.array(size) / across).min())
        right, up, _out = camera.axes
        shift = ((left_top + right_bottom) / 2 - np.array(size) / 2) / camera.scale
        centre = camera.centre + right * shift[0] - up * shift[1]
        camera = Camera(out, centre, scale, size, distance)
    return camera


def _shadow(vertices: np.ndarray) -> np.ndarray:
    """Where the light throws each corner on the table."""
    light = np.array(LIGHT)
    height = vertices[:, 2] - vertices[:, 2].min()
    thrown = vertices - 0.35 * height[:, None] * light / light[2]
    thrown[:, 2] = vertices[:, 2].min()
    return thrown


def _blurred(image: np.ndarray, sigma: float) -> np.ndarray:
    """The image (h, w) with a soft blur, ``sigma`` pixels wide; wide ones on fewer pixels."""
    every = max(1, int(sigma / 2))
    height, width = image.shape
    padded = np.pad(image, ((0, -height % every), (0, -width % every)), mode="edge")
    rows, columns = (side // every for side in padded.shape)
    small = padded.reshape(rows, every, columns, every).mean(axis=(1, 3), dtype=np.float32)
    soft = _softened(_softened(small, sigma / every).T, sigma / every).T
    return soft if every == 1 else _stretched(_stretched(soft, height, every).T, width, every).T


def _softened(image: np.ndarray, sigma: float) -> np.ndarray:
    """The image with each column blurred by a bell of ``sigma`` rows."""
    reach = int(4 * sigma + 0.5)
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    bell = (bell / bell.sum()).astype(np.float32)
    padded = np.pad(image, ((reach, reach), (0, 0)), mode="symmetric")
    soft = np.zeros_like(image)
    for at, share in enumerate(bell):
        soft += share * padded[at : at + len(image)]
    return soft


def _stretched(image: np.ndarray, count: int, every: int) -> np.ndarray:
    """The image with ``count`` rows, ``every`` for each row it had, those between interpolated."""
    at = np.clip((np.arange(count) + 0.5) / every - 0.5, 0, len(image) - 1)
    low = at.astype(int)
    high = np.minimum(low + 1, len(image) - 1)
    share = (at - low).astype(np.float32)[:, None]
    return image[low] + share * (image[high] - image[low])


def _table(
    vertices: np.ndarray, faces: np.ndarray, camera: Camera, grid: float, paper: np.ndarray
) -> np.ndarray:
    """The table (h, w, 3), with its grid and the part's shadow."""
    level = float(vertices[:, 2].min())
    blur = 0.02 * min(camera.size)
    far = covered(camera.project(_shadow(vertices)), faces, camera.size)
    under = np.column_stack([vertices[:, :2], np.full(len(vertices), level)])
    near = covered(camera.project(under), faces, camera.size)
    dark = 0.26 * _blurred(far, blur) + 0.30 * _blurred(near, 0.35 * blur)
    shade = (1 - np.minimum(dark, 0.5))[..., None].astype(np.float32)
    if grid <= 0:
        return shade * paper.astype(np.float32)
    line = _grid(camera, level, grid, vertices)[..., None]
    return shade * (paper + line * (_rgb(RULE) - paper)).astype(np.float32)


def _grid(camera: Camera, level: float, grid: float, vertices: np.ndarray) -> np.ndarray:
    """(h, w) how much of a grid line each pixel holds; lines fade with the distance."""
    low, high = vertices[:, :2].min(axis=0), vertices[:, :2].max(axis=0)
    reach = float(np.linalg.norm(high - low)) + 2 * grid
    ground = np.nan_to_num(camera.on_ground(level), nan=1e9).astype(np.float32)
    away = np.hypot(*((ground - (low + high) / 2) / reach).transpose(2, 0, 1))
    line = np.zeros(away.shape, dtype=np.float32)
    for axis in range(2):
        at = ground[..., axis] / np.float32(grid)
        slope = np.abs(np.gradient(at, axis=0)) + np.abs(np.gradient(at, axis=1)) + 1e-9
        line = np.maximum(line, np.clip(1.1 - np.abs(at - np.round(at)) / slope, 0, 1))
    return 0.8 * line * np.clip(1.6 - away, 0, 1)


def _surface(
    vertices: np.ndarray, faces: np.ndarray, camera: Camera, seen: Pixels, colour: np.ndarray
) -> np.ndarray:
    """The part's colour at each of the pixels (k, 3) that show it: key light, fill light, sky."""
    shown = seen.triangle >= 0
    triangle, corners = seen.triangle[shown], _corner_normals(vertices, faces).astype(np.float32)
    # A flat triangle is as bright all over.
    bright, gloss = (of[triangle] for of in _lit(corners[:, 0], camera))
    curved = np.flatnonzero(np.ptp(corners, axis=1).max(axis=1)[triangle] > _FLAT)
    weights = seen.weights[shown][curved]
    normals = sum(
        (weights[:, i : i + 1] * corners[triangle[curved], i] for i in (1, 2)),
        start=weights[:, :1] * corners[triangle[curved], 0],
    )
    normals /= np.maximum(np.sqrt((normals * normals).sum(axis=1, keepdims=True)), 1e-9)
    bright[curved], gloss[curved] = _lit(normals, camera)
    bright *= _open(seen)[shown]
    # A filament's own colour, lifted towards paper so that shades stay apart in black and white.
    body = (0.66 * colour + 0.34).astype(np.float32)
    return np.clip(body * bright[:, None] + 0.10 * gloss[:, None], 0, 1)


def _lit(normals: np.ndarray, camera: Camera) -> tuple[np.ndarray, np.ndarray]:
    """How bright surfaces with normals (k, 3) are, and how glossy."""
    light = (np.array(LIGHT) / np.linalg.norm(LIGHT)).astype(np.float32)
    right, _up, out = camera.axes.astype(np.float32)
    side = (right + 0.4 * out) / np.linalg.norm(right + 0.4 * out)
    halfway = (light + out) / np.linalg.norm(light + out)
    bright = 0.39 + 0.15 * (1 + normals[:, 2]) + 0.16 * np.clip(normals @ side, 0, 1)
    gloss = np.clip(normals @ halfway, 0, 1)
    gloss = (gloss * gloss * gloss) ** 2  # to the sixth, and once more to the 24th
    return bright + 0.60 * np.clip(normals @ light, 0, 1), (gloss * gloss) ** 2


def _open(seen: Pixels) -> np.ndarray:
    """(h, w) how openly each place lies: darker in corners that surfaces before it shade."""
    shown = (seen.triangle >= 0).astype(np.float32)
    if not shown.any():
        return np.ones_like(shown)
    low, high = (float(of(seen.near[shown > 0])) for of in (np.min, np.max))
    # Above the lowest place that is seen, as a share of all heights; soft, so coarse is enough.
    near = _coarse(np.where(shown > 0, (seen.near - low) / max(high - low, 1e-12), 0).astype("f4"))
    shown = _coarse(shown)
    here = near / np.maximum(shown, 1e-3)
    dim = np.zeros_like(here)
    for share in (0.006, 0.02):
        sigma = share * min(here.shape)
        around = _blurred(near, sigma) / np.maximum(_blurred(shown, sigma), 1e-3)
        dim += np.clip(around - here, 0, 0.12)
    dim = 1 - 1.4 * np.clip(dim, 0, 0.16)
    return dim.repeat(_FINER, axis=0).repeat(_FINER, axis=1)


def _edges(seen: Pixels, vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """(h, w) whether a pixel lies on a drawn edge: an outline or a crease."""
    shown = seen.triangle >= 0
    if not shown.any():
        return shown
    normals = _normals(vertices, faces).astype(np.float32)
    span = max(float(np.ptp(seen.near[shown])), 1e-12)
    edge = np.zeros(shown.shape, dtype=bool)
    for axis in (0, 1):
        one = (slice(None, -1), slice(None)) if axis == 0 else (slice(None), slice(None, -1))
        other = (slice(1, None), slice(None)) if axis == 0 else (slice(None), slice(1, None))
        first, second = seen.triangle[one], seen.triangle[other]
        rows, columns = np.nonzero(first != second)
        a, b = first[rows, columns], second[rows, columns]
        turn = np.linalg.norm(normals[a] - normals[b], axis=1)
        near, far = seen.near[one][rows, columns], seen.near[other][rows, columns]
        outline = (a < 0) != (b < 0)
        jump = np.zeros(len(a))
        both = ~outline
        jump[both] = np.abs(near[both] - far[both])
        drawn = outline | (turn > 2 * np.sin(np.radians(CREASE) / 2)) | (jump > 0.03 * span)
        edge[one][rows[drawn], columns[drawn]] = True
        edge[other][rows[drawn], columns[drawn]] = True
    return edge


def _normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    return normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)


def _corner_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """(m, 3, 3) a normal for each corner of each triangle, smooth across what is no crease."""
    normals = _normals(vertices, faces)
    count = len(faces)
    corner_vertex = faces.ravel()
    # Every (corner, neighbouring triangle) pair that meets at the corner's vertex.
    by_vertex, meet = np.argsort(corner_vertex, kind="stable"), np.bincount(corner_vertex)
    many = meet[corner_vertex]
    corner = np.repeat(np.arange(3 * count), many)
    place = np.arange(len(corner)) - np.repeat(np.cumsum(many) - many, many)
    first = (np.cumsum(meet) - meet)[corner_vertex]
    other = by_vertex[first[corner] + place] // 3
    smooth = (normals[corner // 3] * normals[other]).sum(axis=1) > np.cos(np.radians(CREASE))
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    total = np.zeros((3 * count, 3))
    kept = np.flatnonzero(smooth)
    np.add.at(total, corner[kept], normals[other[kept]] * areas[other[kept], None])
    total /= np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12)
    return total.reshape(count, 3, 3)
