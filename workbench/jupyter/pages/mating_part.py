"""The form that puts another part beside this one, or lets a body of it stand loose."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench import gate
from workbench.errors import RepairError
from workbench.jupyter.panel import button_for, chooser, said, told
from workbench.measure.reading import UNITS
from workbench.output.files.paths import folder_for, numbered, slug, write_new
from workbench.output.notebook.current_notebook import own, templates_folder, visited
from workbench.solids.meshes.foreign_mesh import KINDS
from workbench.solids.recipe.repair import Repair
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench

#: What a choice of the list is: a body of this part, a file, or a repair of the shelf.
BODY, FILE, REPAIR = "body", "file", "repair"

#: Where files go that were chosen on the user's own machine.
FOLDER = Path("parts")


class MatingPart:
    """Chooses what the part works with; what was chosen is handed on by its name."""

    def __init__(self, bench: Bench, done: Any) -> None:
        """``done`` is called with what was put there: ("beside", name) or ("loose", step)."""
        self._bench, self._done = bench, done
        self._repairs: list[tuple[str, Path]] = []
        self._written: list[tuple[str, Path]] = []
        self.part = chooser(
            _("Part"), _("What it works with: a saved part, a file, or a body of this part itself")
        )
        self.file = w.FileUpload(
            accept=",".join(KINDS),
            description=_("Choose a file"),
            tooltip=_("An STL, 3MF or STEP file of the other part"),
        )
        self.unit = chooser(
            _("Its unit"),
            _("Unit of the numbers in an STL file"),
            [(_("choose: an STL file does not say"), ""), *((u, u) for u in UNITS)],
        )
        self.put = button_for(
            _("Put it beside"), _("Show it beside the part, and check the two together"), "wb-main"
        )
        self.note = w.HTML()
        self.part.observe(lambda _change: self._suit(), "value")
        self.file.observe(lambda _change: self._upload(), "value")
        self.put.on_click(lambda _button: self._put())
        self.widget = w.VBox([self.part, self.file, self.unit, self.put, self.note])

    def opened(self) -> None:
        """Look for parts again: the shelf's, and files that lie here."""
        from workbench.output.notebook.shelf import cards

        self._repairs = [(card.title, card.path) for card in cards(templates_folder())]
        self._written = _written()
        self.edited()

    def edited(self) -> None:
        """Offer the bodies that there are now, the files and the repairs."""
        steps = [step.name for step in self._bench.repair.steps if not step.cuts]
        known = {body.step for body in self._bench.repair.loose}
        options: list[tuple[str, Any]] = [(_("choose one"), ("", ""))]
        options += [(path.name, (FILE, str(path))) for path in _files()]
        options += [
            (_("of this part: {step}").format(step=step), (BODY, step))
            for step in steps
            if step not in known and len(steps) > 1
        ]
        options += [(title, (REPAIR, str(path))) for title, path in self._written]
        options += [
            (_("from the shelf: {title}").format(title=title), (REPAIR, str(path)))
            for title, path in self._repairs
        ]
        if tuple(options) != tuple(self.part.options):
            before = self.part.value
            self.part.options = options
            values = [value for _label, value in options]
            self.part.value = before if before in values else values[0]
        self._suit()

    def _suit(self) -> None:
        kind, what = self.part.value or ("", "")
        self.unit.layout.display = "" if what.lower().endswith(".stl") else "none"
        self.put.description = _("Let it stand loose") if kind == BODY else _("Put it beside")
        self.put.disabled = not kind

    def _upload(self) -> None:
        """Keep a file from the user's machine beside the notebook, and choose it."""
        if not self.file.value:
            return
        sent = self.file.value[0]
        try:
            path = _kept(str(sent["name"]), bytes(sent["content"]))
        except RepairError as error:
            self.note.value = told(str(error), "stop")
            return
        self.note.value = ""
        self.edited()
        self.part.value = (FILE, str(path))

    def _put(self) -> None:
        kind, what = self.part.value
        if not kind:
            return
        self.note.value = told(_("Reading it …"))
        try:
            titles = {str(path): title for title, path in (*self._repairs, *self._written)}
            name = what if kind == BODY else self._name(titles.get(what, Path(what).stem))
            change = self._change(kind, what, name)
        except Exception as error:  # readers of files raise types of their own
            self.note.value = told(said(error), "stop")
            return
        refused = self._bench.edit(change)
        self.note.value = told(refused or "", "stop")
        if not refused:
            self._done("loose" if kind == BODY else "beside", name)

    def _name(self, wanted: str) -> str:
        taken = {other.name for other in self._bench.repair.counterparts}
        return next(path.name for path in numbered(Path(wanted)) if path.name not in taken)

    def _change(self, kind: str, what: str, name: str) -> Any:
        if kind == BODY:
            return lambda repair: repair.let_loose(what)
        other: Any = what
        if kind == REPAIR:
            from workbench.output.notebook.shelf import repair_at

            other = repair_at(what)
            other.counterparts = ()
        unit = self.unit.value or None if what.lower().endswith(".stl") else None
        return lambda repair: repair.against(other, name=name, unit=unit)


def _files() -> list[Path]:
    """The parts' files that lie in the notebook's folder, and those that were chosen before."""
    found = [*Path().glob("*"), *own(FOLDER).glob("*")]
    return sorted(path for path in found if path.suffix.lower() in KINDS)


def _written() -> list[tuple[str, Path]]:
    """The last revision of each part that was written from here, by what it is called."""
    from workbench.output.files.export import revisions

    found = []
    for folder in sorted({Path(), *own(Path("repairs")).glob("*/")}):
        done = [one for one in revisions(folder) if not one.damage]
        for last in done[-1:]:
            title = _("{name}, revision {number}")
            name = folder.resolve().name
            found.append((title.format(name=name, number=last.number), last.path))
    return found


def _kept(name: str, content: bytes) -> Path:
    """A file of its name with this content: one that is there, or a new one."""
    suffix = Path(name).suffix.lower()
    if suffix not in KINDS:
        raise RepairError(
            _("{name} cannot be read as a part; give an STL, 3MF or STEP file").format(
                name=gate.short(name)
            )
        )
    folder = folder_for(visited(own(FOLDER)))
    paths = numbered(folder / (slug(Path(name).stem) + suffix))
    return next(
        p for p in paths if write_new(p, content) or gate.content(p, gate.PICTURE) == content
    )


def changed(repair: Repair, kind: str, name: str, **values: Any) -> None:
    """Give what is beside the part, or a loose body, another place, motion or gap."""
    if kind == "beside":
        repair.counterparts = tuple(
            replace(one, **values) if one.name == name else one for one in repair.counterparts
        )
    else:
        repair.loose = tuple(
            replace(one, **values) if one.step == name else one for one in repair.loose
        )


def removed(repair: Repair, kind: str, name: str) -> None:
    """Take away what is beside the part, or let a body be joined again."""
    if kind == "beside":
        repair.counterparts = tuple(one for one in repair.counterparts if one.name != name)
    else:
        repair.loose = tuple(one for one in repair.loose if one.step != name)
