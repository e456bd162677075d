"""A sheet whose two directions were printed to different scales.

A printer's rollers draw paper through by a little more or less than the marks are apart; a camera
with square pixels sees that, because a flat sheet cannot lean so as to look like it in every mark.
"""

from __future__ import annotations

import math

import numpy as np

from workbench.measure.photos.rectify import View, fit_camera, usual_lens

#: A stretch below the share, or below so many of its standard uncertainties, is not put right.
LEAST, SURE = 0.002, 3.0

#: Steps towards it at most.
ROUNDS = 5


def fit_drawn_out(
    places: np.ndarray,
    seen: np.ndarray,
    shape: tuple[int, ...],
    stated: float | None,
    lens: tuple[np.ndarray, np.ndarray] | None = None,
) -> tuple[View, float]:
    """A camera as :func:`fit_camera` finds it, and by what share y is longer than printed, or 0.

    Parameters
    ----------
    places : (n, 2) in mm; seen : (n, 2) in pixels; stated, lens : as for :func:`fit_camera`
    """
    covariance = (lens or usual_lens(stated))[1]
    view = even = fit_camera(places, seen, shape, stated, lens)
    share, doubt = 0.0, math.inf
    for _round in range(ROUNDS):  # a lean does much the same, and is far from linear
        more, doubt = stretch(view, places * (1.0, 1.0 + share), seen, covariance)
        if abs(more) < 0.3 * doubt:
            break
        share += more
        view = fit_camera(places * (1.0, 1.0 + share), seen, shape, stated, lens)
    return (view, share) if abs(share) >= max(LEAST, SURE * doubt) else (even, 0.0)


def stretch(
    view: View, places: np.ndarray, seen: np.ndarray, covariance: np.ndarray
) -> tuple[float, float]:
    """By what share y is longer than ``places`` have it, and its standard uncertainty.

    One step of least squares from the solved view, in which the camera may move as well.

    Parameters
    ----------
    covariance : (5, 5) of the lens before the marks tell
    """
    step = 1e-6
    sigma = view.misfit / math.sqrt(2)
    base = view.pixels(places)

    def slope(other: np.ndarray) -> np.ndarray:
        return ((other - base) / (step * sigma)).ravel()

    columns = [slope(view.moved(step * way).pixels(places)) for way in np.eye(11)]
    columns.append(slope(view.pixels(places * (1.0, 1.0 + step))))
    known = np.zeros((5, 12))
    known[:, :5] = np.linalg.inv(np.linalg.cholesky(covariance))
    slopes = np.vstack([np.column_stack(columns), known])
    left = np.append(((seen - base) / sigma).ravel(), np.zeros(5))
    found = np.linalg.lstsq(slopes, left, rcond=None)[0]
    # The four corners of a marker are off together.
    doubt = 2 * math.sqrt(np.linalg.pinv(slopes.T @ slopes)[11, 11])
    return float(found[11]), doubt
