"""Walls and gaps against the nozzle: will they print, and will they hold."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations

import numpy as np

from workbench.checks.fix import Fix, resized
from workbench.checks.fix_search import finely, moving, passing, resizing, sizes
from workbench.checks.inside import inside
from workbench.checks.layers.slices import cut
from workbench.checks.layers.thin_walls import Thin, thin
from workbench.checks.orientation.orient import chosen_down, laid_layers
from workbench.checks.orientation.step_at_point import points_at, step_at
from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.solids.building.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.meshes.body import body_of
from workbench.words import _, number, setting, with_unit

#: Thin places lower than so many layers, or shorter than this in mm, are edges and tips.
#: Our choice.
_LASTING = 3
_LONG = 2.0

#: A size this near to a wall's width is that wall's, in mm. Our choice.
_NEAR = 0.08

#: A gap is opened to a line's width and this, in mm. Our choice.
_ROOM = 0.05

#: How closely ridges are looked for along a thread's axis, in mm. Our choice.
_ALONG = 0.05

#: A ridge reaches so far into what bears it, where it is looked for, in mm. Our choice.
_ROOTED = 0.12

#: How closely thin sheets are looked for, across the layers, in mm. Our choice.
_ACROSS = 0.5


def thinnest(subject: Subject) -> Iterator[Finding]:
    """Walls against the nozzle, and gaps that would close."""
    if (width := _width(subject)) < subject.printer.nozzle:
        yield _thread(subject, width)
        return
    wall, sheet = _thinnest(subject)
    if sheet:
        yield _sheet(subject, sheet)
    elif wall:
        yield _wall(subject, wall)
    nozzle = subject.printer.nozzle
    for gap in _seen(subject, "gap"):
        if gap.width < nozzle:
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
                fix=_wider(subject, gap.width) or _parted(subject, gap.width),
            )
            return


def _thinnest(subject: Subject) -> tuple[Thin | None, Thin | None]:
    """The thinnest wall: as a layer shows it, or else as it shows across them."""
    walls, sheets = _places(subject)
    if sheets and (not walls or sheets[0].width < walls[0].width - 0.02):
        return None, sheets[0]
    return (walls[0] if walls else None), None


def thinnest_at(subject: Subject) -> np.ndarray:
    """(n, 3) points in the thinnest wall that is told of: none or one, in mm."""
    wall, sheet = _thinnest(subject)
    down = _level(subject) if sheet else chosen_down(subject)
    return points_at(subject, down, [place.place for place in (wall, sheet) if place])


def _places(subject: Subject) -> tuple[list[Thin], list[Thin]]:
    """Walls that are thin in the layers, and those that are thin across them."""
    return _seen(subject, "wall"), _sheets(subject)


def _seen(subject: Subject, kind: str) -> list[Thin]:
    """Walls or gaps that are thin in the layers."""
    found = [place for place in laid_layers(subject).thin if place.kind == kind and _lasts(place)]
    return _beside_ridges(subject, chosen_down(subject), found)


def _beside_ridges(
    subject: Subject, down: tuple[float, float, float], found: list[Thin]
) -> list[Thin]:
    """Those that are no ridge of a thread, and no furrow between two of them."""
    points = points_at(subject, down, [place.place for place in found])
    ridges = np.zeros(len(found), dtype=bool)
    for step in subject.repair.steps:
        if facts_of(step.template).ridged and not ridges.all():
            ridges |= _among_ridges(subject, step.name, points)
    return [place for place, ridge in zip(found, ridges.tolist(), strict=True) if not ridge]


def _among_ridges(subject: Subject, name: str, points: np.ndarray) -> np.ndarray:
    """(n,) whether points (n, 3) lie on or between a step's ridges: a way along its axis leads
    from inside it to outside or the other way, and never past its ends."""
    own, axes = subject.part_mesh(name), frame(subject.repair, name)[:3, :3]
    body, among = body_of(*own), np.zeros(len(points), dtype=bool)
    for piece in [] if body is None else body.decompose():
        corners = np.asarray(piece.to_mesh64().vert_properties)[:, :3] @ axes
        low, high = corners.min(axis=0), corners.max(axis=0)
        middle, place = (low + high)[:2] / 2, points @ axes
        across = np.linalg.norm(corners[:, :2] - middle, axis=1).max()
        within = np.linalg.norm(place[:, :2] - middle, axis=1) < across
        for at in np.flatnonzero(within & (place[:, 2] > low[2]) & (place[:, 2] < high[2])):
            along = np.arange(low[2] + _ALONG / 2, high[2], _ALONG)
            foot = place[at, :2] + _ROOTED * np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)])
            rows = np.column_stack([foot.repeat(len(along), axis=0), np.tile(along, len(foot))])
            count = inside(*own, rows @ axes.T).reshape(len(foot), -1).sum(axis=1)
            among[at] |= bool(((count > 0) & (count < len(along))).any())
    return among


def narrowest(subject: Subject) -> float:
    """The thinnest wall that any section shows, in mm; inf where none is thinner than two lines."""
    return min((place.width for places in _places(subject) for place in places), default=math.inf)


def _lasts(place: Thin) -> bool:
    return place.last - place.layer + 1 >= _LASTING and (
        place.pin or place.neck or place.length >= _LONG
    )


def _sheets(subject: Subject) -> list[Thin]:
    """Thin places as seen across the layers, where sheets that lie flat show as walls."""
    # Never so coarsely that nothing would be cut.
    slices = cut(*subject.mesh, _level(subject), min(_ACROSS, _width(subject)))
    found = thin(slices, subject.printer.nozzle)
    walls = [place for place in found if place.kind == "wall" and _lasts(place)]
    return _beside_ridges(subject, _level(subject), walls)


def _as_wide(subject: Subject, name: str, width: float) -> dict[str, float]:
    """The lengths of a step that are a width's own, in mm."""
    found = sizes(subject, name).items()
    return {field: size for field, size in found if abs(size - width) < _NEAR}


def _thicker(subject: Subject, name: str, width: float, limit: float) -> Fix | None:
    """The fix that makes a wall as thick as the limit: the sizes that it is of, else another."""

    def passes(after: Subject) -> bool:
        walls, sheets = _places(after)
        names = [_where(after, wall) for wall in walls]
        return name not in [*names, *(_on_sheet(after, sheet) for sheet in sheets)]

    own = _as_wide(subject, name, width)
    fix = resized(name, **dict.fromkeys(own, limit))
    if own and passing(subject, fix, passes):
        return fix
    by = limit - width
    return resizing(subject, name, (2 * by, by, -2 * by), passes)


def _wider(subject: Subject, width: float) -> Fix | None:
    """The fix that opens a gap to a line's width, by a size that is the gap's own."""
    nozzle = subject.printer.nozzle
    by = nozzle + _ROOM - width
    tried = (
        resized(step.name, **{field: round(size + finely(by), 2)})
        for step in subject.repair.steps
        for field, size in _as_wide(subject, step.name, width).items()
    )
    return next((fix for fix in tried if passing(subject, fix, _open)), None)


def _parted(subject: Subject, width: float) -> Fix | None:
    """The fix that moves one of two steps away from the other, where they leave the gap."""
    by = subject.printer.nozzle + _ROOM - width
    boxes = zip(*subject.part_boxes, strict=True)
    for (one, (low, high)), (other, (under, over)) in permutations(boxes, 2):
        between = under - high
        beside = np.maximum(low, under) < np.minimum(high, over)
        for axis in np.flatnonzero(abs(between - width) < _NEAR):
            if beside[np.arange(3) != axis].all():
                way = by * np.eye(3)[axis]
                for name, shift in ((other, way), (one, -way)):
                    fix = moving(subject, subject.repair.step(name), shift)
                    if fix is not None and passing(subject, fix, _open):
                        return fix
    return None


def _open(subject: Subject) -> bool:
    """Whether no gap of a part would close."""
    return all(gap.width >= subject.printer.nozzle for gap in _seen(subject, "gap"))


def _level(subject: Subject) -> tuple[float, float, float]:
    """A direction along the layers."""
    down = np.array(chosen_down(subject))
    axis = np.eye(3)[np.argmin(np.abs(down))]
    x, y, z = (axis - (axis @ down) * down).tolist()
    return x, y, z


def _width(subject: Subject) -> float:
    """How far the whole part reaches along the layers, where it is looked at, in mm."""
    across = np.array(_level(subject))
    return float(np.ptp(subject.mesh[0] @ across) / np.linalg.norm(across))


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
    nozzle, where = subject.printer.nozzle, _where(subject, wall)
    given = {
        "width": with_unit(wall.width),
        "nozzle": setting(nozzle),
        "lines": wall.lines,
        "height": number(wall.height, 1),
        "step": where,
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
        where=where,
        text=text.format(**given),
        number=wall.width,
        limit=2 * nozzle,
        unit="mm",
        remedy=_("Make it at least {limit} thick, two lines; {alone} if it stands alone.").format(
            limit=with_unit(2 * nozzle), alone=with_unit(3 * nozzle)
        ),
        source=PRACTICE,
        fix=_thicker(subject, where, wall.width, 2 * nozzle),
    )


def _on_sheet(subject: Subject, sheet: Thin) -> str:
    return step_at(subject, _level(subject), sheet.place) or subject.repair.name


def _sheet(subject: Subject, sheet: Thin) -> Finding:
    layer, limit = subject.printer.layer, 2 * subject.printer.nozzle
    where = _on_sheet(subject, sheet)
    count = max(1, round(sheet.width / layer))
    text = _(
        "The thinnest wall is {width}, {count} layers of {layer} mm as it is laid: it will bend and tear."
    )
    if count == 1:
        text = _(
            "The thinnest wall is {width}, one layer of {layer} mm as it is laid: it will bend and tear."
        )
    return Finding(
        severity="stop" if sheet.width < layer / 2 else "warning",
        rule="thinnest wall",
        where=where,
        text=text.format(width=with_unit(sheet.width), count=count, layer=setting(layer)),
        number=sheet.width,
        limit=limit,
        unit="mm",
        remedy=_("Make it at least {limit} thick.").format(limit=with_unit(limit)),
        source=PRACTICE,
        fix=_thicker(subject, where, sheet.width, limit),
    )


def _where(subject: Subject, place: Thin) -> str:
    return step_at(subject, chosen_down(subject), place.place) or subject.repair.name
