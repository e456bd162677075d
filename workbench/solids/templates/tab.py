"""A tab: a tongue that enters a slot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Point, Profile, prism
from workbench.words import _, lengths, sized, with_unit

if TYPE_CHECKING:
    from build123d import Shape


@facts(holds=True, quick=lambda values: 0 < values["chamfer"] < values["length"])
@checked
def tab(
    width: Annotated[float, Size(1, 200, measure="along the slot")] = 20.0,
    length: Annotated[float, Size(0.5, 100, measure="how far it goes in")] = 5.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="across the slot")] = 2.0,
    chamfer: Annotated[
        float, Size(0, 20, 0.05, measure="off the edges of the tip; 0 for none")
    ] = 0.0,
    barb: Annotated[
        float, Size(0, 5, 0.05, measure="how far each barb stands out; 0 for none")
    ] = 0.0,
    barb_height: Annotated[
        float, Size(0.2, 100, measure="from the root up to the crest of the barb")
    ] = 2.5,
) -> Shape:
    """A tongue that stands on its root and enters a slot with its tip.

    Seen from the side: the tip narrows at 45 degrees so that it finds the slot, and barbs on
    the front and back, with slopes of 45 degrees, hold it there. ::

          .--.
         /    \\    chamfer
        |      |
        |      |
       <        >   barb      --
        |      |              | barb_height
        '------'              --
        thickness

    Raises RepairError when the chamfer takes the tip away or the barbs do not fit between root and
    tip.
    """
    _refuse_chamfer(width, length, thickness, chamfer)
    if barb:
        _refuse_barb(length - chamfer, barb, barb_height)
    side = prism(_side(length, thickness, chamfer, barb, barb_height), width, along="x")
    if not chamfer:
        return side
    front = _mirrored(
        [(width / 2, 0), (width / 2, length - chamfer), (width / 2 - chamfer, length)]
    )
    tool = prism(front, thickness + 2 * barb + 1)
    if quick.wanted():
        across, shoulder = width / 2 - chamfer, length - chamfer
        low = prism(_side(shoulder, thickness, 0.0, barb, barb_height), width, along="x")
        high = prism(_mirrored([(across, shoulder), (across, length)]), thickness - 2 * chamfer)
        return quick.instead(quick.shared(side, tool), low, high)
    return quick.common(side, tool)


def _side(length: float, thickness: float, chamfer: float, barb: float, crest: float) -> Profile:
    half = thickness / 2
    ridge = [(half, crest - barb), (half + barb, crest), (half, crest + barb)] if barb else []
    return _mirrored([(half, 0), *ridge, (half, length - chamfer), (half - chamfer, length)])


def _mirrored(right: list[Point]) -> Profile:
    """The corners of a right half, going up, followed by those of the left half, going down."""
    return [*right, *((-x, z) for x, z in reversed(right))]


def _refuse_chamfer(width: float, length: float, thickness: float, chamfer: float) -> None:
    most = min((width - LEAST_WALL) / 2, (thickness - LEAST_WALL) / 2, length)
    if chamfer > most:
        raise RepairError(
            _(
                "chamfer is {chamfer} and would take the tip away; give at most {most} or make the tab thicker, wider or longer"
            ).format(chamfer=with_unit(chamfer), most=with_unit(most))
        )


def _refuse_barb(straight: float, barb: float, crest: float) -> None:
    if 2 * barb > straight:
        raise RepairError(
            _(
                "barb is {barb} and needs {room} of length below the chamfer, where there are {straight}; give at most {most} or make the tab longer"
            ).format(**lengths(barb=barb, room=2 * barb, straight=straight, most=straight / 2))
        )
    if not barb <= crest <= straight - barb:
        raise RepairError(
            _(
                "barb_height is {crest}, which puts the barb past the root or the tip; give {low} to {high}"
            ).format(crest=with_unit(crest), low=sized(barb), high=with_unit(straight - barb))
        )
