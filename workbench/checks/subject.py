"""What the checks look at: a repair and what was built of it, without any judgement."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import TYPE_CHECKING

import numpy as np

from workbench import data
from workbench.solids.building.build import Assembly, assemble
from workbench.solids.geometry.connected_components import linked
from workbench.solids.meshes import mesh as meshes
from workbench.solids.recipe.repair import Repair

if TYPE_CHECKING:
    from workbench.checks.orientation.way_up import Orientation


@dataclass(frozen=True)
class Subject:
    """What the checks look at: a repair with its solid, mesh, printer and material."""

    repair: Repair
    assembly: Assembly

    @classmethod
    def of(cls, repair: Repair) -> Subject:
        """Build the repair; RepairError where it does not build."""
        return cls(repair, assemble(repair))

    @cached_property
    def mesh(self) -> tuple[np.ndarray, np.ndarray]:
        """Vertices (n, 3) in mm and faces (m, 3) of the solid as it stands on the bench."""
        return meshes.mesh(self.assembly.solid)

    @cached_property
    def shells(self) -> list[tuple[np.ndarray, float]]:
        """Each surface of the closed mesh that hangs together: its faces (k, 3), and the volume in
        mm³ that it encloses, less than 0 for a hollow's."""
        from workbench.checks.layers.slices import mass

        vertices, faces = self.mesh
        one, other = faces[:, :2].ravel(), faces[:, 1:].ravel()
        mark = linked(len(vertices), one, other)[faces[:, 0]]
        parts = [faces[mark == shell] for shell in np.flatnonzero(np.bincount(mark))]
        return [(part, mass(vertices, part)[0]) for part in parts]

    @cached_property
    def shape(self) -> bytes:
        """What tells the mesh from another one, whatever the repair is called."""
        vertices, faces = (np.ascontiguousarray(part) for part in self.mesh)
        return blake2b(vertices.tobytes() + faces.tobytes()).digest()

    def part_mesh(self, step: str) -> tuple[np.ndarray, np.ndarray]:
        """Vertices and faces of one step's own shape, in place, before joining."""
        if step not in self._part_meshes:
            self._part_meshes[step] = meshes.mesh_apart(self.assembly.parts[step])
        return self._part_meshes[step]

    @cached_property
    def part_boxes(self) -> tuple[list[str], np.ndarray]:
        """The steps that add, and (n, 2, 3) least and greatest x, y and z of each one's own shape."""
        names = [step.name for step in self.repair.steps if not step.cuts]
        shapes = [self.part_mesh(name)[0] for name in names]
        boxes = [(vertices.min(axis=0), vertices.max(axis=0)) for vertices in shapes]
        return names, np.array(boxes).reshape(-1, 2, 3)

    @cached_property
    def corners(self) -> np.ndarray:
        """(n, 3) corners of the solid's convex hull, in mm."""
        from workbench.checks.orientation.candidates import hull

        return hull(self.mesh[0])[0]

    @cached_property
    def _part_meshes(self) -> dict[str, tuple[np.ndarray, np.ndarray]]:
        return {}

    @cached_property
    def ways(self) -> list[Orientation]:
        """The ways up, once they were looked for: empty until then."""
        return []

    @cached_property
    def material(self) -> data.Material:
        """The repair's material."""
        return data.material(self.repair.material)

    @cached_property
    def printer(self) -> data.Printer:
        """The repair's printer."""
        return data.printer(self.repair.printer)
