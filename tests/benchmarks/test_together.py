"""How quick two parts are judged together: against one intersection of the same by manifold3d."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import numpy as np
import pytest
from manifold3d import Manifold, OpType

from workbench.checks import together
from workbench.checks.subject import Subject
from workbench.solids.meshes.mesh import Mesh
from workbench.solids.motion import Motion, Slide, Turn
from workbench.solids.recipe.repair import Repair


def of(body: Manifold) -> Mesh:
    made = body.to_mesh64()
    return np.array(made.vert_properties)[:, :3], np.array(made.tri_verts).astype(np.int64)


def bumpy() -> Manifold:
    """A plate with a hundred bumps: as many patches that look ahead."""
    bumps = [
        Manifold.sphere(2, 28).translate([x, y, 2])
        for x in range(-27, 28, 6)
        for y in range(-27, 28, 6)
    ]
    return Manifold.batch_boolean([Manifold.cube([60, 60, 4], True), *bumps], OpType.Add)


def ball_and_socket() -> tuple[Manifold, Manifold]:
    room = Manifold.cube([60, 60, 60], True) - Manifold.sphere(20.3, 280)
    return Manifold.sphere(20, 200), room.trim_by_plane([0, 0, -1], 0)


PAIRS = {
    "a ball in a socket": ball_and_socket,
    "bumps over bumps": lambda: (bumpy(), bumpy().translate([0, 0, 6.3])),
    "bumps into bumps": lambda: (bumpy(), bumpy().translate([1, 0.5, 3.0])),
}

WAYS_IN = {"down": Slide("down", 40), "right": Slide("right", 60), "turned": Turn("z", 180)}


@pytest.mark.parametrize("motion", WAYS_IN.values(), ids=WAYS_IN)
@pytest.mark.parametrize("name", PAIRS)
def test_the_whole_of_it_takes_less_than_fifty_intersections(name: str, motion: Motion) -> None:
    one, two = PAIRS[name]()
    assert one.num_tri() + two.num_tri() > 30_000
    part, other = of(one), of(two)
    subject = Subject.of(Repair("x").add("box"))

    def all_of_it() -> None:
        list(together.judged(subject, part, other, name, motion, None, True))

    # Overlapping, as the two would be where they run into each other.
    shifted = one.translate([3, 2, 1])
    ratio = compared(all_of_it, lambda: Manifold.volume(shifted ^ two))
    print(f"{name}, {motion}: {ratio:.1f} intersections")
    assert ratio < 50


def compared(work: Callable[[], object], unit: Callable[[], object], runs: int = 3) -> float:
    """Median ratio of processor seconds, the two taken in turn."""
    ratios = []
    for _run in range(runs):
        spent = []
        for one in (work, unit):
            start = time.process_time()
            one()
            spent.append(time.process_time() - start)
        ratios.append(spent[0] / spent[1])
    return median(ratios)
