"""What hangs together, by pairs."""

from __future__ import annotations

import numpy as np


def linked(count: int, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(count,) for each of so many things, the lowest one that pairs lead to from it.

    Loading a library for graphs would take longer than a whole check of a small part.

    one, other : (n,) numbers from 0 on; each pair is linked

    >>> linked(5, np.array([0, 3]), np.array([2, 4])).tolist()
    [0, 1, 0, 3, 3]
    """
    label = np.arange(count)
    while True:
        lowest = label.copy()
        least = np.minimum(label[one], label[other])
        np.minimum.at(lowest, one, least)
        np.minimum.at(lowest, other, least)
        lowest = lowest[lowest]
        if np.array_equal(lowest, label):
            return label
        label = lowest
