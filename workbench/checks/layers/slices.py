"""A laid part cut into printed layers.

A layer is cut near the middle of its height, a hundredth lower: sizes that people choose are
multiples of a tenth, so a level face would often lie exactly in the middle of a layer. Layers
between which only upright walls run are equal; they are cut once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.contours import Contours, contours, spread
from workbench.checks.layers.sections import STRAIGHT
from workbench.checks.orientation.candidates import ON_BED, Facets
from workbench.errors import RepairError
from workbench.solids.lay import laid, rotation, unit
from workbench.solids.meshes.mesh import closes
from workbench.words import _, setting, with_unit

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Where in a layer it is cut, as a share of its height. Our choice.
CUT_AT = 0.49

#: More layers than this are a mistake in a size, not a print. Our choice.
MOST_LAYERS = 20_000

#: A wall is upright if its normal leans from level by less than this. Our choice.
_UPRIGHT = 1e-7


@dataclass(frozen=True, eq=False)
class Slices:
    """A part laid on the bed and cut into layers, lowest first.

    down : the direction of the part, as it stands, that lies on the bed
    layer : height of a layer, in mm
    height : of the laid part, in mm
    repeats : (n,) whether a layer has the same section as the one below it
    contours : the cuts of the layers that do not repeat
    turn, shift : a point p of the part lies at ``turn @ p + shift``, with the bed at z = 0
    centre : (3,) centre of mass of the laid part, filled evenly, in mm
    volume : in mm³
    placed, faces : the laid mesh
    facing : (m,) z of each triangle's unit normal: 1 faces up, 0 is upright, -1 faces down
    spans : (2, m) height of each triangle's lowest and highest corner, in mm
    """

    down: tuple[float, float, float]
    layer: float
    height: float
    repeats: np.ndarray
    contours: Contours
    turn: np.ndarray
    shift: np.ndarray
    centre: np.ndarray
    volume: float
    placed: np.ndarray
    faces: np.ndarray
    facing: np.ndarray
    spans: np.ndarray
    _sections: dict[int, CrossSection] = field(default_factory=dict, repr=False)

    def __len__(self) -> int:
        return len(self.repeats)

    @cached_property
    def levels(self) -> np.ndarray:
        """(n,) height of each layer's underside above the bed, in mm."""
        return np.arange(len(self)) * self.layer

    @cached_property
    def runs(self) -> np.ndarray:
        """(n,) which cut each layer has; equal layers share one."""
        return np.cumsum(~self.repeats) - 1

    @cached_property
    def areas(self) -> np.ndarray:
        """(n,) area of each layer, in mm²."""
        return self.contours.areas[self.runs]

    @cached_property
    def perimeters(self) -> np.ndarray:
        """(n,) length of all edges of each layer, holes included, in mm."""
        return self.contours.lengths[self.runs]

    def section(self, layer: int) -> CrossSection:
        """The section of a layer; equal layers return the same object."""
        run = int(self.runs[layer])
        if run not in self._sections:
            from manifold3d import CrossSection

            self._sections[run] = CrossSection(self.contours.rings(run)).simplify(STRAIGHT)
        return self._sections[run]

    def polygons(self, layer: int) -> list[np.ndarray]:
        """A layer's closed polygons, each (k, 2) in mm: outer ones counter-clockwise, holes
        clockwise."""
        return self.contours.rings(int(self.runs[layer]))

    def top_of_run(self, layer: int) -> int:
        """The highest of the equal layers that ``layer`` belongs to."""
        return int(np.searchsorted(self.runs, self.runs[layer], side="right")) - 1

    def index(self, z: float) -> int:
        """The layer that holds height ``z`` above the bed; the nearest one outside the part."""
        return int(np.clip(z // self.layer, 0, len(self) - 1))

    def on_bench(self, points: np.ndarray) -> np.ndarray:
        """Laid points (..., 3) back where they are on the part as it stands on the bench."""
        return (np.asarray(points, dtype=float) - self.shift) @ self.turn

    def leaning(self, angle: float) -> np.ndarray:
        """(n,) whether anything between a layer's cut and the one below leans out by more than
        ``angle`` degrees from the vertical, or starts there in mid-air."""
        planes = _planes(len(self), self.layer)
        leans = _touched(planes, self.spans[:, self.facing < -np.sin(np.radians(angle))])
        z = self.placed[:, 2]
        bottoms = z[_minima(z, self.faces)]
        return leans | _touched(planes, np.stack([bottoms, bottoms]))

    def closing_below(self, layer: int, frame: Sequence[float]) -> list[int]:
        """Layers below ``layer``, highest first, above which a face that looks up may end inside
        a frame (least x and y, greatest x and y): the part can only begin there, seen from above."""
        low_x, low_y, high_x, high_y = frame
        (left, front, right, back), (low, high) = self._tops
        near = (left < high_x) & (right > low_x) & (front < high_y) & (back > low_y)
        closing = np.flatnonzero(_any(low[near], high[near], layer + 1)[1:])
        return [int(i) for i in closing[::-1]]

    def begins_below(self, layer: int, frames: np.ndarray) -> np.ndarray:
        """(k,) the same of ``layer`` alone for frames (k, 4): whether the part may begin in it."""
        tops, starts = self._tops_by_layer
        left, front, right, back = tops[:, starts[layer + 1] : starts[layer + 2]]
        low_x, low_y, high_x, high_y = frames.T[..., None]
        near = (left < high_x) & (right > low_x) & (front < high_y) & (back > low_y)
        return np.asarray(near.any(axis=1))

    @cached_property
    def _tops(self) -> tuple[np.ndarray, np.ndarray]:
        """Of the triangles that look up (4, m) least x and y and greatest x and y, in mm, and
        (2, m) the first and last layers between whose cuts and those below they lie in part."""
        up = self.facing > 0
        x, y = (np.ascontiguousarray(self.placed[:, i])[self.faces[up].T] for i in (0, 1))
        frames = np.stack([x.min(axis=0), y.min(axis=0), x.max(axis=0), y.max(axis=0)])
        planes = _planes(len(self), self.layer)
        return frames, np.searchsorted(planes, self.spans[:, up], side="right")

    @cached_property
    def _tops_by_layer(self) -> tuple[np.ndarray, np.ndarray]:
        """The same frames, layer by layer, and where those of each layer begin."""
        frames, (low, high) = self._tops
        triangle, layer = spread(low, high + 1)
        order = np.argsort(layer.astype(np.int16), kind="stable")
        ends = np.cumsum(np.bincount(layer, minlength=len(self) + 1))
        return frames[:, triangle[order]], np.concatenate([[0], ends])

    def unlike(self, apart: int) -> tuple[np.ndarray, np.ndarray]:
        """(n,) whether a layer may reach out beyond the one so many below it, and beyond the one
        so many above it: only where a face looks down, or up, between the two."""
        planes, count, here = _planes(len(self), self.layer), len(self), np.arange(len(self))
        downs, ups = (
            np.concatenate([[0], np.cumsum(_touched(planes, self.spans[:, looks > _UPRIGHT]))])
            for looks in (-self.facing, self.facing)
        )
        below = downs[here + 1] > downs[np.maximum(here - apart + 1, 0)]
        return below, ups[np.minimum(here + apart + 1, count)] > ups[here + 1]

    def stepped(self) -> np.ndarray:
        """(n,) whether a nearly level face (within 10 degrees) lies between a layer's cut and
        the one below."""
        level = np.abs(self.facing) > np.cos(np.radians(10))
        return _touched(_planes(len(self), self.layer), self.spans[:, level])


def cut(
    vertices: np.ndarray, faces: np.ndarray, down: Sequence[float] | np.ndarray, layer: float = 0.2
) -> Slices:
    """Lay a closed mesh with ``down`` on the bed and cut it into layers.

    vertices : (n, 3) in mm, as the part stands
    faces : (m, 3) indices, counter-clockwise from outside
    down : direction that points to the bed
    layer : height of a layer, in mm

    Raises RepairError when the mesh does not close, or the layer height makes no sense for the
    part.
    """
    if not (np.isfinite(layer) and layer > 0):
        raise RepairError(
            _("layer is {layer} mm; give a height above 0, such as {usual} mm").format(
                layer=str(layer), usual=setting(0.2)
            )
        )
    points, triangles = _closed(vertices, faces)
    turn = rotation(down)
    placed = laid(points, down)
    height = float(placed[:, 2].max())
    count = _count(height, layer)
    volume, centre = mass(placed, triangles)
    if volume <= 0:
        raise RepairError(_("the mesh is inside out or flat; build the part again"))
    planes = _planes(count, layer)
    facing, spans = _triangles(placed, triangles)
    repeats = ~_touched(planes, spans[:, np.abs(facing) > _UPRIGHT])
    repeats[0] = False
    x, y, z = unit(down)
    return Slices(
        down=(float(x), float(y), float(z)),
        layer=float(layer),
        height=height,
        repeats=repeats,
        contours=contours(placed, triangles, planes[~repeats]),
        turn=turn,
        shift=placed[0] - turn @ points[0],
        centre=centre,
        volume=volume,
        placed=placed,
        faces=triangles,
        facing=facing,
        spans=spans,
    )


def overhang_angles(vertices: np.ndarray, faces: np.ndarray, down: Sequence[float]) -> np.ndarray:
    """(m,) how far each triangle leans out over what is below it, in degrees.

    0 is upright or facing up, 45 is the usual limit, 90 hangs level. What lies on the bed is 0,
    since the bed bears it.
    """
    facets = Facets.of(vertices, faces)
    direction = unit(down)
    depth = facets.corners @ direction
    angles = np.degrees(np.arcsin(np.clip(facets.normals @ direction, 0.0, 1.0)))
    angles[depth.min(axis=1) > depth.max() - ON_BED] = 0.0
    return angles


def _closed(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    points = np.asarray(vertices, dtype=float)
    triangles = np.asarray(faces, dtype=np.int64)
    if points.ndim != 2 or points.shape[1:] != (3,) or not len(points) or not len(triangles):
        raise RepairError(_("the mesh is empty; build the part first"))
    if not np.isfinite(points).all():
        raise RepairError(_("the mesh has corners that are not finite; build the part again"))
    if not _closes(triangles.tobytes()):
        raise RepairError(_("the surface does not close; change a size a little and try again"))
    return points, triangles


@lru_cache(maxsize=4)
def _closes(faces: bytes) -> bool:
    """Whether a mesh closes: the same, whichever way up it is laid."""
    return closes(np.frombuffer(faces, dtype=np.int64).reshape(-1, 3))


def _count(height: float, layer: float) -> int:
    """How many layers a height comes to."""
    count = max(1, round(height / layer))
    if count > MOST_LAYERS:
        raise RepairError(
            _(
                "the part is {height} high, which is {count} layers of {layer} mm; check its sizes or print thicker layers"
            ).format(height=with_unit(height), count=count, layer=setting(layer))
        )
    if height <= CUT_AT * layer:
        raise RepairError(
            _(
                "the part is {height} high, less than half a layer of {layer} mm: nothing would be printed; make it thicker or print thinner layers"
            ).format(height=with_unit(height, 3), layer=setting(layer))
        )
    return count


def _planes(count: int, layer: float) -> np.ndarray:
    """(count,) heights at which the layers are cut, in mm."""
    return (np.arange(count) + CUT_AT) * layer


def _triangles(placed: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each triangle of a laid mesh how it faces (z of its unit normal), and (2, m) the
    heights of its lowest and highest corner."""
    x, y, z = (np.ascontiguousarray(column)[faces.T] for column in placed.T)
    (x1, x2), (y1, y2), (z1, z2) = x[1:] - x[0], y[1:] - y[0], z[1:] - z[0]
    level = x1 * y2 - x2 * y1
    length = np.sqrt(level**2 + (y1 * z2 - y2 * z1) ** 2 + (z1 * x2 - z2 * x1) ** 2)
    spans = np.stack([z.min(axis=0), z.max(axis=0)])
    return level / np.where(length > 0, length, 1.0), spans


def _touched(planes: np.ndarray, spans: np.ndarray) -> np.ndarray:
    """(n,) whether any of the spans (2, k), from low to high, lies in part between a plane and
    the one below it."""
    low, high = np.searchsorted(planes, spans, side="right")
    return _any(low, high, len(planes))


def _any(low: np.ndarray, high: np.ndarray, count: int) -> np.ndarray:
    """(count,) whether any of the runs from ``low`` to ``high`` (k,) takes in a number."""
    low, high = np.minimum(low, count), np.minimum(high, count)
    change = np.bincount(low, minlength=count + 2) - np.bincount(high + 1, minlength=count + 2)
    return np.cumsum(change)[:count] > 0


def _minima(z: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """(n,) whether a corner has no lower neighbour."""
    lowest = np.ones(len(z), dtype=bool)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        start, end = faces[:, a], faces[:, b]
        lowest[start[z[end] < z[start]]] = False
        lowest[end[z[start] < z[end]]] = False
    return lowest


def mass(placed: np.ndarray, faces: np.ndarray) -> tuple[float, np.ndarray]:
    """Volume in mm³ and centre of mass of a closed mesh: its tetrahedra to one point."""
    origin = placed.mean(axis=0)
    x, y, z = (np.ascontiguousarray(column)[faces.T] for column in (placed - origin).T)
    (x0, x1, x2), (y0, y1, y2), (z0, z1, z2) = x, y, z
    weight = x0 * (y1 * z2 - y2 * z1) + y0 * (z1 * x2 - z2 * x1) + z0 * (x1 * y2 - x2 * y1)
    total = float(weight.sum())
    moment = np.array([(weight * column.sum(axis=0)).sum() for column in (x, y, z)])
    return total / 6, origin + moment / (4 * total if total else 1.0)
