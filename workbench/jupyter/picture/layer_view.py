"""The panel that shows a part layer by layer: the slice, what hangs in it, the cut in 3D."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as w
import numpy as np

from workbench import data
from workbench.checks.report import Report
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.panel import Panel, chooser, columns, labelled, said, told
from workbench.jupyter.picture.svg_figure import Frame, bounds_of
from workbench.jupyter.state import Made
from workbench.words import _, area_with_unit, number, with_unit

if TYPE_CHECKING:
    from workbench.checks.layers.layer_analysis import Layers
    from workbench.checks.layers.overhang import Region

Down = tuple[float, float, float]

#: Seconds without another layer before the cut is made in the preview.
PAUSE = 0.06

#: Places that hang which are offered to go to, at most.
_MOST_PLACES = 12


@dataclass(frozen=True)
class Asked:
    """A part to be looked at, laid on ``down``; None lets the tool choose."""

    made: Made
    down: Down


@dataclass(frozen=True, eq=False)
class Analysed:
    """A part in layers, with what is drawn of it."""

    asked: Asked
    found: Layers

    @cached_property
    def bounds(self) -> np.ndarray:
        """(2, 2) least and greatest x and y of the laid part, in mm."""
        return bounds_of(self.found.slices.placed[:, :2])

    @cached_property
    def places(self) -> tuple[Region, ...]:
        """What hangs: first what starts in mid-air, then the largest."""
        regions = self.found.overhangs.regions
        ranked = sorted(regions, key=lambda region: (region.kind != "island", -region.area))
        return tuple(ranked[:_MOST_PLACES])


@dataclass(frozen=True, eq=False)
class Wanted:
    """What the preview is to show: cut above ``layer`` unless None, coloured or not."""

    analysed: Analysed
    layer: int | None
    coloured: bool


@dataclass(frozen=True, eq=False)
class Seen:
    """A mesh for the preview, a colour for each face (m, 3) or None, and islands (k, 3)."""

    vertices: np.ndarray
    faces: np.ndarray
    colours: np.ndarray | None
    islands: np.ndarray


class LayerView(Panel):
    """A slider over the layers, the slice it stands at, and two ways to see it in 3D."""

    title = "Layers"
    purpose = "Look at it layer by layer, as it will be printed"

    def lay_out(self) -> None:
        self._open = False
        self._newest: Asked | None = None
        self.analysed: Analysed | None = None
        self._analyser: Newest[Asked, Analysed | str] = Newest(_analyse, self._show)
        self._viewer: Newest[Wanted, Seen | str] = Newest(_look, self._seen, pause=PAUSE)
        self.slider = w.IntSlider(
            value=1, min=1, max=1, description=_("Layer"), tooltip=_("Layer, from the bed up")
        )
        self.slider.add_class("wb-layer")
        self.places = chooser(_("Go to"), _("Places that overhang, or that start in mid-air"))
        self.cut = w.ToggleButton(
            description=_("Cut in the picture"),
            tooltip=_("Take away in the picture what lies above this layer"),
        )
        self.map = w.ToggleButton(
            description=_("Overhang map"),
            tooltip=_("Colour the picture by how far each face leans out over what is below"),
        )
        self.note = w.HTML()
        self.figure = w.HTML()
        self.legend = w.HTML()
        self.words = w.HTML(told(_("The layers follow in a moment.")))
        tools = w.HBox([self.cut, self.map])
        tools.add_class("wb-row")
        self.widget = columns(
            labelled(
                _("Layer by layer"),
                w.VBox([self.slider, self.words, self.places, tools, self.legend, self.note]),
                kind="wb-form",
            ),
            w.VBox([self.figure]),
        )
        self.slider.observe(lambda _change: self._moved(), "value")
        self.places.observe(lambda change: self._go(change["new"]), "value")
        self.cut.observe(lambda _change: self._look(), "value")
        self.map.observe(lambda _change: self._look(), "value")
        self._offer()

    # -- what the bench tells ----------------------------------------------------------------

    def made(self, made: Made) -> None:
        self.widget.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        down = made.repair.down
        if down is None and report.orientations:
            down = report.orientations[0].down
        self._newest = None if down is None else Asked(made, down)
        if self._newest is None:
            self._show_nothing(_("No way up could be judged, so there are no layers to show."))
        self._work()

    def opened(self) -> None:
        self._open = True
        self._work()

    def left(self) -> None:
        self._open = False
        self._drop()
        self.bench.preview.show_again()

    def closed(self) -> None:
        self._drop()

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until the newest part is analysed and shown."""
        return self._analyser.settle(timeout) and self._viewer.settle(timeout)

    def _drop(self) -> None:
        self._analyser.drop()
        self._viewer.drop()

    # -- analysing ---------------------------------------------------------------------------

    def _work(self) -> None:
        if not self._open or self._newest is None:
            return
        if self.analysed is not None and self.analysed.asked is self._newest:
            self._look()
        else:
            self._analyser.put(self._newest)

    def _show(self, result: Analysed | str, asked: Asked) -> None:
        if asked is not self._newest:
            return
        self.widget.remove_class("wb-waiting")
        if isinstance(result, str):
            self._show_nothing(result)
            return
        first = self.analysed is None
        self.analysed = result
        count = len(result.found.slices)
        with self.quietly():
            self.slider.max = count
            if first:
                self.slider.value = max(1, count // 3)
            self._offer()
        self._moved()

    def _show_nothing(self, why: str) -> None:
        self.widget.remove_class("wb-waiting")
        self.analysed = None
        self.words.value = told(why, "stop")
        self.figure.value = ""
        self._offer()

    def _offer(self) -> None:
        places = self.analysed.places if self.analysed is not None else ()
        options = [(_("places that overhang: {n}").format(n=len(places)), -1)]
        options += [(_place(region), region.layer + 1) for region in places]
        # Two places in one layer are told apart by their words, and lead to the same layer.
        self.places.options = options
        # The browser shows none chosen unless it hears of a choice after the options.
        self.places.index = None
        self.places.index = 0
        self.places.disabled = not places

    def _go(self, layer: int | None) -> None:
        if not self._quiet and layer is not None and layer > 0:
            self.slider.value = layer

    # -- showing -----------------------------------------------------------------------------

    def _moved(self) -> None:
        if self.analysed is None or self._quiet:
            return
        layer = self.slider.value - 1
        self.words.value = told(in_words(self.analysed, layer))
        self.figure.value = picture(self.analysed, layer)
        if self.cut.value or self.map.value:
            self._look()

    def _look(self) -> None:
        self.legend.value = _legend() if self.map.value else ""
        if not self._open or self.analysed is None:
            return
        if not (self.cut.value or self.map.value):
            self._viewer.drop()
            self.bench.preview.show_again()
            return
        layer = self.slider.value - 1 if self.cut.value else None
        self._viewer.put(Wanted(self.analysed, layer, self.map.value))

    def _seen(self, result: Seen | str, wanted: Wanted) -> None:
        if not self._open or wanted.analysed is not self.analysed:
            return
        if isinstance(result, str):
            self.note.value = told(result, "stop")
            return
        self.note.value = ""
        self.bench.preview.show_instead(
            result.vertices, result.faces, result.colours, result.islands
        )


def in_words(analysed: Analysed, layer: int) -> str:
    """One layer in a sentence or two."""
    found = analysed.found
    level, area = found.slices.levels[layer], found.slices.areas[layer]
    hanging = float(found.overhangs.areas[layer])
    text = _("Layer {layer} of {count}, {level} above the bed: {area}.").format(
        layer=layer + 1,
        count=len(found.slices),
        level=with_unit(float(level), 2),
        area=area_with_unit(float(area), 1),
    )
    if layer == 0:
        return text + " " + _("It rests on the bed.")
    if hanging < 0.05:
        return text + " " + _("Nothing overhangs.")
    islands = sum(region.layer == layer for region in found.overhangs.islands)
    said = _("{hanging} of it overhangs beyond {angle}°.").format(
        hanging=area_with_unit(hanging, 1), angle=number(found.settings.angle, 0)
    )
    if islands:
        said += " " + (
            _("One piece starts in mid-air.")
            if islands == 1
            else _("{n} pieces start in mid-air.").format(n=islands)
        )
    return f"{text} {said}"


def picture(analysed: Analysed, layer: int) -> str:
    """A layer seen from above, to scale: its outline, what hangs, and where it starts anew."""
    found = analysed.found
    frame = Frame.round(analysed.bounds, 420, 320, margin=16)
    (left, bottom), (right, top) = frame.on_paper(analysed.bounds)
    shapes = [
        _HATCH,
        f'<path d="M{left:.1f} {top:.1f} H{right:.1f} V{bottom:.1f} H{left:.1f} Z" class="wb-room"/>',
    ]
    if layer:
        under = " ".join(frame.ring(ring) for ring in found.slices.polygons(layer - 1))
        shapes.append(f'<path d="{under}" class="wb-under-layer"/>')
    here = " ".join(frame.ring(ring) for ring in found.slices.polygons(layer))
    shapes.append(f'<path d="{here}" class="wb-slice"/>')
    hanging = found.overhangs.sections[layer]
    if hanging is not None:
        rings = " ".join(frame.ring(np.asarray(ring)) for ring in hanging.to_polygons())
        shapes.append(f'<path d="{rings}" class="wb-hangs"/>')
    for region in found.overhangs.islands:
        if region.layer == layer:
            x, y = frame.on_paper(np.array(region.place[:2]))[0]
            shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" class="wb-island"/>')
            shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.5" class="wb-island-dot"/>')
    caption = [
        _("Seen from above, to scale, within the outer size of the part; dashed: the layer below")
    ]
    if hanging is not None:
        caption.append(_("hatched: overhang"))
    if any(region.layer == layer for region in found.overhangs.islands):
        caption.append(_("ringed: starts in mid-air"))
    return frame.drawn(shapes, in_words(analysed, layer), "; ".join(caption))


#: The hatching of what hangs, so that colour alone does not tell.
_HATCH = (
    '<defs><pattern id="wb-hatching" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0 V6" class="wb-hatch"/></pattern></defs>'
)


def _place(region: Region) -> str:
    kinds = {"bridge": _("bridge"), "ledge": _("ledge"), "slope": _("slope")}
    kind = kinds.get(region.kind, _("starts in mid-air"))
    return _("layer {layer}: {kind}, {area}").format(
        layer=region.layer + 1, kind=kind, area=area_with_unit(region.area, 1)
    )


def _analyse(asked: Asked) -> Iterator[Analysed | str]:
    from workbench.checks.layers.layer_analysis import Settings, layers

    try:
        made = asked.made
        settings = Settings.of(data.printer(made.repair.printer))
        analysed = Analysed(asked, layers(made.vertices, made.faces, asked.down, settings))
        analysed.places  # noqa: B018 - worked out here, not while the slider moves
        yield analysed
    except Exception as error:
        yield said(error)


def _look(wanted: Wanted) -> Iterator[Seen | str]:
    from workbench.checks.layers.cutaway import below
    from workbench.checks.layers.slices import overhang_angles

    try:
        analysed = wanted.analysed
        made, down = analysed.asked.made, analysed.asked.down
        vertices, faces, islands = made.vertices, made.faces, analysed.found.island_marks
        if wanted.layer is not None:
            top = (wanted.layer + 1) * analysed.found.slices.layer
            vertices, faces = below(vertices, faces, down, top)
            shown = [r.layer <= wanted.layer for r in analysed.found.overhangs.islands]
            islands = islands[np.array(shown, dtype=bool)]
        colours = None
        if wanted.coloured:
            colours = cividis(overhang_angles(vertices, faces, down) / 90)
        yield Seen(vertices, faces, colours, islands)
    except Exception as error:
        yield said(error)


def cividis(shares: np.ndarray) -> np.ndarray:
    """(m, 3) red, green and blue from 0 to 1 for (m,) shares from 0 to 1."""
    from matplotlib import colormaps

    return np.asarray(colormaps["cividis"](np.clip(shares, 0, 1)))[:, :3]


def _legend() -> str:
    """What the colours of the map mean, as a bar with degrees under it."""
    shares = np.linspace(0, 1, 9)
    stops = "".join(
        f'<stop offset="{share:.0%}" stop-color="rgb({red:.0f} {green:.0f} {blue:.0f})"/>'
        for share, (red, green, blue) in zip(shares, 255 * cividis(shares), strict=True)
    )
    marks = "".join(
        f'<text x="{10 + 2 * degrees}" y="34" text-anchor="middle" class="wb-length">{degrees}°</text>'
        for degrees in (0, 45, 90)
    )
    label = _("How far a face leans out: 0° upright or facing up, 45° the usual limit, 90° level")
    return (
        f'<figure class="wb-figure"><svg role="img" aria-label="{escape(label)}" width="200" '
        f'height="42" viewBox="0 0 200 42"><defs><linearGradient id="wb-cividis">{stops}'
        '</linearGradient></defs><rect x="10" y="4" width="180" height="14" '
        'fill="url(#wb-cividis)" class="wb-scale"/><path d="M100 2 V22" class="wb-limit"/>'
        f"{marks}</svg><figcaption>{escape(label)}</figcaption></figure>"
    )
