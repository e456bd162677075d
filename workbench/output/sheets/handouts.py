"""Sheets as PDF files, to print and write on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.output.drawing.paper import written
from workbench.output.files.paths import folder_for, numbered, slug, write_new
from workbench.solids import catalogue
from workbench.solids.building.build import frame
from workbench.solids.parameters import Corners
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.step import Step
from workbench.words import _

#: The one kind of sheet that is made of nothing.
PHOTO = "photo"

_SIDES = ("bottom", "top", "height", "inset")


def write_sheet(
    what: Repair | str | None,
    kind: str,
    folder: str | Path,
    of: str | None = None,
    paper: str = "A4",
) -> Path:
    """Write one sheet as PDF; a file of that name is never overwritten.

    what : a repair, or a template by name, such as "fin", with the sizes that it has of itself;
        for a photo sheet it does not matter
    kind : "print", "measuring", "photo", "triangles" or "coupon"
    folder : made where it is not there
    of : the step whose outline is split into triangles, or the size that a coupon tries, such
        as "foot.thickness"; the first that there is, unless given
    paper : "A4" or "Letter"

    Raises RepairError when the sheet cannot be made of this, or the folder cannot be written to.
    """
    gate.choice("sheet", kind, SHEETS)
    if kind == PHOTO:
        content = written(SHEETS[kind](what, of, paper), title=_("Photo sheet"))
        target = folder_for(Path(folder)) / "photo-sheet.pdf"
        return next(path for path in numbered(target) if write_new(path, content))
    if what is None:
        raise RepairError(_("{kind} sheets are made from a repair; give one").format(kind=kind))
    if isinstance(what, str) and kind != "measuring":
        what = as_it_comes(what)
    name = what if isinstance(what, str) else what.name
    content = written(SHEETS[kind](what, of, paper), title=f"{name}, {kind}")
    target = folder_for(Path(folder)) / f"{slug(name)}-{kind}-sheet.pdf"
    return next(path for path in numbered(target) if write_new(path, content))


def as_it_comes(template: str) -> Repair:
    """A repair of one template with the sizes that it has of itself."""
    found = catalogue.find(template)
    return Repair(_(found.name.replace("_", " "))).add(found.name)


def outlined(repair: Repair, step: str | None = None) -> tuple[Step, Outline]:
    """A step and the outline that it is made from: a fin's trapezoid, or a list of corners.

    Raises RepairError when the step has none, or no step has.
    """
    from workbench.checks.fit.coupon_plan import step_called

    steps = [repair.step(step_called(repair, step))] if step else list(repair.steps)
    for candidate in steps:
        outline = _outline(candidate)
        if outline is not None:
            return candidate, outline
    raise RepairError(
        _("{where} has no flat outline to split; choose a fin or a step made from corners").format(
            where=step or repair.name
        )
    )


def holes_in(repair: Repair, step: Step, outline: Outline) -> list[tuple[float, float, float]]:
    """The round holes cut square through a step's outline, as (x, y, diameter) in mm."""
    region = outline.polygon
    back = np.linalg.inv(frame(repair, step.name))
    found = []
    for cut in repair.steps:
        if not cut.cuts or cut.template != "cylinder":
            continue
        place = back @ frame(repair, cut.name)
        x, y, across = float(place[0, 3]), float(place[2, 3]), float(cut.values["diameter"])
        square = abs(place[1, 2]) > 1 - 1e-6
        if square and region.contains(shapely.Point(x, y).buffer(across / 2)):
            found.append((x, y, across))
    return found


def _outline(step: Step) -> Outline | None:
    if all(side in step.values for side in _SIDES):
        return trapezoid(**{side: step.values[side] for side in _SIDES})
    for parameter in catalogue.find(step.template).parameters:
        if isinstance(parameter.kind, Corners):
            return Outline(step.values[parameter.name])
    return None


def _print(repair: Repair, _of: str | None, paper: str) -> Any:
    from workbench.checks.check import judge
    from workbench.checks.subject import Subject
    from workbench.output.files.laid_part import on_the_bed
    from workbench.output.sheets.print_sheet import print_sheet

    subject = Subject.of(repair)
    return print_sheet(subject, judge(subject), on_the_bed(subject), paper=paper)


def _measuring(what: Repair | str, _of: str | None, paper: str) -> Any:
    from workbench.output.sheets.measuring_sheet import measuring_sheets

    return measuring_sheets(what, paper)


def _photo(_what: Any, _of: str | None, paper: str) -> Any:
    from workbench.output.sheets.photo_sheet import photo_sheet

    return photo_sheet(paper)


def _triangles(repair: Repair, of: str | None, paper: str) -> Any:
    from workbench.output.sheets.triangle_sheet import triangle_sheets

    step, outline = outlined(repair, of)
    holes = holes_in(repair, step, outline)
    return triangle_sheets(outline, paper=paper, title=repair.name, holes=holes)


def _coupon(repair: Repair, of: str | None, paper: str) -> Any:
    from workbench.checks.fit.coupon_plan import named_size
    from workbench.output.sheets.coupon_sheet import coupon_sheet

    step, field = named_size(repair, of)
    return coupon_sheet(repair, step, field, paper=paper)


#: What makes each kind of sheet, from a repair, a step or size in it, and the paper.
SHEETS: dict[str, Callable[[Any, str | None, str], Any]] = {
    "print": _print,
    "measuring": _measuring,
    PHOTO: _photo,
    "triangles": _triangles,
    "coupon": _coupon,
}
