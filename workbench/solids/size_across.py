"""The size of a step that says how far it is from one of its faces to the one across."""

from __future__ import annotations

from typing import Any

import numpy as np

from workbench.solids import catalogue
from workbench.solids.building.seating import DIRECTIONS
from workbench.solids.measured_faces import Span, mark_of
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import Place
from workbench.solids.told_in_place import turn_of

#: A face that looks along an axis does so to within this, as a cosine.
_SQUARE = 1 - 1e-9

#: Points nearer than this to the outermost one, in mm, lie in its face.
_LEVEL = 1e-6


def size_across(template: str, values: dict[str, Any], place: Place, face: str) -> str | None:
    """The name of the size that runs square through a step from a face, such as "thickness".

    None where no one size does: of a round from its side, or of a step that stands askew.

    >>> from workbench.solids.recipe.seat import At
    >>> size_across("box", {"width": 30.0, "depth": 30.0, "height": 4.0}, At(), "left")
    'width'
    >>> size_across("cylinder", {"diameter": 9.0, "height": 4.0}, At(), "left")
    """
    looks = turn_of(place).T @ DIRECTIONS[face]
    axis = int(np.argmax(np.abs(looks)))
    if abs(looks[axis]) < _SQUARE:
        return None
    found = catalogue.find(template)
    whole = found.complete(values)
    for parameter in found.parameters:
        if isinstance(parameter.kind, Size):
            mark, features = mark_of(found, whole, parameter.name)
            if isinstance(mark, Span) and mark.axis == axis and features is not None:
                along = features.points[features.there][:, axis]
                if abs(np.ptp(along) - whole[parameter.name]) < _LEVEL:
                    return parameter.name
    return None
