"""Template notebooks: a repair saved as a notebook that a person can read, change and run.

The sizes stand in a cell tagged ``parameters`` (the papermill convention), one readable line
each; the repair itself travels in the notebook's metadata. So a template is read back without
running any of its code: the lines of that cell are laid over the stored repair.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from workbench import __version__, gate
from workbench.errors import RepairError
from workbench.output.drawing.picture import picture
from workbench.output.files.paths import folder_for, json_bytes, numbered, slug, write_new
from workbench.output.notebook import cells, language
from workbench.output.notebook.bundled import is_shipped
from workbench.output.notebook.repair_sizes import Place, named_sizes, parameter, set_sizes, size
from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.words import _

#: Version of what stands in the notebook's metadata; readers refuse a newer one in words.
FORMAT = 1

#: The key in the notebook's metadata.
KEY = "workbench"

#: What stands before sizes that follow others.
_IMPORT = "from workbench import Same"

#: Size of the picture under the heading, in pixels.
PICTURE = (640, 400)


@dataclass(frozen=True)
class Saved:
    """A template notebook as it stands in its file.

    path : the file
    title, note : what it is called and what to know about it
    repair : as it was saved, before the parameters cell is laid over it
    names : for each parameter name its step and field
    lines : the parameters cell as values, with the place of each: (name, value, place)
    changed : whether the cell that builds it is another than the tool wrote
    """

    path: Path
    title: str
    note: str
    repair: Repair
    names: dict[str, Place]
    lines: tuple[tuple[str, Any, str], ...]
    changed: bool = False


def save_template(
    repair: Repair,
    folder: str | Path,
    title: str | None = None,
    note: str = "",
    named: Mapping[str, Place] | None = None,
) -> Path:
    """Save a repair as a template notebook; a notebook of that name is never overwritten.

    repair : must build; a template that cannot be made is no use to anyone
    folder : made if it is not there
    title : its heading; the repair's name unless given
    note : a sentence or two for whoever opens it, shown under the heading
    named : sizes that keep their names, as the template has them that the repair began with

    Returns the new file: ``tray-divider.ipynb``, or ``tray-divider-2.ipynb`` where there is one.

    Raises RepairError when the repair does not build, or the folder cannot be written to.
    """
    content = as_notebook(repair, title or repair.name, note, named)
    target = folder_for(Path(folder)) / f"{slug(title or repair.name)}.ipynb"
    return next(path for path in numbered(target) if write_new(path, content))


def read_template(path: str | Path, changed: bool = False) -> Repair:
    """The repair in a template notebook, with the numbers that its parameters cell now has.

    No code is run: the cell is read as plain values. A size that was changed by hand leaves its
    old readings behind.

    changed : read it even where the cell that builds the repair was changed by hand; what was
        changed there is then not in it, and :func:`without_its_code` says so

    Raises RepairError when the file is not a template, is damaged, comes from a newer version, or
    its parameters cell is missing or broken; the sentence names the cell and the line.
    """
    return laid_over(open_template(path, changed))


def without_its_code(path: str | Path) -> str:
    """What to say of a repair that was read without the changes in the cell that builds it, or ""."""
    if not open_template(path, changed=True).changed:
        return ""
    return _(
        "{file}: the cell that builds the repair was changed by hand and was not run; this is the "
        "part as it was saved, with the sizes of the parameters cell"
    ).format(file=Path(path).name)


def laid_over(saved: Saved) -> Repair:
    """The stored repair with the lines of the parameters cell; errors as in read_template."""
    values = {}
    for name, value, place in saved.lines:
        kind = parameter(saved.repair, _known(saved, name, place)).kind
        follows = isinstance(value, Same)
        values[name] = value if follows else kind.check(f"{place}: {name}", value)
    for name in saved.names:
        if name not in values:
            raise RepairError(
                _(
                    "{file}: the parameters cell has no line for {name}; write it again, "
                    "for example {example}"
                ).format(file=saved.path.name, name=name, example=_example(saved, name))
            )
    return set_sizes(saved.repair.copy(), saved.names, values)


def start(
    template: str | Path,
    folder: str | Path,
    name: str,
    material: str | None = None,
    printer: str | None = None,
    **parameters: Any,
) -> Path:
    """Start a repair from a template, with other numbers, as a notebook of its own.

    template : the template notebook
    folder : where the new notebook goes
    name : of the new part; the file is named after it
    material, printer : other ones than the template's
    parameters : sizes by the names of the parameters cell, as numbers, text or Readings

    Raises RepairError as for :func:`read_template`, or when a parameter is not known or cannot be
    used.
    """
    saved = open_template(template, changed=True)
    repair = laid_over(saved)
    repair = Repair.from_json(
        json.dumps(
            {
                **json.loads(repair.to_json()),
                "name": name,
                "material": material or repair.material,
                "printer": printer or repair.printer,
            }
        )
    )
    # The tries and the statements were about the other part.
    repair.trials, repair.statements = (), {}
    names = every_name(saved)
    for wanted in parameters:
        _known(replace(saved, names=names), wanted, saved.path.name)
    set_sizes(repair, names, parameters)
    return save_template(repair, folder, note=saved.note, named=saved.names)


def every_name(saved: Saved) -> dict[str, Place]:
    """The names of all sizes of a template, with those of places that its cell leaves out."""
    return named_sizes(saved.repair, saved.names, every=True)


def as_notebook(
    repair: Repair,
    title: str,
    note: str = "",
    named: Mapping[str, Place] | None = None,
    image: bytes | None = None,
) -> bytes:
    """The template notebook of a repair, as the bytes of its file.

    title, note : for the heading
    named : sizes that keep their names, as the template has them that the repair began with
    image : the picture under the heading, as PNG; drawn unless given
    """
    names = named_sizes(repair, named)
    image = picture(repair, PICTURE) if image is None else image
    body = cells.write(repair, names, title, note, image)
    metadata = {
        "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
        "language_info": {"name": "python"},
        KEY: metadata_for(repair, names, title, note, _sources(body, cells.BUILD)),
    }
    # Laid out as Jupyter's own library does, which takes over a second to import.
    lines = [{**cell, "source": cell["source"].splitlines(keepends=True)} for cell in body]
    notebook = {"cells": lines, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}
    return json_bytes(notebook, sort_keys=True)


def metadata_for(
    repair: Repair, names: Mapping[str, Place], title: str, note: str, build: str
) -> dict[str, Any]:
    """What stands in the notebook's metadata; ``build`` is the source of the build cell."""
    return {
        "format": FORMAT,
        "version": __version__,
        "title": title,
        "note": note,
        "parameters": [[name, *place] for name, place in names.items()],
        "code": cells.fingerprint(build),
        "repair": json.loads(repair.to_json()),
    }


def open_template(path: str | Path, changed: bool = False) -> Saved:
    """Read a template's file without running or applying anything; as for :func:`read_template`."""
    path = Path(path)
    saved = held_in(read_json(path), path)
    if not changed:
        refuse_changed(saved)
    return _in_own_words(saved) if is_shipped(path) else saved


def refuse_changed(saved: Saved) -> None:
    """RepairError where the cell that builds the repair was changed by hand."""
    if saved.changed:
        raise RepairError(
            _(
                "{file}: the cell that builds the repair was changed by hand, and reading a "
                "template runs no code; run the notebook and use Save as template there"
            ).format(file=saved.path.name)
        )


def held_in(row: dict[str, Any], path: Path) -> Saved:
    """The template in a notebook's content; ``path`` names it in errors, as in read_template."""
    about = row.get("metadata")
    meta = about.get(KEY) if isinstance(about, dict) else None
    if not isinstance(meta, dict):
        raise RepairError(
            _(
                "{file} is not a template: it has no repair in it; open a repair on the bench "
                "and use Save as template"
            ).format(file=path.name)
        )
    found = meta.get("format")
    if isinstance(found, bool) or not isinstance(found, int):
        raise RepairError(f"{path.name}: {gate.damaged('format', found)}")
    if found > FORMAT:
        raise RepairError(
            _(
                "{file} was saved by workbench {version} in a newer form ({found}) than this one "
                "reads ({known}); update workbench"
            ).format(file=path.name, version=meta.get("version", "?"), found=found, known=FORMAT)
        )
    _refuse_unknown(path, meta.get("repair"))
    try:
        repair = Repair.from_json(json.dumps(meta["repair"]))
        names = {str(name): (str(step), str(field)) for name, step, field in meta["parameters"]}
        for place in names.values():
            parameter(repair, place)
            size(repair, place)
    except RepairError as error:
        raise RepairError(f"{path.name}: {error}") from None
    except (KeyError, TypeError, ValueError) as error:
        raise RepairError(
            _("{file}: the repair stored in it is damaged ({reason}); save it again").format(
                file=path.name, reason=f"{type(error).__name__}: {error}"
            )
        ) from None
    listed = row.get("cells")
    code = [cell for cell in listed if isinstance(cell, dict)] if isinstance(listed, list) else []
    return Saved(
        path=path,
        title=gate.name(
            _("title of {file}").format(file=path.name), meta.get("title", repair.name)
        ),
        note=gate.note(_("note of {file}").format(file=path.name), meta.get("note", "")),
        repair=repair,
        names=names,
        lines=tuple(_lines(path, code, names)),
        changed=meta.get("code") != cells.fingerprint(_sources(code, cells.BUILD)),
    )


def _in_own_words(saved: Saved) -> Saved:
    """A shipped template as the user's language has it; its sizes keep their names."""
    return replace(
        saved,
        title=_(saved.title),
        note=_(saved.note),
        repair=language.in_own_words(saved.repair),
        lines=tuple(
            (name, language.followed(value) if isinstance(value, Same) else value, place)
            for name, value, place in saved.lines
        ),
        names={
            name: (_(step, language.STEP), field) for name, (step, field) in saved.names.items()
        },
    )


def _refuse_unknown(path: Path, row: Any) -> None:
    """Say which function of somebody's own a template needs, since none is run unasked."""
    steps = row.get("steps") if isinstance(row, dict) else None
    for step in steps if isinstance(steps, list) else []:
        name = step.get("template") if isinstance(step, dict) else None
        if isinstance(name, str) and name not in catalogue.names():
            raise RepairError(
                _(
                    "{file} uses the function {name}, which is not one of the tool's; look at it "
                    "with workbench shelf {file}, then run the notebook, or give the function's "
                    "own file with --parts"
                ).format(file=path.name, name=name)
            )


def read_json(path: Path) -> dict[str, Any]:
    """What a notebook's file holds; errors as in read_template, or where it is not of format 4."""
    try:
        return gate.notebook(path)
    except FileNotFoundError:
        raise _missing(path) from None
    except OSError as error:
        raise gate.unreadable(path, error) from None
    except UnicodeDecodeError:
        raise RepairError(
            _("{file} is not a notebook; choose a file that ends in .ipynb").format(file=path.name)
        ) from None
    except json.JSONDecodeError as error:
        raise RepairError(
            _("{file} is damaged at line {line} ({reason}); use an earlier copy").format(
                file=path.name, line=error.lineno, reason=error.msg
            )
        ) from None


def _missing(path: Path) -> RepairError:
    """That there is no such notebook, and the nearest name beside it."""
    with suppress(OSError):
        beside = [each.name for each in path.parent.glob("*.ipynb")]
        if near := get_close_matches(path.name, beside, n=1, cutoff=0.75):
            text = _("there is no notebook at {path}; did you mean {near}?")
            return RepairError(text.format(path=path, near=near[0]))
    return RepairError(
        _("there is no notebook at {path}; choose one that exists").format(path=path)
    )


def tags_of(cell: Mapping[str, Any]) -> list[str]:
    metadata = cell.get("metadata")
    tags = metadata.get("tags") if isinstance(metadata, Mapping) else None
    return list(tags) if isinstance(tags, (list, tuple)) else []


def source_of(cell: Mapping[str, Any]) -> str:
    source = cell.get("source", "")
    return "".join(map(str, source)) if isinstance(source, list) else str(source)


def _sources(listed: list[Any], tag: str) -> str:
    return "\n".join(source_of(cell) for cell in listed if tag in tags_of(cell))


def _lines(
    path: Path, listed: list[dict[str, Any]], names: Mapping[str, Place]
) -> Iterator[tuple[str, Any, str]]:
    """Each assignment of the parameters cell, and of one that papermill put after it."""
    tagged = [
        (number, source_of(cell))
        for tag in (cells.PARAMETERS, "injected-parameters")
        for number, cell in enumerate(listed, 1)
        if tag in tags_of(cell)
    ]
    if not any(cells.PARAMETERS in tags_of(cell) for cell in listed):
        raise RepairError(
            _(
                "{file} has no cell tagged parameters; give the cell with the sizes that tag, "
                "or save the template again"
            ).format(file=path.name)
        )
    for number, source in tagged:
        where = _("{file}, cell {number} (parameters)").format(file=path.name, number=number)
        try:
            statements = gate.statements(source)
        except SyntaxError as error:
            raise RepairError(
                _("{where}, line {line}: {reason}; write a name, = and a number").format(
                    where=where, line=error.lineno or 1, reason=error.msg
                )
            ) from None
        for statement in statements:
            place = _("{where}, line {line}").format(where=where, line=statement.lineno)
            if isinstance(statement, ast.ImportFrom) and ast.unparse(statement) == _IMPORT:
                continue
            yield (*_assignment(statement, place, names), place)


def _assignment(statement: ast.stmt, place: str, names: Mapping[str, Place]) -> tuple[str, Any]:
    if isinstance(statement, ast.Assign) and len(statement.targets) == 1:
        target, value = statement.targets[0], statement.value
    elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
        target, value = statement.target, statement.value
    else:
        target = None
    if not isinstance(target, ast.Name):
        raise RepairError(
            _(
                "{place}: only lines such as blade_bottom = 46.0 belong in the parameters cell; "
                "move the rest to another cell"
            ).format(place=place)
        )
    try:
        return target.id, value_of(value, names)
    except RepairError as error:
        raise RepairError(f"{place}: {target.id}: {error}") from None
    except (ValueError, TypeError, SyntaxError, MemoryError, RecursionError):
        raise RepairError(
            _("{place}: {name} is not a plain value; write the number itself").format(
                place=place, name=target.id
            )
        ) from None


def value_of(value: ast.expr, names: Mapping[str, Place]) -> Any:
    """What a line of the parameters cell gives its size: a plain value, or a Same.

    Raises
    ------
    RepairError, ValueError, TypeError, SyntaxError, MemoryError, RecursionError
        When it is neither.
    """
    followed = _followed(value, names)
    return ast.literal_eval(value) if followed is None else followed


def _followed(value: ast.expr, names: Mapping[str, Place]) -> Same | None:
    """What a line makes its size follow: ``Same("base.width")``, or other names of the cell.

    None for a plain value. ``base_width - 2 * wall_thickness`` follows as its Same would.
    """
    if isinstance(value, ast.Call) and ast.unparse(value.func) == "Same" and not value.keywords:
        return Same(*map(ast.literal_eval, value.args))
    used = [node for node in ast.walk(value) if isinstance(node, ast.Name)]
    if not used or any(node.id not in names for node in used):
        return None
    for node in used:
        step, field = names[node.id]
        node.id = f"'{step}'.{field}"
    return Same(ast.unparse(value)).renamed(str)


def _known(saved: Saved, name: str, place: str) -> Place:
    if name in saved.names:
        return saved.names[name]
    near = get_close_matches(name, saved.names, n=1)
    raise RepairError(
        _("{place}: {name} is not a size of this template; {hint}").format(
            place=place,
            name=name,
            hint=_("did you mean {near}?").format(near=near[0])
            if near
            else _("it has {known}").format(known=gate.listed(saved.names)),
        )
    )


def _example(saved: Saved, name: str) -> str:
    return f"{name} = {cells.size_literal(size(saved.repair, saved.names[name]))}"
