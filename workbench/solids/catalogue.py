"""Which templates there are: the shipped ones and the user's own."""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from functools import cache
from importlib import import_module
from pathlib import Path
from types import FunctionType
from typing import Any, TypeVar

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.parameters import Template, template_of
from workbench.words import _

F = TypeVar("F", bound=Callable[..., Any])

_PLAIN = ("box", "wedge", "triangular_prism", "cylinder", "tube", "cone", "sphere")

_FOLDER = Path(__file__).parent / "templates"

#: Name of each shipped template, and the module that defines it: the plain shapes, then one for
#: each file of the folder.
SHIPPED = {name: "workbench.solids.shapes.primitives" for name in _PLAIN} | {
    path.stem: f"workbench.solids.templates.{path.stem}"
    for path in sorted(_FOLDER.glob("[!_]*.py"))
}

#: How many templates of the user's own a refusal lists.
_LISTED = 10

_own: dict[str, Template] = {}


def names() -> list[str]:
    """Every template name known here, shipped ones first."""
    return [*SHIPPED, *(name for name in _own if name not in SHIPPED)]


@gate.asked
def register(function: F) -> F:
    """Make a function of the user's own known by its name; usable as a decorator.

    Raises RepairError when its annotations are incomplete, or it takes a shipped template's name.
    """
    if not callable(function):
        gate.needed(function, FunctionType, "function", "my_part")
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

    Raises RepairError when there is no template of that name here.
    """
    if callable(template):
        register(template)
        return template_of(template)
    if isinstance(template, str) and template in SHIPPED:
        return _shipped(template)
    gate.needed(template, str, _("template"), "fin")
    if template in _own:
        return _own[template]
    near = get_close_matches(template, names(), 1)
    guess = _("did you mean {name}?").format(name=near[0]) + " " if near else ""
    raise RepairError(
        _(
            "template {name!r} is not known here; {guess}use one of {known}, or register your own"
        ).format(name=template, guess=guess, known=", ".join([*SHIPPED, *list(_own)[:_LISTED]]))
    )


@cache
def _shipped(template: str) -> Template:
    return template_of(getattr(import_module(SHIPPED[template]), template))


def _is_shipped(function: Callable[..., Any]) -> bool:
    return function.__module__ == SHIPPED.get(function.__name__)
