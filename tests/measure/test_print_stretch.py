"""A print that is drawn out one way is seen in one photo, whatever the camera's lean."""

from __future__ import annotations

import numpy as np
import pytest
from photographer import Lens as SeenBy
from photographer import Shot

from workbench.measure.photos.print_stretch import LEAST, fit_drawn_out, stretch
from workbench.measure.photos.rectify import fit_camera, usual_lens
from workbench.measure.photos.sheet_marks import Target

PLACES = np.concatenate([Target().corners(marker) for marker in Target().ids])


def seen(share: float, tilt: float, noise: float = 0.05, seed: int = 0) -> np.ndarray:
    """The marks of a sheet whose y is longer by a share, as a phone sees them."""
    shot = Shot((1500, 2000), tilt=tilt, towards=50, roll=4, bend=(-0.06, 0.0), focal=0.6)
    paper = np.column_stack([PLACES * (1.0, 1.0 + share), np.zeros(len(PLACES))])
    at = SeenBy(shot, Target())(paper)
    return at + np.random.default_rng(seed).normal(0, noise, at.shape)


@pytest.mark.parametrize("tilt", [2, 20, 35])
def test_a_small_stretch_is_found_as_well_as_it_says(tilt: float) -> None:
    """One step from an even sheet: the errors of many photos are as large as stated."""
    off = []
    for seed in range(8):
        marks = seen(0.0, tilt, 0.3, seed)
        view = fit_camera(PLACES, marks, (2000, 1500), 0.6)
        found, doubt = stretch(view, PLACES, marks, usual_lens(0.6)[1])
        off.append(found / doubt)
    # Its doubt is twice that of noise which is each corner's own, as it is here.
    assert 0.1 < np.sqrt(np.mean(np.square(off))) < 1.2


@pytest.mark.parametrize("tilt", [2, 20])
def test_only_a_stretch_that_is_sure_and_large_enough_is_put_right(tilt: float) -> None:
    for share in (0.0, 0.6 * LEAST, -0.6 * LEAST):
        assert fit_drawn_out(PLACES, seen(share, tilt), (2000, 1500), 0.6)[1] == 0
    marks = seen(0.008, tilt)
    view, share = fit_drawn_out(PLACES, marks, (2000, 1500), 0.6)
    assert share == pytest.approx(0.008, abs=0.001)
    # A square of the paper's is one again.
    square = np.array([(80.0, 120), (130, 120), (130, 170), (80, 170)])
    there = view.millimetres(
        SeenBy(
            Shot((1500, 2000), tilt=tilt, towards=50, roll=4, bend=(-0.06, 0.0), focal=0.6),
            Target(),
        )(np.column_stack([square, np.zeros(4)]))
    )
    across, up = np.hypot(*(there[1] - there[0])), np.hypot(*(there[3] - there[0]))
    assert up / across == pytest.approx(1, abs=0.001)
    noisy = seen(0.004, tilt, noise=4.0)
    assert fit_drawn_out(PLACES, noisy, (2000, 1500), 0.6)[1] == 0
