"""Every part of the breadth list as a picture, on one sheet: ``python tests/part_sheet.py FILE``."""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

import numpy as np
from household import OTHERS
from matplotlib import get_data_path
from pairs import halves, leaves
from PIL import Image, ImageDraw, ImageFont

from workbench import Slide, Turn, build, mesh
from workbench.output.drawing.paper import INK, PAPER
from workbench.output.drawing.picture import picture
from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.meshes.mesh import Mesh

#: Of one picture and of the line below it, in pixels, and how many stand side by side.
CELL, LINE, ACROSS = (400, 300), 34, 8


def parts() -> dict:
    """The parts by name: those of the shelf, and those that show patterns and hands."""
    shelf = sorted(folders().templates.glob("*.ipynb"))
    named = {path.stem.replace("-", " "): read_template(path) for path in shelf}
    return named | {name: ours() for name, (ours, _theirs) in OTHERS.items()}


def pairs() -> dict:
    """Two parts that were judged against each other, as they go together, each as one mesh."""
    (box, lid, shut), (ends, knuckle) = halves(), leaves()
    lid_in, swung = Slide("left", 25), Turn("y", 110)
    moved = (
        lid_in.before(mesh(build(lid))[0] - (shut.x, shut.y, shut.z), 1.0),
        mesh(build(lid))[1],
    )
    turned = (swung.before(mesh(build(knuckle))[0], 1.0), mesh(build(knuckle))[1])
    return {
        "a lid going into its box": together(mesh(build(box)), moved),
        "the hinge, half folded": together(mesh(build(ends)), turned),
    }


def together(one: Mesh, other: Mesh) -> Mesh:
    """Two meshes as one."""
    corners = np.concatenate([one[0], other[0]])
    return corners, np.concatenate([one[1], other[1] + len(one[0])])


def sheet(named: dict) -> Image.Image:
    """The pictures in rows, each with its name below it."""
    wide, tall = CELL[0], CELL[1] + LINE
    rows = -(-len(named) // ACROSS)
    page = Image.new("RGB", (wide * ACROSS, tall * rows), PAPER)
    draw = ImageDraw.Draw(page)
    font = ImageFont.truetype(Path(get_data_path()) / "fonts/ttf/DejaVuSans.ttf", 20)
    for number, (name, repair) in enumerate(named.items()):
        x, y = number % ACROSS * wide, number // ACROSS * tall
        page.paste(Image.open(BytesIO(picture(repair, CELL))), (x, y))
        draw.text((x + wide / 2, y + CELL[1] + LINE / 2), name, INK, font, anchor="mm")
    return page


if __name__ == "__main__":
    sheet(parts() | pairs()).save(sys.argv[1] if sys.argv[1:] else "parts.png")
