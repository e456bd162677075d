"""The source of a template function of the user's own, so that it can travel in a notebook."""

from __future__ import annotations
import __future__

import ast
import builtins
import inspect
import textwrap
from collections.abc import Callable
from importlib import import_module
from types import ModuleType
from typing import Any

from workbench.errors import RepairError
from workbench.words import _


def source_of(function: Callable[..., Any]) -> str:
    """One cell of code that makes the function known: with its imports, helpers and constants.

    Raises
    ------
    RepairError
        When its source cannot be found, or it uses something that cannot be written down.
    """
    written: dict[str, str] = {}
    imports: dict[str, None] = {"from workbench import register": None}
    _gather(function, function, written, imports)
    as_text = function.__code__.co_flags & __future__.annotations.compiler_flag
    parts = [text.strip() for text in reversed(written.values())]
    return "\n\n\n".join(
        [
            *(["from __future__ import annotations"] if as_text else []),
            "\n".join(sorted(imports)),
            *parts,
            f"register({function.__name__})",
        ]
    )


def _gather(
    function: Callable[..., Any],
    owner: Callable[..., Any],
    written: dict[str, str],
    imports: dict[str, None],
) -> None:
    name = function.__name__
    try:
        text = textwrap.dedent(inspect.getsource(function))
        tree = ast.parse(text)
    except (OSError, TypeError, SyntaxError):
        raise RepairError(
            _("the source of {name} cannot be found; put it in a file such as my_parts.py").format(
                name=name
            )
        ) from None
    written.pop(name, None)  # a helper goes before all that use it, so the last use counts
    written[name] = text
    for used in _names(tree):
        if used in function.__globals__:
            _include(used, function.__globals__[used], owner, written, imports)


def _names(tree: ast.AST) -> list[str]:
    """Every name that the code reads, those inside annotations written as text too."""
    found: dict[str, None] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and not hasattr(builtins, node.id):
            found[node.id] = None
    return list(found)


def _include(
    name: str,
    value: Any,
    owner: Callable[..., Any],
    written: dict[str, str],
    imports: dict[str, None],
) -> None:
    if name == owner.__name__:
        return
    if isinstance(value, ModuleType):
        real = value.__name__
        imports[f"import {real}" if real == name else f"import {real} as {name}"] = None
        return
    home = getattr(value, "__module__", None)
    label = getattr(value, "__name__", name)
    if inspect.isfunction(value) and home == owner.__module__:
        _gather(value, owner, written, imports)
    elif home and home != owner.__module__ and _is_at(home, label, value):
        home = "workbench" if _is_at("workbench", label, value) else home
        imports[f"from {home} import {label}" + ("" if label == name else f" as {name}")] = None
    elif _is_plain(value):
        written.pop(name, None)
        written[name] = f"{name} = {value!r}"
    else:
        raise RepairError(
            _("{function} uses {name}, which cannot travel with it; import it in its file").format(
                function=owner.__name__, name=name
            )
        )


def _is_at(module: str, name: str, value: Any) -> bool:
    try:
        return getattr(import_module(module), name, None) is value
    except ImportError:
        return False


def _is_plain(value: Any) -> bool:
    try:
        return bool(ast.literal_eval(repr(value)) == value)
    except (ValueError, SyntaxError):
        return False
