"""Numbers raised on parts as they lie."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from parts import divider

from workbench.checks.report import Subject
from workbench.output.bed import on_the_bed
from workbench.output.raised import HEIGHTS, STROKE, UP, raised
from workbench.solids import numerals
from workbench.solids.build import build
from workbench.solids.mesh import closes, mesh, volume
from workbench.solids.repair import Repair


def tile(width: float, depth: float) -> tuple[np.ndarray, np.ndarray]:
    return mesh(build(Repair("tile").add("box", width=width, depth=depth, height=3)))


def test_a_number_adds_its_own_volume_on_top() -> None:
    vertices, faces = tile(30, 20)
    made = raised(vertices, faces, "12")
    assert made is not None and closes(made[1])
    areas = [
        shapely.Polygon(outer, openings).area
        for outer, openings in numerals.outlines("12", HEIGHTS[0], STROKE)
    ]
    added = volume(*made) - volume(vertices, faces)
    assert added == pytest.approx(sum(areas) * UP, rel=1e-4)
    assert made[0][:, 2].max() == pytest.approx(vertices[:, 2].max() + UP, abs=1e-5)
    assert np.ptp(made[0][:, :2], axis=0) == pytest.approx([30, 20], abs=1e-5)


def test_small_faces_get_small_figures_and_smaller_ones_none() -> None:
    made = raised(*tile(6.2, 6.2), "8")
    assert made is not None and closes(made[1])
    assert raised(*tile(2.5, 2.5), "8") is None


def test_it_stays_clear_of_what_fits_something() -> None:
    vertices, faces = tile(40, 12)
    made = raised(vertices, faces, "7", [vertices * [0.6, 1, 1] + [8, 0, 0]])
    assert made is not None
    figures = made[0][made[0][:, 2] > vertices[:, 2].max() + 0.1]
    assert len(figures) and figures[:, 0].max() < vertices[:, 0].max() - 24


def test_a_thin_part_on_edge_carries_it_on_its_side() -> None:
    subject = Subject.of(divider())
    bed = on_the_bed(subject)
    made = raised(bed.vertices, bed.faces, "5")
    assert made is not None and closes(made[1])
    assert volume(*made) > volume(bed.vertices.astype(float), bed.faces)
    assert made[0][:, 2].min() == pytest.approx(0, abs=1e-4)
