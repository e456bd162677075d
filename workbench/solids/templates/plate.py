"""A plate: flat, with rounded corners and screw holes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Choice, Count, Flag, Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Bend, Opening, Point, Profile, prism, turned
from workbench.solids.shapes.screws import CLEARANCE, SERIES, clearance_hole
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: The choice of ``screw`` for a hole of any other size, which is then measured.
OTHER = "other"


def _chosen(values: Mapping[str, Any]) -> dict[str, float]:
    """The hole that a screw and its fit come to."""
    if values["screw"] == OTHER:
        return {}
    return {"hole": clearance_hole(values["screw"], values["fit"])}


@facts(
    lies=True,
    stands_for={"screw": "hole", "fit": "hole"},
    chosen=_chosen,
    freed={"hole": {"screw": OTHER}},
    quick=lambda values: values["countersink"] and values["holes"],
)
@checked
def plate(
    width: Annotated[float, Size(2, 400, measure="from left to right")] = 60.0,
    height: Annotated[float, Size(2, 400, measure="from front to back")] = 20.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="through the plate")] = 3.0,
    corner_radius: Annotated[
        float, Size(0, 200, measure="of the rounded corners; 0 for sharp ones")
    ] = 0.0,
    holes: Annotated[int, Count(0, 16, measure="holes in a row, from left to right")] = 0,
    rows: Annotated[int, Count(1, 8, measure="rows of holes, from front to back")] = 1,
    spacing: Annotated[float, Size(1, 400, measure="from hole centre to hole centre")] = 40.0,
    row_spacing: Annotated[float, Size(1, 400, measure="from row centre to row centre")] = 10.0,
    screw: Annotated[str, Choice((*CLEARANCE, OTHER), measure="the screw's thread")] = "M4",
    fit: Annotated[str, Choice(SERIES, measure="how freely the screw passes, by ISO 273")] = (
        "medium"
    ),
    hole: Annotated[
        float, Size(0.5, 200, 0.05, measure='across the hole, where screw is "other"')
    ] = 4.5,
    countersink: Annotated[bool, Flag(measure="whether the screw's head is flat")] = False,
    head: Annotated[
        float, Size(1, 60, measure="across the screw's head, where it is countersunk")
    ] = 8.0,
) -> Solid:
    """A flat plate with rounded corners and rows of screw holes.

    It lies flat, seen here from above; countersinks open upwards and are cut at 90 degrees.

    ::

         .-------------------------.
        |                           |
        |     o               o     |  height
        |                           |
         '-------------------------'
              |--- spacing ---|
                   width

    Raises RepairError when a hole or a row of holes does not fit on the plate, holes run into each
    other, a corner radius is too large, or a countersink is deeper than the plate.
    """
    _refuse_corner(width, height, corner_radius)
    outline = _outline(width, height, corner_radius)
    if not holes:
        return prism(outline, thickness, along="z")
    across = hole if screw == OTHER else clearance_hole(screw, fit)
    what = _("hole") if screw == OTHER else _("hole for {screw}").format(screw=screw)
    if countersink:
        _refuse_head(what, across, head, thickness)
        what = _("head")
    widest = head if countersink else across
    _refuse_row(what, widest, holes, spacing, _("spacing"), width, _("width"))
    _refuse_row(what, widest, rows, row_spacing, _("row_spacing"), height, _("height"))
    centres = _grid(holes, rows, spacing, row_spacing)
    _refuse_in_corner(what, widest, centres, width, height, corner_radius)
    solid = prism(outline, thickness, "z", [Opening(across, centre) for centre in centres])
    return _countersunk(solid, centres, head, thickness) if countersink else solid


def _outline(width: float, height: float, radius: float) -> Profile:
    x, y = width / 2, height / 2
    if not radius:
        return [(-x, -y), (x, -y), (x, y), (-x, y)]
    profile: list[Point | Bend] = []
    for right, up, quarter in ((1, -1, 3.5), (1, 1, 0.5), (-1, 1, 1.5), (-1, -1, 2.5)):
        centre = right * (x - radius), up * (y - radius)
        start, middle, end = (
            (
                centre[0] + radius * math.cos(turn * math.pi / 2),
                centre[1] + radius * math.sin(turn * math.pi / 2),
            )
            for turn in (quarter - 0.5, quarter, quarter + 0.5)
        )
        profile += [start, Bend(middle, end)]
    return profile


def _grid(holes: int, rows: int, spacing: float, row_spacing: float) -> list[Point]:
    return [
        ((i - (holes - 1) / 2) * spacing, (j - (rows - 1) / 2) * row_spacing)
        for j in range(rows)
        for i in range(holes)
    ]


def _countersunk(solid: Solid, centres: list[Point], head: float, thickness: float) -> Solid:
    from build123d import Location

    r = head / 2
    # A 90 degree cone, drawn on past the top face so that it cuts cleanly through it.
    tool = turned([(0, thickness - r), (r + r, thickness + r), (0, thickness + r)])
    return quick.cut(solid, [tool.moved(Location((x, y, 0))) for x, y in centres])


def _refuse_corner(width: float, height: float, radius: float) -> None:
    most = min(width, height) / 2
    if radius > most:
        raise RepairError(
            _(
                "corner_radius is {radius}; give at most {most}, half the plate's shorter side"
            ).format(radius=with_unit(radius), most=with_unit(most))
        )


def _refuse_head(what: str, across: float, head: float, thickness: float) -> None:
    if head <= across:
        raise RepairError(
            _(
                "head is {head} across, no wider than the {what} of {across}; measure across the screw's head or turn the countersink off"
            ).format(head=with_unit(head), what=what, across=with_unit(across))
        )
    deep = (head - across) / 2
    if deep > thickness:
        raise RepairError(
            _(
                "head of {head} needs a countersink {deep} deep and the thickness is {thickness}; make the plate thicker or use a smaller screw"
            ).format(head=with_unit(head), deep=with_unit(deep), thickness=with_unit(thickness))
        )


def _refuse_row(
    what: str, across: float, count: int, spacing: float, spaced: str, side: float, along: str
) -> None:
    named = {"what": what, "count": count, "spaced": spaced, "along": along}
    if across + 2 * LEAST_WALL > side:
        raise RepairError(
            _(
                "{what} is {across} across and the plate's {along} is {side}; use a smaller hole or make {along} more than {least}"
            ).format(**named, **lengths(across=across, side=side, least=across + 2 * LEAST_WALL))
        )
    if count > 1 and spacing < across + LEAST_WALL:
        raise RepairError(
            _(
                "{spaced} is {spacing} and each {what} is {across} across, so they run into each other; give at least {least} or a smaller hole"
            ).format(**named, **lengths(spacing=spacing, across=across, least=across + LEAST_WALL))
        )
    reach = (count - 1) * spacing + across
    if reach + 2 * LEAST_WALL > side:
        raise RepairError(
            _(
                "{count} times {what} at a {spaced} of {spacing} reach over {reach} and the plate's {along} is {side}; bring them closer, leave one out or make the plate larger"
            ).format(**named, **lengths(spacing=spacing, reach=reach, side=side))
        )


def _refuse_in_corner(
    what: str, across: float, centres: list[Point], width: float, height: float, radius: float
) -> None:
    """The hole nearest to a corner must stay inside its round."""
    x, y = centres[-1]
    right, up = x - (width / 2 - radius), y - (height / 2 - radius)
    if right > 0 and up > 0 and math.hypot(right, up) + across / 2 + LEAST_WALL > radius:
        raise RepairError(
            _(
                "corner_radius is {radius} and cuts into the corner {what} of {across}; make the radius smaller or bring the holes in"
            ).format(radius=with_unit(radius), what=what, across=with_unit(across))
        )
