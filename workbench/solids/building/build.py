"""A repair becomes one solid: its steps get their shapes and places, and are carried out in order.

What did not change is not built again: each step's shape is kept, keyed by its template, its
values and where it sits.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Collection, Hashable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from workbench import data, gate
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building import flat_union, order, patterns, seat_edges, seating
from workbench.solids.building.eased_edges import eased
from workbench.solids.building.order import Part
from workbench.solids.facts import NONE, facts_of
from workbench.solids.geometry import kernel
from workbench.solids.geometry.bounded import (
    about,
    bounded,
    limited,
    limited_arrays,
    rehearse,
    tried,
)
from workbench.solids.geometry.cache import SHARED, Cache, Key, key_of
from workbench.solids.geometry.quick import enough, reflected
from workbench.solids.recipe.ease import Ease
from workbench.solids.recipe.repair import Repair, a_repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step
from workbench.solids.shapes.rounding import rounded
from workbench.words import _

if TYPE_CHECKING:
    from build123d import Shape, Solid


#: A face that looks along an axis but for this, as a cosine, is square to it.
_ALONG = 1e-6


@dataclass(frozen=True)
class Placed:
    """The steps of a repair in place, before joining.

    parts : the shape of each step by its name
    first : of a step that stands several times, the first one's shape; else the same
    counts : how often each step stands
    """

    parts: dict[str, Shape]
    first: dict[str, Shape]
    counts: dict[str, int]

    @classmethod
    def of(cls, parts: dict[str, Part], **more: Any) -> Self:
        """What is known of steps, by their names."""
        return cls(
            parts={name: part.whole for name, part in parts.items()},
            first={name: part.one for name, part in parts.items()},
            counts={name: len(part.solids) // part.pieces for name, part in parts.items()},
            **more,
        )


@dataclass(frozen=True)
class Assembly(Placed):
    """What a repair came to: its steps, and the one solid."""

    solid: Shape


@gate.asked
def build(repair: Repair, cache: Cache = SHARED) -> Shape:
    """The repair as one valid solid, a build123d shape in mm with ``.volume`` in mm³.

    Parameters
    ----------
    repair : what to build
    cache : keeps what was built before; all builds share one unless told otherwise

    Raises
    ------
    RepairError
        When there is nothing to build, a template refuses its values, or the parts do not make
        one solid; the message names the parts and by how much they miss each other.
    """
    return assemble(repair, gate.needed(cache, Cache, "cache", "Cache()")).solid


def assemble(repair: Repair, cache: Cache = SHARED) -> Assembly:
    """The repair's solid together with the shape of each step; as for :func:`build`."""
    with kernel.LOCK:
        a_repair(repair).keep_limits()
        key, solid, parts = _carried_out(repair, (), cache)
        before: list[tuple[Shape, Ease]] = []
        for number, ease in enumerate(repair.eases):
            key, edged = (key, ease), solid
            kind = partial(_eased_kind, repair, number + 1)
            make = partial(eased, edged, ease, parts, tuple(before))
            before.append((edged, ease))
            solid = cache.wholes.get(key, partial(bounded, kind, make, edged))
        if repair.rounding:
            sharp_one, radius = solid, repair.rounding
            kind = partial(_eased_kind, repair, None)
            round_all = partial(bounded, kind, lambda: rounded(sharp_one, radius), sharp_one)
            solid = cache.wholes.get((key, radius), round_all)
        return Assembly.of(parts, solid=solid)


def sharp(repair: Repair, without: Collection[str] = (), cache: Cache = SHARED) -> Solid:
    """The repair's solid before any rounding, with some steps left out and the others in place.

    Raises
    ------
    RepairError
        As for :func:`build`.
    """
    with kernel.LOCK:
        return _carried_out(repair, without, cache)[1]


def _carried_out(
    repair: Repair, without: Collection[str], cache: Cache
) -> tuple[Hashable, Shape, dict[str, Part]]:
    """A key for what the steps come to, that, and the shape of every step in place."""
    return tried(
        lambda: (_kind(repair), frozenset(without)), lambda: _joined(repair, without, cache)
    )


def rehearsed(repair: Repair, look: Callable[[], object]) -> None:
    """Find out what of a first look at a repair is quick: in one copy of the process, unless a part
    of the shelf is of its kind."""
    with kernel.LOCK:
        rehearse(lambda: (_kind(repair), frozenset()), look, lambda: mark(repair) in _on_shelf())


def mark(repair: Repair) -> str:
    """What tells the kind of a repair from others, in every process and whatever steps are called."""
    told = json.dumps(_eased_kind(repair, None), default=_name)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def _name(kind: Any) -> str:
    return f"{kind.__module__}.{kind.__qualname__}" if hasattr(kind, "__qualname__") else repr(kind)


@lru_cache(maxsize=1)
def _on_shelf() -> frozenset[str]:
    """Marks of the parts of the shelf that are quick: see tests/shelf_marks.py."""
    lines = (data.HERE / "shelf_marks.txt").read_text(encoding="utf-8").splitlines()
    return frozenset(line.split()[0] for line in lines)


def _joined(
    repair: Repair, without: Collection[str], cache: Cache
) -> tuple[Hashable, Shape, dict[str, Part]]:
    keys, parts = step_keys(repair), placed(repair, cache)
    for step in repair.steps:
        cache.sound.get(_shape_key(step), partial(_refuse_unsound, step, cache))
    steps = [step for step in repair.steps if step.name not in without]
    if all(step.cuts for step in steps):
        raise RepairError(
            _("{name} has no parts yet; add one, such as a plate or a fin").format(name=repair.name)
        )
    return *order.carried_out(steps, parts, keys, cache, 1 + len(repair.loose)), parts


def placed(
    repair: Repair, cache: Cache = SHARED, quick: frozenset[str] = frozenset()
) -> dict[str, Part]:
    """The shape of every step in place, by its name, not yet known to be sound.

    quick : names of the steps whose shapes are made at once
    """
    keys = step_keys(repair, quick)
    return tried(
        lambda: (_kind(repair), "placed", quick),
        lambda: {step.name: _placed(repair, step, keys, cache, quick) for step in repair.steps},
    )


def _kind(repair: Repair) -> Hashable:
    """What a repair is like: another of its kind takes about as long to build."""
    number = _numbers(repair)
    return tuple(
        (
            *_alike(_shape_key(step)),
            step.cuts,
            type(step.repeat),
            step.mirror,
            (number[step.place.step], step.place.face) if isinstance(step.place, Seat) else "",
        )
        for step in repair.steps
    )


def _numbers(repair: Repair) -> dict[str, int]:
    return {step.name: number for number, step in enumerate(repair.steps)}


@lru_cache(maxsize=1000)
def _alike(shape: Key) -> tuple[Hashable, Hashable]:
    function, (values, _hand) = shape.parts[0], shape.parts[1].parts
    return function, about(values)


def _eased_kind(repair: Repair, count: int | None) -> Hashable:
    """What a repair is like with its first ``count`` eased edges, or with all and its rounding."""
    number = _numbers(repair)
    eases = tuple(
        (ease.which, tuple(map(number.get, ease.steps)), ease.chamfer, ease.at, about(ease.size))
        for ease in repair.eases[:count]
    )
    return _kind(repair), eases, about(repair.rounding) if count is None else None


def frame(repair: Repair, step: str, cache: Cache = SHARED) -> np.ndarray:
    """(4, 4) matrix that takes a point of the step's own template to where it stands, in mm.

    Its first three columns are the template's x, y and z axes as the repair stands.
    """
    with kernel.LOCK:
        part = _placed(repair, repair.step(step), step_keys(repair), cache)
        return part.matrix.copy()


def made_at_once(repair: Repair, cache: Cache = SHARED) -> frozenset[str]:
    """The steps whose exact shapes are not made yet, and whose templates give quick ones."""
    return frozenset(
        step.name
        for step in repair.steps
        if _shape_key(step) not in cache.built
        and facts_of(step.template).quick(step.values)
        and not (facts_of(step.template).axial and _shows_flanks(repair, step))
    )


def _shows_flanks(repair: Repair, step: Step) -> bool:
    """Whether more than a step's two ends counts for where it or another one sits."""
    seats = [other.place for other in repair.steps if isinstance(other.place, Seat)]
    sides = {seat.face for seat in seats if seat.step == step.name}
    own = step.place
    if isinstance(own, Seat):
        sides.add(own.by)
    return not sides <= {"top", "bottom"} or (isinstance(own, Seat) and own.within)


def step_keys(repair: Repair, quick: frozenset[str] = frozenset()) -> dict[str, Hashable]:
    """For each step, a key that changes when its shape or its place does."""
    keys: dict[str, Hashable] = {}

    def key(step: Step) -> Hashable:
        if step.name not in keys:
            under = key(repair.step(step.place.step)) if isinstance(step.place, Seat) else None
            function = catalogue.find(step.template).function
            how = ("quick",) if step.name in quick else ()
            keys[step.name] = key_of(function, step.shape, step.placing, under, *how)
        return keys[step.name]

    for step in repair.steps:
        key(step)
    return keys


def _shape_key(step: Step, quick: frozenset[str] = frozenset()) -> Key:
    how = ("quick",) if step.name in quick else ()
    return key_of(catalogue.find(step.template).function, step.shape, *how)


# -- parts -------------------------------------------------------------------------------------


def _placed(
    repair: Repair,
    step: Step,
    keys: dict[str, Hashable],
    cache: Cache,
    quick: frozenset[str] = frozenset(),
) -> Part:
    def make() -> Part:
        part = _built(step, cache, quick)
        under: Part | None = None
        if isinstance(step.place, Seat):
            below = repair.step(step.place.step)
            under = _placed(repair, below, keys, cache, quick)
            seat = _face(below, under, step.place.face, keys[below.name], cache)
            own = _face(step, part, step.place.by, _shape_key(step, quick), cache)
            place = seat_edges.held(step, under.whole, seat, part.one, own)
            move = seating.seated(place, seat, own)
            about = seat @ seating.shifted(place.along, place.across)
        else:
            move = seating.freely(step.place)
            about = seating.shifted(step.place.x, step.place.y, step.place.z)
        if step.repeat is None and not step.mirror:
            return _at(part, move)
        first, *others = patterns.moves(step, under, about)
        solids = [
            solid for other in others for solid in _at(part, _kept(step, part, other @ move)).solids
        ]
        one = _at(part, first @ move)
        # Several are joined as solids: a sheet is one outline.
        made = Part(one.shape, one.matrix, (*one.more, *solids), part.pieces)
        patterns.refuse_crowd(step, made)
        return made

    return cache.placed.get(keys[step.name], make)


def _kept(step: Step, part: Part, move: np.ndarray) -> np.ndarray:
    """A part's move, turned back into its own hand where it has one only."""
    if np.linalg.det(move[:3, :3]) < 0 and facts_of(step.template).one_hand:
        return move @ part.matrix @ kernel.OTHER_HAND @ np.linalg.inv(part.matrix)
    return move


def _at(part: Part, move: np.ndarray) -> Part:
    """A part in its own place, moved; a reflection in the move makes it the other hand."""
    matrix = move @ part.matrix
    if np.linalg.det(move[:3, :3]) < 0:
        first, *more = (reflected(solid, move) for solid in part.solids)
        return Part(first, matrix, tuple(more), part.pieces)
    first, *more = (kernel.solid_moved(solid, move) for solid in part.solids)

    def flat() -> flat_union.Sheet | None:
        return part.sheet and part.sheet.moved(move)

    return Part(first, matrix, tuple(more), part.pieces, flat)


def _face(step: Step, part: Part, side: str, key: Hashable, cache: Cache) -> np.ndarray:
    def make() -> np.ndarray:
        face = seating.face_frame(part.whole, side)
        known = getattr(catalogue.find(step.template).function, "facts", NONE)
        if not known.axial or part.more:
            return face
        # The end of a thread, or of a gear with odd teeth, is not about its axis.
        axis, foot = part.matrix[:3, 2], part.matrix[:3, 3]
        if abs(face[:3, 2] @ axis) > 1 - _ALONG:
            face = face.copy()
            face[:3, 3] = foot + axis * (axis @ (face[:3, 3] - foot))
        return face

    return cache.faces.get((key, side), make)


def _built(step: Step, cache: Cache, quick: frozenset[str] = frozenset()) -> Part:
    at_once = step.name in quick

    def make() -> Part:
        solids = limited(
            lambda: (_alike(_shape_key(step)), at_once),
            lambda: _solids(step, _made(step, at_once), at_once),
        )
        hand = np.eye(4)
        if step.other_hand:
            hand = kernel.OTHER_HAND
            solids = [reflected(solid, hand) for solid in solids]
        first, *more = solids
        if more:
            return Part(first, hand, tuple(more), len(solids))
        return Part(first, hand, flat=partial(flat_union.Sheet.of, first))

    return cache.built.get(_shape_key(step, quick), make)


def _made(step: Step, at_once: bool = False) -> Any:
    """What the template gives, with whatever it raises put in words."""
    template = catalogue.find(step.template)
    try:
        with enough() if at_once else nullcontext():
            return template.function(**step.values)
    except RepairError as error:
        text = str(error)
        raise RepairError(
            text if text.startswith(f"{step.name}:") else f"{step.name}: {text}"
        ) from None
    except Exception as error:  # the kernel and users' own templates raise types of their own
        raise RepairError(
            _(
                "{step}: {template} cannot be built from these values ({reason}); go back to the last ones that worked"
            ).format(
                step=step.name, template=template.name, reason=str(error) or type(error).__name__
            )
        ) from error


def _solids(step: Step, made: Any, at_once: bool = False) -> list[Solid]:
    """The one solid that a template gave, or its pieces; RepairError where it is not that."""
    from build123d import Shape

    shape = getattr(made, "part", made)
    solids = list(kernel.solids_of(shape)) if isinstance(shape, Shape) and shape.wrapped else []
    names = {"step": step.name, "template": step.template}
    if not solids:
        raise RepairError(
            _(
                "{step}: {template} gave no solid; let it return a build123d solid with a volume"
            ).format(**names)
        )
    if len(solids) > 1 and not at_once and not facts_of(step.template).pieces:
        raise RepairError(
            _(
                "{step}: {template} gave {count} loose pieces; change its sizes so that they join, or add each as a step"
            ).format(count=len(solids), **names)
        )
    return solids


def _refuse_unsound(step: Step, cache: Cache) -> None:
    solids = _built(step, cache).solids
    if not limited_arrays(lambda: {("sound", _alike(_shape_key(step)))}, lambda: _sound(solids)):
        raise RepairError(
            _(
                "{step}: {template} gave a surface that does not close or touches itself; change its sizes a little"
            ).format(step=step.name, template=step.template)
        )


def _sound(solids: Sequence[Solid]) -> bool:
    return all(kernel.sound(solid) and kernel.volume(solid) > 0 for solid in solids)
