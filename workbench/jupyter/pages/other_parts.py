"""The page of the other parts: what works with this one, its second half, and the broken one."""

from __future__ import annotations

import ipywidgets as w

from workbench.checks.report import Report
from workbench.jupyter.pages.comparing import Comparing
from workbench.jupyter.pages.mating_part import MatingPart
from workbench.jupyter.pages.mating_position import Standing
from workbench.jupyter.pages.splitting import Splitting
from workbench.jupyter.panel import Panel, columns, labelled
from workbench.jupyter.state import Made
from workbench.words import _


class OtherParts(Panel):
    """A part beside this one or a body that stands loose; two halves; the old part laid over."""

    title = "Other parts"
    purpose = "Check it with the part it works with, split it in two, or lay the broken one over it"

    def lay_out(self) -> None:
        self.standing = Standing(self.bench)
        self.choice = MatingPart(self.bench, lambda kind, name: self.standing.show((kind, name)))
        self.splitting = Splitting(self.bench, lambda kind, name: self.standing.show((kind, name)))
        self.comparing = Comparing(self.bench)
        self.widget = columns(
            labelled(
                _("What it works with"),
                w.VBox([self.choice.widget, self.standing.widget]),
                kind="wb-form",
            ),
            w.VBox(
                [
                    labelled(_("Two halves"), self.splitting.widget, kind="wb-form"),
                    labelled(_("The broken part"), self.comparing.widget, kind="wb-form"),
                ]
            ),
        )
        self.choice.edited()

    def opened(self) -> None:
        self.choice.opened()

    def edited(self) -> None:
        self.choice.edited()
        self.standing.show()

    def suited(self) -> None:
        self.comparing.compare()

    def made(self, made: Made) -> None:
        self.standing.found.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        self.standing.found.remove_class("wb-waiting")
        self.standing.judged(report)
        self.comparing.compare()

    def settle(self, timeout: float = 60.0) -> bool:
        return self.comparing.settle(timeout)

    def closed(self) -> None:
        self.comparing.closed()
