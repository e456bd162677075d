"""The sheet that a part is photographed on: markers around room for the part, and a bar of 100 mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from workbench.measure.photos.sheet_marks import BAR, MARKER, Target, marker_squares
from workbench.output.drawing.paper import (
    HEADING,
    NOTE,
    TEXT,
    Fill,
    Mark,
    Page,
    Stroke,
    Words,
    rectangle,
)
from workbench.words import _, unit_sign, with_unit

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def photo_sheet(paper: str = "A4") -> Figure:
    """The sheet for a photo that is to be traced, true to size; print it at 100 %.

    paper : "A4" or "Letter"

    Raises RepairError when the paper is not known.
    """
    target = Target(paper)
    page = Page(paper)
    for marker in target.ids:
        page.put(_marker(target, marker))
    page.put(_room(target))
    page.put(_bar(target))
    page.put(_how(target))
    return page.figure


def _marker(target: Target, marker: int) -> list[Mark]:
    """Its black squares, each row's neighbours in one piece so that no light shows between."""
    left, top = target.corners(marker)[0]
    side = MARKER / 6
    marks: list[Mark] = []
    for row, squares in enumerate(marker_squares(marker)):
        edges = np.flatnonzero(np.diff(np.concatenate([[True], squares, [True]]).astype(int)))
        for start, stop in edges.reshape(-1, 2):
            low = top - (row + 1) * side
            box = rectangle(left + start * side, low, (stop - start) * side, side)
            marks.append(Fill(box, "#000000"))
    return marks


def _room(target: Target) -> list[Mark]:
    """Corner marks of the room, outside of it so that they do not count as part of the part."""
    left, bottom, right, top = target.room
    reach, away = 3.0, 1.2
    marks: list[Mark] = []
    for x, out in ((left, -1), (right, 1)):
        for y, up in ((bottom, -1), (top, 1)):
            corner = np.array([x + out * away, y + up * away])
            arms = np.array([[-out * reach, 0.0], [0.0, 0.0], [0.0, -up * reach]])
            marks.append(Stroke(corner + arms, "thin"))
    return marks


def _bar(target: Target) -> list[Mark]:
    """The bar with a tick every 10 mm; its outer edges are what is measured."""
    (left, low), (right, _low) = target.bar
    high = 2.0
    marks: list[Mark] = [Fill(rectangle(left, low, right - left, high), "#000000")]
    marks += [
        Fill(rectangle(left + share * BAR - 0.15, low + 0.5, 0.3, 1.0), "#ffffff")
        for share in np.arange(1, 10) / 10
    ]
    text = _("This bar must measure {length} from end to end. It measures ______ {unit}.").format(
        length=with_unit(BAR), unit=unit_sign()
    )
    return [*marks, Words(text, (left + right) / 2, low - 3.6, TEXT, "middle")]


def _how(target: Target) -> list[Mark]:
    """A title between the upper markers and a line under them, clear of the room."""
    width, _height = target.size
    how = _("Print at 100 %. Lay the part flat between the corner marks, away from glare.")
    marks: list[Mark] = [Words(how, width / 2, target.room[3] + 1.4, NOTE, "middle")]
    upper = np.unique(target.centres[:, 0])
    middle = float(upper[len(upper) // 2 - 1 : len(upper) // 2 + 1].mean())
    high = float(target.centres[:, 1].max())
    marks.append(Words(_("Photo sheet"), middle, high + 1.0, HEADING, "middle", bold=True))
    marks.append(Words(target.paper, middle, high - 4.0, NOTE, "middle"))
    return marks
