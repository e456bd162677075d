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
from workbench.words import _, sized, with_unit

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

#: Less than this across a section, in mm, carries no joint.
LEAST = 3.0


@dataclass(frozen=True)
class _Section:
    """Where the part is parted, in its own axes: u along, v across to the left of it, z up.

    at : along u; low, high : (2,) of the section along v and z; ends : of the part along u
    turn : degrees from x to u
    """

    at: float
    low: np.ndarray
    high: np.ndarray
    ends: tuple[float, float]
    turn: float

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
    {"lap": _lap, "dovetail": _dovetail, "pins": _pins}[joint](first, second, section, gap)
    high = float(section.high[1] - section.low[1]) + 2 * _PAST
    along = "right" if section.turn == 0 else "back"
    motion = {
        "lap": Slide("up", high),
        "dovetail": Slide("down", high),
        "pins": Slide(along, 2 * _THICKEST + _PAST),
    }[joint]
    first.against(second, motion=motion)
    return first, second


def _section(repair: Repair, at: float | tuple[str, float] | None) -> _Section:
    from workbench.solids.building.build import build
    from workbench.solids.meshes.mesh import mesh

    vertices, faces = mesh(build(repair))
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    axis = int((high - low)[:2].argmax())
    if isinstance(at, (tuple, list)):
        word, at = at if len(at) == 2 else (at, None)
        if word not in ("x", "y"):
            raise RepairError(
                _("split is across {axis!r}; give x (to the right) or y (to the back)").format(
                    axis=word
                )
            )
        axis = "xy".index(word)
    reach = Size(-10_000, 10_000)
    place = float((low + high)[axis] / 2) if at is None else reach.check(_("split"), at)
    if not low[axis] + LEAST < place < high[axis] - LEAST:
        raise RepairError(
            _(
                "split is at {at} and the part reaches from {low} to {high}; give a place within"
            ).format(
                at=with_unit(place), low=sized(float(low[axis])), high=with_unit(float(high[axis]))
            )
        )
    points = _crossing(vertices, faces, axis, place)
    if axis:
        points = points * np.array([-1.0, 1.0])
    lowest, highest = points.min(axis=0), points.max(axis=0)
    if (highest - lowest).min() < LEAST:
        raise RepairError(
            _(
                "the part is {thin} through at {at}, too thin for a joint; split it where it has {least}"
            ).format(
                thin=with_unit(float((highest - lowest).min())),
                at=with_unit(place),
                least=with_unit(LEAST),
            )
        )
    ends = float(low[axis]) - _PAST, float(high[axis]) + _PAST
    return _Section(place, lowest, highest, ends, 90.0 * axis)


def _crossing(vertices: np.ndarray, faces: np.ndarray, axis: int, at: float) -> np.ndarray:
    """(n, 2) points across and up at which the part's edges meet the plane."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    a, b = vertices[edges[:, 0]], vertices[edges[:, 1]]
    crossing = (a[:, axis] <= at) & (b[:, axis] > at)
    a, b = a[crossing], b[crossing]
    share = (at - a[:, axis]) / (b[:, axis] - a[:, axis])
    points: np.ndarray = a + share[:, None] * (b - a)
    return points[:, [1 - axis, 2]]


def _lap(first: Repair, second: Repair, s: _Section, gap: float) -> None:
    """A step half way up: the first half's tongue lies under the second's."""
    half = _LAP * float(s.high[1] - s.low[1]) / 2
    low, high = float(s.low[1]) - _PAST, float(s.high[1]) + _PAST
    middle = float(s.low[1] + s.high[1]) / 2
    near, far = s.at - half, s.at + half
    beyond = [(far, low), (s.ends[1], low), (s.ends[1], high), (near, high)]
    _take(first, s, [*beyond, (near, middle - gap / 2), (far, middle - gap / 2)])
    before = [(s.ends[0], low), (far + gap, low), (far + gap, middle + gap / 2)]
    _take(
        second, s, [*before, (near + gap, middle + gap / 2), (near + gap, high), (s.ends[0], high)]
    )


def _take(repair: Repair, s: _Section, outline: list[tuple[float, float]]) -> None:
    """Cut an outline in u and z through the whole width."""
    wide = float(s.high[0] - s.low[0]) + 2 * _PAST
    place = s.place(0.0, float(s.low[0] + s.high[0]) / 2, 0.0)
    repair.cut("panel", place, _("parting"), outline=outline, thickness=_through(repair, s, wide))


def _through(repair: Repair, s: _Section, wide: float) -> float:
    """A thickness that reaches through all of the part about the section's middle."""
    from workbench.solids.building.build import build
    from workbench.solids.templates.panel import LARGEST

    box = build(repair).bounding_box()
    size = (box.size.Y, box.size.X)[int(s.turn > 0)]
    return float(min(LARGEST, max(wide, 2 * size + 2 * _PAST)))


def _dovetail(first: Repair, second: Repair, s: _Section, gap: float) -> None:
    """A tongue, wider at its end, that slides down into its socket."""
    across = float(s.high[0] - s.low[0])
    middle = float(s.low[0] + s.high[0]) / 2
    long = _TAIL * across
    neck, end = across / 3, across / 2
    tail = [(s.at, middle - neck / 2), (s.at + long, middle - end / 2)]
    tail += [(s.at + long, middle + end / 2), (s.at, middle + neck / 2)]
    reach = _through(first, s, across) / 2
    far = [(s.ends[1], middle + reach), (s.at, middle + reach)]
    beyond = [(s.at, middle - reach), (s.ends[1], middle - reach), *far, *tail[::-1]]
    slope = (end - neck) / 2 / long
    wider = gap * (slope + np.hypot(1, slope))  # so that the flanks keep the gap, square to them
    grown = [
        (s.at + gap, middle - neck / 2 - wider),
        (s.at + long + gap, middle - end / 2 - wider),
        (s.at + long + gap, middle + end / 2 + wider),
        (s.at + gap, middle + neck / 2 + wider),
    ]
    before = [(s.ends[0], middle - reach), (s.at + gap, middle - reach), *grown]
    before += [(s.at + gap, middle + reach), (s.ends[0], middle + reach)]
    for repair, outline in ((first, beyond), (second, before)):
        box = _height(repair)
        # Leant over, a panel lies flat: its outline is seen from above.
        place = s.place(0.0, 0.0, (box[0] + box[1]) / 2, lean=-90.0)
        repair.cut(
            "panel",
            place,
            _("parting"),
            outline=outline,
            thickness=box[1] - box[0] + 2 * _PAST,
        )


def _height(repair: Repair) -> tuple[float, float]:
    from workbench.solids.building.build import build

    box = build(repair).bounding_box()
    return float(box.min.Z), float(box.max.Z)


def _pins(first: Repair, second: Repair, s: _Section, gap: float) -> None:
    """Two pins on the first half, and holes for them in the second."""
    low, high = float(s.low[1]) - _PAST, float(s.high[1]) + _PAST
    _take(first, s, [(s.at, low), (s.ends[1], low), (s.ends[1], high), (s.at, high)])
    face = s.at + gap
    _take(second, s, [(s.ends[0], low), (face, low), (face, high), (s.ends[0], high)])
    wide, tall = (s.high - s.low).tolist()
    across = round(min(_THICKEST, _PIN * min(wide, tall, max(wide, tall) / 2)), 1)
    spread = np.array([wide, 0.0] if wide >= tall else [0.0, tall]) / 4
    middle = (s.low + s.high) / 2
    for count, side in enumerate((-1, 1), 1):
        v, z = middle + side * spread
        root = 1.0
        first.add(
            "cylinder",
            s.place(s.at - root, float(v), float(z), tilt=90.0),
            _("pin {count}").format(count=count),
            diameter=across,
            height=2 * across + root,
        )
        hole = _("pin hole {count}").format(count=count)
        second.cut(
            "cylinder",
            s.place(s.at - root, float(v), float(z), tilt=90.0),
            hole,
            diameter=across + 2 * gap,
            height=2 * across + root + 2 * gap,
        )
        second.fit(hole, "diameter", across, "clearance")


def split_of(repair: Repair, **how: Any) -> Repair:
    """The repair itself as its first part, with the second one beside it."""
    first, _second = repair.split(**how)
    repair.__dict__.update(first.__dict__)
    return repair
