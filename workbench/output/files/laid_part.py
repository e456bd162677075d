"""A part as it lies on the print bed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from workbench.checks.orientation.orient import chosen_down
from workbench.checks.subject import Subject
from workbench.output.files.stl_step import rounded
from workbench.solids.lay import laid


@dataclass(frozen=True, eq=False)
class Bed:
    """A part laid for printing.

    down : the direction, as the repair stands, that points down on the bed
    vertices : (n, 3) float32 in mm, lowest at z = 0, centred about x = y = 0
    faces : (m, 3) indices into them
    """

    down: tuple[float, float, float]
    vertices: np.ndarray
    faces: np.ndarray

    @cached_property
    def size(self) -> tuple[float, float, float]:
        """Overall width, depth and height as it lies, in mm."""
        width, depth, height = np.ptp(self.vertices.astype(float), axis=0)
        return float(width), float(depth), float(height)


def on_the_bed(subject: Subject) -> Bed:
    """The part as it is printed, in the single precision that mesh files carry.

    Raises RepairError when its surface does not close.
    """
    vertices, faces = subject.mesh
    down = chosen_down(subject)
    return Bed(down, *rounded(laid(vertices, down), faces))
