"""The live picture: the part on its bed, with the chosen step's dimensions, in k3d."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import ipywidgets as w
import k3d
import numpy as np

from workbench.jupyter.picture import scene
from workbench.jupyter.state import Made
from workbench.jupyter.style import COLOUR
from workbench.solids.mesh import mesh
from workbench.words import _

#: k3d has no parallel projection; a narrow angle of view comes close.
OPENING = 10.0

HEIGHT = 440

#: How much room the camera leaves round the part.
ROOM = 1.45

#: Three corners of the bed that is shown before there is a part.
_EMPTY_BED = np.array([[-20, -20, 0], [20, -20, 0], [0, 20, 0]], dtype=np.float32)

_PART = 0xA8C2BE
_PIECES = (0xA9C4C1, 0xD9CDB0, 0xB9C3D6, 0xCFB9B0, 0xC3CFAE, 0xC9BDD0)
_CUT = 0xE8B7A8


def _packed(colour: str) -> int:
    return int(colour.lstrip("#"), 16)


def _lay(drawable: Any, vertices: np.ndarray, indices: np.ndarray) -> None:
    """Change both arrays in an order in which no index ever reaches beyond the vertices."""
    points, ends = vertices.astype(np.float32), indices.astype(np.uint32)
    if len(points) == len(drawable.vertices):
        with drawable.hold_sync():
            drawable.vertices, drawable.indices = points, ends
    elif len(points) > len(drawable.vertices):
        drawable.vertices = points
        drawable.indices = ends
    else:
        drawable.indices = ends
        drawable.vertices = points


class Preview:
    """Shows the solid, or its pieces apart, and keeps the camera still while sizes change.

    ``view`` is the widget; ``part`` the k3d mesh whose ``vertices`` and ``indices`` change.
    """

    def __init__(self, lock: AbstractContextManager[Any] | None = None) -> None:
        """``lock`` is held while drawing, so that a button never meets a half-drawn part."""
        self._lock = lock if lock is not None else threading.RLock()
        self._made: Made | None = None
        self._chosen = ""
        self._fitted: np.ndarray | None = None
        self._instead = False
        self.plot = k3d.plot(
            height=HEIGHT,
            background_color=_packed(COLOUR["paper"]),
            camera_auto_fit=False,
            camera_fov=OPENING,
            camera_mode="orbit",
            camera_up_axis="z",
            grid_visible=False,
            menu_visibility=False,
            axes_helper=0.0,
            antialias=2,
            lighting=1.6,
        )
        self.part = k3d.mesh(
            _EMPTY_BED, [[0, 1, 2]], color=_PART, flat_shading=True, roughness=0.9, visible=False
        )
        self._islands = k3d.points(
            np.zeros((1, 3), dtype=np.float32),
            point_size=1.0,
            shader="3d",
            color=_packed(COLOUR["stop"]),
            visible=False,
        )
        self._edges = self._strokes("ink", 1.0)
        self._fine = self._strokes("grid", 1.0)
        self._strong = self._strokes("rule", 1.0)
        self._sizes = self._strokes("accent", 1.0)
        self._grid_words = self._words("soft", 0.8)
        self._size_words = self._words("accent", 1.0)
        for drawable in (
            self._fine,
            self._strong,
            self.part,
            self._islands,
            self._edges,
            self._sizes,
            self._grid_words,
            self._size_words,
        ):
            self.plot += drawable
        self._draw_bed(scene.bounds_of(_EMPTY_BED))
        self.plot.camera = scene.camera(scene.bounds_of(_EMPTY_BED), "corner", OPENING, ROOM)
        self.apart = w.ToggleButton(
            description=_("Pieces apart"),
            tooltip=_("Show each step by itself, moved away from the others"),
        )
        self.sizes = w.ToggleButton(
            value=True,
            description=_("Dimensions"),
            tooltip=_("Show the overall sizes of the chosen step"),
        )
        self._view_buttons = [
            w.Button(description=label, tooltip=tip)
            for label, tip in (
                (_("Corner"), _("Look from the front left corner, from above")),
                (_("Front"), _("Look from the front")),
                (_("Right"), _("Look from the right")),
                (_("Top"), _("Look from above")),
            )
        ]
        for name, button in zip(scene.VIEWS, self._view_buttons, strict=True):
            button.on_click(lambda _button, name=name: self.look_from(name))
        nearer = w.Button(description=_("Near"), tooltip=_("Bring the part nearer"))
        farther = w.Button(description=_("Far"), tooltip=_("Move the part away"))
        nearer.on_click(lambda _button: self.zoom(1 / 1.25))
        farther.on_click(lambda _button: self.zoom(1.25))
        self.apart.observe(lambda _change: self._drawn_by_hand(self._draw), "value")
        self.sizes.observe(lambda _change: self._drawn_by_hand(self._draw_sizes), "value")
        tools = w.HBox([self.apart, self.sizes, *self._view_buttons, nearer, farther])
        tools.add_class("wb-tools")
        self.view = w.VBox([self.plot, tools])
        self.view.add_class("wb-preview")

    # -- what the bench calls ----------------------------------------------------------------

    def show(self, made: Made, chosen: str) -> None:
        """Show a new solid; ``chosen`` is the step whose dimensions are drawn."""
        first_or_larger = self._fitted is None or self._outgrown(made.bounds)
        self._made, self._chosen = made, chosen
        self._draw()
        if first_or_larger:
            self.look_from("corner")

    def choose(self, chosen: str) -> None:
        """Draw the dimensions of another step."""
        self._chosen = chosen
        self._draw_sizes()

    def look_from(self, view: str) -> None:
        """Put the camera where it sees the whole part from one side."""
        if self._made is None:
            return
        bounds = scene.bounds_of(np.asarray(self.part.vertices, dtype=float))
        self._fitted = bounds
        self.plot.camera = scene.camera(bounds, view, OPENING, ROOM)

    def zoom(self, factor: float) -> None:
        """Bring the part nearer (below 1) or move it away (above 1)."""
        if len(self.plot.camera) == 9:
            eye, target, up = np.array(self.plot.camera).reshape(3, 3)
            self.plot.camera = [*(target + (eye - target) * factor), *target, *up]

    def _drawn_by_hand(self, draw: Callable[[], None]) -> None:
        with self._lock:
            draw()

    def show_instead(
        self,
        vertices: np.ndarray,
        faces: np.ndarray,
        colours: np.ndarray | None = None,
        marks: np.ndarray | None = None,
    ) -> None:
        """Show another mesh in the part's place, until the part changes or :meth:`show_again`.

        Parameters
        ----------
        vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
        colours : (m, 3) red, green and blue of each face, from 0 to 1
        marks : (k, 3) places to point out, in mm
        """
        if self._made is None:
            return
        self._instead = True
        strokes = scene.edges(vertices, faces)
        if colours is None:
            self._paint(vertices, faces, np.array([], dtype=np.uint32))
        else:
            packed = (np.round(255 * colours).astype(np.uint32) * [65536, 256, 1]).sum(axis=1)
            corners = np.asarray(vertices)[np.asarray(faces)].reshape(-1, 3)
            own = np.arange(len(corners)).reshape(-1, 3)
            self._paint(corners, own, np.repeat(packed.astype(np.uint32), 3))
        self._set(self._edges, strokes)
        self._islands.visible = marks is not None and len(marks) > 0
        if marks is not None and len(marks):
            reach = float(np.linalg.norm(self._made.bounds[1] - self._made.bounds[0]))
            self._islands.positions = np.asarray(marks, dtype=np.float32)
            self._islands.point_size = 0.035 * reach
        self.sizes.disabled = True
        self._draw_sizes()

    def show_again(self) -> None:
        """Show the part itself again."""
        if self._instead:
            self._draw()

    # -- drawing -----------------------------------------------------------------------------

    def _draw(self) -> None:
        made = self._made
        if made is None:
            return
        self._instead = False
        self._islands.visible = False
        self.sizes.disabled = False
        if self.apart.value:
            vertices, faces, owner = scene.joined(self._pieces(made))
            palette = [
                _CUT if step.cuts else _PIECES[i % len(_PIECES)]
                for i, step in enumerate(made.repair.steps)
            ]
            colours = np.array(palette, dtype=np.uint32)[owner]
        else:
            vertices, faces = made.vertices, made.faces
            colours = np.array([], dtype=np.uint32)
        self._paint(vertices, faces, colours)
        self._set(self._edges, scene.edges(vertices, faces))
        self.part.visible = True
        self._draw_bed(scene.bounds_of(vertices))
        self._draw_sizes()

    def _paint(self, vertices: np.ndarray, faces: np.ndarray, colours: np.ndarray) -> None:
        """Give the part this mesh; ``colours`` (n,) of its corners, packed, or none."""
        if len(colours) != len(self.part.colors):
            self.part.colors = np.array([], dtype=np.uint32)
        self.part.color = 0xFFFFFF if len(colours) else _PART
        _lay(self.part, vertices, faces)
        if len(colours):
            self.part.colors = colours

    def _draw_bed(self, bounds: np.ndarray) -> None:
        grid, strong = scene.bed_grid(bounds)
        self._set(self._fine, grid.segments)
        self._set(self._strong, strong)
        self._say(self._grid_words, grid)

    def _pieces(self, made: Made) -> list[tuple[np.ndarray, np.ndarray]]:
        meshes = [mesh(made.assembly.parts[step.name]) for step in made.repair.steps]
        moves = scene.apart([scene.bounds_of(vertices) for vertices, _faces in meshes])
        return [(v + move, f) for (v, f), move in zip(meshes, moves, strict=True)]

    def _draw_sizes(self) -> None:
        lines = scene.NO_LINES
        made = self._made
        if made is not None and self.sizes.value and not (self.apart.value or self._instead):
            part = made.assembly.parts.get(self._chosen)
            if part is not None:
                box = part.bounding_box()
                lines = scene.dimensions(np.array([tuple(box.min), tuple(box.max)]), made.bounds)
        self._set(self._sizes, lines.segments)
        self._say(self._size_words, lines)

    def _outgrown(self, bounds: np.ndarray) -> bool:
        assert self._fitted is not None
        before = float(np.linalg.norm(self._fitted[1] - self._fitted[0]))
        now = float(np.linalg.norm(bounds[1] - bounds[0]))
        away = float(np.linalg.norm(bounds.mean(axis=0) - self._fitted.mean(axis=0)))
        return now > 1.5 * before or now < 0.3 * before or away > before

    def _strokes(self, colour: str, opacity: float) -> Any:
        return k3d.lines(
            np.zeros((2, 3), dtype=np.float32),
            [[0, 1]],
            indices_type="segment",
            shader="simple",
            color=_packed(COLOUR[colour]),
            opacity=opacity,
        )

    def _words(self, colour: str, size: float) -> Any:
        return k3d.text(
            [""],
            position=[0, 0, 0],
            color=_packed(COLOUR[colour]),
            size=size,
            label_box=False,
            is_html=True,
            reference_point="cc",
        )

    def _set(self, drawable: Any, segments: np.ndarray) -> None:
        ends = segments.reshape(-1, 3).astype(np.float32)
        if not len(ends):
            ends = np.zeros((2, 3), dtype=np.float32)
        _lay(drawable, ends, np.arange(len(ends)).reshape(-1, 2))

    def _say(self, drawable: Any, lines: scene.Lines) -> None:
        with drawable.hold_sync():
            drawable.text = list(lines.texts) or [""]
            drawable.position = (
                lines.places.astype(np.float32).ravel() if len(lines.texts) else [0.0, 0.0, 0.0]
            )
