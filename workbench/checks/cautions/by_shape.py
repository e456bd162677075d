"""Cautions that come from the shape: small parts, sharp edges and points."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from workbench.checks.cautions import sharp
from workbench.checks.cautions.small_parts import SOURCE as SMALL_PARTS
from workbench.checks.cautions.small_parts import small_parts, too_long
from workbench.checks.fix import Fix
from workbench.checks.fix_search import passing
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.solids.recipe import uses
from workbench.solids.shapes.rounding import SHARP
from workbench.words import _, number, with_unit

#: Points sharper than this are named, as the angle of a cone as sharp, in degrees; edges as they
#: are rounded. Our choice.
SHARP_POINT = 41.0

#: Less of a sharp edge than this, all of it together, is the tip of a letter or of a thread, in mm;
#: a child's or a pet's is told however short. Our choice.
LEAST = 5.0

#: A rounding that is kind to hands, in mm. Our choice.
KIND = 0.5


def small(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "child" not in used and too_long(subject.corners):
        return
    found = small_parts(subject.corners)
    if not found.fits:
        if "child" in used:
            yield _of_shape(
                subject,
                "note",
                _("It is not a small part: {by} stick out of the cylinder.").format(
                    by=with_unit(abs(found.protrusion), 1)
                ),
                found.protrusion,
                _("Pieces that break off may still be small."),
                passed=True,
            )
        return
    severity = "stop" if "child" in used else "warning" if "pet" in used else "note"
    remedy = _("Keep it away from children under three, and from pets.")
    if severity == "stop":
        remedy = _(
            "Make it larger, or fix it so that no child can pull it off; if no child under three "
            'comes near it, say so under "small parts".'
        )
    yield _of_shape(
        subject,
        severity,
        _("It is small enough to choke a child: it fits inside the small-parts cylinder."),
        found.protrusion,
        remedy,
        passed=severity == "note" and bool(used),
    )


def _of_shape(
    subject: Subject, severity: str, text: str, protrusion: float, remedy: str, passed: bool
) -> Finding:
    return Finding(
        severity=severity,
        rule="small parts",
        where=subject.repair.name,
        text=text,
        number=protrusion,
        limit=0.0,
        unit="mm",
        remedy=remedy,
        source=SMALL_PARTS,
        passed=passed,
    )


def sharp_places(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    severity = "warning" if used.keys() & {"child", "pet"} else "note"
    least = LEAST if severity == "note" else 0.0
    source = _("limit: our choice; for toys see 16 CFR 1500.48 and 1500.49 (from memory)")
    found = sharp.edges(*subject.mesh)
    ends, length = _keen(subject, found)
    if length > least:
        sharpest = float(found.angles[found.angles < SHARP].min())
        fix = _rounded(subject, lambda after: _keen(after, sharp.edges(*after.mesh))[1] <= least)
        yield Finding(
            severity=severity,
            rule="sharp edges",
            where=_nearest(subject, _longest(ends)),
            text=_(
                "{length} of edge is sharper than {limit}°, at the sharpest {sharpest}°."
            ).format(
                length=with_unit(length, 0), limit=number(SHARP, 0), sharpest=number(sharpest, 0)
            ),
            number=sharpest,
            limit=SHARP,
            unit="°",
            remedy=_blunt(fix),
            source=source,
            fix=fix,
        )
    points, tips = _points(subject, found)
    if len(points):
        keenest = points[np.argmin(tips)]
        fix = _rounded(subject, lambda after: not len(_points(after, sharp.edges(*after.mesh))[0]))
        text = (
            _("1 point is sharp, about {angle}°.")
            if len(points) == 1
            else _("{count} points are sharp, the sharpest about {angle}°.")
        )
        yield Finding(
            severity=severity,
            rule="sharp points",
            where=_nearest(subject, subject.mesh[0][keenest]),
            text=text.format(count=len(points), angle=number(float(tips.min()), 0)),
            number=float(tips.min()),
            limit=SHARP_POINT,
            unit="°",
            remedy=_blunt(fix),
            source=source,
            fix=fix,
        )


def _keen(subject: Subject, found: sharp.Edges) -> tuple[np.ndarray, float]:
    """The ends (n, 2, 3) of what is sharp, and its length in mm."""
    ends = subject.mesh[0][found.ends[found.angles < SHARP]]
    return ends, float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())


def _longest(ends: np.ndarray) -> np.ndarray:
    """(3,) the middle of the longest of some edges."""
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    return np.asarray(ends[np.argmax(lengths)].mean(axis=0))


def _points(subject: Subject, found: sharp.Edges) -> tuple[np.ndarray, np.ndarray]:
    """Which corners are sharp points, and how sharp each is, in degrees."""
    tips = sharp.cone_angles(sharp.solid_angles(found, len(subject.mesh[0])))
    points = np.flatnonzero((tips > 0) & (tips < SHARP_POINT))
    return points, tips[points]


def _rounded(subject: Subject, passes: Callable[[Subject], bool]) -> Fix | None:
    """The fix that rounds all edges, where that does: it reaches no thread, and no lone point."""
    fix = {"rounding": KIND}
    return fix if not subject.repair.rounding and passing(subject, fix, passes) else None


def _blunt(fix: Fix | None) -> str:
    if fix is None:
        return _("Blunt it with a file or fine sandpaper.")
    return _("Round it to a radius of {radius}, or blunt it with a file or fine sandpaper.").format(
        radius=with_unit(KIND)
    )


def _nearest(subject: Subject, point: np.ndarray) -> str:
    """The step that a point lies on."""
    from build123d import Vertex

    spot = Vertex(*(float(v) for v in point))
    return min(
        subject.assembly.parts, key=lambda name: subject.assembly.parts[name].distance_to(spot)
    )
