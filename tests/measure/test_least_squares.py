"""Least squares by MINPACK alone are those of scipy.optimize, which is not loaded for them."""

from __future__ import annotations

import subprocess
import sys
from textwrap import dedent

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import least_squares

from workbench.measure.photos import least_squares as ours
from workbench.measure.photos import segment

AT = np.linspace(0, 4, 40)


def off(values: np.ndarray) -> np.ndarray:
    """A decay held against one that has an odd reading."""
    seen = 3 * np.exp(-0.7 * AT) + 0.02 * np.sin(9 * AT)
    seen[7] += 1
    return np.asarray((values[0] * np.exp(-values[1] * AT) + values[2] - seen) / 0.05)


@pytest.mark.parametrize("soft", [np.inf, 1.0, 3.0])
def test_a_fit_and_its_slopes_are_those_of_scipy(soft: float) -> None:
    start = np.array([1.0, 1.0, 0.0])
    fit = ours.fitted(off, start, soft)
    loss = {} if np.isinf(soft) else {"loss": "soft_l1", "f_scale": soft}
    theirs = least_squares(off, start, ftol=1e-12, xtol=1e-12, gtol=1e-12, **loss)
    assert fit.x == pytest.approx(theirs.x, abs=3e-5)
    assert fit.slopes == pytest.approx(theirs.jac, abs=2e-3)
    assert fit.left @ fit.left / 2 == pytest.approx(theirs.cost, rel=1e-9)


def test_a_value_next_to_nothing_is_fitted_as_well() -> None:
    """MINPACK's own steps are shares of the value."""
    assert ours.fitted(off, np.array([1.0, 1.0, 1e-12])).x[2] == pytest.approx(
        ours.fitted(off, np.array([1.0, 1.0, 1.0])).x[2], abs=3e-5
    )


@pytest.mark.parametrize("hidden", [False, True])
def test_it_is_there_without_the_rest_and_with_it(hidden: bool) -> None:
    code = """
        import sys
        import numpy as np
        from workbench.measure.photos import least_squares as ours
        from workbench.measure.photos import camera, rectify, trace
        hidden = HIDDEN
        if hidden:
            ours.alone = lambda *_names: None
        off = lambda x: np.array([x[0] - 1, 10 * (x[1] - x[0] ** 2)])
        x = ours.fitted(off, np.zeros(2)).x
        assert ("scipy.optimize" in sys.modules) == hidden
        from scipy.optimize import leastsq
        assert np.allclose(x, [1, 1]) and np.allclose(leastsq(off, np.zeros(2))[0], x)
    """
    subprocess.run([sys.executable, "-c", dedent(code).replace("HIDDEN", str(hidden))], check=True)


def test_a_trace_loads_no_package_of_scipy(tmp_path) -> None:
    from painted_scene import Scene, photo_on_sheet

    from workbench.measure.outlines.outline import trapezoid

    outline = trapezoid(46, 39, 71, -7).moved(80, 110)
    np.save(tmp_path / "photo.npy", photo_on_sheet(outline, Scene(pixels=(900, 1200), tilt=10)))
    code = """
        import sys
        import numpy as np
        from workbench.measure.photos.trace import trace
        assert len(trace(np.load(sys.argv[1]), thickness=3, bar=100).sides) == 4
        assert not {"scipy.optimize", "scipy.ndimage", "scipy.special"} & set(sys.modules)
    """
    subprocess.run([sys.executable, "-c", dedent(code), str(tmp_path / "photo.npy")], check=True)


@pytest.mark.parametrize("count", [12, 300])
def test_a_ring_is_smoothed_as_scipy_does(count: int) -> None:
    ring = np.random.default_rng(1).normal(size=(count, 2))
    theirs = gaussian_filter1d(ring, 3.0, axis=0, mode="wrap")
    assert segment._smoothed(ring, 3.0) == pytest.approx(theirs, abs=1e-12)
