"""Steps are carried out in the order of the list: a cut takes from what stands above it.

Neighbours that all add, or all cut, are one run: one union, one difference. Within a run the
order says nothing. Flat parts of one thickness are joined as outlines; and when one step changes
again and again, as under a slider, the others of its run stay joined.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids import apart, flat, kernel
from workbench.solids.cache import Cache
from workbench.solids.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from build123d import Shape, Solid


@dataclass(frozen=True)
class Part:
    """A step's shape in place, the same as a sheet where it is flat, and the (4, 4) move there."""

    shape: Solid
    sheet: flat.Sheet | None
    matrix: np.ndarray


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
    key: Hashable = None
    standing: Solids = ()
    blamed: tuple[Run, Solids, Solids] | None = None
    for number, run in enumerate(runs(steps)):
        above, before = key, standing
        key = above, run.cuts, frozenset(keys[step.name] for step in run.steps)
        make = partial(_after, number, run, above, before, parts, keys, cache)
        standing = cache.solids.get(key, make)
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

        return key, Compound(list(standing))
    return key, standing[0]


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
            tools = [parts[step.name].shape for step in run.steps]
            return kernel.difference(before, tools) if before else before
        bundles = _bundles(run.steps, parts, keys, cache)
        return _union({above: before, **bundles} if before else bundles, number, cache)
    except Exception as error:  # the kernel raises types of its own
        raise RepairError(
            _(
                "{steps} cannot be joined or cut where they meet ({reason}); move one by 0.1 mm or change a size"
            ).format(steps=run.names, reason=str(error) or type(error).__name__)
        ) from error


def _refusal(run: Run, before: Solids, after: Solids, parts: Mapping[str, Part]) -> RepairError:
    """Why what stands after a run is not one sound solid."""
    if not run.cuts:
        rest = [(_("the rest of the part"), solid) for solid in before]
        return apart.refusal([*rest, *((s.name, parts[s.name].shape) for s in run.steps)], after)
    if not after:
        text = _("{cuts} takes everything away; make the cut smaller")
    elif len(after) > 1:
        text = _("{cuts} leaves {count} loose pieces; make the cut smaller or move it")
    else:
        text = _(
            "{cuts} leaves a solid that touches itself along an edge; move it by 0.2 mm or change a size"
        )
    return RepairError(text.format(cuts=run.names, count=len(after)))


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
        one = cache.joined.get(together, partial(flat.joined, sheets)) if len(sheets) > 1 else None
        if one is None:
            bundles |= {key: [part.shape] for key, part in members.items()}
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
        return kernel.union(solids) if len(solids) > 1 else solids

    return cache.unions.get(wanted, make)
