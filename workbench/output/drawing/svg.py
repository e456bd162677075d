"""Marks as a few lines of SVG, for the bench."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

import numpy as np

from workbench.output.drawing.paper import FAMILY, LINES, POINT, Fill, Mark, Words, extent


def svg(marks: Iterable[Mark], margin: float = 3.0, label: str = "", paper: str = "none") -> str:
    """Marks as an SVG picture just large enough for them, 1 mm a unit and no wider than its place.

    Each part says in ``data-about`` which size it belongs to. ``label`` is read out in its place.
    """
    listed = list(marks)
    left, bottom, right, top = extent(listed)
    left, bottom, right, top = left - margin, bottom - margin, right + margin, top + margin
    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:.2f} {-top:.2f} '
        f'{right - left:.2f} {top - bottom:.2f}" width="{right - left:.1f}mm" role="img" '
        f'aria-label="{escape(label)}" font-family="{FAMILY}, sans-serif" '
        f'style="background:{paper};max-width:100%;height:auto">'
    ]
    rows += [_svg_row(mark) for mark in sorted(listed, key=lambda m: isinstance(m, Words))]
    rows.append("</svg>")
    return "\n".join(rows)


def _svg_row(mark: Mark) -> str:
    about = f' data-about="{escape(mark.about)}"' if mark.about else ""
    if isinstance(mark, Words):
        anchor = {"left": "start", "middle": "middle", "right": "end"}[mark.hold]
        turn = (
            f' transform="rotate({-mark.turn:g} {mark.x:.2f} {-mark.y:.2f})"' if mark.turn else ""
        )
        weight = ' font-weight="bold"' if mark.bold else ""
        return (
            f'<text x="{mark.x:.2f}" y="{-mark.y:.2f}" font-size="{mark.size * POINT:.2f}" '
            f'fill="{mark.colour}" text-anchor="{anchor}"{weight}{turn}{about}>'
            f"{escape(mark.text)}</text>"
        )
    points = " ".join(f"{x:.2f},{-y:.2f}" for x, y in np.asarray(mark.points).tolist())
    if isinstance(mark, Fill):
        return f'<polygon points="{points}" fill="{mark.colour}"{about}/>'
    width, dashes = LINES[mark.kind]
    dashed = f' stroke-dasharray="{" ".join(map(str, dashes))}"' if dashes else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{mark.colour}" stroke-width="{width}"'
        f'{dashed} stroke-linejoin="round"{about}/>'
    )
