"""Which templates there are: the shipped ones and the user's own."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, TypeVar

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.parameters import Template, template_of
from workbench.words import _

F = TypeVar("F", bound=Callable[..., Any])

#: Name of each shipped template, and the module that defines it.
SHIPPED = {
    "plate": "workbench.solids.templates.plate",
    "fin": "workbench.solids.templates.fin",
    "clip": "workbench.solids.templates.clip",
    "peg": "workbench.solids.templates.peg",
    "tab": "workbench.solids.templates.tab",
    "panel": "workbench.solids.templates.panel",
    "turning": "workbench.solids.templates.turning",
    "shell": "workbench.solids.templates.shell",
    "thread": "workbench.solids.templates.thread",
    "bottle_thread": "workbench.solids.templates.bottle_thread",
    "gear": "workbench.solids.templates.gear",
    "boss": "workbench.solids.templates.boss",
    "letters": "workbench.solids.templates.letters",
    "number_plate": "workbench.solids.templates.number_plate",
    "spacer": "workbench.solids.templates.spacer",
    "knob": "workbench.solids.templates.knob",
    "pin": "workbench.solids.templates.pin",
    "stop": "workbench.solids.templates.stop",
    "hook": "workbench.solids.templates.hook",
    "guide": "workbench.solids.templates.guide",
    "foot": "workbench.solids.templates.foot",
    "strike": "workbench.solids.templates.strike",
    "box": "workbench.solids.primitives",
    "wedge": "workbench.solids.primitives",
    "triangular_prism": "workbench.solids.primitives",
    "cylinder": "workbench.solids.primitives",
    "tube": "workbench.solids.primitives",
    "cone": "workbench.solids.primitives",
    "sphere": "workbench.solids.primitives",
    "coupon_tile": "workbench.solids.templates.coupon_tile",
}

_own: dict[str, Template] = {}


def names() -> list[str]:
    """Every template name known here, shipped ones first."""
    return [*SHIPPED, *(name for name in _own if name not in SHIPPED)]


def register(function: F) -> F:
    """Make a function of the user's own known by its name; usable as a decorator.

    Raises
    ------
    RepairError
        When its annotations are incomplete, or it takes a shipped template's name.
    """
    template = template_of(function)
    if template.name in SHIPPED and not _is_shipped(function):
        raise RepairError(
            _("{name} is a shipped template; give your function another name").format(
                name=template.name
            )
        )
    if template.name not in SHIPPED:
        _own[template.name] = template
    return function


def find(template: str | Callable[..., Any]) -> Template:
    """The template by name or by function; a function not seen before is registered.

    Raises
    ------
    RepairError
        When there is no template of that name here.
    """
    if callable(template):
        register(template)
        return template_of(template)
    gate.needed(template, str, _("template"), "fin")
    if template in SHIPPED:
        return template_of(getattr(import_module(SHIPPED[template]), template))
    if template in _own:
        return _own[template]
    raise RepairError(
        _("template {name!r} is not known here; use one of {known}, or register your own").format(
            name=template, known=", ".join(names())
        )
    )


def _is_shipped(function: Callable[..., Any]) -> bool:
    return function.__module__ == SHIPPED.get(function.__name__)
