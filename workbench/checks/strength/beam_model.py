"""Steps as beams: where the root is, how thick it is there, and where a hand loads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from workbench.checks.strength.beams import Section, disc, flatted_disc, rectangle
from workbench.solids.seat import Seat
from workbench.solids.step import Step

#: Templates that enter a slot or hole and so hold the part: a load on another step passes
#: through their roots.
HOLDERS = ("tab", "peg")


@dataclass(frozen=True)
class Member:
    """A step that stands out from its root at z = 0 along its template's z axis.

    section : at the root
    reach : (3,) from the middle of the root to where the load acts, in the template's axes, mm
    thickness, width : of the root, along y and along x, mm
    fillet : radius at the root, mm; 0 where the template has none
    root : (3,) middle of the root, in the template's axes, mm
    shoulder : what the root stands on where the template has it, such as a collar, across, mm
    is_round : whether the section is a round or a D
    """

    section: Section
    reach: tuple[float, float, float]
    thickness: float
    width: float
    fillet: float = 0.0
    root: tuple[float, float, float] = (0.0, 0.0, 0.0)
    shoulder: float = 0.0
    is_round: bool = False


def _tab(values: Mapping[str, Any]) -> Member:
    width, thickness = values["width"], values["thickness"]
    return Member(rectangle(width, thickness), (0.0, 0.0, values["length"]), thickness, width)


def _fin(values: Mapping[str, Any]) -> Member:
    bottom, thickness = values["bottom"], values["thickness"]
    lean = values["inset"] + values["top"] / 2 - bottom / 2
    reach = (lean, 0.0, values["height"])
    middle = (bottom / 2, 0.0, 0.0)
    return Member(rectangle(bottom, thickness), reach, thickness, bottom, root=middle)


def _fin_upside_down(values: Mapping[str, Any]) -> Member:
    """A fin held by its top edge: its z axis points back at the root."""
    top, thickness = values["top"], values["thickness"]
    lean = values["bottom"] / 2 - values["inset"] - top / 2
    reach = (lean, 0.0, -values["height"])
    middle = (values["inset"] + top / 2, 0.0, values["height"])
    return Member(rectangle(top, thickness), reach, thickness, top, root=middle)


def _peg(values: Mapping[str, Any]) -> Member:
    across = values["diameter"]
    is_d = values["section"] == "D"
    section = flatted_disc(across, values["across_flat"]) if is_d else disc(across)
    thickness = min(across, values["across_flat"]) if is_d else across
    root = values["collar_thickness"] if values["collar"] else 0.0
    # In its hole a peg is loaded all along; half way stands for it.
    reach = (0.0, 0.0, values["length"] / 2)
    foot = (0.0, 0.0, root)
    return Member(section, reach, thickness, across, 0.0, foot, values["collar"], is_round=True)


def _box(values: Mapping[str, Any]) -> Member:
    width, depth = values["width"], values["depth"]
    return Member(rectangle(width, depth), (0.0, 0.0, values["height"]), depth, width)


def _cylinder(values: Mapping[str, Any]) -> Member:
    across = values["diameter"]
    return Member(disc(across), (0.0, 0.0, values["height"]), across, across, is_round=True)


def _clip(values: Mapping[str, Any]) -> Member:
    # The arm springs along x, so its width lies along y.
    root, width = values["root_thickness"], values["width"]
    lever = root / 2 + values["hook_depth"] / 2
    section = rectangle(root, width)
    return Member(section, (lever, 0.0, values["length"]), width, root, values["root_fillet"])


_MEMBERS: dict[str, Callable[[Mapping[str, Any]], Member]] = {
    "tab": _tab,
    "fin": _fin,
    "peg": _peg,
    "clip": _clip,
    "box": _box,
    "cylinder": _cylinder,
}

#: Templates that are beams only where they sit on something else.
_SEATED_ONLY = ("box", "cylinder")


def member(
    step: Step, held: str = "bottom", values: Mapping[str, Any] | None = None
) -> Member | None:
    """A step as a beam held by one of its sides, perhaps with other values.

    None where no formula fits it. What is sunk into the part below is no longer free.
    """
    given = step.values if values is None else values
    if step.template == "fin" and held == "top":
        return _fin_upside_down(given)
    make = _MEMBERS.get(step.template)
    if make is None or held != "bottom":
        return None
    if step.template in _SEATED_ONLY and not isinstance(step.place, Seat):
        return None
    return _freed_above(make(given), sunk(step))


def sunk(step: Step) -> float:
    """How far a step's root is pushed into what it sits on, in mm."""
    return step.place.sink if isinstance(step.place, Seat) else 0.0


def _freed_above(beam: Member, depth: float) -> Member:
    by = max(depth - beam.root[2], 0.0)
    (x, y, z), (root_x, root_y, root_z) = beam.reach, beam.root
    return replace(beam, reach=(x, y, z - by), root=(root_x, root_y, root_z + by))


def bending_stress(
    section: Section, force: np.ndarray, reach: np.ndarray, along_y: float = 1, along_x: float = 1
) -> float:
    """Greatest pull at the root in MPa: along the axis and bent both ways, taken together.

    force, reach : (3,) in the template's axes, N and mm
    along_y, along_x : stress concentration for bending along each of these axes
    """
    lever = np.cross(reach, force)
    return float(
        abs(force[2]) / section.area
        + along_y * abs(lever[0]) / section.modulus_along_y
        + along_x * abs(lever[1]) / section.modulus_along_x
    )


def shear_stress(section: Section, force: np.ndarray) -> float:
    """Greatest shear at the root in MPa: its peak is 3/2 of the mean in a bar, 4/3 in a round."""
    return float(section.shear_peak * np.hypot(force[0], force[1]) / section.area)
