"""Where the steps of a repair stand, and how large the whole is, as lengths for its drawing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

import numpy as np

from workbench.output.drawing.dimension_kinds import PARALLEL, SAME, Box, Dimension, Length
from workbench.solids.building.build import Assembly, frame
from workbench.solids.building.seating import DIRECTIONS
from workbench.solids.geometry.features import Features
from workbench.solids.geometry.kernel import solids_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import PREFIX, At, Seat
from workbench.solids.recipe.step import Step
from workbench.words import sized


def profile_of(here: Features) -> tuple[float, float, float]:
    """The direction along which most edges of a part run: from there it shows its shape."""
    ways = {"front": (0.0, -1.0, 0.0), "top": (0.0, 0.0, 1.0), "side": (-1.0, 0.0, 0.0)}
    along = here.edges[:, 1] - here.edges[:, 0]
    lengths = np.linalg.norm(along, axis=1)
    extent = np.ptp(here.points, axis=0)

    def rank(way: tuple[float, float, float]) -> tuple[int, float]:
        running = np.abs(along @ np.array(way)) > (1 - 1e-6) * lengths
        square = extent[np.abs(way) < 0.5]
        return int(running.sum()), float(square.prod())

    return max(ways.values(), key=rank)


def place_of(
    repair: Repair, assembly: Assembly, step: Step, here: Features, whole: Box
) -> Iterator[Length]:
    """How far a step stands from the left, front or bottom of what it sits on."""
    if not len(here.points):
        return
    under = whole
    ways = np.eye(3)
    moved = np.zeros(3)
    if isinstance(step.place, Seat):
        under = Box.of(assembly.parts[step.place.step])
        yield from _from_edges(step, step.place, here, under, whole)
        ways, moved = _seat_ways(repair, step)
    elif isinstance(step.place, At):
        moved = np.array([step.place.x, step.place.y, step.place.z])
    for way, shift in zip(ways, moved, strict=True):
        if abs(shift) < SAME or not along_a_main_axis(way):
            continue
        axis = np.abs(np.round(way))
        along = int(axis.argmax())
        place = _own_place(here, along, step.cuts, whole)
        start = float(under.low[along])
        if place is None or abs(place[0, along] - start) < SAME:
            continue
        foot = place.copy()
        foot[:, along] = start
        ends = (foot, place) if place[0, along] > start else (place, foot)
        text = sized(abs(place[0, along] - start))
        yield Length(text, *ends, axis, (step.name, ""), _round_way(here) or profile_of(here))


def _from_edges(
    step: Step, place: Seat, here: Features, under: Box, whole: Box
) -> Iterator[Length]:
    """How far inside each edge that holds it a step stands, as it was measured."""
    for edge, inset in zip(place.edges, place.insets, strict=False):
        way = DIRECTIONS[edge]
        along = int(np.abs(way).argmax())
        side = float((under.high if way[along] > 0 else under.low)[along])
        own = _own_place(here, along, False, whole)
        if own is None or not _is_round(here, along):
            far = here.points @ way
            own = here.points[far > far.max() - SAME]
        if abs(inset) < SAME or abs(abs(own[0, along] - side) - abs(inset)) > 10 * SAME:
            continue  # flush, in a ring, or on a part that leans
        foot = own.copy()
        foot[:, along] = side
        ends = (foot, own) if own[0, along] > side else (own, foot)
        seen = _round_way(here) or profile_of(here)
        number = f"inset_{edge}" if isinstance(place.inset, tuple) else "inset"
        about = (step.name, "")
        yield Length(sized(abs(inset)), *ends, np.abs(way), about, seen, PREFIX + number)


def pitch_of(
    repair: Repair, assembly: Assembly, step: Step, profile: tuple[float, float, float]
) -> Iterator[Length]:
    """From one to the next of a row, with how often, as the trade writes it: 9 × 20."""
    row = step.repeat
    if not isinstance(row, Row) or row.n < 2:
        return
    first, second = islice(solids_of(assembly.parts[step.name]), 2)
    start, end = (np.array([[*solid.center()]]) for solid in (first, second))
    axis = (end - start)[0] / row.pitch
    if axis.sum() < 0:
        start, end, axis = end, start, -axis
    text = sized(row.pitch)
    text = text if row.n == 2 else f"{row.n - 1} × {text}"
    yield Length(text, start, end, axis, (step.name, "repeat.pitch"), profile)


def _is_round(here: Features, along: int) -> bool:
    if not here.full.any():
        return False
    largest = int(np.where(here.full, here.radii, 0).argmax())
    return bool(abs(here.axes[largest][along]) < 0.5)


def _seat_ways(repair: Repair, step: Step) -> tuple[np.ndarray, np.ndarray]:
    """The directions of a seat's offsets as the repair stands, and the offsets."""
    assert isinstance(step.place, Seat)
    place = step.place
    if not place.along and not place.across:
        return np.eye(3)[:2], np.zeros(2)
    origin = frame(repair, step.name)[:3, 3]
    ways, moved = [], []
    for name in [name for name in ("along", "across") if name in place.numbers()]:
        other = repair.copy()
        other.change(step.name, place=replace(place, **{name: getattr(place, name) + 1.0}))
        ways.append(frame(other, step.name)[:3, 3] - origin)
        moved.append(getattr(place, name))
    return np.array(ways), np.array(moved)


def along_a_main_axis(way: np.ndarray) -> bool:
    return bool(np.abs(way).max() > 1 - PARALLEL)


def _own_place(here: Features, along: int, cuts: bool, whole: Box) -> np.ndarray | None:
    """Points (n, 3) that say where a part is along an axis: its centre if round, else its edge.

    None where the part runs past both sides of the whole, so that its place does not show.
    """
    low, high = here.points[:, along].min(), here.points[:, along].max()
    if cuts and low <= whole.low[along] + SAME and high >= whole.high[along] - SAME:
        return None
    if _is_round(here, along):
        return here.centres[[int(np.where(here.full, here.radii, 0).argmax())]]
    return here.points[here.points[:, along] < low + SAME]


def _round_way(here: Features) -> tuple[float, float, float] | None:
    """The direction from which a part with a whole circle looks round."""
    if not here.full.any():
        return None
    x, y, z = here.axes[int(np.where(here.full, here.radii, 0).argmax())]
    return float(x), float(y), float(z)


def overall(whole: Box, drawn: Sequence[Dimension]) -> Iterator[Length]:
    """Overall sizes that no step gives by itself, in brackets."""
    for along in range(3):
        axis = np.eye(3)[along]
        low, high = whole.low[along], whole.high[along]
        if any(isinstance(d, Length) and _gives(d, along, low, high) for d in drawn):
            continue
        corners = np.array(
            [[x, y, z] for x in _ends(whole, 0) for y in _ends(whole, 1) for z in _ends(whole, 2)]
        )
        start = corners[np.isclose(corners[:, along], low)]
        end = corners[np.isclose(corners[:, along], high)]
        yield Length(f"({sized(float(high - low))})", start, end, axis)


def _gives(length: Length, along: int, low: float, high: float) -> bool:
    """Whether a length says how far it is from ``low`` to ``high`` along x, y or z."""
    ends = np.array([length.start[0], length.end[0]])
    across = float(np.linalg.norm(ends[1] - ends[0]))
    if "⌀" in length.text:  # as wide in every direction
        middle = float(ends[:, along].mean())
        return abs(across - (high - low)) < SAME and abs(middle - (low + high) / 2) < SAME
    return bool(
        abs(abs(length.axis[along]) - 1) < PARALLEL
        and abs(ends[:, along].min() - low) < SAME
        and abs(ends[:, along].max() - high) < SAME
    )


def _ends(box: Box, along: int) -> tuple[float, float]:
    return float(box.low[along]), float(box.high[along])
