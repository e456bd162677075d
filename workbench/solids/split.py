"""A part parted in two that go together again: a lap, a dovetail or pins, with room between."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.motion import Slide
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import At
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from workbench.solids.recipe.repair import Repair

JOINTS = ("lap", "dovetail", "pins")

#: Room between the two halves' faces, in mm: what a clearance fit asks, and what printing takes
#: of it. Common practice, no source.
GAP = 0.25

#: More room than this, in mm, is no joint.
MOST_GAP = 2.0

#: How far a tool reaches past the part, in mm.
_PAST = 2.0

#: A lap is this many times as long as the part is high, a dovetail this share of its width.
_LAP, _TAIL = 2.0, 0.4

#: A pin is this share of the smaller side of the section, at most so thick, and twice as long.
_PIN, _THICKEST = 0.4, 8.0

#: Less than this across a section, or beyond a joint, in mm, carries none.
LEAST = 3.0

#: Two lengths nearer than this, in mm, are one.
_NEAR = 1e-4


@dataclass(frozen=True)
class _Section:
    """Where the part is parted, in its own axes: u along, v across to the left of it, z up.

    at : along u; low, high : (2,) of the section along v and z
    box : (2, 3) lowest and highest u, v and z of the part
    turn : degrees from x to u
    """

    at: float
    low: np.ndarray
    high: np.ndarray
    box: np.ndarray
    turn: float

    @property
    def room(self) -> float:
        """How far a joint may reach to either side."""
        return float(min(self.at - self.box[0, 0], self.box[1, 0] - self.at)) - LEAST

    @property
    def past(self) -> tuple[tuple[float, float], ...]:
        """Lowest and highest u, v and z just outside of the part."""
        return tuple((float(low) - _PAST, float(high) + _PAST) for low, high in self.box.T)

    def place(self, u: float, v: float, z: float, **angles: float) -> At:
        """A place by the section's axes."""
        x, y = (u, v) if self.turn == 0 else (-v, u)
        return At(x=x, y=y, z=z, turn=self.turn, **angles)


def split(
    repair: Repair, at: float | tuple[str, float] | None, joint: str, gap: float
) -> tuple[Repair, Repair]:
    """See :meth:`workbench.Repair.split`."""
    gate.choice("joint", joint, JOINTS)
    gap = Size(0, MOST_GAP, 0.05).check("gap", gap)
    section = _section(repair, at)
    first = repair.copy(_("{name}, part 1").format(name=repair.name))
    second = repair.copy(_("{name}, part 2").format(name=repair.name))
    into = {"lap": _lap, "dovetail": _dovetail, "pins": _pins}[joint](first, second, section, gap)
    _refuse_loose(first, second, section, joint, into - gap)
    high = float(section.high[1] - section.low[1]) + 2 * _PAST
    along = "right" if section.turn == 0 else "back"
    motion = {
        "lap": Slide("up", high),
        "dovetail": Slide("down", high),
        "pins": Slide(along, 2 * _THICKEST + _PAST),
    }[joint]
    first.against(second, motion=motion)
    return first, second


def _refuse_loose(first: Repair, second: Repair, s: _Section, joint: str, into: float) -> None:
    """Refuse halves that cannot be made, or of which one does not reach so far into the other."""
    from workbench.solids.building.build import build

    try:
        one, two = (build(half).bounding_box() for half in (first, second))
        axis = int(s.turn > 0)
        reaches = tuple(one.max)[axis] - tuple(two.min)[axis] > into - _NEAR
        reason = "" if reaches else _("there is nothing for it to hold")
    except RepairError as error:
        reason = str(error)
    if reason:
        raise RepairError(
            _(
                "no {joint} can be made at {at} ({reason}); split it elsewhere, or with another of {known}"
            ).format(joint=joint, at=with_unit(s.at), reason=reason, known=", ".join(JOINTS))
        )


def _section(repair: Repair, at: float | tuple[str, float] | None) -> _Section:
    from workbench.solids.building.build import build
    from workbench.solids.meshes.mesh import mesh

    vertices, faces = mesh(build(repair))
    axis = int(np.ptp(vertices, axis=0)[:2].argmax())
    if isinstance(at, (tuple, list)):
        word, at = at if len(at) == 2 else (at, None)
        if word not in ("x", "y"):
            raise RepairError(
                _("split is across {axis!r}; give x (to the right) or y (to the back)").format(
                    axis=word
                )
            )
        axis = "xy".index(word)
    if axis:
        vertices = vertices[:, [1, 0, 2]] * np.array([1.0, -1.0, 1.0])
    box = np.array([vertices.min(axis=0), vertices.max(axis=0)])
    middle, half = float(box[:, 0].sum() / 2), float(np.ptp(box[:, 0]) / 2) - 2 * LEAST
    _refuse_thin(2 * half + 4 * LEAST, middle, 4 * LEAST)
    reach = Size(middle - half, middle + half, measure="along the part, clear of its ends")
    place = middle if at is None else reach.check(_("split"), at)
    points = _crossing(vertices, faces, place)
    low, high = points.min(axis=0), points.max(axis=0)
    _refuse_thin(float((high - low).min()), place, LEAST)
    return _Section(place, low, high, box, 90.0 * axis)


def _refuse_thin(thin: float, at: float, least: float) -> None:
    if thin < least:
        raise RepairError(
            _(
                "the part is only {thin} thick at {at}, too thin for a joint; split it where it is at least {least} thick"
            ).format(thin=with_unit(thin), at=with_unit(at), least=with_unit(least))
        )


def _crossing(vertices: np.ndarray, faces: np.ndarray, at: float) -> np.ndarray:
    """(n, 2) points, v and z, at which the part's edges meet the plane."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    a, b = vertices[edges[:, 0]], vertices[edges[:, 1]]
    crossing = (a[:, 0] <= at) & (b[:, 0] > at)
    a, b = a[crossing], b[crossing]
    share = (at - a[:, 0]) / (b[:, 0] - a[:, 0])
    points: np.ndarray = a + share[:, None] * (b - a)
    return points[:, 1:]


def _take(
    repair: Repair, s: _Section, outline: list[tuple[float, float]], flat: bool = False
) -> None:
    """Cut an outline in u and z through the whole width; a flat one in u and v, from top to bottom."""
    from workbench.solids.templates.panel import LARGEST

    low, high = s.past[2 if flat else 1]
    middle = (low + high) / 2
    # Leant over, a panel lies flat: its outline is seen from above.
    place = s.place(0.0, 0.0, middle, lean=-90.0) if flat else s.place(0.0, middle, 0.0)
    name = repair.free_name(_("parting"))
    repair.cut("panel", place, name, outline=outline, thickness=min(LARGEST, high - low))


def _lap(first: Repair, second: Repair, s: _Section, gap: float) -> float:
    """A step half way up: the first half's tongue lies under the second's; how far they overlap."""
    half = min(_LAP * float(s.high[1] - s.low[1]) / 2, s.room)
    (start, end), _v, (low, high) = s.past
    middle = float(s.low[1] + s.high[1]) / 2
    near, far = s.at - half, s.at + half
    beyond = [(far, low), (end, low), (end, high), (near, high)]
    _take(first, s, [*beyond, (near, middle - gap / 2), (far, middle - gap / 2)])
    before = [(start, low), (far + gap, low), (far + gap, middle + gap / 2)]
    _take(second, s, [*before, (near + gap, middle + gap / 2), (near + gap, high), (start, high)])
    return 2 * half


def _dovetail(first: Repair, second: Repair, s: _Section, gap: float) -> float:
    """A tongue, wider at its end, that slides down into its socket; how long it is."""
    across = float(s.high[0] - s.low[0])
    middle = float(s.low[0] + s.high[0]) / 2
    long = min(_TAIL * across, s.room)
    neck, end = across / 3, across / 2
    tail = [(s.at, middle - neck / 2), (s.at + long, middle - end / 2)]
    tail += [(s.at + long, middle + end / 2), (s.at, middle + neck / 2)]
    (start, stop), (right, left), _z = s.past
    beyond = [(s.at, right), (stop, right), (stop, left), (s.at, left), *tail[::-1]]
    slope = (end - neck) / 2 / long
    wider = gap * (slope + np.hypot(1, slope))  # so that the flanks keep the gap, square to them
    grown = [
        (s.at + gap, middle - neck / 2 - wider),
        (s.at + long + gap, middle - end / 2 - wider),
        (s.at + long + gap, middle + end / 2 + wider),
        (s.at + gap, middle + neck / 2 + wider),
    ]
    before = [(start, right), (s.at + gap, right), *grown, (s.at + gap, left), (start, left)]
    _take(first, s, beyond, flat=True)
    _take(second, s, before, flat=True)
    return long


def _pins(first: Repair, second: Repair, s: _Section, gap: float) -> float:
    """Two pins on the first half, and holes for them in the second; how long the pins are."""
    (start, end), _v, (low, high) = s.past
    _take(first, s, [(s.at, low), (end, low), (end, high), (s.at, high)])
    face = s.at + gap
    _take(second, s, [(start, low), (face, low), (face, high), (start, high)])
    wide, tall = (s.high - s.low).tolist()
    across = round(min(_THICKEST, _PIN * min(wide, tall, max(wide, tall) / 2)), 1)
    long = min(2 * across, s.room)
    spread = np.array([wide, 0.0] if wide >= tall else [0.0, tall]) / 4
    middle = (s.low + s.high) / 2
    for side in (-1, 1):
        v, z = middle + side * spread
        root = 1.0
        place = s.place(s.at - root, float(v), float(z), tilt=-90.0)
        name = first.free_name(_("pin"))
        first.add("cylinder", place, name, diameter=across, height=long + root)
        hole = second.free_name(_("pin hole"))
        bore = across + 2 * gap
        second.cut("cylinder", place, hole, diameter=bore, height=long + root + 2 * gap)
        second.fit(hole, "diameter", across, "clearance")
    return long


def split_of(repair: Repair, **how: Any) -> Repair:
    """The repair itself as its first part, with the second one beside it."""
    first, _second = repair.split(**how)
    repair.__dict__.update(first.__dict__)
    return repair
