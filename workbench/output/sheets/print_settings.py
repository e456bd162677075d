"""How to print a part and how to finish it, as blocks for the print sheet."""

from __future__ import annotations

from workbench.checks.layers.layer_analysis import INFILL, WALLS, Layers
from workbench.checks.orientation.estimate import Estimate, estimate
from workbench.checks.orientation.orient import laid_layers
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.output.sheets.blocks import Block, pairs, paragraph, section
from workbench.words import _, area_with_unit, number, setting


def settings(subject: Subject, width: float) -> Block:
    """What to set before printing, and what the print takes."""
    material, printer = subject.material, subject.printer
    nozzle, plate = material.nozzle_temperature, material.bed_temperature
    rows = [
        (_("material"), subject.repair.material),
        (_("printer"), subject.repair.printer),
        (
            _("temperatures"),
            _("nozzle {nozzle} °C, bed {bed} °C").format(
                nozzle=number(nozzle, 0), bed=number(plate, 0)
            ),
        ),
        (
            _("layer, line"),
            _("{layer} mm high, {width} mm wide; {nozzle} mm nozzle").format(
                layer=setting(printer.layer),
                width=setting(printer.line_width),
                nozzle=setting(printer.nozzle),
            ),
        ),
        (
            _("walls, infill"),
            _("{walls} lines, {infill} %").format(walls=WALLS, infill=number(100 * INFILL, 0)),
        ),
        *_needs(subject),
    ]
    return section(_("Settings"), [pairs(rows, width, 25.0)], width)


def _needs(subject: Subject) -> list[tuple[str, str]]:
    """Brim, support, filament and time, where the part can be looked at layer by layer."""
    try:
        found = laid_layers(subject)
        needs = estimate(found, subject.material, subject.printer)
    except RepairError:
        return []
    return [
        (_("brim"), _brim(found)),
        (_("support"), _support(found)),
        (_("filament"), _filament(needs)),
        (_("time"), _("{minutes} minutes").format(minutes=needs.minutes.in_words())),
    ]


def _brim(found: Layers) -> str:
    brim = found.stance.brim
    if brim is None:
        return _("none needed")
    return _("{width} mm: {reason}").format(width=setting(brim.width), reason=brim.reason)


def _support(found: Layers) -> str:
    if not found.overhangs.touched:
        return _("none needed")
    return _("yes, touching {area} of the part").format(
        area=area_with_unit(found.overhangs.touched, 0)
    )


def _filament(needs: Estimate) -> str:
    return _("{mass} g, {metres} m").format(
        mass=number(needs.mass.value, 1), metres=number(needs.filament.value, 1)
    )


def care(subject: Subject, width: float) -> Block:
    """Gluing, finishing, drying and fumes, as the material's figures have them."""
    material = subject.material
    rows = [
        (_("gluing"), material.gluing),
        (_("finishing"), material.finishing),
        (_("drying"), material.drying),
        (_("fumes"), material.fumes),
    ]
    blocks = [
        paragraph(_("{what}: {text}").format(what=what.capitalize(), text=_(text)), width)
        for what, text in rows
        if text
    ]
    blocks.append(
        paragraph(
            _(
                "Adhesives bond skin and irritate eyes: wear gloves and glasses, open a window, "
                "and heed the label."
            ),
            width,
        )
    )
    return section(_("Gluing and finishing"), blocks, width)
