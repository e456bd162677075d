"""The sizes of the chosen step."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.jupyter.panel import told
from workbench.jupyter.sizes.follow_editor import FollowEditor
from workbench.jupyter.sizes.sliders import Sliders
from workbench.output.notebook.repair_sizes import set_sizes
from workbench.solids import catalogue
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Sizes:
    """Shows the controls of one step at a time, and keeps those of the others."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._sliders: dict[tuple[str, str], Sliders] = {}
        self._none = w.HTML(told(_("No step yet: add one, such as a plate.")))
        self.follow = FollowEditor(bench)
        self.widget = w.VBox([self._none])
        self.widget.add_class("wb-sizes-page")

    @property
    def widgets(self) -> list[w.Widget]:
        """The controls of every step, shown or not."""
        sliders = (sliders.widget for sliders in self._sliders.values())
        return [self._none, self.follow.widget, *sliders]

    def show(self, step: Step | None) -> None:
        """Show the sizes that a step has with their readings, or that there is no step."""
        if step is None:
            self.widget.children = (self._none,)
            return
        sliders = self.of(step)
        readings = self._bench.repair.readings
        read = {field: readings.get(f"{step.name}.{field}") for field in step.values}
        for field, control in sliders.fields.items():
            control.follow(step.follows.get(field))
            control.parameter = step.parameter(field)  # told as the step stands now
        sliders.show(step.values, {field: found for field, found in read.items() if found})
        self.follow.show(self._bench.repair, step)
        if self.widget.children != (sliders.widget, self.follow.widget):
            self.widget.children = (sliders.widget, self.follow.widget)

    def of(self, step: Step) -> Sliders:
        """The controls of a step."""
        key = (step.name, step.template)
        if key not in self._sliders:

            def tell(field: str, value: Any, name: str = step.name) -> str | None:
                return self._set(name, field, value)

            self._sliders[key] = Sliders(catalogue.find(step.template), tell)
        return self._sliders[key]

    def without_effect(self, step: str, idle: Collection[str]) -> None:
        """Set back the sizes of a step that change nothing as its others stand."""
        for (name, _template), sliders in self._sliders.items():
            if name == step:
                for field, control in sliders.fields.items():
                    (control.widget.add_class if field in idle else control.widget.remove_class)(
                        "wb-idle"
                    )

    def settle(self) -> None:
        """Lay the sliders' spans anew where a drag came to an end of one."""
        for sliders in self._sliders.values():
            sliders.settle()

    def _set(self, step: str, field: str, value: Any) -> str | None:
        names = {f"{step}: {field.replace('_', ' ')}": (step, field)}
        control = self.of(self._bench.repair.step(step)).fields[field]
        return self._bench.edit(
            lambda repair: set_sizes(repair, names, dict.fromkeys(names, value)),
            key=(step, field, getattr(control, "gesture", 0)),
            field=control,
            show_all=isinstance(value, Same),
        )
