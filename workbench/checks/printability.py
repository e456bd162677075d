"""Will it print: one piece, on the bed, nothing hanging, and standing firm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from workbench.checks.fix import Fix
from workbench.checks.orientation.bed_fit import ROOM, turn_to_fit
from workbench.checks.orientation.orient import chosen_down, laid_layers, ways_up
from workbench.checks.orientation.reasons import hangs
from workbench.checks.orientation.small_changes import Saving, chamfered, flattened
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.orientation.way_up import Orientation
from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.lay import laid
from workbench.solids.meshes.mesh import closes
from workbench.solids.split import GAP, split
from workbench.words import _, number, setting, sizes_with_unit, with_unit

#: Source of the overhang angle.
OVERHANG = "Mazlan et al., J. Adv. Ind. Technol. Appl., 2020, 38-47; common practice"

#: Support below less than this is soon off, in mm². Our choice.
SMALL_SUPPORT = 5.0

#: What hangs lower than so many layers over the bed or the part sags onto it. Our choice.
SAGS = 1.5


def one_piece(subject: Subject) -> Iterator[Finding]:
    """The surface closes and is one body."""
    closed = closes(subject.mesh[1])
    bodies = sum(holds > 0 for _faces, holds in subject.shells) if closed else 0
    if not closed:
        yield Finding(
            severity="stop",
            rule="one piece",
            where=subject.repair.name,
            text=_("The surface has a gap, so a printer cannot tell inside from outside."),
            remedy=_("Change a size a little and build again."),
        )
    elif bodies > 1 + len(subject.repair.loose):
        yield Finding(
            severity="stop",
            rule="one piece",
            where=subject.repair.name,
            text=_("It is {count} separate bodies.").format(count=bodies),
            number=float(bodies),
            limit=1.0 + len(subject.repair.loose),
            unit="bodies",
            remedy=_(
                "Move the parts until they overlap a little, or make each a repair of its own."
            ),
        )


def fits_bed(subject: Subject) -> Iterator[Finding]:
    """The part, as it is laid, fits the bed."""
    placed = laid(subject.mesh[0], chosen_down(subject))
    bed = subject.printer.bed
    size = np.ptp(placed, axis=0)
    turn = turn_to_fit(placed, bed)
    given = {
        "size": sizes_with_unit(size, 1, " x "),
        "bed": sizes_with_unit(bed, 0, " x "),
        "printer": subject.printer.name,
        "room": with_unit(ROOM, 0),
    }
    most = np.array(bed) - [2 * ROOM, 2 * ROOM, 0]
    worst = int(np.argmax(size - most))
    finding = partial(
        Finding,
        rule="fits the bed",
        where=subject.repair.name,
        number=float(size[worst]),
        limit=float(most[worst]),
        unit="mm",
        source=subject.printer.source("bed"),
    )
    better = _better(subject) if turn is None else None
    if better is not None and better.figures.turn is not None:
        yield finding(
            severity="stop",
            text=_(
                "It does not fit the bed this way up: {size} on {bed} with {room} kept free on every side."
            ).format(**given),
            remedy=_("Lay it {name}: it fits.").format(name=better.name),
            fix={"down": list(better.down)},
        )
    elif turn is None:
        yield finding(
            severity="stop",
            text=_(
                "Lying down it is {size}, too large for the bed of printer {printer}, {bed} with {room} kept free on every side."
            ).format(**given),
            remedy=_("Split it into two parts that slide together, or use a larger printer."),
            fix=_split(subject),
        )
    elif turn:
        yield finding(
            severity="note",
            text=_("At {size} it fits the bed of {bed} if you turn it by {turn}°.").format(
                turn=number(turn, 0), **given
            ),
            remedy=_("Turn it on the bed before printing."),
        )


def _split(subject: Subject) -> dict[str, Any] | None:
    """The fix that parts it in the middle, where both parts then fit the bed."""
    try:
        parts = split(subject.repair, None, "dovetail", GAP)
        fits = all(_fits(Subject.of(part)) for part in parts)
    except RepairError:
        return None
    return {"split": {"joint": "dovetail"}} if fits else None


def _fits(subject: Subject) -> bool:
    return turn_to_fit(laid(subject.mesh[0], chosen_down(subject)), subject.printer.bed) is not None


def hanging(subject: Subject) -> Iterator[Finding]:
    """What would hang in the air as it is laid, and laid flat."""
    chosen = next(
        (found for found in ways_up(subject) if _same(found.down, chosen_down(subject))), None
    )
    if chosen is not None and chosen.figures.hanging:
        area = sum(region.area for region in chosen.figures.hanging)
        better = _better(subject)
        if better and sum(region.area for region in better.figures.hanging) >= area:
            better = None  # it is better for what it bears
        told = _hangs(subject, chosen, "warning" if area > SMALL_SUPPORT else "note", better)
        # What sags by a layer and no more lies on what is below.
        low = SAGS * subject.printer.layer
        sags = all(r.kind != "slope" and r.clearance < low for r in chosen.figures.hanging)
        yield replace(told, passed=sags and told.severity == "note" and told.fix is None)
    looked_at = (found for found in ways_up(subject) if not found.figures.rough)
    flat = next((found for found in looked_at if found.flat), None)
    if chosen is not None and flat is not None and flat is not chosen and flat.figures.hanging:
        yield replace(_hangs(subject, flat, "note", chosen), passed=True, fix=None)


def _same(a: tuple[float, float, float], b: tuple[float, float, float]) -> bool:
    return float(np.dot(a, b)) > 1 - 1e-9


def _better(subject: Subject) -> Orientation | None:
    """The best way up, where the user chose another one."""
    best = ways_up(subject)[0]
    return None if _same(best.down, chosen_down(subject)) else best


def _support_words(found: Orientation) -> str:
    return _("Support, {grams} g, {minutes} min to take off and clean.").format(
        grams=number(max(found.grams, 0.1), 1), minutes=number(max(found.figures.cleaning, 1), 0)
    )


def _flat_words(change: Saving) -> str:
    return _(
        "Cut a flat {depth} deep where it lies: no support or brim, about {minutes} min saved."
    ).format(depth=with_unit(change.size), minutes=number(change.minutes, 0))


def _hangs(
    subject: Subject, found: Orientation, severity: str, better: Orientation | None
) -> Finding:
    """better : another way up that costs less, to be laid on instead"""
    worst = found.figures.hanging[0]
    remedy = _support_words(found)
    fix: Fix | None = None
    if better is not None:
        remedy = _("Print it {name} instead.").format(name=better.name)
        fix = {"down": list(better.down)}
    elif severity == "warning" and (change := chamfered(subject, found)):
        remedy = _(
            "Chamfer the corner under it by {size}: no support, about {minutes} min saved."
        ).format(size=with_unit(change.size), minutes=number(change.minutes, 0))
        fix = change.fix
    elif severity == "warning" and worst.kind == "slope" and (change := flattened(subject)):
        remedy, fix = _flat_words(change), change.fix
    return Finding(
        severity=severity,
        rule="hangs in the air",
        where=step_at(subject, found.down, worst.place) or subject.repair.name,
        text=hangs(subject, found),
        number=worst.area,
        limit=0.0,
        unit="mm²",
        remedy=remedy,
        source=OVERHANG,
        fix=fix,
    )


def stands(subject: Subject) -> Iterator[Finding]:
    """Whether it stays on the bed, and whether thin towers cool."""
    found = laid_layers(subject).stance
    firm = partial(Finding, rule="stands firm", where=subject.repair.name, source=PRACTICE)
    better = _better(subject)
    other = {"down": list(better.down)} if better and better.figures.tips > 0 else None
    if not np.isfinite(found.margin):
        yield firm(
            severity="warning",
            text=_(
                "It touches the bed only at a point or an edge, so its first layer does not hold."
            ),
            number=found.contact,
            unit="mm²",
            remedy=_("Lay it another way, or print it on a brim or a raft of support."),
            fix=other,
        )
    elif found.margin < 0:
        yield firm(
            severity="warning",
            text=_(
                "It would fall over by itself: its centre of gravity is {margin} outside what touches the bed."
            ).format(margin=with_unit(-found.margin, 1)),
            number=-found.margin,
            limit=0.0,
            unit="mm",
            remedy=_("Lay it another way, or let support and a brim hold it."),
            fix=other,
        )
    elif found.brim is not None:
        width = setting(found.brim.width, 0)
        # Where it hangs as well, that finding offers the flat.
        flat = None if laid_layers(subject).overhangs.support else flattened(subject)
        brim = _("Set a brim of {width} mm before printing.").format(width=width)
        yield firm(
            severity="note",
            text=_("A brim of {width} mm is wise: {reason}.").format(
                width=width, reason=found.brim.reason
            ),
            number=found.tips,
            unit="°",
            remedy=brim if flat is None else _flat_words(flat),
            fix=None if flat is None else flat.fix,
        )
    small = next(
        (tower for tower in laid_layers(subject).towers if tower.small and tower.height > 5), None
    )
    if small is not None:
        yield Finding(
            severity="note",
            rule="small tower",
            where=step_at(subject, chosen_down(subject), small.place) or subject.repair.name,
            text=_(
                "A tower {width} wide rises {height} by itself: each layer is still warm when the next one comes."
            ).format(width=with_unit(small.width, 1), height=with_unit(small.height, 0)),
            number=small.area,
            unit="mm²",
            remedy=_("Print two at once, or slowly, so that each layer cools."),
            source=PRACTICE,
        )
