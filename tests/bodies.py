"""Bodies as plain meshes, made with the mesh kernel, that the tests about layers share.

Each function returns vertices (n, 3) in mm and faces (m, 3). Bodies stand on z = 0.
"""

from __future__ import annotations

import math

import numpy as np
from manifold3d import CrossSection, Manifold, OpType


def arrays(body: Manifold) -> tuple[np.ndarray, np.ndarray]:
    """Vertices and faces of a body, lifted or lowered onto z = 0."""
    mesh = body.translate((0, 0, -body.bounding_box()[2])).to_mesh64()
    return np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts).astype(np.int64)


def block(x: float, y: float, z: float, at: tuple[float, float, float] = (0, 0, 0)) -> Manifold:
    """A block centred in x and y that stands at ``at``."""
    return Manifold.cube((x, y, z)).translate((at[0] - x / 2, at[1] - y / 2, at[2]))


def tee(arm: float = 17, stem: float = 30) -> Manifold:
    """A T, 10 deep: a stem 6 wide and two arms 4 high."""
    return block(6, 10, stem) + block(6 + 2 * arm, 10, 4, (0, 0, stem))


def bridge(free: float = 8, clear: float = 10) -> Manifold:
    """Two legs, 6 by 10, with a deck 4 high over ``free`` mm between them."""
    side = (free + 6) / 2
    legs = block(6, 10, clear, (-side, 0, 0)) + block(6, 10, clear, (side, 0, 0))
    return legs + block(free + 12, 10, 4, (0, 0, clear))


def ball(radius: float = 10, segments: int = 160) -> Manifold:
    """A sphere; its true radius is that of its corners."""
    return Manifold.sphere(radius, segments)


def funnel(angle: float, height: float = 10, foot: float = 5, segments: int = 256) -> Manifold:
    """A cone that widens upwards by ``angle`` degrees from the vertical, from a round foot."""
    top = foot + height * math.tan(math.radians(angle))
    return Manifold.cylinder(height, foot, top, segments)


def drilled(diameter: float, size: float = 30) -> Manifold:
    """A block, 10 deep, with a level hole through its middle from front to back."""
    hole = Manifold.cylinder(40, diameter / 2, diameter / 2, 64, True).rotate((90, 0, 0))
    return block(size, 10, size) - hole.translate((0, 0, size / 2))


def lamp() -> Manifold:
    """A hollow block with a drop that hangs inside it, held at its top only: starts in mid-air."""
    room = block(30, 10, 20) - block(20, 20, 10, (0, 0, 5))
    return room + block(2, 2, 3, (0, 0, 12))


def comb(wall: float, gap: float) -> Manifold:
    """A foot with two equal walls, 10 deep and 15 high, with a gap between them."""
    offset = (wall + gap) / 2
    walls = block(wall, 10, 15, (-offset, 0, 5)) + block(wall, 10, 15, (offset, 0, 5))
    return block(30, 10, 5) + walls


def plate_with_holes(segments: int, holes: int = 5, thick: float = 20) -> Manifold:
    """A plate, 80 by 60, with rows of countersunk holes: many triangles, mostly upright walls."""
    drills = [
        Manifold.cylinder(thick + 2, 2.25, 2.25, segments).translate((x, y, -1))
        + Manifold.cylinder(3, 2.25, 5, segments).translate((x, y, thick - 3))
        for x in np.linspace(-32, 32, holes + 1)
        for y in np.linspace(-22, 22, holes)
    ]
    return Manifold.batch_boolean([block(80, 60, thick), *drills], OpType.Subtract)


def ring(segments: int = 48) -> Manifold:
    """A ring that leans."""
    return CrossSection.circle(8, segments).translate((25, 0)).revolve(segments).rotate((30, 0, 0))
