"""A repair becomes one solid: parts are seated, joined in one union and cut in one cut.

What did not change is not built again: each step's shape is kept, keyed by its template, its
values and where it sits; flat parts of one thickness are joined as outlines; and when one step
changes again and again, as under a slider, the others stay joined.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.errors import RepairError
from workbench.solids import apart, catalogue, flat, kernel, seating
from workbench.solids.cache import SHARED, Cache
from workbench.solids.repair import Repair
from workbench.solids.rounding import rounded
from workbench.solids.seat import Seat
from workbench.solids.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from build123d import Shape, Solid


@dataclass(frozen=True)
class Assembly:
    """What a repair came to.

    solid : the one solid
    parts : the shape of each step by its name, in place, before joining
    """

    solid: Shape
    parts: dict[str, Shape]


@dataclass(frozen=True)
class _Part:
    """A step's shape, the same as a sheet where it is flat, and the (4, 4) move to its place."""

    shape: Solid
    sheet: flat.Sheet | None
    matrix: np.ndarray


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
    return assemble(repair, cache).solid


def assemble(repair: Repair, cache: Cache = SHARED) -> Assembly:
    """The repair's solid together with the shape of each step; as for :func:`build`."""
    with kernel.LOCK:
        keys = step_keys(repair)
        parts = {step.name: _placed(repair, step, keys, cache) for step in repair.steps}
        added = [step for step in repair.steps if not step.cuts]
        cuts = [step for step in repair.steps if step.cuts]
        if not added:
            raise RepairError(
                _("{name} has no parts yet; add one, such as a plate or a fin").format(
                    name=repair.name
                )
            )
        key = frozenset(keys[s.name] for s in added), frozenset(keys[s.name] for s in cuts)
        solid = cache.solids.get(key, lambda: _solid(added, cuts, parts, keys, cache))
        if repair.rounding:
            sharp, radius = solid, repair.rounding
            solid = cache.solids.get((key, radius), lambda: rounded(sharp, radius))
        return Assembly(solid, {name: part.shape for name, part in parts.items()})


def frame(repair: Repair, step: str, cache: Cache = SHARED) -> np.ndarray:
    """(4, 4) matrix that takes a point of the step's own template to where it stands, in mm.

    Its first three columns are the template's x, y and z axes as the repair stands.
    """
    with kernel.LOCK:
        part = _placed(repair, repair.step(step), step_keys(repair), cache)
        return part.matrix.copy()


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


# -- parts -------------------------------------------------------------------------------------


def _placed(repair: Repair, step: Step, keys: dict[str, Hashable], cache: Cache) -> _Part:
    def make() -> _Part:
        part = _built(step, cache)
        if isinstance(step.place, Seat):
            under = repair.step(step.place.step)
            seat = _face(
                _placed(repair, under, keys, cache), step.place.face, keys[under.name], cache
            )
            own = _face(part, step.place.by, _shape_key(step), cache)
            move = seating.seated(step.place, seat, own)
        else:
            move = seating.freely(step.place)
        sheet = part.sheet and part.sheet.moved(move)
        return _Part(kernel.solid_moved(part.shape, move), sheet, move)

    return cache.placed.get(keys[step.name], make)


def _face(part: _Part, side: str, key: Hashable, cache: Cache) -> np.ndarray:
    return cache.faces.get((key, side), lambda: seating.face_frame(part.shape, side))


def _built(step: Step, cache: Cache) -> _Part:
    def make() -> _Part:
        solid = _one_solid(step, _made(step))
        return _Part(solid, flat.Sheet.of(solid), np.eye(4))

    return cache.built.get(_shape_key(step), make)


def _made(step: Step) -> Any:
    """What the template gives, with whatever it raises put in words."""
    template = catalogue.find(step.template)
    try:
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


def _one_solid(step: Step, made: Any) -> Solid:
    """The solid that a template gave, or RepairError where it is not one."""
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
    if len(solids) > 1:
        raise RepairError(
            _(
                "{step}: {template} gave {count} loose pieces; change its sizes so that they join, or add each as a step"
            ).format(count=len(solids), **names)
        )
    if not (kernel.sound(solids[0]) and solids[0].volume > 0):
        raise RepairError(
            _(
                "{step}: {template} gave a surface that does not close or touches itself; change its sizes a little"
            ).format(**names)
        )
    return solids[0]


# -- the whole ---------------------------------------------------------------------------------


def _solid(
    added: Sequence[Step],
    cuts: Sequence[Step],
    parts: dict[str, _Part],
    keys: dict[str, Hashable],
    cache: Cache,
) -> Solid:
    try:
        solids = _union(_sheets_joined(added, parts, keys, cache), cache)
        if len(solids) != 1 or not kernel.sound(solids[0]):
            raise apart.refusal([(step.name, parts[step.name].shape) for step in added], solids)
        if cuts:
            solids = kernel.difference(solids, [parts[step.name].shape for step in cuts])
    except RepairError:
        raise
    except Exception as error:  # the kernel raises types of its own
        raise RepairError(
            _(
                "{steps} cannot be joined or cut where they meet ({reason}); move one by 0.1 mm or change a size"
            ).format(
                steps=", ".join(step.name for step in (*added, *cuts)),
                reason=str(error) or type(error).__name__,
            )
        ) from error
    return _the_one(solids, cuts)


def _the_one(solids: Sequence[Solid], cuts: Sequence[Step]) -> Solid:
    names = ", ".join(step.name for step in cuts)
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
    if cuts and not kernel.sound(solids[0]):
        raise RepairError(
            _(
                "{cuts} leaves a solid that touches itself along an edge; move it by 0.2 mm or change a size"
            ).format(cuts=names)
        )
    return solids[0]


def _sheets_joined(
    added: Sequence[Step], parts: dict[str, _Part], keys: dict[str, Hashable], cache: Cache
) -> dict[Hashable, Sequence[Solid]]:
    """What to join, by key: the solids of each layer of sheets, and every other part."""
    layers: dict[Hashable, dict[Hashable, _Part]] = defaultdict(dict)
    for step in added:
        part, key = parts[step.name], keys[step.name]
        layers[part.sheet.layer if part.sheet else key][key] = part
    bundles: dict[Hashable, Sequence[Solid]] = {}
    for members in layers.values():
        together = frozenset(members)
        sheets = [part.sheet for part in members.values() if part.sheet]
        one = cache.joined.get(together, partial(flat.joined, sheets)) if len(sheets) > 1 else None
        if one is None:
            bundles |= {key: [part.shape] for key, part in members.items()}
        else:
            bundles[together] = one
    return bundles


def _union(bundles: dict[Hashable, Sequence[Solid]], cache: Cache) -> Sequence[Solid]:
    """One union of everything; what is already joined from an earlier build is taken as it is."""
    whole = frozenset(bundles)
    changed = whole - cache.last
    if len(changed) == 1 and len(whole) > 2 and len(cache.last) == len(whole):
        # The same step will change again: join all others for once.
        _joined(whole - changed, bundles, cache)
    cache.last = whole
    return _joined(whole, bundles, cache)


def _joined(
    wanted: frozenset[Hashable], bundles: dict[Hashable, Sequence[Solid]], cache: Cache
) -> Sequence[Solid]:
    def make() -> Sequence[Solid]:
        ready = [known for known in cache.unions if known < wanted]
        start: frozenset[Hashable] = max(ready, key=len, default=frozenset())
        solids = [solid for key in bundles if key in wanted - start for solid in bundles[key]]
        if start:
            solids = [*cache.unions.get(start, list), *solids]
        return kernel.union(solids) if len(solids) > 1 else solids

    return cache.unions.get(wanted, make)
