"""The coupon sheet: which test piece is which, and room for how each went."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from workbench.checks.fit.coupon import OFFSETS, coupon
from workbench.checks.fit.coupon_plan import coupon_note
from workbench.output.drawing.paper import NOTE, Page, Stroke, rectangle
from workbench.output.drawing.picture import FINE, shaded
from workbench.output.sheets.blocks import (
    BLANK,
    CLOSE,
    GAP,
    MARGIN,
    Block,
    foot,
    lines_to_write,
    masthead,
    paragraph,
    put,
    rest_squared,
    section,
    table,
    who,
)
from workbench.solids.building.build import assemble
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES
from workbench.words import _, on_the_piece, unit_word

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: From the front and well above, so that the figures on the pieces can be read.
_OUT = (0.28, -0.70, 0.85)


def coupon_sheet(
    repair: Repair,
    step: str,
    field: str,
    offsets: Iterable[float | str] = OFFSETS,
    paper: str = "A4",
) -> Figure:
    """The page that goes with a coupon: which piece is which, and room for how each went.

    repair, step, field, offsets : as for :func:`workbench.checks.fit.coupon.coupon`
    paper : "A4" or "Letter"

    Raises RepairError when no coupon can be made for that size, or the paper is not known.
    """
    page = Page(paper)
    comb = coupon(repair, step, field, offsets)
    tiles = [tile for tile in comb.steps if tile.template == "coupon_tile"]
    width = page.width - 2 * MARGIN
    facts = _("{material} on {printer}").format(material=comb.material, printer=comb.printer)
    top = masthead(page, _("Coupon sheet"), _coupon_title(repair, step, field), facts)
    floor = foot(
        page, _("Keep the pieces: they show how far off the printer is, for the next repair too.")
    )
    top = put(page, who(width), MARGIN, top) - GAP
    vertices, faces = mesh(assemble(comb).solid)
    high = 0.42 * width
    size = (round(width * FINE), round(high * FINE))
    pixels = shaded(vertices, faces, size, 10.0, _OUT, paper="#ffffff")
    page.picture(pixels, MARGIN, top - high, width, high)
    page.put([Stroke(rectangle(MARGIN, top - high, width, high), "rule")])
    top -= high + CLOSE
    top = put(page, paragraph(coupon_note(repair, step, field), width, NOTE + 0.5), MARGIN, top)
    body = _pieces_table([float(tile.values["size"]) for tile in tiles], width)
    rest_squared(page, _("Notes"), put(page, body, MARGIN, top - GAP) - GAP, floor)
    return page.figure


def _coupon_title(repair: Repair, step: str, field: str) -> str:
    return f"{repair.name}: {step}, {repair.step(step).said(field)}"


def _pieces_table(sizes: Sequence[float], width: float) -> Block:
    outcome = (width - 72.0) / len(OUTCOMES)
    head = [
        _("notches"),
        _("size, mm"),
        _("measured, {unit}").format(unit=unit_word()),
        *(_(name, "outcome") for name in OUTCOMES),
    ]
    rows = [
        [str(index), on_the_piece(size), BLANK, *([BLANK] * len(OUTCOMES))]
        for index, size in enumerate(sizes, 1)
    ]
    widths = [16.0, 30.0, 26.0, *([outcome] * len(OUTCOMES))]
    notes = lines_to_write(_("set the size to"), width, 1)
    return section(_("How each piece went"), [table(head, rows, widths, 8.5), notes], width)
