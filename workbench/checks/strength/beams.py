"""Formulas for what bends, springs and shears: plain numbers in, plain numbers out.

Lengths in mm, forces in N, moments in N mm, stresses and moduli in MPa, angles in degrees; strain
is a plain ratio (0.01 is one percent).

::

        |<------- length ------->|
        |                        | force or deflection
    ////|------------------------v
    ////|========================|  tip thickness
    ////|------------------------'
       root thickness
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

BEAM = "cantilever beam: F l³/3 E I, stress M/Z, any handbook"
TWIST = "torsion of a bar, Timoshenko; together with bending after von Mises (from memory)"
BUCKLING = "Euler's column, held at one end: pi² E I / 4 l², any handbook"
SNAP = (
    '"Snap-Fit Joints for Plastics: A Design Guide", a plastics maker (from memory); '
    "other tapers by integrating the beam"
)
CORNER = (
    "shoulder fillet in bending, Roark's Formulas for Stress and Strain, table 17.1 (from memory)"
)
OFF_AXIS = "strength off the axis after Azzi and Tsai, 1965 (from memory)"


#: Strips that a beam is cut into to add up how it bends. Our choice.
_STRIPS = 200


@dataclass(frozen=True)
class Section:
    """A cross-section: area mm², the moduli Z (mm³) and inertias I (mm⁴) about its two axes.

    ``along_y``: bent in the direction of y, in which a rectangle's thickness runs; ``along_x``:
    bent in the direction of x, the width. ``shear_peak``: greatest shear over mean shear.
    """

    area: float
    modulus_along_y: float
    modulus_along_x: float
    inertia_along_y: float
    inertia_along_x: float
    shear_peak: float


def rectangle(width: float, thickness: float) -> Section:
    """``width`` runs along x, ``thickness`` along y: I = b h³/12, Z = b h²/6, shear peak 3/2."""
    b, h = width, thickness
    return Section(b * h, b * h**2 / 6, h * b**2 / 6, b * h**3 / 12, h * b**3 / 12, 1.5)


def disc(diameter: float) -> Section:
    """A full round: I = pi d⁴/64, Z = pi d³/32, shear peak 4/3."""
    inertia = math.pi * diameter**4 / 64
    modulus = inertia / (diameter / 2)
    return Section(math.pi * diameter**2 / 4, modulus, modulus, inertia, inertia, 4 / 3)


def cantilever_deflection(force: float, length: float, modulus: float, inertia: float) -> float:
    """Deflection at the loaded end, mm: F l³ / 3 E I."""
    return force * length**3 / (3 * modulus * inertia)


def even_inertia(length: float, levels: Sequence[tuple[float, float]]) -> float:
    """Inertia of the even beam whose end bends as far as that of one whose section changes, mm⁴:
    l³ / 3 over the integral of (l - z)² / I along it.

    levels : (distance from the root, inertia there), mm and mm⁴; 1/I runs straight between them

    >>> round(even_inertia(30, [(0.0, 18.0), (20.0, 18.0)]), 3)
    18.0
    """
    around = sorted(levels)
    first, last = around[0], around[-1]
    around = [(-1.0, first[1]), *around, (max(length, last[0]) + 1.0, last[1])]
    total = 0.0
    for i in range(_STRIPS):
        z = (i + 0.5) * length / _STRIPS
        (a, stiff), (b, next_stiff) = next(pair for pair in pairwise(around) if z < pair[1][0])
        share = (z - a) / (b - a)
        total += (length - z) ** 2 * ((1 - share) / stiff + share / next_stiff)
    return length**2 / 3 * _STRIPS / total


def buckling_force(length: float, modulus: float, inertia: float) -> float:
    """Force along a post held at one end, at which it gives way sideways, N: pi² E I / (2 l)²."""
    return math.pi**2 * modulus * inertia / (2 * length) ** 2


def arm_compliance(taper: float) -> float:
    """The integral of u²/h³ along an arm of length 1 whose thickness runs from ``taper`` to 1.

    1/3 for an even arm. With s = 1 - taper it is (-ln(1-s) - s - s²/2)/s³, the sum of s^k/(k+3).
    """
    s = 1 - taper
    if abs(s) < 0.1:  # the closed form cancels here
        return math.fsum(s**k / (k + 3) for k in range(16))
    return (-math.log(taper) - s - s**2 / 2) / s**3


def peak_strain_ratio(taper: float) -> float:
    """Greatest strain along an arm over that at its root.

    An arm whose tip is less than half as thick as its root is strained most part of the way
    along, at taper/(1 - taper) of its length from the tip.
    """
    if taper >= 0.5:
        return 1.0
    return 1 / (4 * taper * (1 - taper))


def arm_factor(taper: float) -> float:
    """K in deflection = K e l²/h, for an arm whose tip is ``taper`` times as thick as its root.

    >>> round(arm_factor(1), 4), round(arm_factor(0.5), 4)
    (0.6667, 1.0904)
    """
    return 2 * arm_compliance(taper) / peak_strain_ratio(taper)


def arm_strain(deflection: float, length: float, root: float, tip: float) -> float:
    """Greatest strain of a springing arm whose end is bent aside by ``deflection``."""
    return deflection * root / (arm_factor(tip / root) * length**2)


def arm_force(
    deflection: float, length: float, root: float, tip: float, width: float, modulus: float
) -> float:
    """Force across the arm's end that bends it aside by ``deflection``, in N."""
    return modulus * width * root**3 * deflection / (12 * arm_compliance(tip / root) * length**3)


def sliding_force(across: float, angle: float, friction: float) -> float:
    """Force along the arm that slides its hook over an edge, in N; infinite where it locks.

    across : force that bends the arm aside, N
    angle : between the hook's slope and the arm: the lead-in for mating, the return for release
    """
    slope = math.tan(math.radians(angle)) if angle < 90 else math.inf
    if friction * slope >= 1:
        return math.inf
    return across * (friction + slope) / (1 - friction * slope)


def locking_angle(friction: float) -> float:
    """Slope from which a hook no longer slides back, in degrees."""
    return math.degrees(math.atan(1 / friction))


def concentration(thickness: float, fillet: float, wall: float, round_bar: bool = False) -> float:
    """Greatest stress over the beam formula's, where a bar in bending meets a thicker wall.

    thickness of the bar, radius of the fillet, and thickness of the wall in the same direction,
    all in mm; ``round_bar`` for a shaft on a collar. 1.0 where the wall is no thicker.
    """
    wall = min(wall, 3 * thickness)  # a wall thicker than that adds nothing more
    step = (wall - thickness) / 2
    if step <= 0:
        return 1.0
    share = 2 * step / wall
    factors = corner_factors(max(step / fillet, 0.1), round_bar)
    return max(1.0, math.fsum(c * share**i for i, c in enumerate(factors)))


def corner_factors(ratio: float, round_bar: bool = False) -> tuple[float, ...]:
    """Roark's C1 to C4 in bending, for step over fillet h/r from 0.1 to 20.

    Beyond 20 they still run as Peterson's charts do, up to 50 for a bar.
    """
    terms = (1.0, math.sqrt(ratio), ratio)
    rows = _CORNERS[round_bar, ratio > 2]
    return tuple(math.fsum(a * t for a, t in zip(row, terms, strict=True)) for row in rows)


#: Coefficients of 1, sqrt(h/r) and h/r in C1 to C4, by round bar and by h/r above 2.
_CORNERS = {
    (False, False): (
        (1.007, 1.000, -0.031),
        (-0.270, -2.404, 0.749),
        (0.677, 1.133, -0.904),
        (-0.414, 0.271, 0.186),
    ),
    (False, True): (
        (1.042, 0.982, -0.036),
        (-3.599, 1.619, -0.431),
        (6.084, -5.607, 1.158),
        (-2.527, 3.006, -0.691),
    ),
    (True, False): (
        (0.927, 1.149, -0.086),
        (0.015, -3.281, 0.837),
        (0.847, 1.716, -0.506),
        (-0.790, 0.417, -0.246),
    ),
    (True, True): (
        (1.225, 0.831, -0.010),
        (-3.790, 0.958, -0.257),
        (7.374, -4.834, 0.862),
        (-3.809, 3.046, -0.595),
    ),
}


def strength_ratio(across: float, slope: float) -> float:
    """Strength of layered material, as a part of its strength along the layers.

    across : strength square to the layers over that along them
    slope : angle between the pull and the layers, degrees: 0 along them, 90 square across them

    The shear strength between layers, which nobody states, is taken as that across them over
    the square root of three (von Mises).

    >>> strength_ratio(0.5, 0), round(strength_ratio(0.5, 90), 6)
    (1.0, 0.5)
    """
    c, s = math.cos(math.radians(slope)) ** 2, math.sin(math.radians(slope)) ** 2
    shear = across / math.sqrt(3)
    return 1 / math.sqrt(c**2 + (1 / shear**2 - 1) * c * s + s**2 / across**2)
