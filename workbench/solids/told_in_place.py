"""What to measure of a size, as the step stands in the picture and not as its template lies.

A template says "from front to back" of its own y axis. Of a rib on the front of a blade that runs
up the blade, and its height stands out of it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.building.seating import DIRECTIONS, direction_frame, freely, seated
from workbench.solids.recipe.seat import Place, Seat
from workbench.words import _

if TYPE_CHECKING:
    from workbench.solids.parameters import Parameter

#: How a template tells its own x, y and z axes, at the end of what to measure.
_AXES = {
    "from left to right": 0,
    "left to right": 0,
    "from front to back": 1,
    "from bottom to top": 2,
}

#: A direction that leans off an axis of the bench by less than this runs along it, as a cosine
#: (20 degrees). Our choice.
_STRAIGHT = 0.94


def told_in_place(parameter: Parameter, place: Place) -> Parameter:
    """A size with what to measure as it stands there; others stay as they are."""
    measure = getattr(parameter.kind, "measure", "")
    ending = next((words for words in _AXES if measure.endswith(words)), "")
    if not ending:
        return parameter
    axis = _AXES[ending]
    way = _way(axis, place)
    if way == _plain()[axis]:
        return parameter
    head = measure.removesuffix(ending).removesuffix(", ")
    told = _("{what}, {way}").format(what=_(head), way=way) if head else way
    if not way:
        told = _("{what}, before it is turned").format(what=_(measure))
    return replace(parameter, kind=replace(parameter.kind, measure=told))


def _heads() -> tuple[str, ...]:
    """What shipped templates say before the axis."""
    return (
        _("of the plate"),
        _("of the base"),
        _("of the opening for the latch"),
        _("holes in a row"),
        _("rows of holes"),
        _("screws through the base"),
        _("outside"),
    )


def _way(axis: int, place: Place) -> str:
    """A template's axis as it runs there, on a slanting face as on one that stands straight;
    empty where it runs along no axis of the bench."""
    turned = turn_of(place)[:, axis]
    along = int(np.argmax(np.abs(turned)))
    if abs(turned[along]) < _STRAIGHT:
        return ""
    if isinstance(place, Seat) and along != 2 and abs(DIRECTIONS[place.by][axis]) == 1:
        return _("out of the {step}").format(step=place.step)
    if isinstance(place, Seat) and along == 2 and place.face not in ("top", "bottom"):
        return _("up the {step}").format(step=place.step)
    return _plain()[along]


def _plain() -> tuple[str, str, str]:
    return _("from left to right"), _("from front to back"), _("from bottom to top")


def turn_of(place: Place) -> np.ndarray:
    """(3, 3) the template's axes as columns, on the bench."""
    if not isinstance(place, Seat):
        return freely(place)[:3, :3]
    return seated(place, direction_frame(place.face), direction_frame(place.by))[:3, :3]
