"""Steps are carried out in the order of the list: a cut takes from what stands above it.

Neighbours that all add, or all cut, are one run: one union, one difference. Within a run the
order says nothing. Flat parts of one thickness are joined as outlines; and when one step changes
again and again, as under a slider, the others of its run stay joined.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cached_property, partial
from itertools import groupby, takewhile
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids.building import alike, flat_union, local_edit, loose_parts
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Cache, Whole
from workbench.solids.geometry.faces import box_round
from workbench.solids.recipe.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from build123d import Shape, Solid


@dataclass(frozen=True)
class Part:
    """A step's shape in place, and the (4, 4) move there.

    more : its other pieces, and all of it where it stands several times; ``shape`` is the first
    pieces : how many it is each time, such as the letters of a word
    flat : finds the same as a sheet, which a picture under a hand does not ask for
    """

    shape: Solid
    matrix: np.ndarray
    more: tuple[Solid, ...] = ()
    pieces: int = 1
    flat: Callable[[], flat_union.Sheet | None] = lambda: None

    @cached_property
    def sheet(self) -> flat_union.Sheet | None:
        """The same as a sheet, where it is flat."""
        return self.flat()

    @property
    def solids(self) -> list[Solid]:
        """Every one of it."""
        return [self.shape, *self.more]

    @cached_property
    def whole(self) -> Shape:
        """All of it as one shape."""
        from build123d import Compound

        return Compound(children=self.solids) if self.more else self.shape

    @cached_property
    def one(self) -> Shape:
        """The first of it, in all its pieces."""
        from build123d import Compound

        several = self.pieces > 1
        return Compound(children=self.solids[: self.pieces]) if several else self.shape

    @cached_property
    def boxes(self) -> np.ndarray:
        """(n, 2, 3) lowest and highest corner of a box round each of it, in mm."""
        return np.array([box_round(solid.wrapped) for solid in self.solids])


@dataclass(frozen=True)
class Run:
    """Neighbours in the list that do the same."""

    cuts: bool
    steps: tuple[Step, ...]

    @property
    def names(self) -> str:
        """What they are called, for a sentence."""
        return ", ".join(step.name for step in self.steps)


Solids = Sequence["Solid"]


def runs(steps: Iterable[Step]) -> list[Run]:
    """The steps in runs; cuts above everything that adds are left out, as they cut nothing."""
    grouped = [Run(cuts, tuple(same)) for cuts, same in groupby(steps, lambda step: step.cuts)]
    return grouped[1:] if grouped and grouped[0].cuts else grouped


def carried_out(
    steps: Iterable[Step],
    parts: Mapping[str, Part],
    keys: Mapping[str, Hashable],
    cache: Cache,
    bodies: int = 1,
) -> tuple[Hashable, Shape]:
    """What the steps come to, with a key that changes when it does.

    Parameters
    ----------
    parts, keys : for each step by its name, its shape in place and what tells that from others
    bodies : how many may stand loose of each other

    Raises
    ------
    RepairError
        When they do not come to one sound solid; the message names the steps that see to that.
    """
    listed = list(steps)
    stages = _stages(runs(listed), keys)
    key = stages[-1][0]
    if bodies > 1:
        several = key, bodies
        make_all = partial(_one_sound, stages, parts, keys, cache, bodies)
        return several, cache.wholes.get(several, make_all)

    def make() -> Solid:
        solid = _edited(listed, parts, keys, cache)
        if solid is None:
            solid = _one_sound(stages, parts, keys, cache)
            # So that the first change is as quick as the next.
            local_edit.index_of(solid).look()
        return solid

    solid = cache.wholes.get(key, make)
    cache.whole = Whole({_item(step, keys): parts[step.name].boxes for step in listed}, solid)
    return key, solid


Stage = tuple[Hashable, Hashable, Run]


def _stages(all_runs: Iterable[Run], keys: Mapping[str, Hashable]) -> list[Stage]:
    """For each run a key for what stands after it, the key for what stands before it, and the run."""
    stages: list[Stage] = []
    key: Hashable = None
    for run in all_runs:
        above, key = key, (key, run.cuts, frozenset(keys[step.name] for step in run.steps))
        stages.append((key, above, run))
    return stages


def _standing(
    stages: Iterable[Stage], parts: Mapping[str, Part], keys: Mapping[str, Hashable], cache: Cache
) -> Iterator[tuple[Run, Solids, Solids]]:
    """Each run with what stands before and after it."""
    standing: Solids = ()
    for number, (key, above, run) in enumerate(stages):
        before = standing
        make = partial(_after, number, run, above, before, parts, keys, cache)
        standing = cache.solids.get(key, make)
        yield run, before, standing


def _one_sound(
    stages: Iterable[Stage],
    parts: Mapping[str, Part],
    keys: Mapping[str, Hashable],
    cache: Cache,
    bodies: int = 1,
) -> Shape:
    """What all runs come to; RepairError where that is not one sound solid, or so many bodies."""
    standing: Solids = ()
    blamed: tuple[Run, Solids, Solids] | None = None
    for run, before, standing in _standing(stages, parts, keys, cache):
        if not all(map(kernel.sound, standing)):
            raise _refusal(run, before, standing, parts)
        if 0 < len(standing) <= bodies:
            blamed = None
        elif blamed is None:
            # A later step may still join what is loose here.
            blamed = run, before, standing
    if blamed is not None:
        raise _refusal(*blamed, parts)
    if len(standing) > 1:
        from build123d import Compound

        return Compound(list(standing))
    return standing[0]


# -- a change ------------------------------------------------------------------------------------

#: Where more than this share of the steps differ, everything is carried out anew.
MANY = 0.25


def _item(step: Step, keys: Mapping[str, Hashable]) -> Hashable:
    return keys[step.name], step.cuts


def _edited(
    steps: Sequence[Step], parts: Mapping[str, Part], keys: Mapping[str, Hashable], cache: Cache
) -> Solid | None:
    """What the last solid becomes where only some steps changed, or None: see local_edit."""
    if cache.whole is None:
        return None
    boxes = {_item(step, keys): parts[step.name].boxes for step in steps}
    was, now = list(cache.whole.boxes), list(boxes)
    count = len(was) + len(now)
    # What is alike at the end and at the beginning is soon found.
    while was and now and was[-1] == now[-1]:
        was.pop()
        now.pop()
    pairs = zip(was, now, strict=False)
    alike = sum(1 for _pair in takewhile(lambda pair: pair[0] == pair[1], pairs))
    was, now = was[alike:], now[alike:]
    match = SequenceMatcher(None, was, now, autojunk=False)
    changed = [
        box
        for same, a, b, c, d in match.get_opcodes()
        if same != "equal"
        for box in (*(cache.whole.boxes[item] for item in was[a:b]), *(boxes[n] for n in now[c:d]))
    ]
    if not changed or len(changed) > max(2, MANY * count):
        return None
    counts = [len(parts[step.name].boxes) for step in steps]
    starts = np.cumsum([0, *counts[:-1]])
    around = np.concatenate([parts[step.name].boxes for step in steps])

    def small(region: local_edit.Region) -> Solids:
        reached = np.logical_or.reduceat(region.reaches(around), starts).tolist()
        near = runs(step for step, here in zip(steps, reached, strict=True) if here)
        stood = [after for *_, after in _standing(_stages(near, keys), parts, keys, cache)]
        return stood[-1] if stood else ()

    try:
        return local_edit.edited(cache.whole.solid, np.concatenate(changed), small)
    except RepairError:
        return None


def _after(
    number: int,
    run: Run,
    above: Hashable,
    before: Solids,
    parts: Mapping[str, Part],
    keys: Mapping[str, Hashable],
    cache: Cache,
) -> Solids:
    """What stands after a run."""
    try:
        if run.cuts:
            tools = [solid for step in run.steps for solid in parts[step.name].solids]
            return alike.difference(before, tools) if before else before
        bundles = _bundles(run.steps, parts, keys, cache)
        return _union({above: before, **bundles} if before else bundles, number, cache)
    except RepairError:  # it took too long, or was stopped
        raise
    except Exception as error:  # the kernel raises types of its own
        raise RepairError(
            _(
                "{steps} cannot be joined or cut where they meet ({reason}); move one a little or change a size"
            ).format(steps=run.names, reason=str(error) or type(error).__name__)
        ) from error


def _refusal(run: Run, before: Solids, after: Solids, parts: Mapping[str, Part]) -> RepairError:
    """Why what stands after a run is not one sound solid."""
    if not run.cuts:
        pieces = [(step.name, parts[step.name].pieces) for step in run.steps]
        if not before and all(count > 1 for _name, count in pieces):
            name, count = pieces[0]
            text = _(
                "{step} is {count} loose pieces; put it on a part that holds them, such as a plate"
            )
            return RepairError(text.format(step=name, count=count))
        rest = [(_("the rest of the part"), solid) for solid in before]
        own = [named for step in run.steps for named in _named(step.name, parts[step.name])]
        return loose_parts.refusal([*rest, *own], after)
    if not after:
        text = _("{cuts} takes everything away; make the cut smaller")
    elif len(after) > 1:
        text = _("{cuts} leaves {count} loose pieces; make the cut smaller or move it")
    else:
        text = _(
            "{cuts} leaves a solid that touches itself along an edge; move it a little or change a size"
        )
    return RepairError(text.format(cuts=run.names, count=len(after)))


def _named(name: str, part: Part) -> list[tuple[str, Solid]]:
    """Every solid of a part by its name, numbered where there are several."""
    several = len(part.solids) > 1
    return [(f"{name} {n}" if several else name, one) for n, one in enumerate(part.solids, 1)]


def _bundles(
    added: Iterable[Step],
    parts: Mapping[str, Part],
    keys: Mapping[str, Hashable],
    cache: Cache,
) -> dict[Hashable, Solids]:
    """What to join, by key: the solids of each layer of sheets, and every other part."""
    layers: dict[Hashable, dict[Hashable, Part]] = defaultdict(dict)
    for step in added:
        part, key = parts[step.name], keys[step.name]
        layers[part.sheet.layer if part.sheet else key][key] = part
    bundles: dict[Hashable, Solids] = {}
    for members in layers.values():
        together = frozenset(members)
        sheets = [part.sheet for part in members.values() if part.sheet]
        one = (
            cache.joined.get(together, partial(flat_union.joined, sheets))
            if len(sheets) > 1
            else None
        )
        if one is None:
            bundles |= {key: part.solids for key, part in members.items()}
        else:
            bundles[together] = one
    return bundles


def _union(bundles: dict[Hashable, Solids], number: int, cache: Cache) -> Solids:
    """One union of everything; what is already joined from an earlier build is taken as it is."""
    whole, last = frozenset(bundles), cache.last.get(number, frozenset())
    changed = whole - last
    if len(changed) == 1 and len(whole) > 2 and len(last) == len(whole):
        # The same step will change again: join all others for once.
        _joined(whole - changed, bundles, cache)
    cache.last[number] = whole
    return _joined(whole, bundles, cache)


def _joined(wanted: frozenset[Hashable], bundles: dict[Hashable, Solids], cache: Cache) -> Solids:
    def make() -> Solids:
        ready = [known for known in cache.unions if known < wanted]
        start: frozenset[Hashable] = max(ready, key=len, default=frozenset())
        solids = [solid for key in bundles if key in wanted - start for solid in bundles[key]]
        if start:
            solids = [*cache.unions.get(start, list), *solids]
        return alike.union(solids) if len(solids) > 1 else solids

    return cache.unions.get(wanted, make)
