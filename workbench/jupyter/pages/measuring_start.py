"""What a measurement begins with: a plain shape, readings kept in the repair, or a traced picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbench.jupyter.sizes.readings_table import Line, line
from workbench.measure.outlines.outline import trapezoid
from workbench.measure.photos.trace_result import Traced
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import Sketch, sketch_of
from workbench.measure.sketches.table_row import Row, sum_text
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number, sized

#: A fin's sizes as readings of its outline, in the order in which one takes them.
FIN_SIZES = {
    "bottom": ("side", "A B"),
    "height": ("height", "D over A B"),
    "top": ("side", "D C"),
    "inset": ("offset", "D along A B"),
}

#: How the table writes a place of three or four corners.
_PLACES = {
    "height": "{} over {} {}",
    "offset": "{} along {} {}",
    "parallel": "{} {} and {} {}",
    "equal": "{} {} and {} {}",
    "in line": "{} with {} {}",
}


@dataclass(frozen=True)
class Begun:
    """Corners, and the lines to fill in.

    fin : the step that they come from, or ""
    kept : what the repair calls the readings that they are, or ""
    """

    corners: Sketch
    lines: tuple[Line, ...]
    fin: str = ""
    kept: str = ""
    notes: tuple[str, ...] = ()


def shapes() -> dict[str, str]:
    """The plain shapes that a measurement can begin with, and what they are called."""
    return {
        "trapezoid": _("a trapezoid"),
        "triangle": _("a triangle"),
        "rectangle": _("a rectangle"),
        "L": _("an L shape"),
        "any": _("four corners, nothing square"),
    }


_TRAPEZOID = [(0, 0), (35, 0), (28, 55), (4, 55)]

_SHAPES: dict[str, tuple[Sequence[tuple[float, float]], Sequence[tuple[str, str]]]] = {
    "trapezoid": (
        _TRAPEZOID,
        [
            ("parallel", "A B and D C"),
            *FIN_SIZES.values(),
            ("diagonal", "A C"),
            ("diagonal", "B D"),
        ],
    ),
    "triangle": (
        [(0, 0), (50, 0), (18, 36)],
        [("side", "A B"), ("side", "B C"), ("side", "A C"), ("height", "C over A B")],
    ),
    "rectangle": (
        [(0, 0), (50, 0), (50, 34), (0, 34)],
        [
            ("square", "A"),
            ("square", "B"),
            ("square", "C"),
            ("side", "A B"),
            ("side", "B C"),
            ("side", "D C"),
            ("diagonal", "A C"),
        ],
    ),
    "L": (
        [(0, 0), (50, 0), (50, 16), (18, 16), (18, 50), (0, 50)],
        [
            *(("square", corner) for corner in "ABCDE"),
            *(("side", f"{a} {b}") for a, b in zip("ABCDEF", "BCDEFA", strict=True)),
        ],
    ),
    "any": (
        _TRAPEZOID,
        [
            *(("side", place) for place in ("A B", "B C", "C D", "D A")),
            ("diagonal", "A C"),
            ("diagonal", "B D"),
        ],
    ),
}


def from_shape(name: str) -> Begun:
    """A plain shape, drawn not to scale, with the readings that it is worth taking of it."""
    corners, rows = _SHAPES[name]
    names = "ABCDEFGH"[: len(corners)]
    return Begun(
        Sketch(dict(zip(names, corners, strict=True))),
        tuple(line(kind, where) for kind, where in rows),
    )


def from_fin(repair: Repair, step: str) -> Begun:
    """A fin of the repair: its sizes as readings, with room for those that check them."""
    values = repair.step(step).values
    sizes = {name: float(values[name]) for name in FIN_SIZES}
    lines = [line("parallel", "A B and D C")]
    for name, (kind, where) in FIN_SIZES.items():
        reading = repair.readings.get(f"{step}.{name}")
        lines.append(
            line(kind, where, [sized(sizes[name], 3)])
            if reading is None
            else _read(kind, where, reading)
        )
    lines += [line("diagonal", "A C"), line("diagonal", "B D")]
    return Begun(sketch_of(trapezoid(**sizes)), tuple(lines), step)


def from_kept(repair: Repair, name: str) -> Begun:
    """The readings from which steps of the repair were made, to be taken again."""
    sketch = repair.sketches[name].sketch
    bare = sketch.without(*(row.name for row in sketch.rows))
    return Begun(bare, tuple(_kept(row) for row in sketch.rows), kept=name)


def from_trace(traced: Traced) -> Begun:
    """A traced outline, with its sides to read so that they pull it to size."""
    sketch = traced.sketch()
    names = list(sketch.corners)
    sides = zip(names, [*names[1:], *names[:1]], strict=True)
    return Begun(
        sketch,
        (*(line("side", f"{a} {b}") for a, b in sides), line("overall width")),
        notes=traced.notes,
    )


def _kept(row: Row) -> Line:
    where = sum_text(row.terms) if row.terms else _PLACES.get(row.kind, "{} " * len(row.where))
    spelled = sized if row.measures == "mm" else number
    values = [spelled(value, 3) for value in row.values]
    return line(row.kind, where.format(*row.where).strip(), values, row.instrument)


def _read(kind: str, where: str, reading: Reading) -> Line:
    return line(kind, where, [sized(value, 3) for value in reading.values], reading.instrument)
