"""From caliper readings of a broken household part to a printed replacement that fits.

The public names are imported when they are first used, so that ``import workbench`` is quick
and does not load the geometry kernel.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "RepairError": "workbench.errors",
    "Reading": "workbench.measure.reading",
    "Outline": "workbench.measure.outlines.outline",
    "trapezoid": "workbench.measure.outlines.outline",
    "decompose": "workbench.measure.outlines.triangles",
    "Piece": "workbench.measure.outlines.piece",
    "Sketch": "workbench.measure.sketches.sketch",
    "sketch_of": "workbench.measure.sketches.sketch",
    "solve": "workbench.measure.sketches.solve",
    "combine": "workbench.measure.derived",
    "trace": "workbench.measure.photos.trace",
    "compare": "workbench.measure.outlines.compare",
    "add_traced": "workbench.solids.drawn.traced_steps",
    "plate": "workbench.solids.templates.plate",
    "fin": "workbench.solids.templates.fin",
    "clip": "workbench.solids.templates.clip",
    "peg": "workbench.solids.templates.peg",
    "tab": "workbench.solids.templates.tab",
    "panel": "workbench.solids.templates.panel",
    "turning": "workbench.solids.templates.turning",
    "shell": "workbench.solids.templates.shell",
    "thread": "workbench.solids.templates.thread",
    "bottle_thread": "workbench.solids.templates.bottle_thread",
    "gear": "workbench.solids.templates.gear",
    "boss": "workbench.solids.templates.boss",
    "letters": "workbench.solids.templates.letters",
    "number_plate": "workbench.solids.templates.number_plate",
    "spacer": "workbench.solids.templates.spacer",
    "knob": "workbench.solids.templates.knob",
    "pin": "workbench.solids.templates.pin",
    "stop": "workbench.solids.templates.stop",
    "hook": "workbench.solids.templates.hook",
    "guide": "workbench.solids.templates.guide",
    "foot": "workbench.solids.templates.foot",
    "strike": "workbench.solids.templates.strike",
    "Size": "workbench.solids.parameters",
    "Count": "workbench.solids.parameters",
    "Choice": "workbench.solids.parameters",
    "Flag": "workbench.solids.parameters",
    "Corners": "workbench.solids.parameters",
    "Words": "workbench.solids.parameters",
    "register": "workbench.solids.catalogue",
    "Repair": "workbench.solids.recipe.repair",
    "Seat": "workbench.solids.recipe.seat",
    "At": "workbench.solids.recipe.seat",
    "Same": "workbench.solids.recipe.same",
    "Slide": "workbench.solids.motion",
    "Turn": "workbench.solids.motion",
    "Counterpart": "workbench.solids.counterpart",
    "Loose": "workbench.solids.counterpart",
    "Row": "workbench.solids.recipe.repeats",
    "Ring": "workbench.solids.recipe.repeats",
    "Load": "workbench.solids.recipe.service",
    "Fit": "workbench.solids.recipe.service",
    "Trial": "workbench.solids.recipe.service",
    "build": "workbench.solids.building.build",
    "mesh": "workbench.solids.meshes.mesh",
    "check": "workbench.checks.check",
    "coupon": "workbench.checks.fit.coupon",
    "export": "workbench.output.files.export",
    "bench": "workbench.jupyter.bench",
}

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(_HOMES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted(__all__)
