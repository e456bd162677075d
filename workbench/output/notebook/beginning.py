"""What a repair can be started from, with the sizes that it asks for.

A template notebook, on the shelf or anywhere; a plain template such as ``fin``; or a function
of the user's own, as ``my_parts.py:bracket``.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from workbench import units
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import readings_in
from workbench.output.notebook import shelf
from workbench.output.notebook.own_templates import load_part
from workbench.output.notebook.repair_sizes import parameter, size
from workbench.output.notebook.template_notebook import (
    every_name,
    laid_over,
    open_template,
    save_template,
    start,
)
from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Corners, Count, Flag, Parameter, Size, Words
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number, quantity, sized


@dataclass(frozen=True)
class Beginning:
    """What a repair is started from.

    title : what it is called
    sizes : by name, what each asks for and its value so far
    begin : called with folder, name, material, printer (None: as it is) and sizes by name;
        writes the new notebook and returns its path
    """

    title: str
    sizes: dict[str, tuple[Parameter, Any]]
    begin: Callable[[str | Path, str | None, str | None, str | None, Mapping[str, Any]], Path]


def beginning(where: str, *more: Path) -> Beginning:
    """Find what ``where`` names.

    where : "tray-divider", "old/door.ipynb", "fin" or "my_parts.py:bracket"
    more : folders of templates of the user's own, looked through first

    Raises RepairError when there is no such thing, or it cannot be read.
    """
    if ".py:" in where:
        return _from_function(catalogue.find(load_part(where)).name)
    shelved = {path.stem for path in shelf.paths(*more)}
    if where in catalogue.SHIPPED and where not in shelved:
        return _from_function(where)
    return _from_notebook(shelf.find(where, *more, also=catalogue.SHIPPED))


def entry(parameter: Parameter, typed: str | list[str], name: str) -> Any:
    """What was typed for a size: a length in mm, several readings of one as a Reading.

    A length without a unit is in the user's own; one may be typed as several words, such as
    ``1 3/8 in``. Anything else stays as it was typed.

    Raises RepairError when a length is none or out of range, naming the size ``name``.

    >>> width = Parameter("width", Size(1, 50), 20.0)
    >>> entry(width, ["45.9"], "width"), entry(width, ["45.9", "46.1"], "width").value
    (45.9, 46.0)
    >>> entry(width, ["1", "3/8", "in"], "width")
    34.925
    """
    if isinstance(typed, str):
        return typed
    if isinstance(parameter.kind, Corners):
        return [tuple(pair.split(",")) for pair in " ".join(typed).split()]
    unit = units.chosen()
    try:
        several = readings_in(" ".join(typed), unit.name)
    except RepairError:
        several = typed  # which is refused in the words for one value
    assert isinstance(parameter.kind, Size)
    if len(several) == 1:
        return parameter.kind.check(name, several[0], unit)
    try:
        return Reading(several, unit=unit.name)
    except RepairError as error:
        raise RepairError(f"{name}: {error}") from None


def takes_several(parameter: Parameter) -> bool:
    """Whether several values may be given: readings of one length, or corners."""
    kind = parameter.kind
    return isinstance(kind, Corners) or (isinstance(kind, Size) and kind.unit == "mm")


def help_for(parameter: Parameter, value: Any) -> str:
    """What to measure, the range with its unit, and the value so far, in one line."""
    limits, shown, measure = _in_columns(parameter, value)
    return _("{measure}; {limits}; now {value}").format(measure=measure, limits=limits, value=shown)


def table(sizes: Mapping[str, tuple[Parameter, Any]], width: int = 96) -> str:
    """The sizes as lines of a table: option, value so far, range, what to measure.

    sizes : by option, without its dashes
    width : of the lines, in characters
    """
    rows = [(f"--{name}", *_in_columns(*size)) for name, size in sizes.items()]
    wide = [max((len(row[i]) for row in rows), default=0) for i in (0, 2)]
    lines = []
    for option, limits, shown, measure in rows:
        head = f"  {option:{wide[0]}}  {shown:>{wide[1]}}  "
        lines += textwrap.wrap(
            f"{measure}; {limits}",
            max(width, len(head) + 24),
            initial_indent=head,
            subsequent_indent=" " * len(head),
        )
    return "\n".join(lines)


def _in_columns(parameter: Parameter, value: Any) -> tuple[str, str, str]:
    """Range, value so far, and what to measure."""
    kind = parameter.kind
    if isinstance(kind, Size):
        low = sized(kind.low) if kind.unit == "mm" else number(kind.low)
        limits = _("{low} to {high}").format(low=low, high=quantity(kind.high, kind.unit))
        shown = sized(value, 3) if kind.unit == "mm" else number(value, 3)
    elif isinstance(kind, Count):
        limits, shown = _("{low} to {high}").format(low=kind.low, high=kind.high), str(value)
    elif isinstance(kind, Choice):
        limits, shown = ", ".join(map(_, kind.options)), _(str(value))
    elif isinstance(kind, Words):
        limits, shown = _("at most {most} characters").format(most=kind.longest), value
    elif isinstance(kind, Flag):
        limits, shown = _("yes or no"), _("yes") if value else _("no")
    else:
        limits = _("corners in mm, such as 0,0 46,0 37,71")
        shown = _("{count} corners").format(count=len(value))
    return limits, shown, _(kind.measure) if kind.measure else parameter.label


def _from_notebook(path: Path) -> Beginning:
    saved = open_template(path, changed=True)
    repair = laid_over(saved)

    def begin(
        folder: str | Path,
        name: str | None,
        material: str | None,
        printer: str | None,
        sizes: Mapping[str, Any],
    ) -> Path:
        return start(path, folder, name or repair.name, material, printer, **sizes)

    return Beginning(
        saved.title,
        {
            name: (parameter(repair, place), size(repair, place))
            for name, place in every_name(saved).items()
        },
        begin,
    )


def _from_function(name: str) -> Beginning:
    template = catalogue.find(name)

    def begin(
        folder: str | Path,
        title: str | None,
        material: str | None,
        printer: str | None,
        sizes: Mapping[str, Any],
    ) -> Path:
        own = _(template.name.replace("_", " "))
        repair = Repair(title or own)
        repair.material = material or repair.material
        repair.printer = printer or repair.printer
        repair = repair.copy()  # which refuses an unknown material or printer
        return save_template(repair.add(name, name=own, **sizes), folder)

    return Beginning(
        _(template.name.replace("_", " ")),
        {p.name: (p, p.default) for p in template.parameters},
        begin,
    )
