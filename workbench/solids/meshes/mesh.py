"""A solid becomes one welded, watertight triangle mesh."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.building import local_edit
from workbench.solids.geometry import kernel
from workbench.solids.geometry.bounded import limited_arrays
from workbench.solids.geometry.cache import Kept
from workbench.solids.geometry.faces import (
    HOLES,
    Faces,
    box_of,
    plane_of,
    surface_of,
    together,
    wires_of,
)
from workbench.solids.geometry.quick import triangles_of
from workbench.solids.meshes.body import body_of
from workbench.solids.meshes.weld import Triangles, Welded
from workbench.solids.parameters import Size
from workbench.words import _, sizes

if TYPE_CHECKING:
    from build123d import Shape, Solid
    from manifold3d import Manifold
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

#: Default distance between the mesh and the true surface, in mm, and angle, in degrees: well
#: below what a 0.4 mm nozzle can draw.
DEVIATION = 0.02
ANGLE = 12.0

#: Solids longer than 80 mm get a distance in proportion, up to this share of their longest side,
#: so that a large ball does not take seconds. It grows in steps, by this factor: faces keep their
#: triangles as long as the step stays the same.
SHARE, COARSER = 1 / 4000, 1.5

#: While a hand moves, a shape's triangles may be this share of its longest side away from the true
#: surface, which is half a pixel or less, but no more than so many times as far as usual; and turn
#: by so much from facet to facet, less than is drawn as an edge. Our choice.
ROUGH_SHARE, ROUGHER, ROUGH_ANGLE = 1 / 1000, 2.0, 18.0

#: Where the mesh of a solid does not close, it is tried again with these shares of the distance
#: and of the angle.
FINER = ((1, 1), (1, 2 / 3), (1, 1 / 2), (1 / 2, 1 / 2), (1 / 4, 1 / 3))

#: What may be asked for. Finer than this no printer sees, and the kernel takes hours.
_DEVIATIONS, _ANGLES = Size(1e-3, 100), Size(0.5, 180, unit="°")

#: Faces of less than this, in mm, are as quick to cover with triangles as each other.
_LEAST = 0.1

Mesh = tuple[np.ndarray, np.ndarray]

#: Meshes of whole solids, the same with the faces that they are of, and triangles of single faces.
#: A union leaves most faces as they were.
_MESHES, _WELDED, _FACES = Kept(32), Kept(8), Kept(20_000)

#: Bodies that the kernel was not asked for, beside their solids.
_AT_ONCE = Kept(200)

#: Meshes of solids of no more than so many faces, such as those of single steps.
_SMALL, FEW = Kept(1000), 40

_NONE = np.empty((0, 3)), np.empty((0, 3), np.int64)


@gate.asked
def mesh(solid: Shape, deviation: float | None = None, angle: float = ANGLE) -> Mesh:
    """Triangles of a solid, welded along its edges.

    solid : a build123d shape
    deviation : greatest distance from the true surface, in mm; by default as
        :func:`deviation_for` the solid's size
    angle : greatest turn between neighbouring facets, in degrees

    Returns
    vertices : (n, 3) float64, in mm, not to be written to
    faces : (m, 3) int64 indices into vertices, counter-clockwise seen from outside

    Raises RepairError when the mesh does not close.
    """
    if not hasattr(solid, "wrapped"):
        from build123d import Shape

        gate.needed(solid, Shape, _("solid"), "build(repair)")
    if deviation is not None:
        deviation = _DEVIATIONS.check("deviation", deviation)
    if angle != ANGLE:
        angle = _ANGLES.check("angle", angle)
    with kernel.LOCK:
        key = hash(solid.wrapped), deviation, angle
        # The solid is kept beside its mesh: the kernel may give a freed one's identity again.
        kept = _SMALL if len(local_edit.index_of(solid).ids) <= FEW else _MESHES
        _solid, made = kept.get(key, lambda: (solid, _mesh(solid, deviation, angle)))
        return made


def body_at_once(solid: Shape) -> Manifold:
    """A solid in triangles that the kernel is not asked for; of the usual mesh where none are told.

    Empty where that does not close.
    """
    from manifold3d import Manifold

    known = triangles_of(solid)

    def make() -> tuple[Shape, Manifold]:
        if known is None:
            return solid, body_of(*mesh(solid)) or Manifold()
        longest = float(np.ptp(box_of(solid.wrapped), axis=0).max())
        return solid, known(rough_deviation_for(longest), ROUGH_ANGLE)

    body: Manifold = _AT_ONCE.get(hash(solid.wrapped), make)[1]
    return body


def mesh_at_once(solid: Shape) -> Mesh:
    """The triangles of :func:`body_at_once`."""
    if triangles_of(solid) is None:
        return mesh(solid)
    made = body_at_once(solid).to_mesh64()
    return np.array(made.vert_properties)[:, :3], np.array(made.tri_verts, dtype=np.int64)


def mesh_moved(solid: Solid, at_once: bool = False) -> Mesh:
    """The usual mesh of a step's solid, which goes along where the solid is only moved."""
    still, move = kernel.unmoved(solid)
    vertices, faces = mesh_at_once(still) if at_once else mesh(still)
    return kernel.points_moved(vertices, move), faces


def mesh_apart(shape: Shape, at_once: bool = False) -> Mesh:
    """Triangles of a step's shape, each of its solids closed by itself; as of :func:`mesh_at_once`.

    Those of a pattern may touch or overlap, which is no fault before they are joined.
    """
    with kernel.LOCK:
        meshes = [mesh_moved(one, at_once) for one in kernel.solids_of(shape)]
    starts = np.cumsum([0, *(len(vertices) for vertices, _faces in meshes)])
    faces = [faces + start for (_v, faces), start in zip(meshes, starts[:-1], strict=True)]
    return np.concatenate([vertices for vertices, _faces in meshes]), np.concatenate(faces)


def closes(faces: np.ndarray) -> bool:
    """Whether every edge is shared by exactly two triangles that run along it opposite ways.

    faces : (m, 3) indices of vertices
    """
    return bool(len(faces)) and not len(_odd_edges(faces)[0])


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Volume inside a closed mesh, in mm³, by the divergence theorem.

    vertices : (n, 3) in mm
    faces : (m, 3) indices, counter-clockwise seen from outside
    """
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def deviation_for(longest: float) -> float:
    """The usual distance from the true surface of a solid with that longest side, both in mm.

    >>> deviation_for(80), round(deviation_for(121), 4), round(deviation_for(179), 4)
    (0.02, 0.03, 0.03)
    """
    steps = math.floor(math.log(max(1.0, longest * SHARE / DEVIATION), COARSER) + 1e-9)
    return DEVIATION * COARSER**steps


def rough_deviation_for(longest: float) -> float:
    """The distance that does while a hand moves, of a solid with that longest side, both in mm.

    >>> rough_deviation_for(12), rough_deviation_for(31), rough_deviation_for(70)
    (0.02, 0.031, 0.04)
    """
    usual = deviation_for(longest)
    return max(usual, min(ROUGHER * usual, longest * ROUGH_SHARE))


def _mesh(solid: Shape, asked: float | None, angle: float) -> Mesh:
    from OCP.BRepTools import BRepTools

    faces = local_edit.index_of(solid)
    deviation = deviation_for(_longest(faces)) if asked is None else asked
    usual = asked is None and angle == ANGLE
    if usual:
        welded = _usual(solid, faces, deviation)
        if welded is not None:
            return _sealed((welded.vertices, welded.faces))
    surface = Welded.of(faces.ids[:0], [], {})
    for nearer, flatter in FINER:
        # Triangles of another fineness may be left on faces that this solid shares.
        BRepTools.Clean_s(solid.wrapped)
        fine = deviation * nearer, angle * flatter
        every = range(len(faces.ids))
        surface = Welded.of(faces.ids, _covered(faces, every, every, solid.wrapped, *fine), {})
        if closes(surface.faces):
            break
    else:
        raise _open(surface.vertices, surface.faces)
    if not usual or (nearer, flatter) != FINER[0]:
        BRepTools.Clean_s(solid.wrapped)
    return _sealed((surface.vertices, surface.faces))


def _usual(solid: Shape, faces: Faces, deviation: float) -> Welded | None:
    """A mesh of the usual fineness, of faces' known triangles where there are some."""

    def read(numbers: Sequence[int]) -> tuple[list[Triangles], dict[int, np.ndarray]]:
        shapes = [faces.shapes[number] for number in numbers]
        planes = _left_open(shapes)
        keys = [(identity, deviation) for identity in faces.ids[list(numbers)].tolist()]
        asked = [i for i in range(len(shapes)) if i not in planes]
        new = [i for i in asked if keys[i] not in _FACES]
        whole = together(shapes[i] for i in asked)
        found = _covered(faces, numbers, new, whole, deviation, ANGLE) if new else []
        for i, made in zip(new, found, strict=True):
            _FACES.get(keys[i], partial(_beside, shapes[i], made))
        return [
            _NONE if i in planes else _FACES.get(key, tuple)[1] for i, key in enumerate(keys)
        ], planes

    for before in local_edit.came_from(solid):
        if (before, deviation) in _WELDED:
            welded = _WELDED.get((before, deviation), tuple)[1].changed(faces, read)
            break
    else:
        welded = Welded.of(faces.ids, *read(range(len(faces.ids))))
        welded = welded if closes(welded.faces) else None
    if welded is None:
        return None
    return _WELDED.get((hash(solid.wrapped), deviation), lambda: (solid, welded))[1]


def _left_open(shapes: Sequence[TopoDS_Face]) -> dict[int, np.ndarray]:
    """Planes of the faces with many holes, by number, which are filled afterwards."""
    many = (i for i, face in enumerate(shapes) if len(wires_of(face)) > HOLES)
    planes = ((i, plane_of(shapes[i])) for i in many)
    return {i: plane for i, plane in planes if plane is not None}


def _longest(faces: Faces) -> float:
    if not len(faces.ids):
        return 0.0
    low, high = faces.boxes[:, 0].min(axis=0), faces.boxes[:, 1].max(axis=0)
    return float((high - low).max())


def _open(vertices: np.ndarray, faces: np.ndarray) -> RepairError:
    """The error for a mesh that does not close: where, and whether it touches itself there."""
    if not len(faces):
        return RepairError(_("the solid has no surface; make its sizes larger, in mm"))
    edges, pinched = _odd_edges(faces)
    place = sizes(vertices[edges[0]].mean(axis=0), 1)
    text = (
        _(
            "the solid touches itself along a line near ({place}) mm; sink a part in there a little or move it"
        )
        if pinched
        else _(
            "the surface does not close near ({place}) mm; move a part there a little or change a size"
        )
    )
    return RepairError(text.format(place=place))


def _odd_edges(faces: np.ndarray) -> tuple[np.ndarray, bool]:
    """(n, 2) edges that are not between two triangles running along them opposite ways.

    The second value says whether as many run one way as the other along each of them: then
    the surface closes, and touches itself there.
    """
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    base = int(faces.max()) + 1
    ways = np.where(edges[:, 0] < edges[:, 1], 1, -1)
    low, high = edges.min(axis=1), edges.max(axis=1)
    keys, index, count = np.unique(low * base + high, return_inverse=True, return_counts=True)
    balance = np.bincount(index.reshape(-1), weights=ways, minlength=len(keys))
    odd = (count != 2) | (balance != 0)
    pinched = bool((balance == 0).all())
    return np.stack([keys[odd] // base, keys[odd] % base], axis=1), pinched


def _sealed(made: Mesh) -> Mesh:
    for array in made:
        array.setflags(write=False)
    return made


def _covered(
    faces: Faces,
    numbers: Sequence[int],
    wanted: Sequence[int],
    whole: TopoDS_Shape,
    deviation: float,
    angle: float,
) -> list[Triangles]:
    """The triangles of some faces, within limits where a person waits.

    numbers : of the faces that are looked at; wanted : which of these, counted among them
    whole : what is covered, so that faces meet
    """
    chosen = [numbers[i] for i in wanted]

    def kinds() -> set[Hashable]:
        sizes = np.sort(np.frexp(np.maximum(np.ptp(faces.boxes[chosen], axis=1), _LEAST))[1])
        about = zip(chosen, sizes.tolist(), strict=True)
        return {(deviation, angle, surface_of(faces.shapes[n]), *size) for n, size in about}

    def make() -> list[Triangles]:
        _cover(whole, deviation, angle)
        return [_read(faces.shapes[n]) for n in chosen]

    return limited_arrays(kinds, make)


def _cover(shape: TopoDS_Shape, deviation: float, angle: float) -> None:
    """Let the kernel put triangles on each face."""
    from OCP.BRepMesh import BRepMesh_IncrementalMesh

    many = not kernel.ALONE.is_set()
    BRepMesh_IncrementalMesh(shape, deviation, False, float(np.radians(angle)), many)


def _beside(face: TopoDS_Face, made: Triangles) -> tuple[TopoDS_Face, Triangles]:
    return face, made


def _read(face: TopoDS_Face) -> Mesh:
    """The triangles that the kernel has put on a face, in place, counter-clockwise outside."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    place = TopLoc_Location()
    part = BRep_Tool.Triangulation_s(face, place)
    if part is None:
        return np.empty((0, 3)), np.empty((0, 3), np.int64)
    points = np.array([part.Node(i).Coord() for i in range(1, part.NbNodes() + 1)])
    triangles = np.array([part.Triangle(i).Get() for i in range(1, part.NbTriangles() + 1)]) - 1
    points = kernel.points_moved(points, kernel.move_of(place))
    if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        triangles = triangles[:, ::-1]
    return points, triangles
