"""Lengths, circles and angles as a drawing gives them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.measure.reading import Reading
from workbench.words import _, sized, uncertain

#: Directions nearer than this, as a sine, are parallel.
PARALLEL = 1e-6

#: Sizes nearer than this are one size, in mm.
SAME = 1e-4


@dataclass(frozen=True)
class Length:
    """A length between two groups of points, level along an axis.

    text : what the drawing says
    start, end : (n, 3) points in mm, each group level along the axis
    axis : (3,) unit vector from start to end
    about : (step, field) names; the field is empty for a place, both for the whole
    profile : the direction from which the step shows its shape
    place : of a place, which number of it the length is, such as "place.inset"
    """

    text: str
    start: np.ndarray
    end: np.ndarray
    axis: np.ndarray
    about: tuple[str, str] = ("", "")
    profile: tuple[float, float, float] | None = None
    place: str = ""


@dataclass(frozen=True)
class Circle:
    """A diameter or radius of ``len(centres)`` equal circles with one axis.

    centres, middles : (n, 3) in mm: centres, and points half way along each arc
    """

    text: str
    centres: np.ndarray
    middles: np.ndarray
    axis: np.ndarray
    radius: float
    full: bool
    about: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Angle:
    """An angle between a straight edge, as its two ends (2, 3), and an axis (3,)."""

    text: str
    edge: np.ndarray
    axis: np.ndarray
    value: float
    about: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Corner:
    """The name of a corner, beside it.

    at : (3,) in mm
    away : (3,) unit vector out of the shape, beside which the name stands
    axis : (3,) along which the shape shows itself
    """

    text: str
    at: np.ndarray
    away: np.ndarray
    axis: np.ndarray
    about: tuple[str, str] = ("", "")


Dimension = Length | Circle | Angle | Corner


@dataclass(frozen=True)
class Box:
    low: np.ndarray
    high: np.ndarray

    @classmethod
    def of(cls, shape: Any) -> Box:
        box = shape.bounding_box()
        return cls(np.array([*box.min]), np.array([*box.max]))

    def holds(self, points: np.ndarray) -> bool:
        """Whether one of the points (n, 3) is within."""
        within = (points >= self.low - SAME) & (points <= self.high + SAME)
        return bool(within.all(axis=1).any())


def named(dimension: Dimension) -> str:
    """What a dimension says, with whose it is, for a list beside the drawing."""
    step, field = dimension.about
    parts = (step, _(field.replace("_", " ")) if field else _("place") if step else "")
    return " ".join((*(part for part in parts if part), dimension.text))


def value_text(value: float, reading: Reading | None = None) -> str:
    """A size as the drawing gives it; one that was read bears its standard uncertainty.

    >>> value_text(34.0), value_text(45.95, Reading([45.9, 46.0, 45.95]))
    ('34', '45.95 ± 0.04')
    """
    return sized(value) if reading is None else uncertain(value, reading.uncertainty)


def times(count: int, text: str) -> str:
    """A dimension that stands for several alike, as the trade writes it: "4 × R8"."""
    return text if count == 1 else f"{count} × {text}"
