"""Paper: sheet sizes, one type family, line kinds, and how marks get onto a page or into an SVG.

Everything drawn is first a list of marks with places in millimetres. The same marks become a
matplotlib page for a file, or a few lines of SVG for the bench.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench import gate
from workbench.measure.photos.sheet_marks import PAPERS
from workbench.solids.shapes import lettering
from workbench.words import TIE, tied

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Width and height of a sheet that stands upright, in mm: those that a photo is taken on.
SHEETS = PAPERS

INK, PAPER, RULE, ACCENT = "#22313a", "#fbfaf6", "#c9c3b4", "#2f6f73"

#: Of lines round what is to be written in: a weak printer in black and white still shows it.
EDGE = "#857f72"
WARNING, STOP = "#8a5a00", "#9b2c2c"

FAMILY = "DejaVu Sans"

#: A typographic point, in mm.
POINT = 25.4 / 72

#: Height of capitals, and depth below the line, as shares of the size of the type.
CAPITALS, BELOW = 0.73, 0.24

#: Sizes of type, in points: notes, text, headings, the title.
NOTE, TEXT, HEADING, TITLE = 7.0, 8.5, 10.5, 16.0

#: Lines: width in mm, and dashes with gaps in mm.
LINES: Mapping[str, tuple[float, tuple[float, ...]]] = {
    "outline": (0.5, ()),
    "hidden": (0.25, (2.2, 1.1)),
    "thin": (0.18, ()),
    "centre": (0.18, (6.0, 1.0, 0.8, 1.0)),
    "frame": (0.5, ()),
    "rule": (0.25, ()),
    "box": (0.3, ()),
}


@dataclass(frozen=True)
class Stroke:
    """A line along points (n, 2) in mm, of a kind listed in :data:`LINES`."""

    points: np.ndarray
    kind: str = "thin"
    colour: str = INK
    about: str = ""


@dataclass(frozen=True)
class Fill:
    """A filled polygon (n, 2) in mm."""

    points: np.ndarray
    colour: str = INK
    about: str = ""


@dataclass(frozen=True)
class Words:
    """One line of type.

    x, y : where its line of writing is held, in mm
    size : in points
    hold : which part of it is held there: "left", "middle" or "right"
    turn : degrees, anticlockwise
    """

    text: str
    x: float
    y: float
    size: float = TEXT
    hold: str = "left"
    turn: float = 0.0
    bold: bool = False
    colour: str = INK
    about: str = ""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of the type, in mm, for turns of 0 and 90 degrees."""
        width = text_width(self.text, self.size, self.bold)
        before = {"left": 0.0, "middle": width / 2, "right": width}[self.hold]
        below, above = BELOW * self.size * POINT, (CAPITALS + 0.05) * self.size * POINT
        if self.turn:
            return self.x - above, self.y - before, self.x + below, self.y - before + width
        return self.x - before, self.y - below, self.x - before + width, self.y + above


Mark = Stroke | Fill | Words


def shifted(marks: Iterable[Mark], right: float, up: float) -> list[Mark]:
    """The marks, moved by (right, up) mm."""
    by = np.array([right, up])
    return [
        replace(m, x=m.x + right, y=m.y + up)
        if isinstance(m, Words)
        else replace(m, points=m.points + by)
        for m in marks
    ]


def extent(marks: Iterable[Mark]) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of all marks, in mm."""
    corners = [
        np.reshape(m.box, (2, 2)) if isinstance(m, Words) else np.asarray(m.points) for m in marks
    ]
    points = np.concatenate(corners) if corners else np.zeros((1, 2))
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


@lru_cache(maxsize=2)
def _font(bold: bool) -> Any:
    font = lettering.face(FAMILY.replace(" ", "") + ("-Bold.ttf" if bold else ".ttf"))
    font.set_size(100, 72)
    return font


@lru_cache(maxsize=2048)
def _advance(character: str, bold: bool) -> float:
    if not has_glyph(character, bold):
        return 1.0  # the font lacks it: something takes its place, at most as wide as it is high
    glyph = _font(bold).load_char(ord(character), flags=lettering.reader().LoadFlags.NO_HINTING)
    return glyph.linearHoriAdvance / 65536 / 100


def has_glyph(character: str, bold: bool = False) -> bool:
    """Whether the type family has this character."""
    return bool(_font(bold).get_char_index(ord(character)))


def text_width(text: str, size: float = TEXT, bold: bool = False) -> float:
    """How far a line of type runs, in mm."""
    return sum(_advance(character, bold) for character in text) * size * POINT


def wrapped(text: str, width: float, size: float = TEXT, bold: bool = False) -> list[str]:
    """Text broken into lines no longer than ``width`` mm, where a word allows it.

    A number stays with its unit.

    >>> wrapped("leave 0.2 mm", 12)
    ['leave', '0.2 mm']
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in tied(" ".join(paragraph.split())).split(" "):
            longer = f"{line} {word}" if line else word
            if line and text_width(longer, size, bold) > width:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return [line.replace(TIE, " ") for line in lines]


def shortened(text: str, width: float, size: float = TEXT, bold: bool = False) -> str:
    """Text cut to ``width`` mm, with an ellipsis where something went."""
    if text_width(text, size, bold) <= width:
        return text
    while text and text_width(text + "…", size, bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def sheet_size(paper: str, landscape: bool = False) -> tuple[float, float]:
    """Width and height of a sheet in mm, or RepairError naming the sheets there are."""
    width, height = SHEETS[gate.choice("paper", paper, SHEETS)]
    return (height, width) if landscape else (width, height)


class Page:
    """One sheet as a matplotlib figure on which marks are put in mm from its lower left corner."""

    def __init__(self, paper: str = "A4", landscape: bool = False) -> None:
        from matplotlib.figure import Figure

        self.width, self.height = sheet_size(paper, landscape)
        self.figure = Figure(figsize=(self.width / 25.4, self.height / 25.4), facecolor="white")
        self.figure.set_layout_engine("none")
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set_xlim(0, self.width)
        self.axes.set_ylim(0, self.height)

    def put(self, marks: Iterable[Mark], right: float = 0.0, up: float = 0.0) -> None:
        """Put marks on the page, moved by (right, up) mm."""
        from matplotlib.collections import LineCollection, PolyCollection

        listed = shifted(marks, right, up) if right or up else list(marks)
        by_kind: dict[tuple[str, str], list[np.ndarray]] = {}
        fills: dict[str, list[np.ndarray]] = {}
        for mark in listed:
            if isinstance(mark, Words):
                self._write(mark)
            elif isinstance(mark, Fill):
                fills.setdefault(mark.colour, []).append(mark.points)
            else:
                by_kind.setdefault((mark.kind, mark.colour), []).append(mark.points)
        for colour, polygons in fills.items():
            self.axes.add_collection(
                PolyCollection(polygons, facecolors=colour, edgecolors="none", zorder=3),
                autolim=False,
            )
        for (kind, colour), lines in by_kind.items():
            width, dashes = LINES[kind]
            style: Any = (0, [d / width for d in dashes]) if dashes else "solid"
            self.axes.add_collection(
                LineCollection(
                    lines,
                    colors=colour,
                    linewidths=width / POINT,
                    linestyles=style,
                    capstyle="butt" if dashes else "round",
                    joinstyle="round",
                    zorder=2 if kind == "outline" else 1,
                ),
                autolim=False,
            )

    def picture(
        self, pixels: np.ndarray, left: float, bottom: float, width: float, height: float
    ) -> None:
        """Put a picture, an array (h, w, 3 or 4), into a rectangle given in mm."""
        self.axes.imshow(
            pixels,
            extent=(left, left + width, bottom, bottom + height),
            aspect="auto",
            interpolation="none",  # a PDF then holds its pixels as they are
            zorder=0,
        )
        self.axes.set_xlim(0, self.width)
        self.axes.set_ylim(0, self.height)

    def _write(self, words: Words) -> None:
        self.axes.text(
            words.x,
            words.y,
            words.text,
            fontsize=words.size,
            fontfamily=FAMILY,
            fontweight="bold" if words.bold else "normal",
            fontstyle="normal",
            color=words.colour,
            ha={"left": "left", "middle": "center", "right": "right"}[words.hold],
            va="baseline",
            rotation=words.turn,
            rotation_mode="anchor",
            parse_math=False,
            usetex=False,
            zorder=4,
        )


def rectangle(left: float, bottom: float, width: float, height: float) -> np.ndarray:
    """The closed outline (5, 2) of a rectangle."""
    right, top = left + width, bottom + height
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top), (left, bottom)])


#: What a figure is written with; the type stays type, so that it can be read and searched. Type 3
#: fonts take a fifth of the time of others. Fitted to a PNG's pixels, a line would run up to 5 %
#: wider than it was reckoned.
_WRITING: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "workbench",
    "pdf.fonttype": 3,
    "pdf.compression": 6,
    "text.hinting": "none",
    "savefig.bbox": None,
    "savefig.pad_inches": 0.0,
    "savefig.transparent": False,
    "path.simplify": False,
}


def written(
    figures: Figure | Sequence[Figure], form: str = "pdf", title: str = "", dpi: float = 150
) -> bytes:
    """Figures as the bytes of a file: one PDF for all of them, or one SVG or PNG.

    Fonts stay text in SVG and PDF, and equal figures make equal bytes.
    """
    listed: list[Any] = list(figures) if isinstance(figures, (list, tuple)) else [figures]
    into = BytesIO()
    from matplotlib import rc_context

    with rc_context(_WRITING), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        if form == "pdf":
            from matplotlib.backends.backend_pdf import PdfPages

            with PdfPages(into, metadata={"Title": title, "CreationDate": None}) as pages:
                for figure in listed:
                    pages.savefig(figure, dpi=dpi, facecolor="white")
        elif form == "svg":
            listed[0].savefig(
                into, format="svg", facecolor="white", metadata={"Title": title, "Date": None}
            )
        else:
            # Line work is small at any level; higher ones take three times as long.
            fast = {"compress_level": 3}
            listed[0].savefig(into, format="png", dpi=dpi, facecolor="white", pil_kwargs=fast)
    return into.getvalue()
