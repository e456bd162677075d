"""An outline split into pieces, as a figure and as the arithmetic of each in words."""

from __future__ import annotations

from html import escape

import numpy as np

from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.piece import Piece
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
    low, size = outline.box[0], outline.box[1] - outline.box[0]
    margin = 34.0
    scale = min((width - 2 * margin) / size[0], 240.0 / size[1])
    tall = size[1] * scale + 2 * margin
    wide = size[0] * scale + 2 * margin

    def on_paper(corners: np.ndarray) -> np.ndarray:
        flat = (np.asarray(corners) - low) * scale
        return np.column_stack([flat[:, 0] + margin, tall - margin - flat[:, 1]])

    shapes = []
    for count, piece in enumerate(pieces, 1):
        corners = on_paper(piece.border)
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
        x, y = corners.mean(axis=0)
        shapes.append(
            f'<polygon points="{path}" class="wb-piece"/>'
            f'<text x="{x:.1f}" y="{y:.1f}" class="wb-count">{count}</text>'
        )
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in on_paper(outline.chords()))
    shapes.append(f'<polygon points="{path}" class="wb-outline"/>')
    for stretch in outline.path:
        ahead = stretch.heading(0.5)
        out = np.array([ahead[1], ahead[0]])
        x, y = on_paper(stretch.at(0.5)[None])[0] + out * 14
        text = (
            sized(stretch.length, 1) if stretch.through is None else f"R{sized(stretch.radius, 1)}"
        )
        anchor = "middle" if abs(out[0]) < 0.5 else ("start" if out[0] > 0 else "end")
        shapes.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="wb-length">{text}</text>'
        )
    label = _("The outline, to scale, split into {n} pieces; lengths in {unit}").format(
        n=len(pieces), unit=unit_word()
    )
    return (
        f'<figure class="wb-figure"><svg role="img" aria-label="{escape(label)}" '
        f'viewBox="0 0 {wide:.0f} {tall:.0f}" width="{wide:.0f}" height="{tall:.0f}">'
        f"{''.join(shapes)}</svg><figcaption>{escape(label)}</figcaption></figure>"
    )
