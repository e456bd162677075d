"""What the checks found: findings with a place, a number and a remedy, gathered in a report."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from workbench import data
from workbench.solids import mesh as meshes
from workbench.solids.build import Assembly, assemble
from workbench.solids.repair import Repair

#: "stop" stops a print until it is put right or answered; "warning" wants a look; "note" tells.
SEVERITIES = ("stop", "warning", "note")


@dataclass(frozen=True)
class Finding:
    """One thing that a check found.

    severity : "stop", "warning" or "note"
    rule : short name of the rule, such as "fits the bed"
    where : the step or place that it is about
    text : the finding in one sentence, for a person
    number, limit, unit : what was found against what is allowed, in the unit
    remedy : what to do about it
    source : where the rule or its figure comes from
    """

    severity: str
    rule: str
    where: str
    text: str
    number: float | None = None
    limit: float | None = None
    unit: str = ""
    remedy: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity {self.severity!r} is none of {SEVERITIES}")


@dataclass(frozen=True)
class Report:
    """Everything that the checks found, worst first, and the ways up, best first."""

    findings: tuple[Finding, ...] = ()
    orientations: tuple[Any, ...] = field(default=())

    @property
    def ok(self) -> bool:
        """Whether nothing found stops a print."""
        return not any(finding.severity == "stop" for finding in self.findings)


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

    @property
    def material(self) -> data.Material:
        """The repair's material."""
        return data.material(self.repair.material)

    @property
    def printer(self) -> data.Printer:
        """The repair's printer."""
        return data.printer(self.repair.printer)
