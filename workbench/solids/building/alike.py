"""Of equal shapes that stand alike, one is joined or cut; the others are what that one came to, moved.

Pegs on a plate stand alike where round each of them there is the same plane and nothing else. The
kernel joins the first. Its faces, and its foot, a wire in the plane, are then moved to the others::

    +-----------------------------+
    |   +- - -+  +- - -+          |
    |   |  O  |=>   O     => ...  |
    |   +- - -+  +- - -+          |
    +-----------------------------+

The same goes for a hole that leads in by one plane and out by another.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.building import standing
from workbench.solids.building.local_edit import (
    MARGIN,
    Near,
    Region,
    closed,
    index_of,
    parted,
    same_plane,
)
from workbench.solids.geometry import kernel
from workbench.solids.geometry.faces import (
    Faces,
    Stamp,
    Wire,
    box_round,
    known_box,
    meet,
    plane_of,
    wires_of,
    within,
)

if TYPE_CHECKING:
    from build123d import Solid
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS_Face

Solids = Sequence["Solid"]

#: Decimals of mm, and of a direction, to which planes round equal shapes are the same.
_DECIMALS = 9


def union(solids: Solids) -> Solids:
    """As :func:`kernel.union`."""
    return _carried_out([], solids, standing.union)


def difference(before: Solids, tools: Solids) -> Solids:
    """As :func:`kernel.difference`."""
    return _carried_out(before, tools, partial(kernel.difference, before))


def _carried_out(before: Solids, solids: Solids, carry_out: Callable[[Solids], Solids]) -> Solids:
    groups = _groups(before, solids)
    if groups:
        spared = {number for group in groups for number in group.numbers[1:]}
        few = carry_out([solid for i, solid in enumerate(solids) if i not in spared])
        made = _copied(few[0], groups) if len(few) == 1 and kernel.sound(few[0]) else None
        if made is not None:
            return [made]
    return carry_out(solids)


@dataclass
class _Group:
    """Equal shapes that stand alike: their numbers, the boxes (2, 3) round them, and where they stand."""

    numbers: list[int] = field(default_factory=list)
    boxes: list[np.ndarray] = field(default_factory=list)
    places: list[TopLoc_Location] = field(default_factory=list)


def _groups(before: Solids, solids: Solids) -> list[_Group]:
    """Those of the solids that are equal and stand alike, each apart from all others but one."""
    from OCP.TopLoc import TopLoc_Location

    still = TopLoc_Location()
    kinds = [hash(solid.wrapped.Located(still)) for solid in solids]
    several = {kind for kind, count in Counter(kinds).items() if count > 1}
    if not several:
        return []
    everything = [*solids, *before]
    boxes = np.array([box_round(solid.wrapped) for solid in everything])
    found: dict[int, tuple[int, np.ndarray, list[np.ndarray]]] = {}
    hosts: dict[int, standing.Host] = {}
    for number, kind in enumerate(kinds):
        if kind not in several:
            continue
        box = boxes[number] + np.array([[-MARGIN], [MARGIN]])
        met = np.flatnonzero(meet(box, boxes))
        met = met[met != number]
        if len(met) != 1 or (before and met[0] < len(solids)):
            continue
        host = int(met[0])
        if host not in hosts:
            hosts[host] = standing.Host(everything[host])
        round_it = hosts[host].planes_round(box)
        if round_it:
            found[number] = host, box, list(round_it.values())
    alike: dict[object, _Group] = defaultdict(_Group)
    for number, (host, box, planes) in found.items():
        if host not in found:
            place = solids[number].wrapped.Location()
            seen = sorted(_seen_from(place, planes))
            group = alike[kinds[number], tuple(seen)]
            group.numbers.append(number)
            group.boxes.append(box)
            group.places.append(place)
    return [group for group in alike.values() if len(group.numbers) > 1]


def _seen_from(place: TopLoc_Location, planes: Sequence[np.ndarray]) -> Iterator[tuple[float, ...]]:
    """Planes as something that stands in a place has them round it."""
    move = kernel.move_of(place)
    for plane in planes:
        own = plane
        if move is not None:
            own = np.array([*plane[:3] @ move[:, :3], plane[3] - plane[:3] @ move[:, 3]])
        yield tuple(np.round(own, _DECIMALS).tolist())


def _copied(solid: Solid, groups: Sequence[_Group]) -> Solid | None:
    """A solid with what the first of each group came to moved to the others; None where that does not go."""
    old = index_of(solid)
    into: dict[int, list[Wire]] = defaultdict(list)
    made: list[TopoDS_Face] = []
    for group in groups:
        here = _near(old, group.boxes[0])
        if here is None:
            return None
        feet = {number: wires for number, (wires, _out) in here.crossing.items() if wires}
        planes = [(plane_of(old.shapes[number]), len(wires)) for number, wires in feet.items()]
        stamp = Stamp(old, here.inside, [wire for wires in feet.values() for wire in wires])
        for box, place in zip(group.boxes[1:], group.places[1:], strict=True):
            there = _near(old, box)
            if not feet or there is None or there.inside:
                return None
            way = place.Multiplied(group.places[0].Inverted())
            move = kernel.move_of(way)
            if move is None:  # two in one place
                return None
            faces, wires = stamp.at(way, move)
            made += map(kernel.found_valid, faces)
            left = iter(wires)
            for plane, count in planes:
                number = _carrier(old, there, plane, move)
                if number is None:
                    return None
                into[number] += islice(left, count)
    gone = np.zeros(len(old.ids), dtype=bool)
    for number, wires in into.items():
        gone[number] = True
        # Where the first of them is valid in its plane, so are the others: nothing else is near.
        face = within(old.shapes[number], [*wires_of(old.shapes[number]), *wires])
        made.append(kernel.found_valid(known_box(face, old.boxes[number])))
    return closed(old.but(gone, Faces.listed(made)))


def _near(faces: Faces, box: np.ndarray) -> Near | None:
    """The faces in a box and those that lead through it; None where an edge does."""
    found, more = parted(faces, np.flatnonzero(meet(box, faces.boxes)), Region(box[None]))
    return None if more else found


def _carrier(old: Faces, there: Near, plane: np.ndarray | None, move: np.ndarray) -> int | None:
    """The one face in whose plane (4,) another comes to lie after a (3, 4) move."""
    if plane is None:
        return None
    normal = move[:, :3] @ plane[:3]
    wanted = np.array([*normal, plane[3] + normal @ move[:, 3]])
    found = [
        number
        for number, (wires, _out) in there.crossing.items()
        if not wires
        and (other := plane_of(old.shapes[number])) is not None
        and same_plane(wanted, other)
    ]
    return found[0] if len(found) == 1 else None
