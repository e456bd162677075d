"""How far a trace is off, over many rendered pictures."""

from __future__ import annotations

import os
from collections.abc import Callable

import numpy as np
import pytest
from pictured import Compared, photographed, scanned

#: With WORKBENCH_FULL as many as give smooth figures; else what shows a fault.
PHOTOS, SCANS = (200, 60) if os.environ.get("WORKBENCH_FULL") else (12, 8)


def compared(one: Callable[[int], Compared], count: int) -> tuple[np.ndarray, np.ndarray, int]:
    results = [one(number) for number in range(count)]
    errors = np.concatenate([result.errors for result in results])
    stated = np.concatenate([result.stated for result in results])
    return np.abs(errors), stated, sum(not result.errors for result in results)


@pytest.mark.parametrize(
    ("what", "one", "count", "limit", "most"),
    # The painter's paper lies flat, its lens has one bend and its scanner a true scale; what is
    # stated allows for more, so its share of sides within is bounded below, and its size above.
    [
        ("photos on the sheet", photographed, PHOTOS, 0.1, 0.15),
        ("flatbed scans", scanned, SCANS, 0.1, 0.03),
    ],
)
def test_sides_are_within_the_limit_and_the_stated_uncertainty_is_honest(
    what: str, one: Callable[[int], Compared], count: int, limit: float, most: float, capsys
) -> None:
    errors, stated, misshapen = compared(one, count)
    within = float(np.mean(errors < stated))
    shares = np.percentile(errors, [50, 68, 95, 100])
    with capsys.disabled():
        print(
            f"\n{count} {what}: errors of {len(errors)} sides, in mm: half below {shares[0]:.3f}, "
            f"68 % below {shares[1]:.3f}, 95 % below {shares[2]:.3f}, largest {shares[3]:.3f}; "
            f"{100 * within:.0f} % within one stated uncertainty; {misshapen} with a wrong number "
            "of sides"
        )
    assert shares[2] <= limit
    assert within >= 0.60
    assert np.median(stated) <= most
    assert misshapen <= 0.04 * count
