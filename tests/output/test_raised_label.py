"""Numbers raised on parts as they lie."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from parts import divider

from workbench.checks.subject import Subject
from workbench.output.files.laid_part import on_the_bed
from workbench.output.files.letter_rings import (
    CAPITAL_HEIGHTS,
    FIGURE_HEIGHTS,
    STROKE,
    capitals,
    figures,
    to_raise,
)
from workbench.output.files.raised_label import UP, raised
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import closes, mesh, volume
from workbench.solids.recipe.repair import Repair
from workbench.solids.shapes import numerals


def tile(width: float, depth: float) -> tuple[np.ndarray, np.ndarray]:
    return mesh(build(Repair("tile").add("box", width=width, depth=depth, height=3)))


def test_a_number_adds_its_own_volume_on_top() -> None:
    vertices, faces = tile(30, 20)
    made = raised(vertices, faces, figures("12"))
    assert made is not None and closes(made[1])
    areas = [
        shapely.Polygon(outer, openings).area
        for outer, openings in numerals.outlines("12", FIGURE_HEIGHTS[0], STROKE)
    ]
    added = volume(*made) - volume(vertices, faces)
    assert added == pytest.approx(sum(areas) * UP, rel=1e-4)
    assert made[0][:, 2].max() == pytest.approx(vertices[:, 2].max() + UP, abs=1e-5)
    assert np.ptp(made[0][:, :2], axis=0) == pytest.approx([30, 20], abs=1e-5)


def test_small_faces_get_small_figures_and_smaller_ones_none() -> None:
    made = raised(*tile(6.2, 6.2), figures("8"))
    assert made is not None and closes(made[1])
    assert raised(*tile(2.5, 2.5), figures("8")) is None


def test_it_stays_clear_of_what_fits_something() -> None:
    vertices, faces = tile(40, 12)
    made = raised(vertices, faces, figures("7"), [vertices * [0.6, 1, 1] + [8, 0, 0]])
    assert made is not None
    letters = made[0][made[0][:, 2] > vertices[:, 2].max() + 0.1]
    assert len(letters) and letters[:, 0].max() < vertices[:, 0].max() - 24


def test_a_thin_part_on_edge_carries_it_on_its_side() -> None:
    subject = Subject.of(divider())
    bed = on_the_bed(subject)
    made = raised(bed.vertices, bed.faces, figures("5"))
    assert made is not None and closes(made[1])
    assert volume(*made) > volume(bed.vertices.astype(float), bed.faces)
    assert made[0][:, 2].min() == pytest.approx(0, abs=1e-4)


def test_a_label_is_raised_where_it_fits_else_initials_else_the_number() -> None:
    def fits(width: float, depth: float) -> str:
        part = tile(width, depth)
        texts = to_raise("Ada King", 17)
        return next((text.text for text in texts if raised(*part, text) is not None), "")

    assert [fits(80, 12), fits(20, 12), fits(9, 6.5), fits(2, 2)] == ["ADA KING", "AK", "17", ""]


def test_letters_add_their_own_volume() -> None:
    part, text = tile(60, 20), capitals("Äbby")
    assert text is not None
    made = raised(*part, text)
    assert made is not None and closes(made[1])
    # The non-zero rule: rings of one way add, those of the other are openings.
    rings = text.rings(CAPITAL_HEIGHTS[0])
    area = abs(sum(x @ np.roll(y, -1) - np.roll(x, -1) @ y for x, y in (r.T for r in rings)) / 2)
    assert volume(*made) - volume(*part) == pytest.approx(area * UP, rel=1e-3)


@pytest.mark.parametrize("sign", "ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÜ0123456789")
def test_every_stroke_is_two_lines_of_a_nozzle_wide(sign: str) -> None:
    """Little is lost where no stroke is under 0.8 mm: corners, where strokes end or meet."""
    text = capitals(sign)
    assert text is not None
    shape = shapely.Polygon()
    for ring in text.rings(CAPITAL_HEIGHTS[-1]):
        shape = shape.symmetric_difference(shapely.Polygon(ring))
    wide = shape.buffer(-0.4).buffer(0.4)
    assert wide.area > 0.9 * shape.area
    assert len(shapely.get_parts(wide)) == len(shapely.get_parts(shape))
    assert text.size(CAPITAL_HEIGHTS[-1])[1] >= 5.9
