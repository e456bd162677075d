"""How far a trace is off, over many rendered pictures, and what it takes.

Grows with: pixels, linearly in time; memory is the picture plus the room at its scale.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest
from pictured import Compared, alone, photographed, scanned

#: With WORKBENCH_FULL as many as give smooth figures; else what shows a fault.
PHOTOS, SCANS = (200, 60) if os.environ.get("WORKBENCH_FULL") else (80, 30)

_PEAK = """
import re, sys
from pathlib import Path
import numpy as np
from workbench.measure.trace import trace
said = []
trace(np.load(sys.argv[1]), progress=lambda share, text: said.append(share))
# The most memory of this process alone; what getrusage tells begins with its parent's.
print(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1], len(said))
"""


def compared(one: Callable[[int], Compared], count: int) -> tuple[np.ndarray, np.ndarray, int]:
    with ProcessPoolExecutor(2, get_context("spawn"), initializer=alone) as pool:
        results = list(pool.map(one, range(count), chunksize=10))
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


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux's /proc")
def test_a_photo_of_twelve_megapixels_is_traced_in_less_than_a_gigabyte(tmp_path, capsys) -> None:
    from painted_scene import Scene, photo_on_sheet

    from workbench.measure.outline import trapezoid

    outline = trapezoid(46, 39, 71, -7).moved(80, 110)
    np.save(tmp_path / "photo.npy", photo_on_sheet(outline, Scene(pixels=(3000, 4000), tilt=10)))
    told = subprocess.run(
        [sys.executable, "-c", _PEAK, str(tmp_path / "photo.npy")],
        capture_output=True,
        text=True,
        check=True,
    )
    peak, steps = (int(word) for word in told.stdout.split())
    with capsys.disabled():
        print(f"\n12 megapixels traced with a peak of {peak / 1024:.0f} MB, in {steps} steps told")
    assert peak < 1_000_000
    assert steps > 3
