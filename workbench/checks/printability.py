"""Will it print: one piece, on the bed, nothing hanging, and standing firm."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from workbench.checks.layers.overhang import Region
from workbench.checks.layers.slices import mass
from workbench.checks.orientation.bed_fit import ROOM, turn_to_fit
from workbench.checks.orientation.reasons import hangs
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.orientation.way_up import Orientation
from workbench.checks.report import PRACTICE, Finding, Subject
from workbench.solids.lay import laid
from workbench.solids.mesh import closes
from workbench.words import _, number, setting, sizes

#: Source of the overhang angle.
OVERHANG = "Mazlan et al., J. Adv. Ind. Technol. Appl., 2020, 38-47; common practice"


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
        "size": sizes(size, 1, " x "),
        "bed": sizes(bed, 0, " x "),
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
                width=setting(found.brim.width, 0), reason=found.brim.reason
            ),
            found.tips,
            None,
            "°",
            remedy=_("Set a brim of {width} mm before printing.").format(
                width=setting(found.brim.width, 0)
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
