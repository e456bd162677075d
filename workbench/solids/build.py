"""A repair becomes one solid: parts are seated, joined in one fuse and cut in one cut.

What did not change is not built again: each step's shape is kept, keyed by its template, its
values and where it sits; and when one step changes again and again, as under a slider, the
others stay fused.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.repair import At, Repair, Seat, Step
from workbench.words import _, number

if TYPE_CHECKING:
    from build123d import Location, Shape, Vector

_DIRECTIONS = {
    "top": (0, 0, 1),
    "bottom": (0, 0, -1),
    "left": (-1, 0, 0),
    "right": (1, 0, 0),
    "front": (0, -1, 0),
    "back": (0, 1, 0),
}

#: A face belongs to a side if it looks within 60 degrees of it.
_FACING = 0.5


@dataclass(frozen=True)
class Assembly:
    """What a repair came to.

    solid : the one solid
    parts : the shape of each step by its name, in place, before joining
    """

    solid: Shape
    parts: dict[str, Shape]


class _Kept:
    """The last few shapes, by key."""

    def __init__(self, most: int) -> None:
        self._shapes: OrderedDict[Hashable, Any] = OrderedDict()
        self._most = most

    def get(self, key: Hashable) -> Any:
        if key not in self._shapes:
            return None
        self._shapes.move_to_end(key)
        return self._shapes[key]

    def put(self, key: Hashable, shape: Any) -> Any:
        self._shapes[key] = shape
        while len(self._shapes) > self._most:
            self._shapes.popitem(last=False)
        return shape


_built = _Kept(400)
_placed = _Kept(400)
_faces = _Kept(400)
_fused = _Kept(24)
_last: list[tuple[Hashable, ...]] = []


def build(repair: Repair) -> Shape:
    """The repair as one valid solid, a build123d shape in mm with ``.volume`` in mm³.

    Raises
    ------
    RepairError
        When there is nothing to build, a template refuses its values, or the parts do not make
        one solid; the message names the parts and by how much they miss each other.
    """
    return assemble(repair).solid


def assemble(repair: Repair) -> Assembly:
    """The repair's solid together with the shape of each step; errors as for :func:`build`."""
    keys = step_keys(repair)
    parts = {step.name: _place_step(repair, step, keys) for step in repair.steps}
    added = [step for step in repair.steps if not step.cuts]
    if not added:
        raise RepairError(
            _("{name} has no parts yet; add one, such as a plate or a fin").format(name=repair.name)
        )
    solid = _fuse([parts[s.name] for s in added], tuple(keys[s.name] for s in added))
    if len(solid.solids()) != 1:
        raise _apart([(s.name, parts[s.name]) for s in added])
    cuts = [step for step in repair.steps if step.cuts]
    if cuts:
        solid = solid.cut(*(parts[s.name] for s in cuts))
    return Assembly(_one_valid(solid, cuts), parts)


def step_keys(repair: Repair) -> dict[str, Hashable]:
    """For each step, a key that changes when its shape or its place does."""
    keys: dict[str, Hashable] = {}

    def key(step: Step) -> Hashable:
        if step.name not in keys:
            under = key(repair.step(step.place.step)) if isinstance(step.place, Seat) else None
            keys[step.name] = (_shape_key(step), step.place, under)
        return keys[step.name]

    for step in repair.steps:
        key(step)
    return keys


def _shape_key(step: Step) -> Hashable:
    return catalogue.find(step.template).function, tuple(sorted(step.values.items()))


def _build_step(step: Step) -> Shape:
    key = _shape_key(step)
    kept = _built.get(key)
    if kept is not None:
        return kept
    template = catalogue.find(step.template)
    try:
        shape = template.function(**step.values)
    except RepairError as error:
        text = str(error)
        raise RepairError(text if text.startswith(step.name) else f"{step.name}: {text}") from None
    except Exception as error:  # the geometry kernel raises types of its own
        raise RepairError(
            _(
                "{step}: {template} cannot be built from these values ({reason}); go back to the last ones that worked"
            ).format(
                step=step.name, template=template.name, reason=str(error) or type(error).__name__
            )
        ) from error
    if not getattr(shape, "volume", 0) or shape.volume <= 0:
        raise RepairError(
            _(
                "{step}: {template} has no volume with these values; make its sizes larger, in mm"
            ).format(step=step.name, template=template.name)
        )
    return _built.put(key, shape)


def _place_step(repair: Repair, step: Step, keys: dict[str, Hashable]) -> Shape:
    key = keys[step.name]
    kept = _placed.get(key)
    if kept is not None:
        return kept
    shape = _build_step(step)
    return _placed.put(key, shape.moved(_location(repair, step, shape, keys)))


def _location(repair: Repair, step: Step, shape: Shape, keys: dict[str, Hashable]) -> Location:
    from build123d import Location, Plane

    place = step.place
    if isinstance(place, At):
        return Location((place.x, place.y, place.z)) * Location(
            (0, 0, 0), (0, -place.tilt, place.turn)
        )
    under = repair.step(place.step)
    seat = _face_plane(_place_step(repair, under, keys), place.face, keys[under.name])
    own = _face_plane(shape, place.by, _shape_key(step))
    # The part's own face looks the other way: turn it over about the along axis.
    inward = Plane(own.origin, own.x_dir, -own.z_dir)
    moved = Location((place.along, place.across, -place.sink), (0, 0, place.turn))
    return seat.location * moved * inward.location.inverse()


def frame(repair: Repair, step: str) -> np.ndarray:
    """(4, 4) matrix that takes a point of the step's own template to where it stands, in mm.

    Its first three columns are the template's x, y and z axes as the repair stands.
    """
    found = repair.step(step)
    where = _location(repair, found, _build_step(found), step_keys(repair))
    moved = where.wrapped.Transformation()
    matrix = np.eye(4)
    matrix[:3] = [[moved.Value(row, column) for column in range(1, 5)] for row in range(1, 4)]
    return matrix


def _face_plane(shape: Shape, side: str, key: Hashable) -> Any:
    """The plane of a named side: origin at its middle, z out of it, x along it.

    The side is the outermost plane face that looks that way, else the side of the bounding box.
    """
    kept = _faces.get((key, side))
    if kept is not None:
        return kept
    from build123d import GeomType, Plane, Vector

    out = Vector(*_DIRECTIONS[side])
    candidates = []
    for face in shape.faces().filter_by(GeomType.PLANE):
        normal = face.normal_at()
        facing = normal.dot(out)
        if facing > _FACING:
            middle = face.center()
            rank = (facing > 0.9, round(middle.dot(out), 6), round(facing, 6), face.area)
            candidates.append((rank, middle, normal))
    if candidates:
        _rank, middle, normal = max(candidates, key=lambda candidate: candidate[0])
    else:
        box = shape.bounding_box()
        half = Vector(box.size.X * out.X, box.size.Y * out.Y, box.size.Z * out.Z) / 2
        middle, normal = box.center() + half, out
    return _faces.put((key, side), Plane(middle, _along(side, normal), normal))


def _along(side: str, normal: Vector) -> Vector:
    from build123d import Vector

    if side in ("top", "bottom"):
        level = Vector(1, 0, 0)
        return (level - normal * level.dot(normal)).normalized()
    level = Vector(0, 0, 1).cross(normal)
    return level.normalized() if level.length > 1e-9 else Vector(1, 0, 0)


def _fuse(shapes: Sequence[Shape], keys: tuple[Hashable, ...]) -> Shape:
    """One n-ary fuse; where one step alone changed since the last build, the rest stays fused."""
    whole = _fused.get(keys)
    if whole is None:
        changed = _the_one_changed(keys)
        if changed is None or len(shapes) < 3:
            whole = _join(shapes)
        else:
            rest_keys = keys[:changed] + keys[changed + 1 :]
            rest = _fused.get(rest_keys)
            if rest is None:
                rest = _fused.put(rest_keys, _join([*shapes[:changed], *shapes[changed + 1 :]]))
            whole = _join([rest, shapes[changed]])
        _fused.put(keys, whole)
    _last[:] = [keys]
    return whole


def _the_one_changed(keys: tuple[Hashable, ...]) -> int | None:
    if not _last or len(_last[0]) != len(keys):
        return None
    differing = [i for i, (a, b) in enumerate(zip(_last[0], keys, strict=True)) if a != b]
    return differing[0] if len(differing) == 1 else None


def _join(shapes: Sequence[Shape]) -> Shape:
    first, *rest = shapes
    return first.fuse(*rest) if rest else first


def _one_valid(solid: Shape, cuts: Sequence[Step]) -> Shape:
    solids = solid.solids()
    if len(solids) == 1 and solids[0].is_valid and solids[0].volume > 0:
        return solids[0]
    names = ", ".join(step.name for step in cuts) or _("the parts")
    if not solids:
        raise RepairError(
            _("{cuts} takes everything away; make the cut smaller").format(cuts=names)
        )
    if len(solids) > 1:
        raise RepairError(
            _("{cuts} leaves {count} loose pieces; make the cut smaller or move it").format(
                cuts=names, count=len(solids)
            )
        )
    raise RepairError(
        _("{cuts} leaves a surface that does not close; move it by 0.1 mm or change a size").format(
            cuts=names
        )
    )


def _apart(parts: Sequence[tuple[str, Shape]]) -> RepairError:
    """Which parts are not joined to the first, and by how much they miss."""
    joined = [parts[0]]
    loose = list(parts[1:])
    grown = True
    while grown:
        grown = False
        for item in list(loose):
            if any(len(_join([part, item[1]]).solids()) == 1 for _name, part in joined):
                joined.append(item)
                loose.remove(item)
                grown = True
    if not loose:
        raise RepairError(_("the parts do not make one solid; sink one a little, such as 0.2 mm"))
    gap, name, nearest = min(
        (part.distance_to(other), name, other_name)
        for name, part in loose
        for other_name, other in joined
    )
    if math.isclose(gap, 0, abs_tol=1e-6):
        return RepairError(
            _(
                "{a} and {b} touch only along an edge or at a point; sink {a} by 0.2 mm or move it"
            ).format(a=name, b=nearest)
        )
    return RepairError(
        _("{a} misses {b} by {gap} mm; move it or make it longer").format(
            a=name, b=nearest, gap=number(gap, 3)
        )
    )
