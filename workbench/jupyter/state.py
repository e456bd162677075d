"""The repair on the bench: its edits with undo and redo, and the last solid that was good.

No widgets and no threads here: everything can be tried out in a plain test.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from workbench import data
from workbench.solids.build import Assembly, assemble
from workbench.solids.mesh import mesh
from workbench.solids.repair import Repair
from workbench.words import _, number

#: Edits of one field that follow each other within this time are one edit to undo, in seconds.
ONE_GESTURE = 1.0

#: How many edits can be undone.
MOST_UNDO = 200


@dataclass(frozen=True)
class Made:
    """A repair as it was at one moment, with the solid that it came to.

    vertices : (n, 3) float64, in mm
    faces : (m, 3) int64
    """

    repair: Repair
    assembly: Assembly
    vertices: np.ndarray
    faces: np.ndarray

    @cached_property
    def volume(self) -> float:
        """In mm³, of the exact solid."""
        return float(self.assembly.solid.volume)

    @property
    def mass(self) -> float:
        """Of the solid without hollows, in g."""
        return self.volume / 1000 * data.material(self.repair.material).density

    @cached_property
    def bounds(self) -> np.ndarray:
        """(2, 3): least and greatest x, y and z, in mm."""
        return np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @property
    def line(self) -> str:
        """Volume, mass and overall size in one line."""
        size = self.bounds[1] - self.bounds[0]
        return _("{volume} mm³ · {mass} g of {material} if solid · {x} × {y} × {z} mm").format(
            volume=number(self.volume, 1),
            mass=number(self.mass, 2),
            material=self.repair.material,
            **{axis: number(float(v), 2) for axis, v in zip("xyz", size, strict=True)},
        )


def make(repair: Repair) -> Made:
    """Build a repair and mesh it.

    Raises
    ------
    RepairError
        When it does not come to one valid solid.
    """
    assembly = assemble(repair)
    return Made(repair, assembly, *mesh(assembly.solid))


def frozen(repair: Repair) -> Repair:
    """The repair as it is now, unmoved by later edits."""
    return replace(
        repair,
        readings=dict(repair.readings),
        statements=dict(repair.statements),
        sketches=dict(repair.sketches),
    )


class Workpiece:
    """A repair with the way back: every edit can be undone and done again.

    The repair itself is edited in place, so that the variable it came from follows the bench.
    """

    def __init__(self, repair: Repair, clock: Callable[[], float] = time.monotonic) -> None:
        self.repair = repair
        self._clock = clock
        self._past: list[Repair] = []
        self._future: list[Repair] = []
        self._known = frozen(repair)
        self._last_key: Any = None
        self._last_time = -ONE_GESTURE

    @property
    def can_undo(self) -> bool:
        """Whether there is an edit to undo."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is an undone edit to do again."""
        return bool(self._future)

    def edit(self, change: Callable[[Repair], Any], key: Any = None) -> bool:
        """Apply ``change`` to the repair; returns whether anything changed.

        Edits with the same ``key`` in quick succession, such as one drag, are undone together.

        Raises
        ------
        RepairError
            When the change is refused; the repair is then as it was.
        """
        before = frozen(self.repair)
        try:
            change(self.repair)
        except Exception:
            self._restore(before)
            raise
        return self._note(before, key)

    def noticed(self) -> bool:
        """Take in what was done to the repair elsewhere, such as in a notebook cell."""
        return self._note(self._known, None)

    def undo(self) -> bool:
        """Go one edit back; returns whether there was one."""
        return self._step(self._past, self._future)

    def redo(self) -> bool:
        """Do the last undone edit again; returns whether there was one."""
        return self._step(self._future, self._past)

    def frozen(self) -> Repair:
        """The repair as it is now, unmoved by later edits."""
        return frozen(self.repair)

    def _note(self, before: Repair, key: Any) -> bool:
        now = self._clock()
        if self.repair == before:
            return False
        same_gesture = (
            key is not None and key == self._last_key and now - self._last_time <= ONE_GESTURE
        )
        if not (same_gesture and self._past):
            self._past.append(before)
            del self._past[:-MOST_UNDO]
        self._future.clear()
        self._last_key, self._last_time = key, now
        self._known = frozen(self.repair)
        return True

    def _step(self, source: list[Repair], target: list[Repair]) -> bool:
        if not source:
            return False
        target.append(frozen(self.repair))
        self._restore(source.pop())
        self._known = frozen(self.repair)
        self._last_key = None
        return True

    def _restore(self, earlier: Repair) -> None:
        for field, value in _fields_of(frozen(earlier)):
            setattr(self.repair, field, value)


def _fields_of(repair: Repair) -> list[tuple[str, Any]]:
    return [(field.name, getattr(repair, field.name)) for field in fields(repair)]
