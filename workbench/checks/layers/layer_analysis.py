"""The layer analysis of a part in one orientation: what rests, what hangs, what is too thin.

For drawing, all in mm::

    found = layers(vertices, faces, down)          # or orient.laid_layers(subject)
    found.slices.polygons(i)                       # layer i, laid: outer rings and holes
    found.slices.levels[i]                         # its underside above the bed
    found.overhangs.sections[i]                    # what of it hangs, as a section, or None
    found.island_marks                             # (k, 3) islands, on the part as it stands
    slices.overhang_angles(vertices, faces, down)  # (m,) degrees, for a map on the preview
    found.slices.on_bench(points)                  # laid points back to where the part stands
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from workbench import data
from workbench.checks.layers.overhang import BRIDGE, Overhangs, overhangs
from workbench.checks.layers.overhang_patches import ANGLE
from workbench.checks.layers.slices import Slices, cut
from workbench.checks.layers.thin_walls import Thin, thin
from workbench.checks.orientation.stability import Stance, Tower, stance, towers
from workbench.errors import RepairError
from workbench.solids.geometry.cache import Kept
from workbench.words import _

if TYPE_CHECKING:
    from workbench.checks.subject import Subject

#: Layer analyses of shapes looked at before.
_LAYERS, _LOCK = Kept(6), threading.Lock()

#: Part of the inside that is filled, and of a support's column: common practice, no source.
INFILL = 0.2
SUPPORT = 0.15

#: Outlines laid side by side: common practice, no source.
WALLS = 2


@dataclass(frozen=True)
class Settings:
    """How a part is printed. Lengths in mm, the overhang angle in degrees from the vertical.

    layer, line_width, nozzle : of the printer
    angle : greatest overhang that prints without support
    bridge : longest bridge that prints without support
    """

    layer: float = 0.2
    line_width: float = 0.45
    nozzle: float = 0.4
    angle: float = ANGLE
    bridge: float = BRIDGE

    def __post_init__(self) -> None:
        for name in ("layer", "line_width", "nozzle"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0):
                raise RepairError(
                    _("{name} is {value} mm; give a size above 0").format(
                        name=_(name.replace("_", " ")), value=value
                    )
                )
        if not 0 <= self.angle < 89:
            raise RepairError(
                _("overhang angle is {angle}°; give 0° to 89° from the vertical").format(
                    angle=self.angle
                )
            )
        if not self.bridge >= 0:
            raise RepairError(_("bridge is {bridge} mm; give 0 or more").format(bridge=self.bridge))

    @classmethod
    def of(cls, printer: data.Printer) -> Settings:
        """The printer's settings, with the usual overhang angle and bridge."""
        return cls(printer.layer, printer.line_width, printer.nozzle)


@dataclass(frozen=True, eq=False)
class Layers:
    """Everything that the layers of a laid part tell, each worked out when it is asked for."""

    settings: Settings
    slices: Slices

    @cached_property
    def overhangs(self) -> Overhangs:
        """What hangs, and the support that it needs."""
        chosen = self.settings
        return overhangs(self.slices, chosen.angle, chosen.line_width, chosen.bridge)

    @property
    def island_marks(self) -> np.ndarray:
        """(k, 3) where parts start in mid-air, on the part as it stands on the bench, in mm."""
        places = [region.place for region in self.overhangs.islands]
        return self.slices.on_bench(np.array(places).reshape(-1, 3))

    @cached_property
    def stance(self) -> Stance:
        """How it stands on the bed, together with its support."""
        return stance(self.slices, self.overhangs.columns[0])

    @cached_property
    def towers(self) -> tuple[Tower, ...]:
        """What stands alone for a while, most slender first."""
        return towers(self.slices)

    @cached_property
    def thin(self) -> tuple[Thin, ...]:
        """Walls and gaps narrower than two lines of the nozzle's width, narrowest first."""
        return thin(self.slices, self.settings.nozzle)


def layers(
    vertices: np.ndarray,
    faces: np.ndarray,
    down: Sequence[float] = (0.0, 0.0, -1.0),
    settings: Settings | None = None,
) -> Layers:
    """Analyse a part layer by layer.

    vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
    down : the direction, as the part stands, that lies on the bed
    settings : of the printer; those of a 0.4 mm nozzle unless given

    Raises RepairError when the mesh does not close, or the part is not worth a layer.
    """
    chosen = settings or Settings()
    return Layers(chosen, cut(vertices, faces, down, chosen.layer))


def layers_of(subject: Subject, down: Sequence[float]) -> Layers:
    """The layer analysis of a subject with a direction on the bed.

    The last few are kept: a name, a colour or another side to lie on changes no shape.
    """
    settings = Settings.of(subject.printer)
    key = (subject.shape, tuple(down), settings)
    with _LOCK:
        return _LAYERS.get(key, lambda: layers(*subject.mesh, down, settings))
