"""What is known of a template beside its sizes: what it is for, and how its steps are held.

It stands beside the template as a decorator::

    @facts(holds=True)
    def tab(...): ...

A function without it, such as a copy under another name, takes over the facts of a shipped
template that makes the same solid from the same sizes; what neither tells, the shape itself does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, TypeVar

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.parameters import Size, Template

F = TypeVar("F", bound=Callable[..., Any])

Sizes = Mapping[str, Any]


@dataclass(frozen=True)
class Facts:
    """Facts of a template.

    holds : it enters a slot or a hole and so holds the part
    springs : it is an arm with a hook, whose sizes are called as those of a clip
    hangs : it may be held by its top as well as by its bottom
    lies : it lies flat, and is loaded along its longer side
    axial : it sits, and others sit on it, by its axis: the box round its end is not about that
    ridged : it winds or runs in ridges, which lean on each other: none of them is a wall
    marks : it only carries a test piece's figures
    one_hand : it is not mirrored with a part, as a screw thread and what is read are not; the room
        that it takes is alike from the left and from the right
    pieces : it is made of several pieces that what it stands on holds together, as letters are
    quick : whether, with some values, it gives a shape made at once where that is enough
        (:mod:`workbench.solids.geometry.quick`)
    read : sizes that are read off a part though no drawing can show them, as of a thread
    duty : what people trust it with, a word of :mod:`workbench.checks.strength.duties`
    stands_for : sizes that are chosen by a word, and the size in mm that each stands for
    chosen : the sizes in mm that the words of some values come to
    freed : the words that set a size free, by the size
    """

    holds: bool = False
    springs: bool = False
    hangs: bool = False
    lies: bool = False
    marks: bool = False
    axial: bool = False
    ridged: bool = False
    one_hand: bool = False
    pieces: bool = False
    quick: Callable[[Sizes], bool] = lambda values: False
    read: tuple[str, ...] = ()
    duty: str = ""
    stands_for: Mapping[str, str] = field(default_factory=dict)
    chosen: Callable[[Sizes], dict[str, float]] = dict
    freed: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


#: Nothing is known.
NONE = Facts(chosen=lambda values: {})


def facts(**known: Any) -> Callable[[F], F]:
    """Put facts beside a template; the names are those of :class:`Facts`."""

    def beside(function: F) -> F:
        function.facts = Facts(**{"chosen": NONE.chosen, **known})  # type: ignore[attr-defined]
        return function

    return beside


def facts_of(template: str | Template) -> Facts:
    """The facts of a template, or of the shipped one that it copies."""
    found = catalogue.find(template) if isinstance(template, str) else template
    own = getattr(found.function, "facts", None)
    if isinstance(own, Facts):
        return own
    return _copied(found) if found.name not in catalogue.SHIPPED else NONE


@lru_cache(maxsize=256)
def _copied(template: Template) -> Facts:
    names = {parameter.name for parameter in template.parameters}
    for name in catalogue.SHIPPED:
        other = catalogue.find(name)
        has_facts = isinstance(getattr(other.function, "facts", None), Facts)
        if has_facts and names <= {p.name for p in other.parameters} and _alike(template, other):
            return other.function.facts  # type: ignore[attr-defined]
    return NONE


def _alike(one: Template, other: Template) -> bool:
    """Whether two templates make the same solid from the same sizes, and from slightly larger ones."""
    try:
        first = one.complete({})
        second = {**first}
        for parameter in one.parameters:
            kind, value = parameter.kind, first[parameter.name]
            if isinstance(kind, Size) and value:
                second[parameter.name] = min(max(value * 1.01, kind.low), kind.high)
        made = [
            [_figures(template, template.complete(values)) for values in (first, second)]
            for template in (one, other)
        ]
    except RepairError:  # values that the other does not take
        return False
    return made[0] == made[1] and made[0][0] is not None


def _figures(template: Template, values: Sizes) -> tuple[float, ...] | None:
    """Volume and extent of what a template makes; None where it refuses."""
    try:
        solid = template.function(**values)
    except Exception:  # refused, or one of the geometry kernel's own errors
        return None
    box = solid.bounding_box()
    ends = (*box.min, *box.max)
    return tuple(round(float(figure), 4) for figure in (solid.volume, *ends))
