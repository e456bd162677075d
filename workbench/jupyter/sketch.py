"""The panel that turns a measured trapezoid into triangles, and the triangles into steps."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as w
import numpy as np

from workbench.errors import RepairError
from workbench.jupyter.fields import Field
from workbench.jupyter.panel import Panel, columns, labelled, told
from workbench.jupyter.sliders import field_for
from workbench.measure.outline import Outline, trapezoid
from workbench.measure.piece import Piece
from workbench.measure.triangles import WAYS, decompose
from workbench.solids import catalogue
from workbench.solids.pieces import add_pieces
from workbench.words import _, sized, unit_word

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench

_ASKED = ("bottom", "top", "height", "inset", "thickness")


class Sketch(Panel):
    """Readings of a trapezoid, its pieces with the arithmetic, and a button that adds them."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.title = _("Outline")
        fin = catalogue.find("fin")
        self._values: dict[str, Any] = {name: fin.parameter(name).default for name in _ASKED}
        self.fields: dict[str, Field] = {
            name: field_for(fin.parameter(name), self._changed) for name in _ASKED
        }
        for name, field in self.fields.items():
            field.show(self._values[name])
        self.ways = w.Dropdown(
            options=[(_(way), way) for way in WAYS],
            description=_("Split into"),
            tooltip=_("How the outline is split"),
        )
        self.ways.observe(lambda _change: self._split(), "value")
        self.name = w.Text(
            value=_("piece"),
            description=_("Call them"),
            tooltip=_("The steps are called so, with a number"),
        )
        self.button = w.Button(
            description=_("Add as pieces"), tooltip=_("Add every piece to the repair as a step")
        )
        self.button.add_class("wb-main")
        self.picture = w.HTML()
        self.words = w.HTML()
        self.note = w.HTML()
        self.button.on_click(self._add)
        sizes = w.VBox([field.widget for field in self.fields.values()])
        sizes.add_class("wb-compact")
        self.widget = labelled(
            _("From a measured trapezoid"),
            columns(
                w.VBox([sizes, self.ways, self.name, self.button, self.note]),
                w.VBox([self.picture, self.words]),
            ),
            kind="wb-form",
        )
        self._pieces: list[Piece] = []
        self._split()

    def suited(self) -> None:
        for field in self.fields.values():
            field.show_again()
        self._split()

    def _changed(self, name: str, value: Any) -> str | None:
        before = self._values[name]
        self._values[name] = value
        refused = self._split()
        if refused:
            self._values[name] = before
        return refused

    def _split(self) -> str | None:
        """Split the outline anew; returns a sentence, with the last good one kept, if it cannot."""
        sizes = {name: self._values[name] for name in ("bottom", "top", "height", "inset")}
        try:
            outline = trapezoid(**sizes)
            self._pieces = decompose(outline, self.ways.value)
        except RepairError as error:
            return str(error)
        self.picture.value = picture(outline, self._pieces)
        self.words.value = in_words(self._pieces)
        self.button.description = _("Add as {n} pieces").format(n=len(self._pieces))
        return None

    def _add(self, _button: Any) -> None:
        pieces, thickness = list(self._pieces), self._values["thickness"]
        name = self.name.value.strip() or _("piece")
        refused = self.bench.edit(
            lambda repair: add_pieces(repair, pieces, thickness, name), choose_last=True
        )
        self.note.value = told(
            refused or _("{n} pieces are added to the repair").format(n=len(pieces)),
            "stop" if refused else "done",
        )


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
