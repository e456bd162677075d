"""Cautions that come from the shape: small parts, sharp edges and points."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from workbench.checks.cautions import sharp
from workbench.checks.cautions.small_parts import SOURCE as SMALL_PARTS
from workbench.checks.cautions.small_parts import small_parts, too_long
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
    vertices, faces = subject.mesh
    found = sharp.edges(vertices, faces)
    severity = "warning" if used.keys() & {"child", "pet"} else "note"
    fix = None if subject.repair.rounding else {"rounding": KIND}
    remedy = _("Blunt it with a file or fine sandpaper.")
    if fix:
        remedy = _(
            "Round it to a radius of {radius}, or blunt it with a file or fine sandpaper."
        ).format(radius=with_unit(KIND))
    source = _("limit: our choice; for toys see 16 CFR 1500.48 and 1500.49 (from memory)")
    keen = found.angles < SHARP
    ends = vertices[found.ends[keen]]
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    if lengths.sum() > (LEAST if severity == "note" else 0.0):
        sharpest = float(found.angles[keen].min())
        yield Finding(
            severity=severity,
            rule="sharp edges",
            where=_nearest(subject, ends[np.argmax(lengths)].mean(axis=0)),
            text=_(
                "{length} of edge is sharper than {limit}°, at the sharpest {sharpest}°."
            ).format(
                length=with_unit(lengths.sum(), 0),
                limit=number(SHARP, 0),
                sharpest=number(sharpest, 0),
            ),
            number=sharpest,
            limit=SHARP,
            unit="°",
            remedy=remedy,
            source=source,
            fix=fix,
        )
    tips = sharp.cone_angles(sharp.solid_angles(found, len(vertices)))
    points = np.flatnonzero((tips > 0) & (tips < SHARP_POINT))
    if len(points):
        keenest = points[np.argmin(tips[points])]
        text = (
            _("1 point is sharp, about {angle}°.")
            if len(points) == 1
            else _("{count} points are sharp, the sharpest about {angle}°.")
        )
        yield Finding(
            severity=severity,
            rule="sharp points",
            where=_nearest(subject, vertices[keenest]),
            text=text.format(count=len(points), angle=number(float(tips[keenest]), 0)),
            number=float(tips[keenest]),
            limit=SHARP_POINT,
            unit="°",
            remedy=remedy,
            source=source,
            fix=fix if keen.any() else None,  # a rounding reaches points by their edges only
        )


def _nearest(subject: Subject, point: np.ndarray) -> str:
    """The step that a point lies on."""
    from build123d import Vertex

    spot = Vertex(*(float(v) for v in point))
    return min(
        subject.assembly.parts, key=lambda name: subject.assembly.parts[name].distance_to(spot)
    )
