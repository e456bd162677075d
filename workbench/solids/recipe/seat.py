"""Where a part stands: on a face of an earlier one, or by itself."""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import FARTHEST, Reading
from workbench.solids.parameters import Parameter, Size, one_of
from workbench.solids.recipe.same import Same
from workbench.words import _

FACES = ("top", "bottom", "left", "right", "front", "back")

#: The pairs of opposite sides, and of the edges that a face has.
OPPOSITE = {"top": "bottom", "left": "right", "front": "back"} | {
    "bottom": "top",
    "right": "left",
    "back": "front",
}

#: Sides in a mirror that stands between left and right.
OTHER_SIDE = {"left": "right", "right": "left"}

#: How far a place may be moved, in mm, and turned, in degrees.
_REACH, _ROUND = 400.0, 180.0

#: A text that says more than this, in mm or degrees, is a slip.
_FARTHEST = 10_000.0

#: What stands before the name of a place's number where a step's own sizes are named too.
PREFIX = "place."


def _shift(measure: str) -> Size:
    return Size(-_REACH, _REACH, 0.1, measure=measure)


def _angle(measure: str) -> Size:
    return Size(-_ROUND, _ROUND, 1, unit="°", measure=measure)


#: What the numbers of a seat do, and of a part that stands by itself.
SEAT_NUMBERS = {
    "along": _shift("level along the face, from its middle"),
    "across": _shift("up the face, or to the back"),
    "sink": _shift("pushed into the face"),
    "turn": _angle("turned on the face, counter-clockwise"),
    "tilt": _angle("tipped up along the face"),
    "lean": _angle("tipped up across the face"),
}
AT_NUMBERS = {
    "x": _shift("to the right"),
    "y": _shift("to the back"),
    "z": _shift("up"),
    "turn": _angle("seen from above"),
    "tilt": _angle("seen from the front"),
    "lean": _angle("seen from the left"),
}

#: What to measure to an edge of a face.
INSETS = {
    "left": _shift("from the left edge of the face to its own edge; to its middle if round"),
    "right": _shift("from the right edge of the face to its own edge; to its middle if round"),
    "front": _shift("from the front edge of the face to its own edge; to its middle if round"),
    "back": _shift("from the back edge of the face to its own edge; to its middle if round"),
    "top": _shift("from the top edge of the face to its own edge; to its middle if round"),
    "bottom": _shift("from the bottom edge of the face to its own edge; to its middle if round"),
}


def edges_of(face: str) -> tuple[str, ...]:
    """The names of a face's four edges.

    >>> edges_of("top")
    ('left', 'right', 'front', 'back')
    """
    return tuple(edge for edge in FACES[2:] + FACES[:2] if edge not in (face, OPPOSITE[face]))


def ways_of(face: str) -> tuple[str, str, str, str]:
    """The edges of a face that lie along it, back along it, across it and back across it.

    >>> ways_of("bottom")
    ('right', 'left', 'front', 'back')
    """
    along, across = _WAYS[face]
    return along, OPPOSITE[along], across, OPPOSITE[across]


#: Where "along" and "across" lead in each face, as one looks at it from outside.
_WAYS = {
    "top": ("right", "back"),
    "bottom": ("right", "front"),
    "front": ("right", "top"),
    "back": ("left", "top"),
    "left": ("front", "top"),
    "right": ("back", "top"),
}


def runs(face: str, edge: str) -> str:
    """Which of a seat's offsets an edge stands in place of: "along" or "across"."""
    if face in ("top", "bottom"):
        return "along" if edge in ("left", "right") else "across"
    return "across" if edge in ("top", "bottom") else "along"


@gate.asked
@dataclass(frozen=True)
class Seat:
    """Where a part sits: on a face of an earlier step.

    ``on`` reads "bottom of blade": the face of that step that looks down as the repair stands
    on the bench. The part's own ``by`` face (its bottom) is laid on it, centred.

    along, across : offsets in the face, in mm. On an upright face ``along`` runs level and
        ``across`` runs up; on top and bottom ``along`` runs to the right.
    turn : degrees about the line that points out of the face, counter-clockwise as one looks at
        the face
    sink : how far the part is pushed into the face, in mm
    edge : an edge of the face, such as "right", or two that hold a corner, such as
        ("right", "back"); the offset that leads to it is then not given
    inset : how far inside that edge the part's own edge stands, in mm; for two edges one number
        or a pair. A part that is round there, such as a pin or a bore, has no edge: its middle
        stands so far inside
    tilt, lean : degrees by which the part leans over before it is turned, about the middle of
        its own face: ``tilt`` from along towards out of the face, ``lean`` from across towards
        out of the face
    within : refuse a part whose own face reaches past an edge of the face

    Numbers may be texts ("2.5 mm"), Readings, or follow other sizes (:class:`Same`).
    """

    on: str
    along: float = 0.0
    across: float = 0.0
    turn: float = 0.0
    sink: float = 0.0
    by: str = "bottom"
    edge: str | tuple[str, ...] | None = None
    inset: float | tuple[float, ...] = 0.0
    tilt: float = 0.0
    lean: float = 0.0
    within: bool = False

    def __post_init__(self) -> None:
        face, _of, step = str(self.on).partition(" of ")
        if not isinstance(self.on, str) or face not in FACES or not step:
            raise RepairError(
                _(
                    'seat is {on!r}; write a face and a step, such as "bottom of blade"; faces: {faces}'
                ).format(on=self.on, faces=", ".join(FACES))
            )
        gate.choice("by", self.by, FACES)
        gate.needed(self.within, bool, "within", "True")
        self._check_edges()
        for name in ("along", "across", "turn", "sink", "tilt", "lean"):
            object.__setattr__(self, name, _finite(name, getattr(self, name)))
        several = isinstance(self.inset, tuple)
        insets = tuple(_finite("inset", one) for one in self.insets)
        object.__setattr__(self, "inset", insets if several else insets[0])

    def _check_edges(self) -> None:
        edge = tuple(self.edge) if isinstance(self.edge, list) else self.edge or None
        edge = edge[0] if isinstance(edge, tuple) and len(edge) == 1 else edge
        object.__setattr__(self, "edge", edge)
        if isinstance(self.inset, (list, np.ndarray)):
            object.__setattr__(self, "inset", tuple(self.inset))
        if edge is None and self.inset != 0.0:
            raise RepairError(
                _("inset is {value!r} and no edge is named; give edge, one of {known}").format(
                    value=self.inset, known=", ".join(edges_of(self.face))
                )
            )
        known = edges_of(self.face)
        ways = [runs(self.face, one) for one in self.edges if one in known]
        if len(set(ways)) != len(self.edges) or len(self.edges) > 2:
            raise RepairError(
                _(
                    'edge is {edge!r}; {face} has the edges {known}: give one of them, or two that meet in a corner, such as ("{first}", "{second}")'
                ).format(
                    edge=edge,
                    face=_(self.face),
                    known=", ".join(known),
                    first=known[1],
                    second=known[3],
                )
            )
        if isinstance(self.inset, tuple) and len(self.inset) != max(len(self.edges), 1):
            raise RepairError(
                _("inset has {count} numbers; give one, or one for each edge").format(
                    count=len(self.inset)
                )
            )
        for way in ways:
            if getattr(self, way) != 0.0:
                raise RepairError(
                    _(
                        "{way} is {value!r}, but the place along it follows from the edge; leave it out, or change inset"
                    ).format(way=way, value=getattr(self, way))
                )

    @property
    def face(self) -> str:
        """The face's name."""
        return self.on.partition(" of ")[0]

    @property
    def step(self) -> str:
        """The name of the step that it sits on."""
        return self.on.partition(" of ")[2]

    @property
    def edges(self) -> tuple[str, ...]:
        """The edges that it is measured from: none, one or two."""
        if self.edge is None:
            return ()
        return self.edge if isinstance(self.edge, tuple) else (self.edge,)

    @property
    def insets(self) -> tuple[float, ...]:
        """One for each edge; one where there is no edge."""
        if isinstance(self.inset, tuple):
            return self.inset
        return (self.inset,) * max(len(self.edges), 1)

    def held_by(self, edge: str, inset: float = 0.0) -> Seat:
        """The same seat measured from this edge too, in place of its offset from the middle."""
        way = runs(self.face, edge)
        kept = {
            one: size
            for one, size in zip(self.edges, self.insets, strict=False)
            if runs(self.face, one) != way
        }
        kept[edge] = inset
        along, across = (0.0 if way == one else getattr(self, one) for one in ("along", "across"))
        edges, insets = tuple(kept), tuple(kept.values())
        return replace(self, along=along, across=across, edge=edges, inset=insets).tidy()

    def tidy(self) -> Seat:
        """The same with one edge, or one inset, as itself instead of a tuple of one."""
        one = self.edges[0] if len(self.edges) == 1 else self.edges or None
        inset = self.insets[0] if len(set(self.insets)) == 1 else self.insets
        return replace(self, edge=one, inset=inset)

    def numbers(self) -> dict[str, Any]:
        """Its numbers by name: "inset" where one number holds, else "inset_right" and the like."""
        taken = {runs(self.face, edge) for edge in self.edges}
        found: dict[str, Any] = {}
        if isinstance(self.inset, tuple) and self.edges:
            found |= {f"inset_{e}": i for e, i in zip(self.edges, self.inset, strict=True)}
        elif self.edges:
            found["inset"] = self.inset
        names = ("along", "across", "sink", "turn", "tilt", "lean")
        return found | {name: getattr(self, name) for name in names if name not in taken}

    def parameter(self, name: str) -> Parameter:
        """What a number of :meth:`numbers` is: its range, unit and what to measure."""
        insets = {f"inset_{edge}": INSETS[edge] for edge in self.edges}
        if insets:
            insets["inset"] = INSETS[self.edges[0]]
        return Parameter(name, one_of(SEAT_NUMBERS | insets, name, "Seat"), 0.0)

    def blank(self, _name: str) -> float:
        """What a number is until what it follows is worked out."""
        return 0.0

    def with_numbers(self, numbers: Mapping[str, Any]) -> Seat:
        """The seat with other numbers, by the names of :meth:`numbers`."""
        given = dict(gate.needed(numbers, Mapping, "numbers", '{"along": 3}'))
        if isinstance(self.inset, tuple) and self.edges:
            old = zip(self.edges, self.inset, strict=True)
            given["inset"] = tuple(given.pop(f"inset_{edge}", size) for edge, size in old)
        return replace(self, **given)

    def mirrored(self) -> Seat:
        """Where the other hand of a part sits, left and right changed over."""
        face, edges = OTHER_SIDE.get(self.face, self.face), self.edges
        return replace(
            self,
            on=f"{face} of {self.step}",
            by=OTHER_SIDE.get(self.by, self.by),
            edge=tuple(OTHER_SIDE.get(edge, edge) for edge in edges) or None,
            along=0.0 - self.along,
            turn=0.0 - self.turn,
            tilt=0.0 - self.tilt,
        )

    def following(self, old: str, new: str) -> Seat:
        """The seat after its step was renamed from ``old`` to ``new``."""
        return replace(self, on=f"{self.face} of {new}") if self.step == old else self

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record; what came later is left out where it is not used."""
        return _record(self, ("on", "along", "across", "turn", "sink", "by"))


@gate.asked
@dataclass(frozen=True)
class At:
    """Where a part stands by itself: its own origin at (x, y, z) mm.

    lean : degrees about the x axis, from y towards z: what stands leans to the front
    tilt : degrees about the y axis, in the plane of the sketch, from x towards z, after that
    turn : degrees about the z axis, after both

    Numbers may be Readings, or follow other sizes (:class:`Same`).
    """

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    turn: float = 0.0
    tilt: float = 0.0
    lean: float = 0.0

    def __post_init__(self) -> None:
        for name in ("x", "y", "z", "turn", "tilt", "lean"):
            object.__setattr__(self, name, _finite(name, getattr(self, name)))

    def numbers(self) -> dict[str, Any]:
        """Its numbers by name."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def parameter(self, name: str) -> Parameter:
        """What a number is: its range, unit and what to measure."""
        return Parameter(name, one_of(AT_NUMBERS, name, "At"), 0.0)

    def blank(self, _name: str) -> float:
        """What a number is until what it follows is worked out."""
        return 0.0

    def with_numbers(self, numbers: Mapping[str, Any]) -> At:
        """The place with other numbers."""
        return replace(self, **gate.needed(numbers, Mapping, "numbers", '{"x": 3}'))

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record; what came later is left out where it is not used."""
        return _record(self, ("x", "y", "z", "turn", "tilt"))

    def mirrored(self) -> At:
        """Where the other hand of a part stands, left and right changed over."""
        return replace(self, x=0.0 - self.x, turn=0.0 - self.turn, tilt=0.0 - self.tilt)

    def following(self, _old: str, _new: str) -> At:
        """The place itself: it is on no step."""
        return self


Place = Seat | At


def _record(place: Place, always: tuple[str, ...]) -> dict[str, Any]:
    return {
        f.name: getattr(place, f.name)
        for f in fields(place)
        if f.name in always or getattr(place, f.name) != f.default
    }


def _finite(name: str, value: Any) -> Any:
    """The value as a float; a Reading or a size that follows others stays what it is for now."""
    if isinstance(value, (Same, Reading)):
        return value
    # Its range is kept where a person types it: a seat that was worked out may reach further.
    unit = "°" if name in ("turn", "tilt", "lean") else "mm"
    if isinstance(value, str):
        with suppress(RepairError):
            return Size(-_FARTHEST, _FARTHEST, unit=unit).check(name, value)
    try:
        if math.isfinite(value) and not isinstance(value, (bool, np.bool_)):
            if abs(value) > FARTHEST:
                return Size(-FARTHEST, FARTHEST, unit=unit).check(name, value)
            return float(value)
    except TypeError:
        pass
    raise RepairError(
        _("{name} is {value!r}{unit}; give a finite number").format(
            name=name,
            value=value,
            unit="" if isinstance(value, (bool, np.bool_)) else "°" if unit == "°" else f" {unit}",
        )
    )
