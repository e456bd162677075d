"""Least squares by MINPACK, as scipy has it, without the rest of ``scipy.optimize``."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from workbench.measure.compiled import alone

#: Steps of the slopes, which are differences: they halve the digits of a double.
STEP = math.sqrt(np.finfo(float).eps)

#: A fit ends where neither its squares nor its values change by more than this share of them.
ENDS = 1e-8

#: Most rounds of a fit.
ROUNDS = 1000


class Fit(NamedTuple):
    """Values (n,), what they leave (m,) and its slopes (m, n), both as ``soft`` weighs them."""

    x: np.ndarray
    left: np.ndarray
    slopes: np.ndarray


def fitted(
    off: Callable[[np.ndarray], np.ndarray], start: np.ndarray, soft: float = math.inf
) -> Fit:
    """The values of which ``off`` leaves the least squares.

    Parameters
    ----------
    off : (m,) for values (n,)
    soft : beyond so much a difference counts as itself rather than as its square (soft L1)
    """

    def root(left: np.ndarray) -> np.ndarray:
        return np.asarray(np.sqrt(1 + (left / soft) ** 2))

    def weighed(values: np.ndarray) -> np.ndarray:
        left = off(values)
        # Its square is 2 soft² (root - 1), in a form that loses no digits.
        return np.asarray(left * np.sqrt(2 / (1 + root(left))))

    def slopes(values: np.ndarray) -> np.ndarray:
        left = off(values)
        return _slopes(off, values, left) * (np.sqrt((1 + root(left)) / 2) / root(left))[:, None]

    found = _minpack()(weighed, slopes, np.asarray(start, dtype=float))
    left = off(found)
    # The second derivative of the soft squares is what a covariance goes by.
    return Fit(found, weighed(found), _slopes(off, found, left) * root(left)[:, None] ** -1.5)


def _slopes(
    off: Callable[[np.ndarray], np.ndarray], values: np.ndarray, left: np.ndarray
) -> np.ndarray:
    """(m, n) slopes of ``off``, which is ``left`` (m,) at the values."""
    columns = []
    for k, step in enumerate(STEP * np.maximum(np.abs(values), 1.0)):
        moved = values.copy()
        moved[k] += step
        columns.append((off(moved) - left) / step)
    return np.column_stack(columns)


def _minpack() -> Callable[..., np.ndarray]:
    """Values from what is off, its slopes and a start."""
    ends = {"ftol": ENDS, "xtol": ENDS, "maxfev": ROUNDS}
    part = alone("scipy.optimize", "_minpack")
    if part is None or not hasattr(part, "_lmder"):
        from scipy.optimize import leastsq

        return lambda off, slopes, start: leastsq(off, start, Dfun=slopes, **ends)[0]
    return lambda off, slopes, start: part._lmder(
        off, slopes, start, (), 1, 0, ENDS, ENDS, 0.0, ROUNDS, 100.0, None
    )[0]
