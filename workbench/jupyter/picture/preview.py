"""The live picture: the part on its bed, with the chosen step standing out and its sizes."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, Any

import ipywidgets as w
import numpy as np

from workbench import data, units
from workbench.jupyter.picture import scene
from workbench.jupyter.picture.on_bed import on_bed
from workbench.jupyter.picture.packed import Packed
from workbench.jupyter.picture.size_marks import marks, renewed
from workbench.jupyter.picture.view import Picture
from workbench.jupyter.running_cell import let_out
from workbench.jupyter.state import Made
from workbench.jupyter.step_list import title_of
from workbench.solids.building.rough import Rough
from workbench.solids.meshes.mesh import Mesh, mesh_apart
from workbench.solids.meshes.owners import Surface, owners
from workbench.words import _, setting

if TYPE_CHECKING:
    from build123d import Shape

    from workbench.checks.report import Report

#: Width and height of the still picture that stands in for the live one, in pixels.
STILL = (720, 540)

#: Where finding a step's sizes took longer, in seconds, they keep their places while a hand moves.
SOON = 0.012

#: The bed that is shown before there is a part.
_EMPTY = np.array([[-20.0, -20, 0], [20, 20, 0]])


class Preview:
    """Shows the solid, or its pieces apart; the browser keeps the eye still while sizes change.

    ``view`` is the widget, ``shown`` what was last shown, ``part`` what the browser holds of the
    part's mesh, and ``scene`` all else that it was told. ``on_choose`` is called with the step
    whose surface was clicked, ``on_size`` with the step and the field of a size that was,
    ``on_drag`` with a value as well where its end was dragged, and ``on_rest`` when the hand rests.
    """

    def __init__(self, lock: AbstractContextManager[Any] | None = None) -> None:
        """``lock`` is held while drawing, so that a click never meets a half-drawn part."""
        self._lock = lock if lock is not None else threading.RLock()
        self.shown: Made | Rough | None = None
        self._chosen = ""
        self._instead: tuple[Mesh, dict[str, Any]] | None = None
        self._owned: tuple[Any, ...] = ()
        self._surfaces: dict[str, tuple[Shape, bool, Surface]] = {}
        self._late: frozenset[str] = frozenset()
        self.part = Packed()
        self._down: Sequence[float] | None = None
        self._brim, self._way = 0.0, ""
        self.scene: dict[str, Any] = {
            "dimensions": True,
            "apart": False,
            "laid": None,
            "beside": None,
        }
        self.on_choose: Callable[[str], object] = lambda _step: None
        self.on_size: Callable[[str, str], object] = lambda _step, _field: None
        self.on_drag: Callable[[str, str, float], object] = lambda _step, _field, _value: None
        self.on_rest: Callable[[str, str], object] = lambda _step, _field: None
        self.picture = Picture(self._whole)
        self.picture.on = {
            "again": self._tell_all,
            "still": self._show_still,
            "choose": self._clicked,
            "size": self._size_clicked,
            "dimensions": lambda: self.show_dimensions(not self.scene["dimensions"]),
            "rest": self._rests,
            "drag": lambda step, field, value: self.on_drag(step, field, float(value)),
            "laid": lambda: self.show_on_bed(self.scene["laid"] is None),
            "apart": lambda: self.show_apart(not self.scene["apart"]),
        }
        self._tell(**_bed(_EMPTY))
        self.view = w.VBox([self.picture])
        self.view.add_class("wb-preview")

    # -- what the bench calls ----------------------------------------------------------------

    def show(self, made: Made | Rough, chosen: str) -> None:
        """Show a new solid; ``chosen`` is the step that stands out, with its sizes."""
        with self._lock:
            self.shown, self._chosen, self._instead = made, chosen, None
            self._draw()

    def expect(self, rough: Rough) -> None:
        """Tell the browser beforehand of what a rough picture of the part that is shown adds."""
        with self._lock:
            made = self.shown
            if made is None or made.repair is not rough.repair or self._owned[:1] != ("whole",):
                return
            told = self.part.ahead(rough.vertices, rough.faces, lambda fresh: rough.owners[fresh])
            if told is not None:
                self.picture.put(part=told)

    def answer(self) -> None:
        """Tell the browser that no part comes of a value that was dragged."""
        self.picture.ask(answered=True)

    def choose(self, chosen: str) -> None:
        """Let another step stand out."""
        with self._lock:
            self._chosen = chosen
            if self.shown is not None:
                self._tell(**self._about_chosen(self.shown), **self._sizes(self.shown))

    def judged(self, made: Made, report: Report) -> None:
        """The part was checked: which way it is to lie, and whether on a brim."""
        best = report.orientations[0] if report.orientations else None
        brim = best.figures.brim if best is not None else None
        down = best.down if best is not None else made.repair.down
        with self._lock:
            changed = (down, brim.width if brim else 0.0) != (self._down, self._brim)
            self._down, self._brim = down, brim.width if brim else 0.0
            self._way = best.name if best is not None else ""
            if changed and self.scene["laid"] is not None:
                self._draw()

    def show_beside(self, others: Sequence[Mesh]) -> None:
        """Show other parts as a ghost beside it; none takes the ghost away."""
        with self._lock:
            if not others:
                self._tell(beside=None)
                return
            vertices, faces, _owner = scene.joined(others)
            self._tell(beside=Packed().update(vertices, faces, lambda f: np.zeros(len(f), int)))

    def show_on_bed(self, on: bool) -> None:
        """Show the part as it is printed, or as it stands on the bench."""
        with self._lock:
            self._tell(apart=False, laid={} if on else None)
            self._draw()

    def show_apart(self, on: bool) -> None:
        """Show each step by itself, moved away from the others, or the part as it is."""
        with self._lock:
            self._tell(apart=on, laid=None)
            self._draw()

    def show_dimensions(self, on: bool) -> None:
        """Show the sizes of the chosen step, or none."""
        with self._lock:
            self._tell(dimensions=on)

    def show_instead(
        self,
        vertices: np.ndarray,
        faces: np.ndarray,
        colours: np.ndarray | None = None,
        marks: np.ndarray | None = None,
    ) -> None:
        """Show another mesh in the part's place, until the part changes or :meth:`show_again`.

        vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
        colours : (m, 3) red, green and blue of each face, from 0 to 1
        marks : (k, 3) places to point out, in mm
        """
        with self._lock:
            if self.shown is None:
                return
            extra: dict[str, Any] = {"paint": None}
            if colours is not None:
                extra["paint"] = ({}, [np.round(255 * colours).astype(np.uint8).tobytes()])
            extra["marks"] = [] if marks is None else np.round(marks, 3).tolist()
            self._instead = (vertices, faces), extra
            self._draw()

    def show_again(self) -> None:
        """Show the part itself again."""
        with self._lock:
            if self._instead is not None:
                self._instead = None
                self._draw()

    def suit(self) -> None:
        """Tell everything in the unit that the user reads now."""
        self.picture.suit()
        with self._lock:
            self._draw()

    # -- drawing -----------------------------------------------------------------------------

    def _draw(self) -> None:
        made = self.shown
        if made is None:
            return
        changed: dict[str, Any] = {"paint": None, "marks": [], "instead": self._instead is not None}
        if self._instead is not None:
            (vertices, faces), extra = self._instead
            changed |= extra
            owned: tuple[Any, ...] = ("instead", id(self._instead))
        elif self.scene["apart"]:
            pieces = self._pieces(made)
            vertices, faces, owner = scene.joined(pieces)
            owned = ("apart", id(made))
        elif self.scene["laid"] is not None:
            vertices, faces = made.vertices, made.faces
            changed |= self._laid(made)
            owned = ("laid", id(made), self._down)
        else:
            vertices, faces = made.vertices, made.faces
            owned = ("whole", *(step.name for step in made.repair.steps))
        shown = changed.pop("vertices", vertices)

        def owning(fresh: np.ndarray) -> np.ndarray:
            if owned[0] == "apart":
                return owner[faces[fresh, 0]]
            if isinstance(made, Rough):
                return made.owners[fresh]
            return owners(vertices, faces[fresh], self._bodies(made))

        changed["part"] = self.part.update(shown, faces, owning, anew=owned != self._owned)
        self._owned = owned
        if self.scene["laid"] is None or self._instead is not None:
            changed |= _bed(scene.bounds_of(vertices))
        changed["steps"] = [
            {"name": step.name, "title": title_of(step), "cuts": step.cuts}
            for step in made.repair.steps
        ]
        changed |= self._about_chosen(made)
        if self._keeps_sizes(made):
            self._tell(**changed, **self._sizes(made))
            return
        self._tell(**changed)
        # What the part can be drawn without comes after it: these take as long again.
        let_out()
        self._tell(**self._sizes(made))

    def _about_chosen(self, made: Made | Rough) -> dict[str, Any]:
        names = [step.name for step in made.repair.steps]
        if self._chosen not in names:
            return {"chosen": -1, "body": None}
        body = mesh_apart(made.assembly.parts[self._chosen], isinstance(made, Rough))
        return {
            "chosen": names.index(self._chosen),
            "body": Packed().update(*body, lambda fresh: np.zeros(len(fresh), dtype=int)),
        }

    def _sizes(self, made: Made | Rough) -> dict[str, Any]:
        """The chosen step's sizes and, of an exact solid, what it comes to."""
        if self._keeps_sizes(made):
            return {"sizes": renewed(self.scene.get("sizes", []), made.repair, self._chosen)}
        bounds = scene.bounds_of(made.vertices)
        known = self._chosen in made.assembly.parts
        start = time.thread_time()
        sizes = marks(made.repair, made.assembly, self._chosen, bounds) if known else []
        slow = time.thread_time() - start > SOON
        self._late = (self._late - {self._chosen}) | ({self._chosen} if slow else set())
        return {"sizes": sizes} | ({"line": made.line} if isinstance(made, Made) else {})

    def _keeps_sizes(self, made: Made | Rough) -> bool:
        """Whether the chosen step's sizes stay where they are, as they take long to find."""
        known = self._chosen in made.assembly.parts
        return known and isinstance(made, Rough) and self._chosen in made.at_once | self._late

    def _bodies(self, made: Made) -> list[Surface]:
        """The surface of each step's own body, kept while the step stays as it is."""
        known, self._surfaces = self._surfaces, {}
        for step in made.repair.steps:
            shape = made.assembly.parts[step.name]
            kept = known.get(step.name)
            if kept is None or kept[0] is not shape or kept[1] != step.cuts:
                kept = shape, step.cuts, Surface.of(*mesh_apart(shape), step.cuts)
            self._surfaces[step.name] = kept
        return [self._surfaces[step.name][2] for step in made.repair.steps]

    def _laid(self, made: Made | Rough) -> dict[str, Any]:
        """The part on its bed, with what is to be told of it."""
        printer = data.printer(made.repair.printer)
        found = on_bed(made.vertices, made.faces, self._down or (0, 0, -1), self._brim)
        half = np.array([printer.bed[0], printer.bed[1], 0.0]) / 2
        told = [self._way or _("as it stands")]
        if found.hangs.any():
            told.append(_("hatched: overhang, on posts of support"))
        if len(found.brim):
            told.append(_("dashed: brim of {width} mm").format(width=setting(self._brim, 0)))
        return {
            "vertices": found.vertices,
            "laid": {"told": "; ".join(told)},
            "hangs": ({}, [found.hangs.astype(np.uint8).tobytes()]),
            "brim": ({}, [found.brim.astype("<f4").tobytes()]),
        } | _bed(np.array([-half, half]), margin=0.0)

    def _pieces(self, made: Made | Rough) -> Sequence[Mesh]:
        quick = isinstance(made, Rough)
        meshes = [mesh_apart(made.assembly.parts[s.name], quick) for s in made.repair.steps]
        moves = scene.apart([scene.bounds_of(vertices) for vertices, _faces in meshes])
        return [(v + move, f) for (v, f), move in zip(meshes, moves, strict=True)]

    # -- the browser -------------------------------------------------------------------------

    def _tell(self, **entries: Any) -> None:
        """Send what the browser does not know yet, all in one message."""
        fresh = {
            name: entry
            for name, entry in entries.items()
            if name == "part" or name not in self.scene or self.scene[name] != entry
        }
        self.scene |= {name: entry for name, entry in fresh.items() if name != "part"}
        if fresh:
            self.picture.put(**fresh)

    def _whole(self) -> dict[str, Any]:
        return self.scene | {"part": self.part.whole()}

    def _tell_all(self) -> None:
        with self._lock:
            self.picture.put(**self._whole())

    def _clicked(self, number: int) -> None:
        steps = self.scene.get("steps", [])
        if 0 <= number < len(steps):
            self.on_choose(steps[number]["name"])

    def _size_clicked(self, step: str, field: str) -> None:
        self.on_size(step, field)

    def _rests(self, step: str, field: str) -> None:
        self.on_rest(step, field)

    def _show_still(self) -> None:
        """The same picture, still, for a browser that cannot draw it."""
        from workbench.output.drawing.picture import picture

        with self._lock:
            if self.shown is None:
                return
            points, triangles = self.part.mesh
        used, index = np.unique(triangles, return_inverse=True)
        seen = points[used], index.reshape(-1, 3)
        image = picture(seen, STILL, units.chosen().grid, scene.CORNER, deep=False)
        self.picture.put(still=({}, [image]))


def _bed(bounds: np.ndarray, margin: float = 30.0) -> dict[str, Any]:
    """The lines under the part, and the numbers along them."""
    bed = scene.bed_under(bounds, margin)
    numbers = [
        {"text": text, "at": np.round(place, 3).tolist()}
        for text, place in zip(bed.texts, bed.places, strict=True)
    ]
    lines = {
        "low": bed.low.tolist(),
        "high": bed.high.tolist(),
        "level": round(bed.level, 4),
        "pitch": bed.pitch,
        "strong": bed.strong,
    }
    return {"bed": lines, "numbers": numbers}
