"""Will it print: one piece, on the bed, thick enough, nothing hanging, and standing firm."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from workbench.checks.bed import ROOM, turn_to_fit
from workbench.checks.orient import Orientation
from workbench.checks.overhang import Region
from workbench.checks.places import step_at
from workbench.checks.reasons import hangs
from workbench.checks.report import Finding, Subject
from workbench.checks.slices import cut, mass
from workbench.checks.thin import Thin, thin
from workbench.solids.lay import laid
from workbench.solids.mesh import closes
from workbench.words import _, number

PRACTICE = "common practice, no source"

#: Source of the overhang angle.
OVERHANG = "Mazlan et al., J. Adv. Ind. Technol. Appl., 2020, 38-47; common practice"

#: Thin places lower than so many layers, or shorter than this in mm, are edges and tips.
_LASTING = 3
_LONG = 2.0

#: How closely thin sheets are looked for, across the layers, in mm.
_ACROSS = 0.5


def one_piece(subject: Subject) -> Iterator[Finding]:
    """The surface closes and is one body."""
    vertices, faces = subject.mesh
    finding = partial(Finding, "stop", "one piece", subject.repair.name)
    if not closes(faces):
        yield finding(
            _("The surface does not close, so inside and outside are not told apart."),
            remedy=_("Change a size by 0.1 mm and build again."),
        )
        return
    bodies = count_bodies(vertices, faces)
    if bodies > 1:
        yield finding(
            _("It falls into {count} bodies that do not touch.").format(count=bodies),
            float(bodies),
            1.0,
            "bodies",
            remedy=_("Move the parts until they overlap by 0.2 mm, or make each its own repair."),
        )


def count_bodies(vertices: np.ndarray, faces: np.ndarray) -> int:
    """How many bodies a closed mesh has; a hollow inside one does not count."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    count = len(vertices)
    ends = np.concatenate([faces[:, :2], faces[:, 1:]])
    links = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count))
    _found, label = connected_components(links, directed=False)
    shell = label[faces[:, 0]]
    return sum(mass(vertices, faces[shell == one])[0] > 0 for one in np.unique(shell))


def fits_bed(subject: Subject) -> Iterator[Finding]:
    """The part, as it is laid, fits the bed."""
    placed = laid(subject.mesh[0], subject.down)
    bed = subject.printer.bed
    size = np.ptp(placed, axis=0)
    turn = turn_to_fit(placed, bed)
    given = {
        "size": " x ".join(number(side, 1) for side in size),
        "bed": " x ".join(number(side, 0) for side in bed),
        "printer": subject.printer.name,
    }
    over = size - (np.array(bed) - [2 * ROOM, 2 * ROOM, 0])
    worst = int(np.argmax(over))
    numbers = (float(size[worst]), float(bed[worst]), "mm")
    if turn is None:
        yield Finding(
            "stop",
            "fits the bed",
            subject.repair.name,
            _(
                "Laid down it is {size} mm, more than the {bed} mm of printer {printer} with {room} mm to spare on every side."
            ).format(room=number(ROOM, 0), **given),
            *numbers,
            remedy=_("Split it into two parts with a tab and a slot, or take a larger printer."),
            source=subject.printer.source("bed"),
        )
    elif turn:
        yield Finding(
            "note",
            "fits the bed",
            subject.repair.name,
            _("At {size} mm it fits the bed of {bed} mm turned by {turn}°.").format(
                turn=number(turn, 0), **given
            ),
            *numbers,
            remedy=_("Turn it on the bed before printing."),
            source=subject.printer.source("bed"),
        )


def thinnest(subject: Subject) -> Iterator[Finding]:
    """Walls against the nozzle, and gaps that would close."""
    walls = [place for place in subject.layers.thin if place.kind == "wall" and _lasts(place)]
    sheets = [
        place for place in _sheets(subject) if not walls or place.width < walls[0].width - 0.02
    ]
    if sheets:
        yield _sheet(subject, sheets[0])
    elif walls:
        yield _wall(subject, walls[0])
    nozzle = subject.printer.nozzle
    for gap in subject.layers.thin:
        if gap.kind == "gap" and gap.width < nozzle and _lasts(gap):
            yield Finding(
                "warning",
                "narrow gap",
                _where(subject, gap),
                _(
                    "A gap of {width} mm, {length} mm long, is narrower than a line of {nozzle} mm and will close."
                ).format(
                    width=number(gap.width),
                    length=number(gap.length, 1),
                    nozzle=number(nozzle),
                ),
                gap.width,
                nozzle,
                "mm",
                remedy=_("Make the gap at least {nozzle} mm wide.").format(nozzle=number(nozzle)),
                source=PRACTICE,
            )
            return


def _lasts(place: Thin) -> bool:
    return place.last - place.layer + 1 >= _LASTING and place.length >= _LONG


def _sheets(subject: Subject) -> list[Thin]:
    """Thin places as seen across the layers, where sheets that lie flat show as walls."""
    down = np.array(subject.down)
    axis = np.eye(3)[np.argmin(np.abs(down))]
    slices = cut(*subject.mesh, axis - (axis @ down) * down, _ACROSS)
    found = thin(slices, subject.printer.nozzle)
    return [place for place in found if place.kind == "wall" and _lasts(place)]


def _wall(subject: Subject, wall: Thin) -> Finding:
    nozzle = subject.printer.nozzle
    given = {
        "width": number(wall.width),
        "nozzle": number(nozzle),
        "lines": wall.lines,
        "height": number(wall.height, 1),
        "step": _where(subject, wall),
    }
    if wall.lines == 0:
        text = _(
            "The thinnest wall, of {step}, is {width} mm: less than one line of {nozzle} mm, so it may be left out."
        )
    else:
        text = _(
            "The thinnest wall, of {step}, is {width} mm: only {lines} line of {nozzle} mm fits, and it will be weak."
        )
    return Finding(
        "stop" if wall.lines == 0 else "warning",
        "thinnest wall",
        _where(subject, wall),
        text.format(**given),
        wall.width,
        2 * nozzle,
        "mm",
        remedy=_(
            "Make it at least {limit} mm thick, two lines; 1 to 1.2 mm if it stands alone."
        ).format(limit=number(2 * nozzle)),
        source=PRACTICE,
    )


def _sheet(subject: Subject, sheet: Thin) -> Finding:
    layer = subject.printer.layer
    count = max(1, round(sheet.width / layer))
    return Finding(
        "stop" if sheet.width < layer / 2 else "warning",
        "thinnest wall",
        subject.repair.name,
        _(
            "The thinnest wall is {width} mm, {count} layers of {layer} mm as it is laid: it will bend and tear."
        ).format(width=number(sheet.width), count=count, layer=number(layer)),
        sheet.width,
        2 * subject.printer.nozzle,
        "mm",
        remedy=_("Make it at least {limit} mm thick.").format(
            limit=number(2 * subject.printer.nozzle)
        ),
        source=PRACTICE,
    )


def _where(subject: Subject, place: Thin) -> str:
    return step_at(subject, subject.down, place.place) or subject.repair.name


def hanging(subject: Subject) -> Iterator[Finding]:
    """What would hang in the air as it is laid, and laid flat."""
    chosen = next(
        (found for found in subject.orientations if _same(found.down, subject.down)), None
    )
    if chosen is not None and chosen.figures.hanging:
        yield _hangs(subject, chosen, _severity(chosen.figures.hanging), _support_words(chosen))
    looked_at = (found for found in subject.orientations if not found.figures.rough)
    flat = next((found for found in looked_at if found.flat), None)
    if flat is not None and flat is not chosen and flat.figures.hanging:
        yield _hangs(
            subject,
            flat,
            "note",
            _("Print it {name} instead.").format(name=chosen.name) if chosen else "",
        )


def _same(a: tuple[float, float, float], b: tuple[float, float, float]) -> bool:
    return float(np.dot(a, b)) > 1 - 1e-9


def _severity(regions: tuple[Region, ...]) -> str:
    return "warning" if sum(region.area for region in regions) > 5 else "note"


def _support_words(found: Orientation) -> str:
    return _("Print it with support: {grams} g, about {minutes} min to take off and clean.").format(
        grams=number(max(found.grams, 0.1), 1), minutes=number(found.figures.cleaning, 0)
    )


def _hangs(subject: Subject, found: Orientation, severity: str, remedy: str) -> Finding:
    worst = found.figures.hanging[0]
    return Finding(
        severity,
        "hangs in the air",
        step_at(subject, found.down, worst.place) or subject.repair.name,
        hangs(subject, found),
        worst.area,
        0.0,
        "mm²",
        remedy=remedy,
        source=OVERHANG,
    )


def stands(subject: Subject) -> Iterator[Finding]:
    """Whether it stays on the bed, and whether thin towers cool."""
    found = subject.layers.stance
    if not np.isfinite(found.margin):
        yield Finding(
            "warning",
            "stands firm",
            subject.repair.name,
            _("It touches the bed at a point or an edge only, so its first layer does not hold."),
            found.contact,
            None,
            "mm²",
            remedy=_("Lay it another way, or print it on a brim or a raft of support."),
            source=PRACTICE,
        )
    elif found.margin < 0:
        yield Finding(
            "warning",
            "stands firm",
            subject.repair.name,
            _(
                "It would fall over by itself: its weight is {margin} mm outside what touches the bed."
            ).format(margin=number(-found.margin, 1)),
            -found.margin,
            0.0,
            "mm",
            remedy=_("Lay it another way, or let support and a brim hold it."),
            source=PRACTICE,
        )
    elif found.brim is not None:
        yield Finding(
            "note",
            "stands firm",
            subject.repair.name,
            _("A brim of {width} mm is wise: {reason}.").format(
                width=number(found.brim.width, 0), reason=found.brim.reason
            ),
            found.tips,
            None,
            "°",
            remedy=_("Set a brim of {width} mm before printing.").format(
                width=number(found.brim.width, 0)
            ),
            source=PRACTICE,
        )
    small = next(
        (tower for tower in subject.layers.towers if tower.small and tower.height > 5), None
    )
    if small is not None:
        yield Finding(
            "note",
            "small tower",
            step_at(subject, subject.down, small.place) or subject.repair.name,
            _(
                "A tower {width} mm wide rises {height} mm alone: each layer is warm when the next one comes."
            ).format(width=number(small.width, 1), height=number(small.height, 0)),
            small.area,
            None,
            "mm²",
            remedy=_("Print two at once, or slowly, so that each layer cools."),
            source=PRACTICE,
        )
