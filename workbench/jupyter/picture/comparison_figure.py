"""The broken part laid over the outline of what is to be made, as a figure in SVG."""

from __future__ import annotations

import numpy as np
import shapely

from workbench.jupyter.picture.svg_figure import Frame, bounds_of
from workbench.measure.outlines.compare import Difference
from workbench.measure.outlines.outline import Outline
from workbench.words import _, area_with_unit, sizes_with_unit, with_unit


def comparison(outline: Outline, found: Difference) -> str:
    """Both outlines, what only one of them has, and where they are furthest apart."""
    mine, was = outline.polygon, found.laid
    rings = [np.array(shape.exterior.coords)[:-1] for shape in (mine, was)]
    frame = Frame.round(bounds_of(*rings), 330, 300, margin=24)
    shapes = [f'<path d="{frame.ring(rings[0])}" class="wb-solved"/>']
    shapes += _areas(frame, was.difference(mine), "wb-missing")
    shapes += _areas(frame, mine.difference(was), "wb-extra")
    shapes.append(f'<path d="{frame.ring(rings[1])}" class="wb-was"/>')
    x, y = frame.on_paper(found.where)[0]
    shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7" class="wb-free"/>')
    return frame.drawn(shapes, in_words(found), _key())


def in_words(found: Difference) -> str:
    """What differs, in a sentence."""
    return _(
        "Only the old part has {missing}, only the new one {extra}; at most {gap} apart, at {place}."
    ).format(
        missing=area_with_unit(found.missing),
        extra=area_with_unit(found.extra),
        gap=with_unit(found.gap),
        place=sizes_with_unit(found.where, 1),
    )


def _key() -> str:
    return _("Dashed: the old part. Filled: the new one. The ring is where they differ most.")


def _areas(frame: Frame, area: shapely.Geometry, kind: str) -> list[str]:
    """Each piece of an area, holes left open."""
    pieces = [piece for piece in getattr(area, "geoms", [area]) if piece.geom_type == "Polygon"]
    found = []
    for piece in pieces:
        rings = [piece.exterior, *piece.interiors]
        paths = " ".join(frame.ring(np.array(ring.coords)[:-1]) for ring in rings if ring.length)
        found.append(f'<path d="{paths}" class="{kind}"/>')
    return found
