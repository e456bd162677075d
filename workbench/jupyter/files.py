"""Writing the repair's files as a numbered revision, and saving it as a template."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.panel import Panel, columns, labelled, said, told
from workbench.jupyter.state import frozen
from workbench.output.paths import slug
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Files(Panel):
    """The button that writes a revision, and what it wrote."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.title = _("Files")
        self.folder = w.Text(
            value=f"repairs/{slug(bench.repair.name)}",
            description=_("Folder"),
            continuous_update=False,
            tooltip=_("Folder that the revisions are written to"),
        )
        self.paper = w.Dropdown(
            options=["A4", "Letter"], description=_("Paper"), tooltip=_("Paper of the sheets")
        )
        self.write = w.Button(
            description=_("Write revision"),
            tooltip=_("Write mesh, solid, drawing, sheet and record"),
        )
        self.write.add_class("wb-main")
        self.written = w.HTML()
        self.name = w.Text(
            value=bench.repair.name,
            description=_("Title"),
            tooltip=_("What the template is called on the shelf"),
        )
        self.about = w.Textarea(
            description=_("Note"),
            rows=2,
            placeholder=_("what to know before measuring"),
            tooltip=_("A sentence or two for whoever opens the template"),
        )
        self.save = w.Button(
            description=_("Save as template"),
            tooltip=_("Write a notebook that starts the same part with other numbers"),
        )
        self.save.add_class("wb-main")
        self.saved = w.HTML()
        self.folder.observe(lambda _change: self._count(), "value")
        self.write.on_click(self._write)
        self.save.on_click(self._save)
        self.widget = columns(
            labelled(
                _("Print files"),
                w.VBox([self.folder, self.paper, self.write, self.written]),
                kind="wb-form",
            ),
            labelled(
                _("Template for next time"),
                w.VBox([self.name, self.about, self.save, self.saved]),
                kind="wb-form",
            ),
        )

    def opened(self) -> None:
        self._count()

    def _count(self) -> None:
        from workbench.output.export import revisions

        try:
            done = revisions(self.folder.value)
        except (RepairError, OSError):
            done = []
        number = max((revision.number for revision in done), default=0) + 1
        self.write.description = _("Write revision {number}").format(number=number)

    def _write(self, _button: Any) -> None:
        from workbench.output.export import export

        self.write.disabled = True
        self.written.value = told(_("Writing and reading back every file …"))
        try:
            paths = export(
                frozen(self.bench.repair), self.folder.value.strip(), paper=self.paper.value
            )
        except Exception as error:
            self.written.value = told(said(error), "stop")
        else:
            self.written.value = told(
                _("{name} is written to {folder}").format(
                    name=paths[0].parent.name, folder=paths[0].parent.resolve()
                ),
                "done",
            ) + _listed(paths)
        finally:
            self.write.disabled = False
            self._count()

    def _save(self, _button: Any) -> None:
        from workbench.output.notebook import save_template
        from workbench.output.running import templates_folder

        try:
            path = save_template(
                frozen(self.bench.repair),
                templates_folder(),
                title=self.name.value.strip() or self.bench.repair.name,
                note=self.about.value.strip(),
            )
        except Exception as error:
            self.saved.value = told(said(error), "stop")
            return
        self.saved.value = told(
            _("Saved as {path}; it is on the shelf now").format(path=path.resolve()), "done"
        )
        self.bench.shelf_changed()


def _listed(paths: list[Path]) -> str:
    rows = "".join(f"<li><code>{escape(path.name)}</code></li>" for path in paths)
    return f'<ul class="wb-paths">{rows}</ul>'
