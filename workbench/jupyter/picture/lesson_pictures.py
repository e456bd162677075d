"""Pictures for the lessons: a solved sketch, a photo, a part, a page to print."""

from __future__ import annotations

import base64
from html import escape
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

from workbench import data
from workbench.jupyter.lesson import Shown
from workbench.measure.photos.image_file import load
from workbench.measure.sketches.solution_report import AGREES
from workbench.output.drawing.paper import written
from workbench.output.drawing.picture import picture
from workbench.solids.recipe.repair import Repair
from workbench.words import _, sized

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from workbench.measure.sketches.solution import Solution

#: Colours that the style sheet has no class for: a line that was read, one in doubt, and the
#: paper round a number.
_READ, _DOUBT, _PAPER = "#c9c3b4", "#8a5a00", "#fbfaf6"


def photo(pixels: np.ndarray, caption: str, width: int = 300) -> Shown:
    """A photo or a scan, (h, w, 3) uint8, shown ``width`` pixels wide."""
    from PIL import Image

    into = BytesIO()
    step = max(1, pixels.shape[1] // (2 * width))
    Image.fromarray(pixels[::step, ::step]).save(into, "png")
    return _image(into.getvalue(), caption, width)


def cover_plate() -> np.ndarray:
    """(h, w, 3) uint8 of the cover plate of lesson nine on the photo sheet."""
    return load(data.HERE / "cover-plate.jpg").pixels


def part(repair: Repair, width: int = 420) -> Shown:
    """A repair as it stands on the bench."""
    caption = _("{name}, as it stands on the bench").format(name=repair.name)
    return _image(picture(repair, (width, width * 2 // 3)), caption, width)


def page(figure: Figure, caption: str, width: int = 300) -> Shown:
    """A page that is meant to be printed, small."""
    return _image(written(figure, "png", dpi=80), caption, width)


def sketched(solution: Solution, width: float = 360.0) -> Shown:
    """A solved sketch to scale: its corners' names, what was read between them, and what is doubted.

    A doubted reading's line is drawn thick and broken, and its number has a question mark.
    """
    doubted = (*solution.suspects, *solution.undecided)
    corners = solution.corners
    points = np.array(list(corners.values()))
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    margin = 40.0
    scale = min((width - 2 * margin) / size[0], 280.0 / size[1])
    wide, tall = size * scale + 2 * margin
    spots = {
        name: np.array([(x - low[0]) * scale + margin, tall - margin - (y - low[1]) * scale])
        for name, (x, y) in corners.items()
    }
    middle = np.mean(list(spots.values()), axis=0)
    lines, marks = [_polygon(list(spots.values()))], []
    for row in solution.sketch.rows:
        if row.kind in ("side", "diagonal", "distance") and set(row.where) <= set(spots):
            a, b = (spots[name] for name in row.where)
            on_outline = row.where[1] in solution.sketch.neighbours(row.where[0])
            suspected = row.name in doubted
            if suspected or not on_outline:
                lines.append(_line(a, b, suspected))
            # Beside a side, and on a diagonal where it has not met the others yet.
            at = a + (b - a) * (0.5 if on_outline else 0.3)
            out = (at - middle) * on_outline
            at = at + out / max(float(np.hypot(*out)), 1.0) * np.array([20, 14])
            marks.append(_text(at, sized(row.value) + ("?" if suspected else ""), suspected))
    for name, spot in spots.items():
        away = (spot - middle) / np.hypot(*(spot - middle))
        marks.append(_text(spot + away * 16, name, False, bold=True))
    if doubted:
        caption = _("The sketch to scale; suspect: {names}").format(names=", ".join(doubted))
    elif solution.p_value < AGREES:
        caption = solution.lines[0]
    else:
        caption = _("The sketch to scale; the readings agree")
    return Shown(
        f'<figure class="wb-figure"><svg role="img" aria-label="{escape(caption)}" '
        f'viewBox="0 0 {wide:.0f} {tall:.0f}" width="{wide:.0f}" height="{tall:.0f}">'
        f"{''.join(lines + marks)}</svg><figcaption>{escape(caption)}</figcaption></figure>",
        caption,
    )


def _polygon(corners: list[np.ndarray]) -> str:
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    return f'<polygon points="{path}" class="wb-outline"/>'


def _line(a: np.ndarray, b: np.ndarray, suspected: bool) -> str:
    colour, thick, dash = (_DOUBT, 3, "9 4") if suspected else (_READ, 1, "none")
    return (
        f'<line x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}" '
        f'stroke="{colour}" stroke-width="{thick}" stroke-dasharray="{dash}"/>'
    )


def _text(at: np.ndarray, words: str, suspected: bool, bold: bool = False) -> str:
    style = f"paint-order: stroke; stroke: {_PAPER}; stroke-width: 5px"
    style += f"; fill: {_DOUBT}" if suspected else ""
    style += "; font-weight: 600" if suspected or bold else ""
    return (
        f'<text x="{at[0]:.1f}" y="{at[1] + 4:.1f}" text-anchor="middle" class="wb-length" '
        f'style="{style}">{escape(words)}</text>'
    )


def _image(png: bytes, caption: str, width: int) -> Shown:
    source = base64.b64encode(png).decode()
    return Shown(
        f'<figure class="wb-figure"><img alt="{escape(caption)}" width="{width}" '
        f'src="data:image/png;base64,{source}"><figcaption>{escape(caption)}</figcaption></figure>',
        caption,
    )
