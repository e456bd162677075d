"""Rounds and chamfers on chosen edges: which edges these are, and what works on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids.building.order import Part
from workbench.solids.building.seating import side_faces
from workbench.solids.geometry import kernel
from workbench.solids.geometry.faces import box_of
from workbench.solids.recipe.ease import ALL, BETWEEN, Ease
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Edge, Shape, Solid, Vector

#: What is nearer than this to an edge or a face lies on it, in mm.
_ON = 1e-4

#: Faces that meet at less than this, in degrees, are one surface to a hand.
_SMOOTH = 1.0

#: How far from an edge it is looked whether there is material, in mm.
_BESIDE = 0.004

#: An edge that was picked is no further than this from where it was picked, in mm.
_NEAR = 2.0

#: The largest size that works is found to this, in mm.
_FINE = 0.05

#: Set where nobody reads which size would work: to find that takes four times as long as to refuse.
UNREAD: ContextVar[bool] = ContextVar("unread", default=False)


def eased(
    solid: Solid,
    ease: Ease,
    parts: Mapping[str, Part],
    before: Sequence[tuple[Solid, Ease]],
) -> Solid:
    """The solid with a round or a chamfer on the edges that are meant.

    Parameters
    ----------
    parts : the shape of each step by its name, in place
    before : the eases that come first, each with the solid that it was made on; where they meet
        this one, the kernel joins them only if equal ones are made at once and larger ones first

    Raises
    ------
    RepairError
        When there is no such edge, or the size does not work there; the sentence gives the
        largest that does.
    """
    edges = chosen_edges(solid, ease, parts)
    if not edges:
        raise RepairError(
            _(
                "{where}: there is no edge to ease: it was cut away or covered, or the two do not meet; choose another edge, or a size of 0"
            ).format(where=ease.where)
        )
    found = _tried(solid, ease.size, edges, ease.chamfer)
    again = [ease]
    for sharper, one in reversed(before):
        if found is None:
            again.append(one)
            found = _larger_first(sharper, again, parts)
    if found is not None:
        return found
    most = 0.0 if UNREAD.get() else _largest(solid, ease, edges)
    what = _("chamfer") if ease.chamfer else _("round")
    if most <= 0:
        raise RepairError(
            _("{where}: no {what} works on these edges; choose others").format(
                where=ease.where, what=what
            )
        )
    raise RepairError(
        _("{where}: a {what} of {size} has no room; give at most {most}").format(
            where=ease.where, what=what, size=with_unit(ease.size), most=with_unit(most)
        )
    )


def _larger_first(sharper: Solid, eases: Sequence[Ease], parts: Mapping[str, Part]) -> Solid | None:
    """The solid with all these eases, equal ones at once and larger ones before; None if not."""
    solid = sharper
    kinds = sorted({(ease.size, ease.chamfer) for ease in eases}, reverse=True)
    for size, chamfer in kinds:
        alike = [ease for ease in eases if (ease.size, ease.chamfer) == (size, chamfer)]
        edges = dict.fromkeys(edge for ease in alike for edge in chosen_edges(solid, ease, parts))
        made = _tried(solid, size, list(edges), chamfer)
        if made is None:
            return None
        solid = made
    return solid


def chosen_edges(solid: Solid, ease: Ease, parts: Mapping[str, Part]) -> list[Edge]:
    """The edges of a solid that an ease means."""
    if ease.at is not None:
        from build123d import Vector

        place = Vector(*ease.at)
        near = min(solid.edges(), key=lambda edge: edge.distance_to(place))
        return [near] if near.distance_to(place) <= _NEAR else []
    inside = ease.which == BETWEEN
    if inside:
        lies = [_on_faces(parts[step]) for step in ease.steps]
    else:
        lies = [_on_own_edges(parts[ease.steps[0]], ease.which)]
    # Where an edge lies is soon known, which way it bends is not.
    lying = [
        edge
        for edge in solid.edges()
        if all(on(edge.position_at(part)) for part in (0.5, 0.15, 0.85) for on in lies)
    ]
    bend = _bends(solid)
    return [edge for edge in lying if bend(edge) == (-1.0 if inside else 1.0)]


def _on_faces(part: Part) -> Callable[[Vector], bool]:
    from build123d import Compound

    return _on(Compound(children=[face for solid in part.solids for face in solid.faces()]))


def _on(shape: Shape) -> Callable[[Vector], bool]:
    low, high = box_of(shape.wrapped) + np.array([[-_ON], [_ON]])

    def on(point: Vector) -> bool:
        place = np.array([point.X, point.Y, point.Z])
        return bool((low <= place).all() and (place <= high).all()) and (
            shape.distance_to(point) < _ON
        )

    return on


def _on_own_edges(part: Part, which: str) -> Callable[[Vector], bool]:
    from build123d import Compound, Face

    shapes: list[Shape] = []
    for solid in part.solids:
        faces = [Face(face) for face in side_faces(solid, which)] if which != ALL else [solid]
        shapes += [edge for face in faces for edge in face.edges()]
    if not shapes:
        return lambda _point: False
    return _on(Compound(children=shapes))


def _bends(solid: Solid) -> Callable[[Edge], float]:
    """For an edge of a solid 1 where two faces meet at an outside corner, -1 at an inside one.

    It is 0 where they go on as one, and where not two faces meet.
    """
    sides_of, inside = kernel.sides_of_edges(solid), kernel.insides(solid)

    def bend(edge: Edge) -> float:
        sides = sides_of(edge)
        if not sides:
            return 0.0
        middle = edge.position_at(0.5)
        one, other = (side.normal_at(middle) for side in sides)
        cosine = max(-1.0, min(1.0, one.dot(other)))
        if math.degrees(math.acos(cosine)) <= _SMOOTH:
            return 0.0
        # Out of one face and back behind the other: in the material at an inside corner only.
        beside = middle + (one - other * ((1 + cosine) / 2)) * _BESIDE
        return -1.0 if inside(beside) else 1.0

    return bend


def _largest(solid: Solid, ease: Ease, edges: Sequence[Edge]) -> float:
    """The largest size that works, in steps of _FINE; 0 where not even one step does."""

    def works(steps: int) -> bool:
        return _tried(solid, steps * _FINE, edges, ease.chamfer) is not None

    low, high = 0, math.ceil(ease.size / _FINE - 1e-9)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if works(middle) else (low, middle)
    return low * _FINE


def _tried(solid: Solid, size: float, edges: Sequence[Edge], chamfer: bool) -> Solid | None:
    """One sound solid of another volume, or None where it does not go."""
    try:
        tried, where = kernel.copied(solid, edges)
        made = tried.chamfer(size, None, where) if chamfer else tried.fillet(size, where)
        solids = list(kernel.solids_of(made))
    except Exception:  # the kernel raises types of its own where it does not go
        return None
    found = kernel.eased(solids, solid)
    if found is None or not found.volume > 0:
        return None
    return found if abs(found.volume - solid.volume) > 1e-9 * solid.volume else None
