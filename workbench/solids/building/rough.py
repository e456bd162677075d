"""What a repair comes to in triangles alone, for a picture while a hand moves.

Booleans of the steps' own meshes take some milliseconds, where the exact solid may take half a
second. Rounded and chamfered edges are left out. Files, checks and numbers are of the exact solid.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids.building import build, order
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import SHARED, Cache, Kept
from workbench.solids.meshes.mesh import body_at_once
from workbench.solids.recipe.repair import Repair

if TYPE_CHECKING:
    from build123d import Solid
    from manifold3d import Manifold, OpType
    from OCP.TopoDS import TopoDS_Shape

#: A piece of less volume than this, in mm³, is rounding.
CRUMB = 1e-3

#: Decimal places of a corner, in mm. Our choice.
FIGURES = 5

#: Closed meshes of solids as they were made, each with those of the last places where it stood.
_BODIES = Kept(200)

#: The bodies of the last part, by the names of its steps; and what those came to that stood in the
#: one before as well, by how they were joined.
_LAST, _JOINED = Kept(20), Kept(40)

#: What was seen to meet: the steps that a hand moves, and bodies that come after them.
_MET = Kept(40)


@dataclass(frozen=True)
class Rough:
    """A part in triangles.

    assembly : its steps in place
    vertices, faces : (n, 3) float64, in mm, and (m, 3) int64
    owners : (m,) the number of the step on whose surface each triangle lies
    at_once : the steps whose shapes stand in for exact ones that would take the kernel long
    """

    repair: Repair
    assembly: build.Placed
    vertices: np.ndarray
    faces: np.ndarray
    owners: np.ndarray
    at_once: frozenset[str] = frozenset()


def rough(repair: Repair, cache: Cache = SHARED) -> Rough | None:
    """The repair in triangles; None where they do not come to one body, or to all that are loose.

    Raises
    ------
    RepairError
        When a step cannot be built or placed.
    """
    with kernel.LOCK:
        repair.keep_limits()
        at_once = build.made_at_once(repair, cache)
        parts = build.placed(repair, cache, at_once)
        bodies = {name: [_body(solid) for solid in part.solids] for name, part in parts.items()}
        whole = _carried_out(repair, bodies)
    if sum(piece.volume() > CRUMB for piece in whole.decompose()) != 1 + len(repair.loose):
        return None
    numbered = enumerate(bodies.values())
    owner = {body.original_id(): number for number, step in numbered for body in step}
    made = whole.to_mesh64()
    counts = np.diff(made.run_index) // 3
    return Rough(
        repair,
        build.Placed.of(parts),
        np.array(made.vert_properties)[:, :3],
        np.array(made.tri_verts, dtype=np.int64),
        np.repeat([owner[known] for known in made.run_original_id], counts),
        at_once,
    )


def _carried_out(repair: Repair, bodies: dict[str, list[Manifold]]) -> Manifold:
    """The steps carried out; under a hand that moves one of them, the others stay joined.

    What is new waits for the end where nothing of the other kind that comes after it meets it.
    """
    from manifold3d import Manifold, OpType

    last: set[int] = _LAST.get(tuple(bodies), set)
    before = frozenset(last)
    last.clear()
    done: tuple[Hashable, ...] | None = ()  # how the whole was made, while none of it is new
    whole, waiting, late = Manifold(), OpType.Add, list[Manifold]()
    moved: tuple[str, ...] = ()
    for run in order.runs(repair.steps):
        several = {body.original_id(): body for step in run.steps for body in bodies[step.name]}
        last.update(several)
        old = [body for mark, body in several.items() if mark in before]
        new = [body for mark, body in several.items() if mark not in before]
        how = OpType.Subtract if run.cuts else OpType.Add
        marks = run.cuts, *(body.original_id() for body in old)
        if late and how != waiting and (new or not _apart(late, old, marks, moved)):
            whole, done, late = Manifold.batch_boolean([whole, *late], waiting), None, []
        if done is None:  # what has changed is carried through what follows
            new += [_joined((marks,), OpType.Add, old)] if old else []
            whole = Manifold.batch_boolean([whole, *new], how)
            continue
        done = (*done, marks)
        whole = _joined(done, how, [whole, *old])
        if new:
            waiting, late = how, [*late, *new]
            moved += tuple(step.name for step in run.steps)
    return Manifold.batch_boolean([whole, *late], waiting)


def _apart(
    new: Sequence[Manifold], old: Sequence[Manifold], marks: Hashable, moved: tuple[str, ...]
) -> bool:
    """Whether no new body meets an old one; where one did before, it is not looked for again."""
    from manifold3d import OpType

    if (moved, marks) in _MET:
        return False
    joined = _joined((marks,), OpType.Add, old)
    apart = all((body ^ joined).is_empty() for body in new)
    if not apart:
        _MET.put((moved, marks), True)
    return apart


def _joined(key: Hashable, how: OpType, bodies: Sequence[Manifold]) -> Manifold:
    from manifold3d import Manifold

    def make() -> Manifold:
        joined = Manifold.batch_boolean(bodies, how)
        joined.num_tri()  # it is put off until something is asked of it
        return joined

    found: Manifold = _JOINED.get(key, make)
    return found


def _body(solid: Solid) -> Manifold:
    """A solid's mesh in place, to be told from every other; empty where it is not closed."""
    from manifold3d import Manifold

    still, move = kernel.unmoved(solid)

    def make() -> tuple[TopoDS_Shape, Manifold, Kept]:
        try:
            body = body_at_once(still)
        except RepairError:  # the whole may close all the same
            body = Manifold()
        return still.wrapped, body, Kept(20)

    _shape, body, placed = _BODIES.get(hash(still.wrapped), make)

    def put() -> Manifold:
        moved = body if move is None else body.transform(move)
        # Faces that lie in one plane do so to the last figure, or a skin would be left between them.
        return moved.warp_batch(lambda points: np.round(points, FIGURES)).as_original()

    found: Manifold = placed.get(None if move is None else move.tobytes(), put)
    return found
