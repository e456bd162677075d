"""The repair on the bench: its edits with undo and redo, and the last solid that was good.

No widgets and no threads here: everything can be tried out in a plain test.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np

from workbench import data
from workbench.errors import RepairError
from workbench.solids.building.build import Assembly, assemble
from workbench.solids.geometry import kernel
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.changes import Row, edit_in_words, in_words
from workbench.solids.recipe.merge import repair_of, row_of
from workbench.solids.recipe.patch import Change, patch, patched
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number, sizes_with_unit

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
        """(2, 3): least and greatest x, y and z of the exact solid, in mm.

        The mesh of a round side keeps within it, by up to its deviation.
        """
        with kernel.LOCK:
            return np.array(kernel.extent([self.assembly.solid.wrapped]))

    @property
    def line(self) -> str:
        """Volume, mass and overall size in one line."""
        size = self.bounds[1] - self.bounds[0]
        return _("{volume} mm³ · {mass} g of {material} if solid · {size}").format(
            volume=number(self.volume, 1),
            mass=number(self.mass, 2),
            material=self.repair.material,
            size=sizes_with_unit(size, between=" × "),
        )


def make(repair: Repair) -> Made:
    """Build a repair and mesh it.

    Raises RepairError when it does not come to one valid solid.
    """
    assembly = assemble(repair)
    return Made(repair, assembly, *mesh(assembly.solid))


def frozen(repair: Repair) -> Repair:
    """The repair as it is now, unmoved by later edits. Each edit was checked as it was made."""
    copied = copy(repair)
    for name in ("readings", "statements", "sketches"):
        setattr(copied, name, dict(getattr(repair, name)))
    return copied


class Edit:
    """One edit, with the way back.

    It holds the two states until it is to be kept as plain data; then what differs is enough.
    """

    def __init__(
        self, states: tuple[Repair, Repair] | None, key: Any = None, row: Row | None = None
    ) -> None:
        self._states, self._key, self._row = states, key, row or {}

    @property
    def row(self) -> Row:
        """As plain data: the name, and the changes as :func:`patch` has them."""
        if self._states is not None and not self._row:
            self._row = {"name": self.name, "changes": patch(*map(row_of, self._states))}
        return self._row

    @cached_property
    def name(self) -> str:
        """What it was about, such as "width of foot"."""
        if self._states is None:
            return str(self._row["name"])
        if isinstance(self._key, tuple):  # of one size: found without looking at everything
            name, field = self._key[:2]
            for step in self._states[1].steps:
                if step.name == name and field in step.values:
                    return in_words(("steps", name, "values", field), {"steps": [step.to_dict()]})
        return edit_in_words(*map(row_of, self._states))

    def ending_at(self, after: Repair) -> Edit:
        """The same gesture, gone further."""
        return self if self._states is None else Edit((self._states[0], after), self._key)

    def other_side(self, now: Repair, back: bool) -> Repair:
        """The state before it, or after it, from the one on its other side; RepairError if lost."""
        if self._states is not None:
            return self._states[0 if back else 1]
        changes: list[Change] = self.row["changes"]
        try:
            return repair_of(patched(row_of(now), changes, back))
        except (KeyError, IndexError, TypeError, ValueError) as error:
            raise RepairError(
                _(
                    "{edit} cannot be undone: what was kept of it does not fit this part; change the size itself"
                ).format(edit=self.name)
            ) from error


class Workpiece:
    """A repair with the way back: every edit can be undone and done again.

    The repair itself is edited in place, so that the variable it came from follows the bench.
    """

    def __init__(self, repair: Repair, clock: Callable[[], float] = time.monotonic) -> None:
        self.repair = repair
        self.lock = threading.RLock()
        self._clock = clock
        self._past: list[Edit] = []
        self._future: list[Edit] = []
        self._known = frozen(repair)
        self._last_key: Any = None
        self._last_time = -ONE_GESTURE
        self._held = False

    @property
    def undoes(self) -> str:
        """What the next undo takes back, such as "width of foot"; empty where there is nothing."""
        return self._past[-1].name if self._past else ""

    @property
    def redoes(self) -> str:
        """What the next redo does again; empty where there is nothing."""
        return self._future[-1].name if self._future else ""

    def edit(self, change: Callable[[Repair], Any], key: Any = None) -> bool:
        """Apply ``change`` to the repair; returns whether anything changed.

        Edits with the same ``key`` in quick succession, or of one drag, are undone together.

        Raises RepairError when the change is refused; the repair is then as it was.
        """
        before = frozen(self.repair)
        try:
            change(self.repair)
        except Exception:
            self._restore(before)
            raise
        return self._note(before, key)

    def hold(self, on: bool) -> None:
        """A hand has taken hold of a size, or let go: what comes between is one edit to undo."""
        if on:
            self._last_key = None
        self._held, self._last_time = on, self._clock()

    def noticed(self) -> bool:
        """Take in what was done to the repair elsewhere, such as in a notebook cell."""
        return self._note(self._known, None)

    def undo(self) -> bool:
        """Go one edit back; returns whether there was one."""
        return self._step(self._past, self._future, back=True)

    def redo(self) -> bool:
        """Do the last undone edit again; returns whether there was one."""
        return self._step(self._future, self._past, back=False)

    def frozen(self) -> Repair:
        """The repair as it is now, unmoved by later edits."""
        return frozen(self.repair)

    def kept(self) -> tuple[Row, Row]:
        """The repair as plain data, and the edits that lead to and from it, for :meth:`resume`."""
        with self.lock:
            now, past, future = self.frozen(), tuple(self._past), tuple(self._future)
        history = {"past": [edit.row for edit in past], "future": [edit.row for edit in future]}
        return row_of(now), history

    def note_since(self, earlier: Repair) -> bool:
        """Count what the repair differs in from an earlier state as one edit."""
        return self._note(earlier, None)

    def resume(self, history: Mapping[str, Any]) -> None:
        """Take over a history that ends at the repair as it is now; a damaged one is left."""
        try:
            past, future = (
                [
                    Edit(None, row={"name": str(row["name"]), "changes": list(row["changes"])})
                    for row in history.get(side, ())
                ]
                for side in ("past", "future")
            )
        except (KeyError, TypeError, AttributeError):
            return
        self._past[:], self._future[:] = past[-MOST_UNDO:], future

    def _note(self, before: Repair, key: Any) -> bool:
        now = self._clock()
        if self.repair == before:
            return False
        after = frozen(self.repair)
        soon = self._held or now - self._last_time <= ONE_GESTURE
        same_gesture = soon and key is not None and key == self._last_key
        if same_gesture and self._past:
            self._past[-1] = self._past[-1].ending_at(after)
        else:
            self._past.append(Edit((before, after), key))
            del self._past[:-MOST_UNDO]
        self._future.clear()
        self._last_key, self._last_time = key, now
        self._known = after
        return True

    def _step(self, source: list[Edit], target: list[Edit], back: bool) -> bool:
        if not source:
            return False
        edit = source[-1]
        self._restore(edit.other_side(self.repair, back))
        target.append(source.pop())
        self._known = frozen(self.repair)
        self._last_key = None
        return True

    def _restore(self, earlier: Repair) -> None:
        for field, value in _fields_of(frozen(earlier)):
            setattr(self.repair, field, value)


def _fields_of(repair: Repair) -> list[tuple[str, Any]]:
    return [(field.name, getattr(repair, field.name)) for field in fields(repair)]
