"""The corners of an outline that a step is made from, as a drawing gives them.

A few are dimensioned from the outline's own zero. Many would hide the part under lines: they are
numbered, and their places listed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.stretch import Stretch
from workbench.output.drawing.dimension_kinds import SAME, Circle, Corner, Length, times
from workbench.solids import catalogue
from workbench.solids.geometry.features import Features
from workbench.solids.parameters import Corners
from workbench.solids.recipe.step import Step
from workbench.words import _, sized, sizes

#: With more corners than this their places are listed.
MOST = 8


def outlined(step: Step, own: Features) -> Iterator[tuple[str, Outline]]:
    """Fields of a step that are outlines in its x and z, as a panel's.

    Whether they are is seen on the shape: each end of a side or an arc is a corner of it.
    """
    for parameter in catalogue.find(step.template).parameters:
        if isinstance(parameter.kind, Corners):
            outline = Outline(step.values[parameter.name])
            ends = np.array([stretch.start for stretch in outline.path])
            apart = np.abs(ends[:, None] - own.points[None, :, [0, 2]]).max(axis=2)
            if (apart.min(axis=1) < SAME).all():
                yield parameter.name, outline


def rounds(about: tuple[str, str], outline: Outline, place: np.ndarray) -> Iterator[Circle]:
    """The radii of an outline's rounds and arcs, each once; ``place`` (4, 4) moves the step."""
    alike: dict[str, list[Stretch]] = {}
    for stretch in outline.path:
        if stretch.through is not None:
            alike.setdefault(sized(stretch.radius), []).append(stretch)
    for radius, arcs in alike.items():
        yield Circle(
            times(len(arcs), f"R{radius}"),
            np.array([_solid(arc.centre, place) for arc in arcs]),
            np.array([_solid(arc.at(0.5), place) for arc in arcs]),
            place[:3, 1],
            arcs[0].radius,
            False,
            about,
        )


def numbered(about: tuple[str, str], corners: np.ndarray, place: np.ndarray) -> Iterator[Corner]:
    """The corners (n, 2) with their numbers beside them, from 1; ``place`` (4, 4) moves the step."""
    before = corners - np.roll(corners, 1, axis=0)
    after = np.roll(corners, -1, axis=0) - corners
    along = sum(way / np.linalg.norm(way, axis=1, keepdims=True) for way in (before, after))
    out = np.column_stack([along[:, 1], -along[:, 0]])
    out = out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), SAME)
    for number, (corner, way) in enumerate(zip(corners, out, strict=True), 1):
        at, away = _solid(corner, place), place[:3, :3] @ np.array([way[0], 0.0, way[1]])
        yield Corner(str(number), at, away, place[:3, 1], about)


def from_zero(about: tuple[str, str], corners: np.ndarray, place: np.ndarray) -> Iterator[Length]:
    """How far each corner is across and up from the outline's zero, each length once."""
    for axis in (0, 1):
        for value in np.unique(np.round(corners[:, axis], 6)):
            if abs(value) < SAME:
                continue
            here = corners[np.abs(corners[:, axis] - value) < SAME]
            feet = corners[np.abs(corners[:, axis]) < SAME]
            if not len(feet):
                feet = here.copy()
                feet[:, axis] = 0.0
            ends = [np.array([_solid(c, place) for c in group]) for group in (feet, here)]
            way = place[:3, 0] if axis == 0 else place[:3, 2]
            start, end = ends if value > 0 else ends[::-1]
            yield Length(sized(abs(float(value))), start, end, way, about, tuple(place[:3, 1]))


def told(name: str, corners: np.ndarray) -> str:
    """Where the numbered corners are, as text."""
    places = "; ".join(f"{i} ({sizes(corner)})" for i, corner in enumerate(corners, 1))
    return _("corners of {step}, across and up from its zero point: {places}").format(
        step=name, places=places
    )


def _solid(corner: np.ndarray, place: np.ndarray) -> np.ndarray:
    point: np.ndarray = place[:3, :3] @ np.array([corner[0], 0.0, corner[1]]) + place[:3, 3]
    return point
