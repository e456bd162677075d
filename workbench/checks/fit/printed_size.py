"""How a size of a step is printed: what it is, which way it lies, and whether it rests on the bed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.checks.report import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.build import frame
from workbench.solids.parameters import Size
from workbench.solids.screws import clearance_hole
from workbench.solids.step import Step
from workbench.words import _

#: Sizes that run straight from face to face, and along which axis of the template.
_STRAIGHT = {
    ("tab", "width"): "x",
    ("tab", "thickness"): "y",
    ("tab", "length"): "z",
    ("fin", "thickness"): "y",
    ("peg", "across_flat"): "y",
    ("peg", "slot"): "x",
    ("clip", "length"): "z",
    ("clip", "width"): "y",
    ("plate", "width"): "x",
    ("plate", "height"): "y",
    ("plate", "thickness"): "z",
    ("box", "width"): "x",
    ("box", "depth"): "y",
    ("box", "height"): "z",
    ("wedge", "depth"): "y",
    ("triangular_prism", "thickness"): "y",
    ("spacer", "height"): "z",
    ("spacer", "gap"): "y",
    ("knob", "across_flat"): "y",
    ("pin", "length"): "z",
    ("stop", "width"): "x",
    ("stop", "height"): "z",
    ("hook", "opening"): "z",
    ("hook", "width"): "x",
    ("guide", "mouth"): "x",
    ("guide", "depth"): "y",
    ("foot", "height"): "z",
    ("strike", "width"): "x",
    ("strike", "height"): "y",
    ("strike", "thickness"): "z",
    ("strike", "opening_width"): "x",
    ("strike", "opening_height"): "y",
}

#: Sizes across a round whose axis is the template's z.
_ROUND = {
    ("peg", "diameter"),
    ("peg", "collar"),
    ("cylinder", "diameter"),
    ("tube", "outside"),
    ("tube", "inside"),
    ("plate", "hole"),
    ("spacer", "inside"),
    ("spacer", "outside"),
    ("knob", "shaft"),
    ("pin", "diameter"),
    ("pin", "head"),
    ("guide", "cable"),
}

#: Sizes between faces that look at each other: they go round their counterpart.
_INSIDE = {
    ("plate", "hole"),
    ("tube", "inside"),
    ("peg", "slot"),
    ("clip", "length"),
    ("spacer", "inside"),
    ("spacer", "gap"),
    ("knob", "shaft"),
    ("knob", "across_flat"),
    ("hook", "opening"),
    ("guide", "cable"),
    ("guide", "mouth"),
    ("strike", "opening_width"),
    ("strike", "opening_height"),
}

#: A direction within this cosine of the vertical runs up through the layers.
_UPRIGHT = 0.7

#: A chamfer of this on the tip that rests on the bed takes up the first layer's spread, in mm;
#: common practice, no source.
EASED = 0.3

#: A part that ends within this of the bed, in mm, is printed with the first layer, which is 0.2 mm
#: thick: the layer whose middle is nearest takes it.
_RESTS = 0.1


@dataclass(frozen=True)
class Printed:
    """A size as it is printed.

    feature : "outside", "hole", "slot", "height" or "gap"
    at_bed : whether the first layer on the bed is part of it
    """

    feature: str
    at_bed: bool


def field_of(step: Step, field: str) -> str:
    """The field that holds the size: a plate's ``screw`` and ``fit`` stand for its ``hole``.

    Raises
    ------
    RepairError
        When the template does not ask for the field, or it is no length.
    """
    parameter = catalogue.find(step.template).parameter(field)
    if step.template == "plate" and field in ("screw", "fit"):
        return "hole"
    if not isinstance(parameter.kind, Size) or parameter.kind.unit != "mm":
        raise RepairError(
            _("{step}: {field} is no length that could fit; choose a size in mm").format(
                step=step.name, field=field
            )
        )
    return field


def size_of(step: Step, field: str) -> float:
    """The size in mm that the step has now."""
    wanted = field_of(step, field)
    if step.template == "plate" and wanted == "hole" and step.values["screw"] != "other":
        return clearance_hole(step.values["screw"], step.values["fit"])
    return float(step.values[wanted])


def with_size(step: Step, field: str, size: float) -> dict[str, Any]:
    """The values that give the step this size, to be handed to ``repair.change``."""
    wanted = field_of(step, field)
    if step.template == "plate" and wanted == "hole":
        return {"screw": "other", "hole": size}
    return {wanted: size}


def limits(step: Step, field: str) -> tuple[float, float]:
    """The smallest and the largest size in mm that the template takes."""
    kind = catalogue.find(step.template).parameter(field_of(step, field)).kind
    assert isinstance(kind, Size)
    return kind.low, kind.high


def is_round(step: Step, field: str) -> bool:
    """Whether the size goes across a round."""
    return (step.template, field_of(step, field)) in _ROUND


def is_straight(step: Step, field: str) -> bool:
    """Whether the size runs straight from face to face."""
    return (step.template, field_of(step, field)) in _STRAIGHT


def is_inside(step: Step, field: str) -> bool:
    """Whether the size goes round its counterpart; what a step cuts away turns inside out."""
    return ((step.template, field_of(step, field)) in _INSIDE) != step.cuts


def printed_as(subject: Subject, step: str, field: str) -> Printed:
    """How a size comes to lie on the bed with the side that is chosen for it.

    A size of a template of the user's own counts as level and outside.
    """
    from workbench.checks.orientation.orient import chosen_down

    found = subject.repair.step(step)
    wanted = field_of(found, field)
    down = np.asarray(chosen_down(subject), dtype=float)
    axes = frame(subject.repair, step)[:3, :3]
    inside = is_inside(found, field)
    axis = _STRAIGHT.get((found.template, wanted))
    if axis is not None and abs(axes[:, "xyz".index(axis)] @ down) > _UPRIGHT:
        return Printed("gap" if inside else "height", False)
    at_bed = _rests(subject, step, down) and not _eased(found, float(axes[:, 2] @ down))
    level = ("hole" if is_round(found, field) else "slot") if inside else "outside"
    return Printed(level, at_bed)


def _rests(subject: Subject, step: str, down: np.ndarray) -> bool:
    """Whether the step's shape reaches the bed, or goes through it where it cuts."""
    part = subject.assembly.parts[step]
    lowest = max(float(np.dot((v.X, v.Y, v.Z), down)) for v in part.vertices())
    return lowest > float((subject.mesh[0] @ down).max()) - _RESTS


def _eased(step: Step, tip_down: float) -> bool:
    """Whether a chamfer at the tip takes up the first layer's spread."""
    return tip_down > _UPRIGHT and float(step.values.get("chamfer", 0.0)) >= EASED
