"""Template functions of the user's own: read from a file, and written into a notebook."""

from __future__ import annotations
import __future__

import ast
import builtins
import inspect
import sys
import textwrap
import traceback
from collections.abc import Callable
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.parameters import template_of
from workbench.words import _


def source_of(function: Callable[..., Any]) -> str:
    """One cell of code that makes the function known: with its imports, helpers and constants.

    Raises RepairError when its source cannot be found, or it uses something that cannot be written
    down.
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
            _(
                "{function} uses {name}, which cannot be saved with it; import it in its file"
            ).format(function=owner.__name__, name=name)
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


def load_parts(path: str | Path) -> ModuleType:
    """Run a file of the user's own template functions and make them known by name.

    Raises RepairError when the file is not there or does not run; the sentence names its line.
    """
    path = Path(path)
    spec = spec_from_file_location(path.stem, path)
    try:
        source = gate.content(path, gate.TEXT)
    except OSError:
        spec = None
    if spec is None or spec.origin is None:
        raise RepairError(
            _("there is no file of parts at {path}; give one such as my_parts.py").format(path=path)
        )
    module = module_from_spec(spec)
    sys.modules[path.stem] = module  # so that the source of its functions can be found
    try:
        # What is read is run, not what may lie compiled beside it; and nothing is left beside it.
        exec(compile(source, spec.origin, "exec"), vars(module))
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # whatever their file raises
        raise RepairError(
            _("{path}, line {line}: {reason}; put it right and try again").format(
                path=path, line=_line_in(path, error), reason=_reason(error)
            )
        ) from None
    for value in vars(module).values():
        if inspect.isfunction(value) and value.__module__ == path.stem and _is_template(value):
            catalogue.register(value)
    return module


def _reason(error: BaseException) -> str:
    if isinstance(error, SyntaxError):
        return error.msg
    if isinstance(error, SystemExit):
        return _("it ends the program")
    return f"{type(error).__name__}: {gate.short(str(error), 200)}"


def load_part(where: str) -> Callable[..., Any]:
    """The template function at ``my_parts.py:bracket``, made known by its name.

    Raises RepairError when the file or the function is not there, or the function is no template.
    """
    file, _colon, name = where.rpartition(":")
    module = load_parts(file)
    function = getattr(module, name, None)
    if not inspect.isfunction(function):
        known = [n for n, v in vars(module).items() if inspect.isfunction(v) and _is_template(v)]
        raise RepairError(
            _("{file} has no function {name!r}; it has {known}").format(
                file=file, name=name, known=gate.listed(known) or _("no templates")
            )
        )
    return catalogue.register(function)


def _is_template(function: Callable[..., Any]) -> bool:
    try:
        return bool(template_of(function).parameters)
    except RepairError:
        return False


def _line_in(path: Path, error: BaseException) -> int:
    if isinstance(error, SyntaxError) and error.lineno:
        return error.lineno
    here = [
        frame.lineno
        for frame in traceback.extract_tb(error.__traceback__)
        if Path(frame.filename).resolve() == path.resolve() and frame.lineno
    ]
    return here[-1] if here else 1
