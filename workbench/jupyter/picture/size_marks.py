"""The sizes of a step as the picture draws them: the drawing's own dimensions, as plain data."""

from __future__ import annotations

from typing import Any

import numpy as np

from workbench import units
from workbench.jupyter.sizes.fields import in_steps
from workbench.output.drawing.dimension_kinds import Angle, Box, Circle, Corner, Length, value_text
from workbench.output.drawing.dimensions import reading_of, sizes_of
from workbench.solids import catalogue
from workbench.solids.building.build import Placed
from workbench.solids.meshes.owners import NEAR
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.words import named_in, sized

#: How many points of each end of a length the browser may choose its witness lines from.
_POINTS = 12


def marks(repair: Repair, steps: Placed, name: str, bounds: np.ndarray) -> list[dict[str, Any]]:
    """The sizes of a step, each with its text, whose it is, and its places in mm.

    bounds : (2, 3) least and greatest x, y and z of the whole part's mesh, in mm
    """
    step = repair.step(name)
    kinds = {p.name: p for p in catalogue.find(step.template).parameters}
    fits = {(fit.step, fit.field): fit.mating.value for fit in repair.fits}
    found, shown_in = [], units.chosen()
    whole = Box(bounds[0] - NEAR, bounds[1] + NEAR)
    for dimension in sizes_of(repair, steps, name, whole):
        _step, field = dimension.about
        mark: dict[str, Any] = {"text": dimension.text, "step": name, "field": field}
        parameter = kinds.get(field)
        if parameter is not None:
            unit = getattr(parameter.kind, "unit", "")
            mark["name"] = parameter.said
            mark["label"] = named_in(parameter.said, unit)
            mark["drag"] = isinstance(parameter.kind, Size) and isinstance(dimension, Length)
            mark["value"] = step.values[field]
            if isinstance(parameter.kind, Size) and mark["drag"]:
                mark["pitch"] = in_steps(parameter.kind, shown_in).step * shown_in.mm
            if (name, field) in fits:
                mark["mating"] = round(fits[name, field], 4)
        if isinstance(dimension, Length):
            mark |= {
                "kind": "length",
                "axis": _plain(dimension.axis),
                "start": _plain(_outer(dimension.start)),
                "end": _plain(_outer(dimension.end)),
            }
        elif isinstance(dimension, Circle):
            mark |= {
                "kind": "circle",
                "centre": _plain(dimension.centres[0]),
                "axis": _plain(dimension.axis),
                "radius": round(dimension.radius, 4),
            }
        elif isinstance(dimension, Angle):
            mark |= {"kind": "angle", "edge": _plain(dimension.edge)}
        elif isinstance(dimension, Corner):
            continue
        found.append(mark)
    return found


def renewed(found: list[dict[str, Any]], repair: Repair, name: str) -> list[dict[str, Any]]:
    """A step's sizes that were found before, with its values as they are now, left in their places."""
    step = repair.step(name)
    values = step.values

    def now(mark: dict[str, Any]) -> dict[str, Any]:
        value = values.get(mark["field"])
        if value is None or mark.get("value", value) == value:
            return mark
        before, _value, after = mark["text"].partition(sized(abs(mark["value"])))
        if not _value or mark["kind"] == "angle":
            return mark
        after = "" if after.startswith(" ±") else after
        text = value_text(abs(value), reading_of(repair, step, mark["field"]))
        return mark | {"value": value, "text": before + text + after}

    return [now(mark) for mark in found if mark["step"] == name]


def _outer(points: np.ndarray) -> np.ndarray:
    """The points (n, 3) that lie farthest out, each once."""
    once = np.unique(np.round(points, 4), axis=0)
    if len(once) <= _POINTS:
        return once
    ways = np.array([[x, y, z] for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1)])
    return once[np.unique((once @ ways.T).argmax(axis=0))]


def _plain(values: np.ndarray) -> list[Any]:
    return np.round(np.asarray(values, dtype=float), 4).tolist()
