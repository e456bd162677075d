"""Steps that stand a little proud of a face, so that the part cannot lie on it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from workbench.checks.fix_search import moving
from workbench.checks.orientation.orient import chosen_down, ways_up
from workbench.checks.orientation.side_names import SIDES
from workbench.checks.orientation.small_changes import SAVES, judged
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.words import _, number, with_unit

#: More than this is part of the shape, not an oversight, in mm. Our choice.
PROUD = 1.0

#: Less than this is rounding, in mm.
_LITTLE = 0.02


def proud(subject: Subject) -> Iterator[Finding]:
    """A step that keeps the part from lying on a broad face, and how far to move it."""
    chosen = subject.repair.down is not None
    # A side that the user chose stays down: only what stands out of that one is in the way.
    best = next(way for way in ways_up(subject) if way.chosen or not chosen)
    for down in [np.array(chosen_down(subject))] if chosen else _flattest(subject):
        if not chosen and float(np.dot(down, best.down)) > 1 - 1e-6:
            return
        found = _standing_out(subject, down)
        if not found:
            continue
        fix = _flush(subject, found, down)
        flat = fix and judged(subject, fix, down)
        if flat and flat.minutes < (1 - SAVES) * best.minutes:
            name, by = max(found.items(), key=lambda item: item[1])
            yield Finding(
                severity="warning" if best.figures.hanging else "note",
                rule="way up",
                where=name,
                text=_("{step} stands {by} proud, so the part cannot lie flat.").format(
                    step=name, by=with_unit(by)
                ),
                number=by,
                limit=0.0,
                unit="mm",
                remedy=_("Make it flush: move it {by}; that saves about {minutes} min.").format(
                    by=with_unit(by), minutes=number(best.minutes - flat.minutes, 0)
                ),
                source=_("costs of a way up: guesses, no source"),
                fix=fix,
            )
            return


def _flattest(subject: Subject) -> list[np.ndarray]:
    """The sides of the bench, lowest part first."""
    sides = [np.array(side) for side in SIDES.values()]
    return sorted(sides, key=lambda side: float(np.ptp(subject.mesh[0] @ side)))[:4]


def _standing_out(subject: Subject, down: np.ndarray) -> dict[str, float]:
    """By how much each step stands out below the one that has the most to lie on."""
    ends = {
        step.name: float((subject.part_mesh(step.name)[0] @ down).max())
        for step in subject.repair.steps
        if not step.cuts
    }
    if len(ends) < 2:
        return {}
    broad = max(ends, key=lambda name: _resting(*subject.part_mesh(name), down))
    out = {name: end - ends[broad] for name, end in ends.items()}
    if max(out.values()) > PROUD:
        return {}
    return {name: by for name, by in out.items() if by > _LITTLE}


def _resting(vertices: np.ndarray, faces: np.ndarray, down: np.ndarray) -> float:
    """Area of a step's own level faces at its lower end, in mm²."""
    corners = vertices[faces]
    level = (corners @ down).min(axis=1) > float((vertices @ down).max()) - _LITTLE
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(cross[level], axis=1).sum() / 2)


def _flush(subject: Subject, found: dict[str, float], down: np.ndarray) -> dict[str, Any] | None:
    """The fix that moves every such step back; None for one that has to fit where it stands."""
    if found.keys() & {fit.step for fit in subject.repair.fits}:
        return None
    steps: dict[str, Any] = {}
    for name, by in found.items():
        moved = moving(subject, subject.repair.step(name), -by * down)
        if moved is None:
            return None
        steps |= moved["steps"]
    return {"steps": steps}
