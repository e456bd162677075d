"""Writing the repair's files as a numbered revision, and saving it as a template."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.pages.downloads import Downloads
from workbench.jupyter.panel import Panel, button_for, chooser, columns, entry, labelled, said, told
from workbench.jupyter.state import frozen
from workbench.output.files.paths import slug
from workbench.output.notebook.current_notebook import beside_notebook, own, visited, with_room
from workbench.words import _


class Files(Panel):
    """The button that writes a revision, and what it wrote."""

    title = "Files"
    purpose = "Write what the printer needs, and save the part as a template"

    def lay_out(self) -> None:
        self.folder = entry(
            _("Folder"),
            _("Folder for the revisions"),
            value=str(own(Path("repairs")) / slug(self.bench.repair.name)),
            continuous_update=False,
        )
        self.paper = chooser(_("Paper"), _("Paper of the sheets"), ["A4", "Letter"])
        self.write = button_for(
            _("Write revision"), _("Write mesh, solid, drawing, sheet and record"), "wb-main"
        )
        self.written = w.HTML()
        self.files = Downloads()
        self.name = entry(
            _("Title"), _("Name of the template on the shelf"), value=self.bench.repair.name
        )
        self.about = w.Textarea(
            description=_("Note"),
            rows=2,
            placeholder=_("what to know before measuring"),
            tooltip=_("A sentence or two for whoever opens the template"),
        )
        self.save = button_for(
            _("Save as template"),
            _("Write a notebook that starts the same part with other numbers"),
            "wb-main",
        )
        self.saved = w.HTML()
        self.template = Downloads()
        self.folder.observe(lambda _change: self._count(), "value")
        self.write.on_click(self._write)
        self.save.on_click(self._save)
        self.widget = columns(
            labelled(
                _("Print files"),
                w.VBox([self.folder, self.paper, self.write, self.written, self.files]),
                kind="wb-form",
            ),
            labelled(
                _("Template for next time"),
                w.VBox([self.name, self.about, self.save, self.saved, self.template]),
                kind="wb-form",
            ),
        )

    def opened(self) -> None:
        self._count()

    def _count(self) -> None:
        from workbench.output.files.export import revisions

        try:
            done = revisions(visited(self.folder.value))
        except (RepairError, OSError):
            done = []
        number = max((revision.number for revision in done), default=0) + 1
        self.write.description = _("Write revision {number}").format(number=number)

    def _write(self, _button: Any) -> None:
        from workbench.output.files.export import export

        self.write.disabled = True
        self.written.value = told(_("Writing and reading back every file …"))
        self.files.offer(())
        try:
            paths = export(
                frozen(self.bench.repair),
                visited(self.folder.value.strip()),
                paper=self.paper.value,
            )
        except Exception as error:
            self.written.value = told(said(error), "stop")
        else:
            self.written.value = told(
                _(
                    "{name} is written to {folder}; click a file's name to download it, the 3MF "
                    "to print"
                ).format(name=paths[0].parent.name, folder=paths[0].parent.resolve()),
                "done",
            )
            self.files.offer(sorted(paths, key=lambda path: path.suffix != ".3mf"))
        finally:
            self.write.disabled = False
            self._count()

    def _save(self, _button: Any) -> None:
        from workbench.output.notebook.template_notebook import save_template

        self.save.disabled = True
        self.saved.value = told(_("Drawing the part and writing the notebook …"))
        self.template.offer(())
        here = beside_notebook()
        try:
            path = save_template(
                frozen(self.bench.repair),
                with_room(own(here)),
                title=self.name.value.strip() or self.bench.repair.name,
                note=self.about.value.strip(),
            )
        except Exception as error:
            self.saved.value = told(said(error), "stop")
            return
        finally:
            self.save.disabled = False
        text = _("Saved as {path}; it is on the shelf now")
        if path.parent != here:
            text = _(
                "{folder} is shared and read-only, so this is saved in your own folder as "
                "{path}; it is on the shelf now"
            )
        self.saved.value = told(text.format(path=path.resolve(), folder=here.resolve()), "done")
        self.template.offer([path])
        self.bench.shelf_changed()
