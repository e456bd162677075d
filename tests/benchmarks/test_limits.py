"""What limits cost where nothing is wrong, as ratios within one run. ``-s`` shows the figures."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from speeds import changing, quickest

from workbench.process import HELD
from workbench.solids.building.build import build
from workbench.solids.geometry import bounded
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat


def key(steps: int, width: float) -> Repair:
    repair = Repair("key").add("box", width=200, depth=60, height=5, name="base")
    for number in range(steps):
        at = -90 + 180 * number / steps
        seat = Seat("top of base", along=at, sink=0.2)
        repair.add("cylinder", seat=seat, name=f"post {number}", diameter=4, height=6)
    return repair.change("post 0", diameter=width)


@pytest.mark.parametrize("steps", [4, 18])
def test_a_slider_is_as_quick_with_limits(steps, monkeypatch) -> None:
    # As many as are asked for: one that came again would be found in a cache.
    widths = changing([round(4.1 + n / 80, 2) for n in range(300)])
    waits, caches = [False], (Cache(), Cache())
    monkeypatch.setattr(bounded, "waits", lambda: waits[0] and not HELD.is_set())

    def slide(limits: bool) -> None:
        waits[0] = limits
        for _turn in range(10):
            mesh(build(key(steps, next(widths)), caches[limits]))

    slide(True), slide(False)
    plain, limited = quickest(lambda: slide(False), lambda: slide(True), tries=14)
    print(
        f"\n{steps + 1} steps, a slider: {1e2 * limited:.1f} ms against {1e2 * plain:.1f}: {limited / plain:.3f}"
    )
    assert limited / plain < 1.1


def test_check_is_as_quick_in_a_process_that_can_be_ended(tmp_path: Path) -> None:
    def run(**more: str) -> None:
        line = [sys.executable, "-m", "workbench.cli", "check", "tray-divider"]
        env = {**os.environ, **more}
        subprocess.run(line, cwd=tmp_path, env=env, check=True, stdout=subprocess.DEVNULL)

    plain, limited = quickest(lambda: run(WORKBENCH_DEBUG="1"), run, tries=2)
    print(f"\ncheck: {limited:.2f} s against {plain:.2f}: {limited / plain:.3f}")
    assert limited / plain < 1.1
