"""The form that splits the part in two, such as for a bed that it is too long for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.panel import button_for, chooser, told
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.solids.split import GAP, JOINTS, split_of
from workbench.words import _, unit_word

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Splitting:
    """Where, with which joint, and the button that does it."""

    def __init__(self, bench: Bench, done: Any) -> None:
        """``done`` is called with the name of the second part, which is then beside the first."""
        self._bench, self._done = bench, done
        self.across = chooser(
            _("Across"),
            _("Which direction of the part is split in two"),
            [(_("its longer side"), ""), (_("x, to the right"), "x"), (_("y, to the back"), "y")],
        )
        self.at = LengthBox(
            _("At"),
            lambda: _(
                "Where along it the part is split, in {unit}, by the numbers on the bed"
            ).format(unit=unit_word()),
            lambda: _("the middle if empty"),
        )
        words = {
            "lap": _("a lap, one on the other"),
            "dovetail": _("a dovetail, from above"),
            "pins": _("two pins in holes"),
        }
        self.joint = w.Dropdown(
            description=_("Joint"),
            options=[(words[joint], joint) for joint in JOINTS],
            value="dovetail",
            tooltip=_("How the two halves hold together"),
        )
        self.gap = LengthBox(
            _("Room"),
            lambda: _("Room between the faces of the joint, in {unit}").format(unit=unit_word()),
        )
        self.gap.show([GAP])
        self.button = button_for(
            _("Split in two"),
            _("This part becomes the first half, with the second beside it"),
            "wb-main",
        )
        self.note = w.HTML()
        self.button.on_click(lambda _button: self._split())
        self.widget = w.VBox([self.across, self.at, self.joint, self.gap, self.button, self.note])

    def _split(self) -> None:
        self.note.value = told(_("Splitting it …"))
        try:
            at: Any = self.at.length() if self.at.value.strip() else None
            if self.across.value:
                at = (self.across.value, at)
            how = {"at": at, "joint": self.joint.value, "gap": self.gap.length()}
        except RepairError as error:
            self.note.value = told(str(error), "stop")
            return
        refused = self._bench.edit(lambda repair: split_of(repair, **how), show_all=True)
        if refused:
            self.note.value = told(refused, "stop")
            return
        name = self._bench.repair.counterparts[-1].name
        self.note.value = told(
            _(
                "This is the first half now; {name} stands beside it. Save that as a notebook of its own."
            ).format(name=name),
            "done",
        )
        self._done("beside", name)
