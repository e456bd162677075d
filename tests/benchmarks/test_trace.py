"""What a trace takes.

Grows with: pixels, linearly in time; memory is the picture plus the room at its scale.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

_PEAK = """
import re, sys
from pathlib import Path
import numpy as np
from workbench.measure.photos.trace import trace
said = []
trace(np.load(sys.argv[1]), progress=lambda share, text: said.append(share))
# The most memory of this process alone; what getrusage tells begins with its parent's.
print(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1], len(said))
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux's /proc")
def test_a_photo_of_twelve_megapixels_is_traced_in_less_than_half_a_gigabyte(
    tmp_path, capsys
) -> None:
    from painted_scene import Scene, photo_on_sheet

    from workbench.measure.outlines.outline import trapezoid

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
    assert peak < 500_000
    assert steps > 3
