"""Every sum on a work sheet comes out on a pocket calculator: pieces, arcs, holes and the total."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterator
from decimal import Decimal

import numpy as np
import pytest
from calculator import sums_in

from workbench import RepairError, units
from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.triangles import WAYS, decompose
from workbench.output.sheets.triangle_sheet import _arithmetic, _Split

#: How many sums are reckoned again: all of 50,000 with WORKBENCH_FULL=1.
SUMS = 50_000 if os.environ.get("WORKBENCH_FULL") else 1_200


def drawn(rng: np.random.Generator) -> Outline:
    """An outline of 3 to 9 corners in sizes that no ruler would show, some of its sides arcs."""
    count = int(rng.integers(3, 10))
    turn = np.sort(rng.uniform(0, 0.8, count) + np.arange(count)) / count * 2 * math.pi
    reach = rng.uniform(8, 60, count)
    corners = np.c_[reach * np.cos(turn), reach * np.sin(turn)] + rng.uniform(-50, 50, 2)
    path = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        bow = rng.uniform(0.05, 0.2) if rng.random() < 0.25 else 0.0
        middle = (a + b) / 2 + bow * np.array([b[1] - a[1], a[0] - b[0]])
        path.append((*a, 0.0, *middle) if bow else tuple(a))
    return Outline(path)


def told(split: _Split) -> Iterator[list[str]]:
    """The lines of each piece and hole, and the total, as they are printed with the answers."""
    for block in _arithmetic(split, 10_000.0, answers=True):
        yield [mark.text[:1].lower() + mark.text[1:] for mark in block.marks]


def areas(blocks: list[list[str]]) -> Iterator[Decimal]:
    """What each piece and hole comes to, below 0 where it is taken away."""
    for title, *_steps, last in blocks:
        (area,) = re.findall(r"(\d+(?:\.\d+)?) (?:mm|in)²", last)[-1:]
        yield Decimal(area) * (-1 if "taken away" in title else 1)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_sum_and_every_total_of_a_work_sheet_comes_out(unit: str) -> None:
    rng = np.random.default_rng(11)
    count, off = 0, []
    with units.using(units.UNITS[unit]):
        while count < SUMS / 2:
            across = [float(d) for d in rng.uniform(2, 8, int(rng.integers(3)))]
            try:
                outline = drawn(rng)
                pieces = decompose(outline, WAYS[int(rng.integers(len(WAYS)))])
            except RepairError:  # the arcs cross
                continue
            *blocks, [total] = told(
                _Split(outline, tuple(pieces), tuple((0.0, 0.0, d) for d in across))
            )
            sums = [one for lines in blocks for line in lines for one in sums_in(line)]
            own = Decimal(re.findall(r"(-?\d+(?:\.\d+)?) (?:mm|in)²", total)[0])
            sums.append((f"{total}: {[*areas(blocks)]}", sum(areas(blocks)) == own))
            assert len(sums) > len(blocks)  # each piece shows one at least
            count += len(sums)
            off += [text for text, agrees in sums if not agrees]
    print(f"{count} sums in {unit}, {len(off)} off: {off[:5]}")
    assert not off
