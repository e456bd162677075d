"""An outline split into pieces, as a figure and as the arithmetic of each in words."""

from __future__ import annotations

from html import escape

import numpy as np

from workbench.measure.outline import Outline
from workbench.measure.piece import Piece
from workbench.words import _, sized, unit_word


def in_words(pieces: list[Piece]) -> str:
    """Each piece with its arithmetic, as a numbered list."""
    rows = []
    for piece in pieces:
        sums = "".join(f"<li>{escape(step)}</li>" for step in piece.steps)
        rows.append(f"<li><span>{escape(str(piece))}</span><ul>{sums}</ul></li>")
    return f'<ol class="wb-pieces">{"".join(rows)}</ol>'


def picture(outline: Outline, pieces: list[Piece], width: float = 300.0) -> str:
    """The outline to scale with its pieces numbered and its sides' lengths, as SVG."""
    points = outline.points
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    margin = 34.0
    scale = min((width - 2 * margin) / size[0], 240.0 / size[1])
    tall = size[1] * scale + 2 * margin
    wide = size[0] * scale + 2 * margin

    def on_paper(corners: np.ndarray) -> np.ndarray:
        flat = (np.asarray(corners) - low) * scale
        return np.column_stack([flat[:, 0] + margin, tall - margin - flat[:, 1]])

    shapes = []
    for count, piece in enumerate(pieces, 1):
        corners = on_paper(piece.points)
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
        x, y = corners.mean(axis=0)
        shapes.append(
            f'<polygon points="{path}" class="wb-piece"/>'
            f'<text x="{x:.1f}" y="{y:.1f}" class="wb-count">{count}</text>'
        )
    corners = on_paper(points)
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    shapes.append(f'<polygon points="{path}" class="wb-outline"/>')
    middle = corners.mean(axis=0)
    for start, end, length in zip(
        corners, np.roll(corners, -1, axis=0), outline.sides, strict=True
    ):
        at = (start + end) / 2
        out = np.array([end[1] - start[1], start[0] - end[0]]) / np.hypot(*(end - start))
        if out @ (at - middle) < 0:
            out = -out
        x, y = at + out * 14
        anchor = "middle" if abs(out[0]) < 0.5 else ("start" if out[0] > 0 else "end")
        shapes.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="wb-length">'
            f"{sized(float(length), 1)}</text>"
        )
    label = _("The outline, to scale, split into {n} pieces; lengths in {unit}").format(
        n=len(pieces), unit=unit_word()
    )
    return (
        f'<figure class="wb-figure"><svg role="img" aria-label="{escape(label)}" '
        f'viewBox="0 0 {wide:.0f} {tall:.0f}" width="{wide:.0f}" height="{tall:.0f}">'
        f"{''.join(shapes)}</svg><figcaption>{escape(label)}</figcaption></figure>"
    )
