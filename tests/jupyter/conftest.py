"""The kernel's list of open widgets is taken before any widget is made, as in a notebook."""

from pathlib import Path

import ipykernel.comm  # noqa: F401
import pytest

from workbench.jupyter import bench as benches
from workbench.solids.recipe.repair import Repair


@pytest.fixture
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def on_bench(repair: Repair, monkeypatch: pytest.MonkeyPatch):
    """A bench whose checks, drawing and picture wait; what they come to has tests of its own."""
    monkeypatch.setattr(benches, "PAUSE", 600.0)
    shown = benches.bench(repair)
    yield shown
    shown.close()
