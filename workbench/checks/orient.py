"""Which way up a part is printed."""

from __future__ import annotations

from workbench.checks.candidates import Facets, candidates, rough
from workbench.checks.report import Subject


def chosen_down(subject: Subject) -> tuple[float, float, float]:
    """The direction that lies on the bed: the user's own choice, else the best one found."""
    if subject.repair.down is not None:
        return subject.repair.down
    facets = Facets.of(*subject.mesh)
    tried = [rough(facets, down) for down in candidates(*subject.mesh)]
    best = min(tried, key=lambda found: found.support + 2 * found.overhang + 20 * found.height)
    return best.down
