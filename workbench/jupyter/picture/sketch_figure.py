"""Sketches in SVG: as drawn on paper, and to scale with how far each reading is off."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape

import numpy as np

from workbench.jupyter.picture.svg_figure import Frame, bounds_of
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.solve import Solution
from workbench.measure.sketches.table_row import Row
from workbench.words import _, quantity, sized

#: Half the length in pixels of a mark for a residual of its own standard deviation, and the
#: longest it gets.
_MARK, _LONGEST = 5.0, 16.0

Spots = Mapping[str, np.ndarray]


def as_drawn(sketch: Sketch, nexts: Sequence[Row] = (), free: Sequence[str] = ()) -> str:
    """The corners as sketched.

    nexts : readings that are worth taking, numbered in the figure
    free : corners that can still move
    """
    spots = {name: np.array(spot) for name, spot in (*_corners(sketch), *sketch.circles.items())}
    frame = Frame.round(bounds_of(*spots.values(), *sketch.ring()), 200, 230)
    shapes = _outline(frame, spots, list(sketch.corners), sketch.ring())
    for count, row in enumerate(nexts, 1):
        ends = stroke(row, spots)
        if ends is not None:
            shapes.append(_line(frame, ends, "wb-next"))
            x, y = frame.on_paper(ends).mean(axis=0)
            shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8" class="wb-bead"/>')
            shapes.append(f'<text x="{x:.1f}" y="{y:.1f}" class="wb-count">{count}</text>')
    for name in free:
        if name in spots:
            x, y = frame.on_paper(spots[name])[0]
            shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" class="wb-free"/>')
    caption = _("As sketched, not to scale")
    if nexts:
        caption += ". " + _("Read next: {nexts}").format(
            nexts=", ".join(f"{n} {row.name}" for n, row in enumerate(nexts, 1))
        )
    return frame.drawn(shapes, caption)


def to_scale(solution: Solution, caption: str = "", size: tuple[float, float] = (310, 300)) -> str:
    """The solved outline, with a mark across each reading as long as it is off.

    The suspect's mark is a thick cross with a word beside it. ``size`` is the greatest width and
    height, in pixels.
    """
    spots: dict[str, np.ndarray] = dict(solution.corners)
    spots |= {name: middle for name, (middle, _across) in solution.circles.items()}
    corners, ring = np.array(list(solution.corners.values())), solution.outline.chords()
    frame = Frame.round(bounds_of(*spots.values(), *ring), *size, margin=34)
    lengths = [math.dist(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    shapes = _outline(frame, spots, list(solution.corners), ring, lengths)
    for middle, across in solution.circles.values():
        x, y = frame.on_paper(middle)[0]
        radius = across / 2 * frame.scale
        shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" class="wb-outline"/>')
    for row in solution.sketch.rows:
        ends = stroke(row, spots)
        if ends is None or not row.values:
            continue
        wrong = row.name in (*solution.suspects, *solution.undecided)
        if wrong or row.kind not in ("side", "angle", "radius"):
            shapes.append(_line(frame, ends, "wb-reading wb-wrong" if wrong else "wb-reading"))
        shapes += _residual(frame, ends, row, solution, wrong)
    label = caption or _("To scale; a mark across a reading is as long as the reading is off")
    return frame.drawn(shapes, label)


def stroke(row: Row, spots: Spots) -> np.ndarray | None:
    """(2, 2) ends of the line along which a reading is taken; None where it has no such line."""
    if not row.where or any(name not in spots for name in row.where):
        return None
    points = [np.asarray(spots[name], dtype=float) for name in row.where]
    if row.kind in ("side", "diagonal", "distance"):
        return np.array(points[:2])
    if row.kind in ("height", "offset"):
        point, start, end = points
        along = (end - start) / (math.dist(start, end) or 1.0)
        foot = start + along * float((point - start) @ along)
        return np.array([foot, point] if row.kind == "height" else [start, foot])
    if row.kind in ("angle", "radius", "diameter"):
        corner = points[1] if len(points) == 3 else points[0]
        return np.array([corner, corner])
    return None


def _corners(sketch: Sketch) -> list[tuple[str, tuple[float, float]]]:
    return list(sketch.corners.items())


def _outline(
    frame: Frame,
    spots: Spots,
    corners: Sequence[str],
    ring: np.ndarray,
    lengths: Sequence[float] | None = None,
) -> list[str]:
    """The outline's (n, 2) ring with its corners' letters and, where known, the sides' lengths."""
    points = np.array([spots[name] for name in corners])
    shapes = [f'<path d="{frame.ring(ring)}" class="wb-solved"/>']
    placed = frame.on_paper(points)
    turn = 1.0 if _area(points) > 0 else -1.0
    for i, name in enumerate(corners):
        before, here, after = placed[i - 1], placed[i], placed[(i + 1) % len(corners)]
        x, y = here + 13 * _unit(_out(before, here, turn) + _out(here, after, turn))
        shapes.append(f'<text x="{x:.1f}" y="{y:.1f}" class="wb-corner">{escape(name)}</text>')
        if lengths is not None and math.dist(here, after) > 24:
            x, y = (here + after) / 2 + 13 * _out(here, after, turn)
            anchor = _anchor(_out(here, after, turn)[0])
            shapes.append(
                f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="wb-length">'
                f"{sized(float(lengths[i]), 1)}</text>"
            )
    return shapes


def _residual(
    frame: Frame, ends: np.ndarray, row: Row, solution: Solution, wrong: bool
) -> list[str]:
    start, end = frame.on_paper(ends)
    middle = (start + end) / 2
    across = _unit(np.array([end[1] - start[1], start[0] - end[0]]))
    if wrong:
        reach = 6.0
        (x0, y0), (x1, y1) = middle - reach, middle + reach
        word = escape(_("{name}?").format(name=row.name))
        return [
            f'<path d="M{x0:.1f} {y0:.1f} L{x1:.1f} {y1:.1f} M{x0:.1f} {y1:.1f} L{x1:.1f} {y0:.1f}" '
            'class="wb-cross"/>',
            f'<text x="{middle[0]:.1f}" y="{middle[1] - 13:.1f}" text-anchor="middle" '
            f'class="wb-blamed">{word}</text>',
        ]
    off = abs(solution.standardised.get(row.name, 0.0))
    half = min(_LONGEST, _MARK * off)
    if half < 1:
        return []
    a, b = middle - half * across, middle + half * across
    title = _("{name}: off by {off}").format(name=row.name, off=off_in_words(row, solution))
    return [
        f'<path d="M{a[0]:.1f} {a[1]:.1f} L{b[0]:.1f} {b[1]:.1f}" class="wb-off-mark">'
        f"<title>{escape(title)}</title></path>"
    ]


def off_in_words(row: Row, solution: Solution) -> str:
    """By how much a reading is off what fits best, such as "+0.03 mm"."""
    off = solution.residuals[row.name]
    text = quantity(off, row.measures)
    sign = "+" if off > 0 and not text.startswith("0 ") else ""
    return f"{sign}{text}".replace("-", "−")


def _line(frame: Frame, ends: np.ndarray, kind: str) -> str:
    (x0, y0), (x1, y1) = frame.on_paper(ends)
    return f'<path d="M{x0:.1f} {y0:.1f} L{x1:.1f} {y1:.1f}" class="{kind}"/>'


def _out(start: np.ndarray, end: np.ndarray, turn: float) -> np.ndarray:
    """The unit vector, in pixels, that points out of an outline from one of its sides."""
    return _unit(np.array([start[1] - end[1], end[0] - start[0]]) * turn)


def _unit(vector: np.ndarray) -> np.ndarray:
    length = float(np.hypot(*vector))
    return vector / length if length > 1e-9 else np.array([0.0, -1.0])


def _area(points: np.ndarray) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())


def _anchor(out: float) -> str:
    return "middle" if abs(out) < 0.5 else ("start" if out > 0 else "end")
