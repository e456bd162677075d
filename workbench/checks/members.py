"""Steps as beams: where the root is, how thick it is there, and where a hand loads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.checks.beams import Section, disc, flatted_disc, rectangle

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
    """

    section: Section
    reach: tuple[float, float, float]
    thickness: float
    width: float
    fillet: float = 0.0
    root: tuple[float, float, float] = (0.0, 0.0, 0.0)


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
    # In its hole a peg is loaded all along; half way stands for it.
    return Member(section, (0.0, 0.0, values["length"] / 2), thickness, across)


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
}


def member(template: str, values: Mapping[str, Any], held: str = "bottom") -> Member | None:
    """The step as a beam held by one of its sides; None where no formula fits it."""
    if template == "fin" and held == "top":
        return _fin_upside_down(values)
    make = _MEMBERS.get(template)
    return make(values) if make is not None and held == "bottom" else None


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
