"""Steps as beams: their sections as printed from root to tip, and where a hand loads them.

A step is a beam where it stands on something and its sections, one above the other, are of one
piece at the root and grow no larger; the solid itself tells, whatever function made it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.checks.layers.contours import contours
from workbench.checks.layers.sections import middle
from workbench.checks.strength.beams import Section
from workbench.checks.strength.printed_section import ROUND, printed, roundness
from workbench.solids import catalogue
from workbench.solids.facts import facts_of
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Heights at which a beam is cut, as parts of its length, besides just above every step in it.
#: Our choice.
_CUTS = (0.0, 0.1, 0.25, 0.5, 0.75)

#: Where to look at what is cut out of a beam, as parts of its height. Our choice.
_ALONG_CUT = (0.02, 0.15, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 0.98)

#: Less than this is not cut, in mm². Our choice.
_SPECK = 0.01

#: Just above or below a face, in mm. Our choice.
_JUST = 1e-3

#: A beam that steps in by less than this is no shoulder, in mm. Our choice.
_STEP = 0.1

#: How much larger a section may be than the largest below it, a barb, a hook; one that widens
#: little by little may end up larger than that. Our choice.
_GROWS = 1.3


@dataclass(frozen=True)
class Level:
    """A beam cut across.

    middle : (3,) of the section, in the template's axes, mm
    thickness, width : along y and along x, mm
    shoulder : what it stands on where the beam steps in, along x and y, mm; 0 where it does not
    cut : whether something is cut out of it here
    """

    section: Section
    middle: tuple[float, float, float]
    thickness: float
    width: float
    is_round: bool
    shoulder: tuple[float, float] = (0.0, 0.0)
    cut: bool = False

    @property
    def twist_modulus(self) -> float:
        """Torque over the greatest shear that it makes, mm³: 2 Z of a round, b²h/(3 + 1.8 b/h) of
        a bar, and as much less of another section as that resists bending less."""
        section = self.section
        if self.is_round:
            return 2 * min(section.modulus_along_x, section.modulus_along_y)
        b, h = sorted((self.thickness, self.width))
        full = self.width * self.thickness**2 / 6, self.thickness * self.width**2 / 6
        share = min(section.modulus_along_y / full[0], section.modulus_along_x / full[1])
        return share * b**2 * h / (3 + 1.8 * b / h)


@dataclass(frozen=True)
class Member:
    """A step that stands out from its root, cut across from the root on.

    end : (3,) where a load acts: the middle of the free end, in the template's axes, mm
    fillet : radius at the root, mm; 0 where the template has none
    """

    levels: tuple[Level, ...]
    end: tuple[float, float, float]
    fillet: float = 0.0

    @property
    def root(self) -> Level:
        """The lowest level."""
        return self.levels[0]

    @property
    def neck(self) -> tuple[Level, ...]:
        """The root, where the beam first steps in, and where it is cut: what holds a part in a
        slot or a hole."""
        steps = [level for level in self.levels[1:] if level.shoulder != (0.0, 0.0)][:1]
        cut = [level for level in self.levels[1:] if level.cut and level not in steps]
        return (self.root, *steps, *cut)

    def up_to(self, height: float) -> tuple[Level, ...]:
        """The levels as far from the root as ``height``, in the template's axes, mm."""
        far = abs(height - self.root.middle[2]) + _JUST
        found = [at for at in self.levels if abs(at.middle[2] - self.root.middle[2]) <= far]
        return tuple(found or self.levels[:1])

    @property
    def reach(self) -> np.ndarray:
        """(3,) from the middle of the root to where the load acts, mm."""
        return np.array(self.end) - self.root.middle


#: Bytes of the vertices (n, 3) and faces (m, 3) of what is cut out of a beam, in its own axes.
Cut = tuple[bytes, bytes]


def member(
    step: Step,
    line: float,
    held: str = "bottom",
    values: Mapping[str, Any] | None = None,
    cuts: tuple[Cut, ...] = (),
) -> Member | None:
    """A step as a beam held by one of its sides, perhaps with other values.

    line : width of a printed line, in mm
    cuts : what later steps cut out of it

    None where no formula fits it. What is sunk into the part below is no longer free.
    """
    facts = facts_of(step.template)
    given = step.values if values is None else values
    if facts.springs and held == "bottom":
        return _arm(given, sunk(step), line)
    upside_down = held == "top" and facts.hangs
    stands = isinstance(step.place, Seat) or facts.holds or facts.hangs
    if not stands or (held != "bottom" and not upside_down):
        return None
    template = catalogue.find(step.template)
    items = tuple(given.items())
    return _beam(template.function, items, sunk(step), line, upside_down, cuts)


def sunk(step: Step) -> float:
    """How far a step's root is pushed into what it sits on, in mm."""
    return step.place.sink if isinstance(step.place, Seat) else 0.0


@lru_cache(maxsize=128)
def _beam(
    function: Any,
    items: tuple[tuple[str, Any], ...],
    depth: float,
    line: float,
    top_down: bool,
    cuts: tuple[Cut, ...] = (),
) -> Member | None:
    try:
        vertices, faces = mesh(function(**dict(items)))
    except Exception:  # refused, or one of the geometry kernel's own errors
        return None
    flip = np.array([1.0, 1.0, -1.0 if top_down else 1.0])
    vertices = np.array(vertices, dtype=float) * flip
    faces = faces[:, ::-1] if top_down else faces
    tools = [(corners * flip, triangles) for corners, triangles in map(_mesh_of, cuts)]
    bottom = float(vertices[:, 2].min())
    tip = float(vertices[:, 2].max())
    root = bottom + depth if top_down else max(depth, bottom)
    if tip - root < 10 * _JUST:
        return None
    heights = _heights(vertices, root, tip)
    for corners, _triangles in tools:
        heights = np.union1d(heights, _through(corners[:, 2], root, tip))
    sections = _cut(vertices, faces, heights)
    found = [(height, section) for height, section in sections if section.area() > 0]
    if len(found) < 2 or not _is_beam([section for _height, section in found]):
        return None
    cut_at = set[float]()
    for corners, triangles in tools:
        away = _cut(corners, triangles, np.array([height for height, _section in found]))
        for place, (height, hollow) in enumerate(away):
            whole = found[place][1]
            left = whole - hollow
            if left.area() < whole.area() - _SPECK:
                cut_at.add(height)
                found[place] = (height, left)
    if cut_at and not _one_beam(found, cut_at):
        return None
    sign = -1.0 if top_down else 1.0
    levels = []
    lower, below = -math.inf, None
    for height, section in found[:-1]:
        steps = height - lower < 3 * _JUST
        level = _level(section, height, line, sign, below if steps else None)
        levels.append(replace(level, cut=True) if height in cut_at else level)
        lower, below = height, section
    x, y = middle(found[-1][1])
    return Member(tuple(levels), (x, y, sign * tip))


def _mesh_of(cut: Cut) -> tuple[np.ndarray, np.ndarray]:
    corners, triangles = cut
    return np.frombuffer(corners).reshape(-1, 3), np.frombuffer(triangles, int).reshape(-1, 3)


def _through(z: np.ndarray, root: float, tip: float) -> np.ndarray:
    """Where to look at a cut between two heights of a beam."""
    low, high = max(float(z.min()), root), min(float(z.max()), tip)
    return low + np.array(_ALONG_CUT) * (high - low) if high > low else np.zeros(0)


def _one_beam(found: list[tuple[float, CrossSection]], cut_at: set[float]) -> bool:
    """Whether a beam still bends as one where it is cut: what parts it is no longer than wide."""
    if any(section.area() < _SPECK for _height, section in found):
        return False
    parted = [height for height, section in found if len(section.decompose()) > 1]
    parted = [height for height in parted if height in cut_at]
    x0, y0, x1, y1 = found[0][1].bounds()
    return not parted or max(parted) - min(parted) <= max(x1 - x0, y1 - y0)


def _heights(vertices: np.ndarray, root: float, tip: float) -> np.ndarray:
    """Where to cut: along the beam, just above every step in it, and just below the tip."""
    z = np.unique(np.round(vertices[:, 2], 6))
    steps = z[(z > root + _JUST) & (z < tip - 2 * _JUST)]
    along = root + np.array(_CUTS) * (tip - root)
    # Round shapes have many corners: those of steps are few.
    steps = steps if len(steps) <= 8 else steps[:: len(steps) // 8]
    cuts = np.concatenate([along + _JUST, steps - _JUST, steps + _JUST, [tip - _JUST]])
    return np.unique(np.round(cuts, 6))


def _cut(
    vertices: np.ndarray, faces: np.ndarray, heights: np.ndarray
) -> list[tuple[float, CrossSection]]:
    from manifold3d import CrossSection, FillRule

    found = contours(vertices, faces, heights)
    return [
        (float(height), CrossSection(found.rings(plane), FillRule.EvenOdd))
        for plane, height in enumerate(heights)
    ]


def _is_beam(sections: list[CrossSection]) -> bool:
    """Whether the sections are those of a post: one piece at the root, none suddenly much larger
    above, and each above some of the root."""
    root = sections[0]
    if len(root.decompose()) != 1:
        return False
    areas = np.array([section.area() for section in sections])
    largest_below = np.maximum.accumulate(areas)[:-1]
    return bool((areas[1:] <= _GROWS * largest_below).all()) and all(
        not (section ^ root).is_empty() or section.area() > 0.2 * root.area()
        for section in sections
    )


def _level(
    section: CrossSection, height: float, line: float, sign: float, below: CrossSection | None
) -> Level:
    x, y = middle(section)
    x0, y0, x1, y1 = section.bounds()
    shoulder = (0.0, 0.0)
    if below is not None:
        u0, v0, u1, v1 = below.bounds()
        if u1 - u0 > x1 - x0 + _STEP or v1 - v0 > y1 - y0 + _STEP:
            shoulder = (u1 - u0, v1 - v0)
    return Level(
        printed(section, line),
        (x, y, sign * height),
        y1 - y0,
        x1 - x0,
        roundness(section) > ROUND,
        shoulder,
    )


def _arm(values: Mapping[str, Any], depth: float, line: float) -> Member:
    """An arm with a hook: it springs along x, so its width lies along y; its hook is loaded."""
    from manifold3d import CrossSection

    root, width = values["root_thickness"], values["width"]
    section = CrossSection.square((root, width), True)
    level = Level(printed(section, line), (0.0, 0.0, depth), width, root, False)
    lever = root / 2 + values["hook_depth"] / 2
    return Member((level,), (lever, 0.0, values["length"]), values["root_fillet"])


def bending_stress(
    section: Section, force: np.ndarray, reach: np.ndarray, along_y: float = 1, along_x: float = 1
) -> float:
    """Greatest pull in MPa: along the axis and bent both ways, taken together.

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
    """Greatest shear in MPa: its peak is 3/2 of the mean in a bar, 4/3 in a round."""
    return float(section.shear_peak * np.hypot(force[0], force[1]) / section.area)
