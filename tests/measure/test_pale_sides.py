"""A part's side that is paler than its top is not taken for paper."""

from __future__ import annotations

import numpy as np
import pytest
from photo_table import judged, laid
from photographer import Shot, photograph
from scipy.special import ndtr

from workbench.measure.photos import pale_sides
from workbench.measure.photos.trace import trace

#: Distances out of an edge, in mm, and the blur that the steps have.
OUT, BLUR = np.arange(-4, 6, 0.05), 0.25
APART = pale_sides.Apart(2.0, 0.2)


def steps(
    first: float, wide: float, soft: float = BLUR, shade: float = 0.0, place: float = 0.1
) -> np.ndarray:
    """A step, and a second one ``wide`` further out, that is as blurred as ``soft`` says."""
    lit = first * ndtr((OUT - place) / BLUR) + (1 - first) * ndtr((OUT - place - wide) / soft)
    return lit + shade * np.clip(OUT - place - wide, 0, None)


def further(profile: np.ndarray) -> float | None:
    return pale_sides._further_of_two(profile, OUT, APART, BLUR)


@pytest.mark.parametrize("first", [0.3, 0.6, 0.92])
@pytest.mark.parametrize("shade", [0.0, 0.02])
def test_the_further_of_two_steps_is_found(first: float, shade: float) -> None:
    assert further(steps(first, 2.1, shade=shade)) == pytest.approx(2.2, abs=0.03)


def test_two_steps_that_run_into_each_other_are_told_apart() -> None:
    near = pale_sides.Apart(0.5, 0.1)
    found = pale_sides._further_of_two(steps(0.5, 0.5), OUT, near, BLUR)
    assert found == pytest.approx(0.6, abs=0.05)


def test_one_step_a_faint_one_a_soft_one_and_one_elsewhere_are_no_second_step() -> None:
    assert further(steps(1.0, 2.0)) is None
    assert further(steps(1 - 0.7 * pale_sides.FAINT, 2.0)) is None
    assert further(steps(1 - 1.6 * pale_sides.FAINT, 2.0)) is not None
    assert further(steps(0.8, 3.2)) is None
    assert further(steps(0.8, 2.0, soft=2.2 * BLUR)) is None
    assert further(steps(0.8, 2.0, soft=1.4 * BLUR)) is not None


@pytest.fixture(scope="module")
def pale_sided() -> tuple[np.ndarray, bytes]:
    outline = laid("wedge", np.random.default_rng(4))
    shot = Shot((900, 1200), tilt=28, towards=200, wall=(0.6, 0.55, 0.5))
    return outline, photograph(outline, shot, 6.0, 4)


def test_sides_paler_than_the_top_are_put_where_they_meet_the_sheet(
    pale_sided, monkeypatch
) -> None:
    outline, picture = pale_sided
    found = judged(outline, picture, thickness=6.0, bar=100, edge=0)
    assert (np.abs(found.errors) < 3 * found.stated).all()
    assert np.abs(found.errors).max() < 0.4
    monkeypatch.setattr(pale_sides, "at_the_sheet", lambda edges, *_rest: (edges, []))
    without = judged(outline, picture, thickness=6.0, bar=100, edge=0)
    assert np.abs(without.errors).max() > 1.0


def test_without_a_thickness_the_second_edge_is_told(pale_sided) -> None:
    _outline, picture = pale_sided
    assert any("there is a second edge" in note for note in trace(picture, bar=100).notes)
    assert not any(
        "second edge" in note for note in trace(picture, bar=100, thickness=6.0, edge=0).notes
    )
