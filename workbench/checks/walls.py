"""Walls and gaps against the nozzle: will they print, and will they hold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workbench.checks.layers.slices import cut
from workbench.checks.layers.thin_walls import Thin, thin
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.report import PRACTICE, Finding, Subject
from workbench.words import _, number, setting, with_unit

#: Thin places lower than so many layers, or shorter than this in mm, are edges and tips.
_LASTING = 3
_LONG = 2.0

#: How closely thin sheets are looked for, across the layers, in mm.
_ACROSS = 0.5


def thinnest(subject: Subject) -> Iterator[Finding]:
    """Walls against the nozzle, and gaps that would close."""
    if (across := _across(subject)[1]) < subject.printer.nozzle:
        yield _thread(subject, across)
        return
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
                severity="warning",
                rule="narrow gap",
                where=_where(subject, gap),
                text=_(
                    "A gap of {width}, {length} long, is narrower than a line of {nozzle} mm and will close."
                ).format(
                    width=with_unit(gap.width),
                    length=with_unit(gap.length, 1),
                    nozzle=setting(nozzle),
                ),
                number=gap.width,
                limit=nozzle,
                unit="mm",
                remedy=_("Make the gap at least {nozzle} mm wide.").format(nozzle=setting(nozzle)),
                source=PRACTICE,
            )
            return


def _lasts(place: Thin) -> bool:
    return place.last - place.layer + 1 >= _LASTING and place.length >= _LONG


def _sheets(subject: Subject) -> list[Thin]:
    """Thin places as seen across the layers, where sheets that lie flat show as walls."""
    across, width = _across(subject)
    # Never so coarsely that nothing would be cut.
    slices = cut(*subject.mesh, across, min(_ACROSS, width))
    found = thin(slices, subject.printer.nozzle)
    return [place for place in found if place.kind == "wall" and _lasts(place)]


def _across(subject: Subject) -> tuple[np.ndarray, float]:
    """A direction (3,) along the layers, and how far the whole part reaches that way, in mm."""
    down = np.array(subject.down)
    axis = np.eye(3)[np.argmin(np.abs(down))]
    across = axis - (axis @ down) * down
    across /= np.linalg.norm(across)
    return across, float(np.ptp(subject.mesh[0] @ across))


def _thread(subject: Subject, width: float) -> Finding:
    """A part that is less than a line wide as a whole."""
    nozzle = subject.printer.nozzle
    return Finding(
        severity="stop",
        rule="thinnest wall",
        where=subject.repair.name,
        text=_(
            "It is {width} across, less than one line of {nozzle} mm, so nothing would be printed."
        ).format(width=with_unit(width), nozzle=setting(nozzle)),
        number=width,
        limit=nozzle,
        unit="mm",
        remedy=_("Make it at least {limit} thick.").format(limit=with_unit(3 * nozzle)),
        source=PRACTICE,
    )


def _wall(subject: Subject, wall: Thin) -> Finding:
    nozzle = subject.printer.nozzle
    given = {
        "width": with_unit(wall.width),
        "nozzle": setting(nozzle),
        "lines": wall.lines,
        "height": number(wall.height, 1),
        "step": _where(subject, wall),
    }
    if wall.lines == 0:
        text = _(
            "The thinnest wall, of {step}, is {width}: less than one line of {nozzle} mm, so it may be left out."
        )
    else:
        text = _(
            "The thinnest wall, of {step}, is {width}: only {lines} line of {nozzle} mm fits, and it will be weak."
        )
    return Finding(
        severity="stop" if wall.lines == 0 else "warning",
        rule="thinnest wall",
        where=_where(subject, wall),
        text=text.format(**given),
        number=wall.width,
        limit=2 * nozzle,
        unit="mm",
        remedy=_("Make it at least {limit} thick, two lines; {alone} if it stands alone.").format(
            limit=with_unit(2 * nozzle), alone=with_unit(3 * nozzle)
        ),
        source=PRACTICE,
    )


def _sheet(subject: Subject, sheet: Thin) -> Finding:
    layer = subject.printer.layer
    count = max(1, round(sheet.width / layer))
    return Finding(
        severity="stop" if sheet.width < layer / 2 else "warning",
        rule="thinnest wall",
        where=subject.repair.name,
        text=_(
            "The thinnest wall is {width}, {count} layers of {layer} mm as it is laid: it will bend and tear."
        ).format(width=with_unit(sheet.width), count=count, layer=setting(layer)),
        number=sheet.width,
        limit=2 * subject.printer.nozzle,
        unit="mm",
        remedy=_("Make it at least {limit} thick.").format(
            limit=with_unit(2 * subject.printer.nozzle)
        ),
        source=PRACTICE,
    )


def _where(subject: Subject, place: Thin) -> str:
    return step_at(subject, subject.down, place.place) or subject.repair.name
