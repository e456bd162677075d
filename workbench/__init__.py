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
    "Outline": "workbench.measure.outline",
    "trapezoid": "workbench.measure.outline",
    "decompose": "workbench.measure.triangles",
    "Piece": "workbench.measure.piece",
    "Sketch": "workbench.measure.sketch",
    "sketch_of": "workbench.measure.sketch",
    "solve": "workbench.measure.solve",
    "combine": "workbench.measure.derived",
    "trace": "workbench.measure.trace",
    "compare": "workbench.measure.compare",
    "add_traced": "workbench.solids.traced_steps",
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
    "Repair": "workbench.solids.repair",
    "Seat": "workbench.solids.seat",
    "At": "workbench.solids.seat",
    "Same": "workbench.solids.same",
    "Slide": "workbench.solids.motion",
    "Turn": "workbench.solids.motion",
    "Counterpart": "workbench.solids.counterpart",
    "Loose": "workbench.solids.counterpart",
    "Row": "workbench.solids.repeats",
    "Ring": "workbench.solids.repeats",
    "Load": "workbench.solids.service",
    "Fit": "workbench.solids.service",
    "Trial": "workbench.solids.service",
    "build": "workbench.solids.build",
    "mesh": "workbench.solids.mesh",
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
