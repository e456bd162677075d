"""The sheet for photos: printed true to size, it gives a part's size back."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from workbench import RepairError, trapezoid
from workbench.measure.photos.sheet_marks import PAPERS, Target
from workbench.measure.photos.trace import trace
from workbench.output.drawing.paper import written
from workbench.output.sheets.photo_sheet import photo_sheet

DPI = 200


def pictured(paper: str) -> np.ndarray:
    """(h, w, 3) the sheet as a scanner would see it with a dark part on it."""
    pixels = np.array(
        Image.open(io.BytesIO(written(photo_sheet(paper), "png", dpi=DPI))).convert("RGB")
    )
    part = trapezoid(40, 30, 60, 5).moved(70, 120).points
    per_mm = DPI / 25.4
    corners = np.column_stack([part[:, 0], Target(paper).size[1] - part[:, 1]]) * per_mm - 0.5
    fine = np.zeros((pixels.shape[0] * 4, pixels.shape[1] * 4), np.uint8)
    cv2.fillPoly(fine, [np.round(corners * 4 + 1.5).astype(np.int32)], 255)
    cover = cv2.resize(fine, pixels.shape[1::-1], interpolation=cv2.INTER_AREA)[:, :, None] / 255
    return np.round(pixels * (1 - cover) + 50 * cover).astype(np.uint8)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_part_on_the_printed_sheet_has_its_size(paper: str) -> None:
    traced = trace(pictured(paper))
    true = np.sort(trapezoid(40, 30, 60, 5).sides)
    assert np.sort([side.length for side in traced.sides]) == pytest.approx(true, abs=0.15)


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612, 792))])
def test_the_page_has_the_papers_size(paper: str, size: tuple[float, float]) -> None:
    """ISO 216 and ANSI Y14.1, in points of 1/72 in."""
    page = PdfReader(io.BytesIO(written(photo_sheet(paper)))).pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.1)
    assert "This bar must measure 100 mm" in page.extract_text()


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_in_the_room_or_over_a_marker(paper: str) -> None:
    sheet = Target(paper)
    grey = np.array(
        Image.open(io.BytesIO(written(photo_sheet(paper), "png", dpi=DPI))).convert("L")
    )
    per_mm = DPI / 25.4
    left, bottom, right, top = (edge * per_mm for edge in sheet.room)
    high = sheet.size[1] * per_mm
    assert (
        grey[int(high - top) + 2 : int(high - bottom) - 2, int(left) + 2 : int(right) - 2] > 250
    ).all()
    _corners, ids, _rejected = cv2.aruco.ArucoDetector(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    ).detectMarkers(cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))
    assert set(ids.ravel().tolist()) <= set(sheet.ids)
    assert len(ids) >= len(sheet.ids) - 3


def test_a_paper_that_is_not_known_is_named() -> None:
    with pytest.raises(RepairError, match="paper is 'A5'; give one of A4, Letter"):
        photo_sheet("A5")
