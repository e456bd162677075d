"""Pictures are opened by a fixed list of forms, with their resolution in both directions."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.photos.image_file import load


def picture(form: str = "PNG", size: tuple[int, int] = (120, 80), **told) -> bytes:
    into = BytesIO()
    Image.fromarray(np.full((size[1], size[0], 3), 200, np.uint8)).save(into, form, **told)
    return into.getvalue()


@pytest.mark.parametrize("form", gate.PICTURES)
def test_each_form_of_the_list_is_read(form) -> None:
    assert load(picture(form)).pixels.shape == (80, 120, 3)


@pytest.mark.parametrize(
    "raw",
    [
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 100\n",
        b"\xd7\xcd\xc6\x9a" + b"\0" * 100,
        picture("PPM"),
        picture("ICO"),
    ],
    ids=["PostScript", "metafile", "PPM", "ICO"],
)
def test_other_forms_are_refused_before_they_reach_a_program(raw, monkeypatch, tmp_path) -> None:
    import subprocess

    monkeypatch.setattr(subprocess, "Popen", lambda *_a, **_k: pytest.fail("a program was started"))
    (tmp_path / "photo.png").write_bytes(raw)
    with pytest.raises(RepairError, match="JPEG, PNG or TIFF"):
        load(tmp_path / "photo.png")


@pytest.mark.parametrize("across, down", [(300, 150), (150, 300), (204, 98)])
def test_a_scan_with_two_resolutions_is_made_square(across, down) -> None:
    found = load(picture(dpi=(across, down)))
    inches = 120 / across, 80 / down
    assert found.dpi == pytest.approx(max(across, down), rel=1e-3)
    height, width = found.pixels.shape[:2]
    assert (width / found.dpi, height / found.dpi) == pytest.approx(inches, rel=0.01)


def test_equal_resolutions_leave_the_pixels_alone() -> None:
    assert load(picture(dpi=(300, 300))).pixels.shape == (80, 120, 3)


def test_a_scan_drawn_out_more_than_four_times_is_refused() -> None:
    assert load(picture(dpi=(400, 101))).pixels.shape[1] == 120
    with pytest.raises(RepairError, match="400 dots per inch across and 80 down"):
        load(picture(dpi=(400, 80)))


def test_one_resolution_of_nothing_counts_as_none() -> None:
    assert load(picture(dpi=(300, 1))).dpi is None
