"""The form that takes a picture of a part and traces its outline."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.panel import button_for, chooser, entry, said, told
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.measure.photos.sheet_marks import BAR
from workbench.measure.photos.trace_result import Traced
from workbench.words import _, sized, unit_word, with_unit


@dataclass(frozen=True)
class _Asked:
    image: bytes
    reference: str
    dpi: str
    bar: float | None
    thickness: float | None
    edge: float | None


@dataclass(frozen=True)
class _Refused:
    """Why nothing was traced, and what was seen, as a PNG, where that helps."""

    why: str
    seen: bytes | None = None


class Picture:
    """Asks for a picture and what tells its size, and hands on what was traced."""

    def __init__(self, done: Callable[[Traced], Any]) -> None:
        from workbench.measure.photos.camera import BROKEN

        self._done = done
        self._tracer: Newest[_Asked, Traced | _Refused] = Newest(self._trace, self._traced)
        self.file = w.FileUpload(
            accept="image/*",
            description=_("Choose a picture"),
            tooltip=_("A photo or a scan of the part, as PNG, JPEG or TIFF"),
        )
        self.reference = chooser(
            _("Scale from"),
            _("What in the picture has a known size"),
            [
                (_("the printed photo sheet"), "sheet"),
                (_("a bank card beside the part"), "card"),
                (_("the scanner's resolution"), "scan"),
            ],
        )
        self.dpi = entry(
            _("Resolution"),
            _("Resolution of the scan in dots per inch; if empty, the file's own"),
            _("dots per inch, as the file says"),
        )
        self.bar = LengthBox(
            _("Bar"),
            lambda: _(
                "Length of the sheet's printed bar, in {unit}; if empty, it is taken as {length}"
            ).format(unit=unit_word(), length=with_unit(BAR)),
            lambda: _("as your calipers read it"),
        )
        self.thickness = LengthBox(
            _("Thickness"),
            lambda: _(
                "Thickness of the part as it lies in the photo, in {unit}: its upper edge is "
                "nearer the camera and looks too far out; the thickness corrects that"
            ).format(unit=unit_word()),
            lambda: _("as your calipers read it"),
        )
        self.edge = LengthBox(
            _("Edges"),
            lambda: _(
                "How far the part's edges are rounded or chamfered, in {unit}; if empty, it is "
                "read from the photo or taken as {usual}, and the sides are less certain"
            ).format(unit=unit_word(), usual=with_unit(BROKEN, 1)),
            lambda: _("0 if sharp"),
        )
        self.seen = w.Image(format="png", layout=w.Layout(display="none", max_width="100%"))
        self.button = button_for(
            _("Trace it"), _("Find the part's outline in the picture"), "wb-main"
        )
        self.progress = w.FloatProgress(
            min=0, max=1, description=_("Tracing"), layout=w.Layout(width="100%", display="none")
        )
        self.note = w.HTML()
        self.reference.observe(lambda _change: self._suit(), "value")
        self.button.on_click(lambda _button: self._ask())
        self.widget = w.VBox(
            [
                self.file,
                self.reference,
                self.dpi,
                self.bar,
                self.thickness,
                self.edge,
                self.button,
                self.progress,
                self.note,
                self.seen,
            ]
        )
        self._suit()

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until the picture is traced."""
        return self._tracer.settle(timeout)

    def _suit(self) -> None:
        self.dpi.layout.display = "" if self.reference.value == "scan" else "none"
        self.bar.layout.display = "" if self.reference.value == "sheet" else "none"
        for box in (self.thickness, self.edge):
            box.layout.display = "none" if self.reference.value == "scan" else ""

    def _ask(self) -> None:
        if not self.file.value:
            self.note.value = told(_("choose a picture first"), "stop")
            return
        kind = self.reference.value
        try:
            bar = _length(self.bar) if kind == "sheet" else None
            thickness, edge = (
                None if kind == "scan" else _length(box) for box in (self.thickness, self.edge)
            )
        except RepairError as error:
            self.note.value = told(str(error), "stop")
            return
        self.note.value = ""
        self._show(None)
        self.button.disabled = True
        self.progress.layout.display = ""
        image = bytes(self.file.value[0]["content"])
        self._tracer.put(_Asked(image, kind, self.dpi.value, bar, thickness, edge))

    def _trace(self, asked: _Asked) -> Iterator[Traced | _Refused]:
        from workbench.measure.photos.trace import trace

        try:
            scan = asked.reference == "scan"
            dpi = _number(_("resolution"), asked.dpi) if scan else None
            found = trace(
                asked.image,
                asked.reference,
                dpi,
                asked.bar,
                self._tell,
                asked.thickness,
                asked.edge,
            )
            found.sketch()  # a disc has no corners: told here, in words
            yield found
        except Exception as error:
            yield _Refused(said(error), getattr(error, "picture", None))

    def _tell(self, share: float, _words: str) -> None:
        self.progress.value = share

    def _show(self, picture: bytes | None) -> None:
        """The picture with the border that was seen, below the reason."""
        self.seen.value = picture or b""
        self.seen.layout.display = "" if picture else "none"

    def _traced(self, found: Traced | _Refused, _asked: _Asked) -> None:
        self.button.disabled = False
        self.progress.layout.display = "none"
        if isinstance(found, _Refused):
            self.note.value = told(found.why, "stop")
            self._show(found.seen)
            return
        self.note.value = told(_found(found), "done")
        self._done(found)


def _length(box: LengthBox) -> float | None:
    """What a box says, in mm; None where it is left empty."""
    return box.length() if box.value.strip() else None


def _number(field: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise RepairError(
            _("{field} is {text!r}; give dots per inch, such as 600").format(field=field, text=text)
        ) from None


def _found(traced: Traced) -> str:
    sides = [side for side in traced.sides if side.kind == "straight"]
    text = _("Traced: {straight} straight sides, {arcs} arcs, {holes} round holes.").format(
        straight=len(sides), arcs=len(traced.sides) - len(sides), holes=len(traced.holes)
    )
    holes = [
        _("hole of {diameter} at {x}, {y}").format(
            diameter=with_unit(hole.diameter), x=sized(hole.x, 1), y=sized(hole.y, 1)
        )
        for hole in traced.holes
    ]
    return " ".join([text, *(f"{hole}." for hole in holes)])
