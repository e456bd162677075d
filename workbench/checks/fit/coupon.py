"""Coupons: a comb of pieces in steps, to find the size that fits without printing the whole part."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from workbench import gate
from workbench.checks.fit.printed_size import (
    Printed,
    field_of,
    is_inside,
    is_round,
    is_straight,
    limits,
    measured,
    printed_as,
    size_of,
)
from workbench.checks.fit.trials import said_fit
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.measure.reading import parse_length
from workbench.solids.facts import facts_of
from workbench.solids.recipe.repair import Repair, a_repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.step import Step
from workbench.solids.shapes import numerals
from workbench.solids.templates.coupon_tile import FIGURES, MARGIN, MARKED, STROKE, least_width
from workbench.words import _, lengths, sized, with_unit

#: Steps of a coupon about the present size, in mm; and how many pieces a hand tells apart by
#: their notches. Our choice.
OFFSETS = (-0.2, -0.1, 0.0, 0.1, 0.2)
MOST = 8

#: A size above this is quicker tried on the part itself; one that runs up through the layers
#: and is larger than this is tried level, as a high thin piece wobbles; in mm. Our choice.
LARGEST, HIGHEST = 40.0, 10.0

#: In mm: how far a piece stands out, and how broad it is where that is not what is tried; the
#: chamfer at its tip at most; the gap that a web bridges; the thickness of a tile, and of one
#: with a hole or a slot; the wall behind a hole; the walls beside a slot. Our choice.
REACH, BROAD, TIP, GAP, TILE, THROUGH, WALL = 6.0, 7.0, 0.5, 2.0, 1.2, 3.0, 2.0

#: Pieces are sunk into their tiles by this, webs into the next tile, and cuts go past, in mm.
#: Our choice.
SINK = 0.2

#: A tongue whose width is tried is this much thinner than the part's, so that only its width
#: can bind, but no thinner than two lines; in mm. Our choice.
EASE, THIN = 0.3, 0.8

#: The sizes of a tongue and of a peg, which a piece of a comb takes over.
_TAB = {"width", "thickness", "length", "chamfer"}
_PEG = {"section", "diameter", "across_flat", "length", "chamfer", "slot", "slot_depth"}


@gate.asked
def coupon(
    repair: Repair, step: str, field: str, offsets: Iterable[float | str] = OFFSETS
) -> Repair:
    """A comb of test pieces for one size of a repair, as a repair of its own.

    Each piece has the size that the step has now plus one of the offsets. It sits on a tile with
    its size in raised figures and its number in notches, and comes off its neighbours with a
    snap. The comb is made of ordinary steps, so it builds, checks and exports as any repair; it
    prints as it stands, without supports, with the tried size lying as it does in the part. A
    fit that was said for the size is said for each piece.

    step, field : the size to try, such as "foot", "thickness": thickness or width of a tab or a
        fin, diameter of a peg or a cylinder, a plate's ``hole`` (or ``screw``), width of a slot
        or diameter of a hole that is cut
    offsets : in mm from the size that the step has now, up to eight

    Raises RepairError when no coupon can be made for the size, or an offset makes it impossible.

    >>> divider = Repair("tray divider").add("tab", name="foot", thickness=2.3)
    >>> comb = coupon(divider, "foot", "thickness", [-0.1, 0, 0.1])
    >>> [comb.step(f"piece {n}").values["thickness"] for n in (1, 2, 3)]
    [2.2, 2.3, 2.4]
    """
    found = a_repair(repair).step(step)
    wanted = triable(found, field)
    sizes = sizes_of(found, wanted, offsets)
    subject = Subject.of(repair)
    how = coupon_printed(subject, step, wanted)
    places = _places(sizes)
    stroke = min(max(round(2 * subject.printer.line_width, 2), 0.4), STROKE)
    plan = _plan(found, wanted, how, sizes, places, stroke)
    name = _("{repair}, coupon: {step} {field}").format(
        repair=repair.name, field=found.said(wanted), step=step
    )
    fit = said_fit(repair, step, wanted)
    comb = Repair(name, repair.material, repair.printer, down=(0.0, 0.0, -1.0))
    xs = [
        round((count - (len(sizes) + 1) / 2) * (plan.width + GAP), 4)
        for count in range(1, len(sizes) + 1)
    ]
    for count, (size, x) in enumerate(zip(sizes, xs, strict=True), start=1):
        comb.add(
            "coupon_tile",
            At(x),
            f"tile {count}",
            size=size,
            places=places,
            notches=count,
            width=plan.width,
            depth=plan.depth,
            thickness=plan.thickness,
            stroke=stroke,
            web=GAP + SINK if count < len(sizes) else 0.0,
        )
    # All tiles come first, so that they are one union and what is cut into them one difference.
    for count, (size, x) in enumerate(zip(sizes, xs, strict=True), start=1):
        piece, tried = _add_piece(comb, plan, count, size, x)
        if fit is not None:
            comb.fit(piece, tried, fit.mating, fit.kind)
    return comb


def coupon_printed(subject: Subject, step: str, field: str) -> Printed:
    """How a size lies in its coupon: as in the part, where that prints without supports.

    Holes and slots go down to the bed; pieces stand clear of it.
    """
    found = subject.repair.step(step)
    if is_inside(found, field):
        return Printed("hole" if is_round(found, field) else "slot", True)
    flat = is_straight(found, field) and not _like(found, _PEG)
    part = printed_as(subject, step, field)
    upright = part.feature == "height" and flat and size_of(found, field) <= HIGHEST
    return Printed("height" if upright else "outside", False)


@dataclass(frozen=True)
class _Plan:
    """Where things lie on every tile; mm."""

    step: Step
    field: str
    feature: str
    width: float
    depth: float
    thickness: float
    room: float

    @property
    def behind(self) -> float:
        """The middle of the room behind the figures, from the tile's own middle."""
        return -self.depth / 2 + MARKED + self.room / 2


def _plan(
    step: Step, field: str, how: Printed, sizes: list[float], places: int, stroke: float
) -> _Plan:
    largest = max(sizes)
    marks = max(
        max(numerals.width(f"{size:.{places}f}", FIGURES, stroke) for size in sizes) + 2 * MARGIN,
        least_width(len(sizes)),
    )
    if how.feature == "hole":
        across, room, rest = largest + 2 * WALL, largest, WALL
    elif how.feature == "slot":
        across, room, rest = largest + 2 * WALL, BROAD, 0.0
    else:
        across, deep = _footprint(step, field, largest)
        room, rest = (0.0, 0.0) if how.feature == "height" else (deep, MARGIN)
    return _Plan(
        step,
        field,
        how.feature,
        round(max(marks, across + 2 * MARGIN), 2),
        round(MARKED + room + rest, 2),
        THROUGH if how.feature in ("hole", "slot") else TILE,
        room,
    )


def _add_piece(comb: Repair, plan: _Plan, count: int, size: float, x: float) -> tuple[str, str]:
    """Put one piece on its tile; the name of its step, and the field that holds its size."""
    name = f"piece {count}"
    y = round(plan.behind, 4)
    past = THROUGH + 2 * SINK
    if plan.feature == "slot":
        # It opens at the back edge, so that a tongue of any width can enter.
        back = At(x, round(y + SINK / 2, 4), -SINK)
        comb.cut("box", back, name, width=size, depth=plan.room + SINK, height=past)
        return name, "width"
    if plan.feature == "hole":
        template, values = _hole(plan.step, plan.field, size, past)
        comb.cut(template, At(x, y, -SINK), name, **values)
    elif plan.feature == "height":
        template, values = _tongue(plan.step, plan.field, size)
        turn = 90.0 if plan.field == "width" else 0.0
        seat = Seat(
            f"back of tile {count}",
            across=round((size - plan.thickness) / 2, 4),
            turn=turn,
            sink=SINK,
        )
        comb.add(template, seat, name, **values)
    else:
        template, values = _tongue(plan.step, plan.field, size)
        comb.add(template, At(x, y, round(plan.thickness - SINK, 4)), name, **values)
    if plan.field in values:
        return name, plan.field
    return name, "diameter" if "diameter" in values else "thickness"


def _tongue(step: Step, field: str, size: float) -> tuple[str, dict[str, Any]]:
    """The template of a piece that enters its counterpart, and its values."""
    old = step.values
    if _like(step, _TAB):
        thin = min(old["thickness"], max(old["thickness"] - EASE, THIN))
        values = {
            "width": min(old["width"], BROAD),
            "thickness": thin if field == "width" else old["thickness"],
            "length": min(old["length"], REACH),
            "chamfer": min(old["chamfer"], TIP),
        }
        return "tab", {**values, field: size}
    if _like(step, _PEG) and field in ("diameter", "across_flat"):
        return "peg", _peg(old, min(old["length"], REACH)) | {field: size}
    if is_round(step, field):
        return "cylinder", {"diameter": size, "height": REACH}
    return "tab", {"width": BROAD, "thickness": size, "length": REACH, "chamfer": 0.0}


def _hole(step: Step, field: str, size: float, length: float) -> tuple[str, dict[str, Any]]:
    """The template of what is cut to make a hole, and its values."""
    if _like(step, _PEG):
        return "peg", _peg(step.values, length) | {"chamfer": 0.0, "slot": 0.0, field: size}
    return "cylinder", {"diameter": size, "height": length}


def _peg(old: Mapping[str, Any], length: float) -> dict[str, Any]:
    short = length / max(old["length"], length)
    return {
        "section": old["section"],
        "diameter": old["diameter"],
        "across_flat": old["across_flat"],
        "length": length,
        "chamfer": min(old["chamfer"], TIP),
        "slot": old["slot"],
        "slot_depth": round(old["slot_depth"] * short, 2),
    }


def _footprint(step: Step, field: str, size: float) -> tuple[float, float]:
    """Width and depth in mm that a standing piece takes up."""
    template, values = _tongue(step, field, size)
    if template == "tab":
        return values["width"], values["thickness"]
    return values["diameter"], values["diameter"]


def triable(step: Step, field: str) -> str:
    """The field that holds the size, or RepairError where no coupon can be made for it."""
    wanted = field_of(step, field)
    what, known = measured(step, wanted), facts_of(step.template)
    # How far a holder goes in, and how it springs, is tried on the part.
    own_way = known.holds and (what.axis == 2 or what.inside)
    if not what.square or own_way or (known.springs and what.inside):
        raise _not_triable(step, field)
    return wanted


def _like(step: Step, sizes: set[str]) -> bool:
    """Whether a step holds the part by a shape that these sizes make."""
    return facts_of(step.template).holds and sizes <= step.values.keys()


def _not_triable(step: Step, field: str) -> RepairError:
    return RepairError(
        _(
            "{step}: no coupon can be made for {field} of {template}; choose a thickness or width, a diameter, "
            "a hole or a slot, or print the part and note a trial"
        ).format(
            step=step.name, field=step.said(field), template=_(step.template.replace("_", " "))
        )
    )


def sizes_of(step: Step, field: str, offsets: Iterable[float | str]) -> list[float]:
    """The sizes of the pieces in mm, smallest first, or RepairError naming a bad offset."""
    now = size_of(step, field)
    low, high = limits(step, field)
    one = isinstance(offsets, str) or not isinstance(offsets, Iterable)
    listed: list[str | float] = [offsets] if one else list(offsets)  # type: ignore
    label = _("{step}: coupon for {field}").format(step=step.name, field=step.said(field))
    if not 1 <= len(listed) <= MOST:
        raise RepairError(
            _("{label}: {count} offsets; give 1 to {most}, in mm").format(
                label=label, count=len(listed), most=MOST
            )
        )
    if now > LARGEST:
        raise RepairError(
            _(
                "{step}: {field} is {size}; a coupon tries at most {most}, so print the part and note a trial"
            ).format(
                step=step.name, field=step.said(field), size=with_unit(now), most=with_unit(LARGEST)
            )
        )
    sizes = []
    for offset in listed:
        by = parse_length(offset)
        size = round(now + by, 2) if math.isfinite(by) else by
        if not low <= size <= min(high, LARGEST):
            raise RepairError(
                _(
                    "{label}: offset {offset} makes it {size}; give offsets that keep it between {low} and {high}"
                ).format(
                    label=label,
                    low=sized(low),
                    **lengths(offset=by, size=size, high=min(high, LARGEST)),
                )
            )
        sizes.append(size)
    if len(set(sizes)) != len(sizes):
        raise RepairError(
            _("{label}: two offsets give the same size; set them further apart").format(label=label)
        )
    return sorted(sizes)


def _places(sizes: Iterable[float]) -> int:
    """Figures after the point that tell every size, from 1 to 2."""
    return 1 if all(math.isclose(size, round(size, 1)) for size in sizes) else 2
