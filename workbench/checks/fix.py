"""The edit that a finding offers, as plain data: JSON that is laid over the repair's own.

A fix is a merge patch (RFC 7396) of the record, with the steps by name::

    {"steps": {"foot": {"values": {"thickness": 2.35}}}}   other sizes of a step
    {"steps": {"foot": {"seat": {"sink": 0.5}}}}           another place; or "at", for an At
    {"steps": {"foot": None}}                              the step goes
    {"steps": {"flat": {"template": "box", "at": {"z": -1}, "values": {"height": 1.3}}}}   a cut
    {"chamfer": {"between post and bar": 4.0}}             as :meth:`Repair.chamfer`
    {"down": [0, 0, -1], "material": "PETG", "rounding": 0.5}
    {"split": {"joint": "dovetail"}}                       two parts, as :meth:`Repair.split`
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from workbench import data
from workbench.checks.orientation import side_names
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Place, Seat
from workbench.solids.recipe.service import direction_of
from workbench.solids.recipe.step import Step
from workbench.solids.split import split_of
from workbench.words import _, quantity, with_unit

Fix = Mapping[str, Any]

#: What of a repair a fix may change.
EDITS = ("steps", "down", "material", "rounding", "chamfer", "uses", "split")


def resized(step: str, **values: Any) -> dict[str, Any]:
    """The fix that gives a step other values.

    >>> resized("foot", thickness=2.35)
    {'steps': {'foot': {'values': {'thickness': 2.35}}}}
    """
    return {"steps": {step: {"values": values}}}


def moved(step: Step, **place: float) -> dict[str, Any]:
    """The fix that changes where a step sits, such as ``sink=0.5``."""
    kind = "seat" if isinstance(step.place, Seat) else "at"
    return {"steps": {step.name: {kind: place}}}


def apply(fix: Fix, repair: Repair) -> Repair:
    """Carry the edit out on the repair, and return it.

    Raises RepairError when the fix names a step, a field or a value that cannot be; the repair may
    then have been changed in part, so give a copy where that matters.

    >>> divider = Repair("tray divider").add("tab", name="foot", thickness=2.3)
    >>> apply(resized("foot", thickness=2.4), divider).step("foot").values["thickness"]
    2.4
    """
    for key in fix:
        if key not in EDITS:
            raise RepairError(
                _("fix has {key!r}; give some of {known}").format(key=key, known=", ".join(EDITS))
            )
    for name, change in fix.get("steps", {}).items():
        if change and "template" in change:
            repair.cut(change["template"], At(**change["at"]), name, **change["values"])
            continue
        step = repair.step(name)
        if change is None:
            repair.remove(name)
        else:
            place = _placed(step.place, change)
            repair.change(name, place, change.get("cuts"), **change.get("values", {}))
    if "down" in fix:
        repair.down = None if fix["down"] is None else direction_of(_("down"), fix["down"])
    if "material" in fix:
        repair.material = data.material(fix["material"]).name
    if "rounding" in fix:
        repair.round(fix["rounding"])
    for where, size in fix.get("chamfer", {}).items():
        repair.chamfer(where, size)
    if "uses" in fix:
        repair.uses = tuple(fix["uses"])
    if "split" in fix:
        split_of(repair, **fix["split"])
    return repair


def _placed(place: Place, change: Mapping[str, Any]) -> Place | None:
    """The place that a step is to have, or None where it stays."""
    for key, kind in (("seat", Seat), ("at", At)):
        if key in change:
            old = asdict(place) if isinstance(place, kind) else {}
            return kind(**{**old, **change[key]})
    return None


def in_words(fix: Fix, repair: Repair) -> str:
    """What a button says that carries the fix out: verb and object.

    >>> in_words(resized("foot", thickness=2.4), Repair("divider").add("tab", name="foot"))
    'Set foot thickness to 2.4 mm'
    """
    return _("; ").join(_told(fix, repair))


def _told(fix: Fix, repair: Repair) -> Iterator[str]:
    for name, change in fix.get("steps", {}).items():
        if change is None:
            yield _("Remove {step}").format(step=name)
            continue
        if "template" in change:
            yield _("Cut a flat where it lies")
            continue
        if "seat" in change or "at" in change:
            yield _("Move {step}").format(step=name)
        template = catalogue.find(repair.step(name).template)
        for field, value in change.get("values", {}).items():
            asked = template.parameter(field)
            unit = getattr(asked.kind, "unit", "")
            plain = isinstance(value, (int, float)) and not isinstance(value, bool)
            yield _("Set {step} {field} to {value}").format(
                step=name, field=asked.said, value=quantity(value, unit) if plain else _(str(value))
            )
    if fix.get("down") is not None:
        side, off = side_names.side_of(tuple(fix["down"]))
        text = _("Lay it on its {side}") if off < 1 else _("Lay it tilted, on its {side}")
        yield text.format(side=_(side, "side"))
    if "material" in fix:
        yield _("Print it in {material}").format(material=fix["material"])
    if "rounding" in fix:
        yield _("Round its sharp edges by {radius}").format(radius=with_unit(fix["rounding"]))
    for size in fix.get("chamfer", {}).values():
        yield _("Chamfer the corner by {size}").format(size=with_unit(size))
    if "split" in fix:
        joint = {"lap": _("Split it in two, with a lap"), "pins": _("Split it in two, with pins")}
        yield joint.get(fix["split"]["joint"], _("Split it in two, with a dovetail"))
    if "uses" in fix:
        yield _("Change its uses")
