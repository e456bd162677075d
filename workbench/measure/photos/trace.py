"""An outline from a flatbed scan, or from a photo on the photo sheet or beside a card."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.measure.photos import (
    broken_edge,
    image_file,
    narrow_walls,
    pale_breaks,
    pale_sides,
    rectify,
    segment,
)
from workbench.measure.photos import edges as straight_and_round
from workbench.measure.photos import lens as lenses
from workbench.measure.photos import trace_budget as budget
from workbench.measure.photos import trace_checks as checks
from workbench.measure.photos.camera import (
    BROKEN,
    BROKEN_DOUBT,
    CARD_THICKNESS,
    MEETING,
    MOST_BROKEN,
    ROLLED,
    SHARP,
    SHEET,
    Camera,
    Thickness,
    bored,
    camera_of,
    stood_up,
)
from workbench.measure.photos.edges import Arc, Edge, Grain, Line
from workbench.measure.photos.print_stretch import fit_drawn_out
from workbench.measure.photos.rectify import View
from workbench.measure.photos.sheet_marks import BAR, MARKER, Target
from workbench.measure.photos.straightened import Straightened
from workbench.measure.photos.trace_result import BAR_SCALE, SCALE, Hole, Side, Traced
from workbench.measure.reading import Reading
from workbench.words import _, number, with_unit

#: What tells the size of things in the picture.
REFERENCES = ("sheet", "card", "scan")

#: Finest and coarsest grid that a part is traced on, in pixels per mm.
FINEST, COARSEST = 14.0, 2.0

#: Softest edge, as standard deviation in pixels, whose place is found well.
SOFT = 2.2

#: Smallest part, and smallest hole, that is traced, in mm².
LEAST_PART, LEAST_HOLE = 20.0, 3.0

#: An opening that differs from the paper by more than this, in natural logarithms of light, may be
#: a print; unless the camera leaned so far that both rims of a hole lie apart by so many mm.
UNLIKE_PAPER, RIMS_APART = 0.3, 0.3

#: How sure the place of a whole edge is, standard: shares of the edge's blur (sensors, JPEG and halos
#: leave a blurred step open by a twentieth either way; the twentieth is common practice, no source), of
#: the blur times the light's lean beside the edge (a shadow that fades outwards draws the edge by up to
#: that), both rectangular widths (JCGM 100:2008, 4.3.7), and of the marks' misfit.
EDGE_SHARE, LEAN_SHARE, MARK_SHARE = 0.05 / math.sqrt(3), 1.9 / math.sqrt(3), 0.08

#: Slope at which the marks are looked at: several pixels over a side. Any would do.
ASLANT = 0.1

#: Thickest part that is traced from a photo, in mm: what is thicker hides its own outline.
THICKEST = 40.0

#: What not knowing how far edges are broken leaves open of a side, in mm, without a word about it.
OPEN_EDGE = 0.2

#: How far off what is told of an edge may be, in mm: half of the tenth that it is told to.
TOLD = 0.05

#: A print's scale off by less than this is put right without a word: the note's percents would say 100.
WORTH_A_WORD = 0.0005

#: An edge seen less far out than this share of the part's thickness needs no word about it.
NO_LEAN = 0.02

Progress = Callable[[float, str], None]


@gate.asked
def trace(
    image: Any,
    reference: str | None = None,
    dpi: float | None = None,
    bar: float | None = None,
    progress: Progress | None = None,
    thickness: Any = None,
    edge: float | None = None,
    lens: Any = None,
) -> Traced:
    """Trace the outline of a part that lies flat.

    Parameters
    ----------
    image : a path, a file's bytes, or an array (h, w), (h, w, 3) or (h, w, 4)
    reference : what tells the size: "sheet" (the printed photo sheet), "card" (an
        ISO/IEC 7810 ID-1 card beside the part) or "scan" (a flatbed scan); "scan" where
        ``dpi`` is given and "sheet" otherwise, unless named
    dpi : of a scan, in dots per inch; the file's own where it states one
    bar : length of the sheet's printed 100 mm bar as the calipers read it, in mm; the printed
        sheet's scale is put right by it
    progress : called with a share from 0 to 1 and a word or two
    thickness : of the part, as a number in mm, text or a Reading: a camera that leans sees the
        upper edge of a thick part too far out, which is put right by it. A scanner does not
    edge : by how much the part's edges are broken, rounded or chamfered, in mm; 0 where they are
        sharp. Where nothing is said it is looked for in the photo, and sides are less sure
    lens : of the camera, as :func:`workbench.measure.photos.lens.lens_of` learns it, or its file; where
        none is given, the kept one of the camera that the file names, if there is one

    Raises
    ------
    RepairError
        In words, when the image cannot be read, too few markers or no card can be seen, or the
        part is off the sheet, too blurred or does not stand out.
    """
    tell = progress or (lambda _share, _text: None)
    kind = reference or ("scan" if dpi is not None else "sheet")
    _refuse_odd(kind, dpi, bar, lens, edge, progress)
    depth = None if thickness is None else _depth(thickness, kind, edge)
    tell(0.0, _("reading the image"))
    loaded = image_file.load(image)
    pixels, focal = loaded.pixels, loaded.focal
    tell(0.2, _("finding the reference"))
    view, room, notes = _reference(kind, loaded, dpi or loaded.dpi, bar, lens)
    tell(0.4, _("finding the part"))
    middle = np.array(room).reshape(2, 2).mean(axis=0)
    per_mm = min(FINEST, max(COARSEST, view.scale(middle)))
    seen = _seen_part(pixels, view, room, per_mm, kind)
    if seen.sharp.spread > SOFT and per_mm > COARSEST:
        # A soft edge is as sharp as it gets on a coarser grid, and its place is found better.
        per_mm = max(COARSEST, per_mm / seen.sharp.spread)
        seen = _seen_part(pixels, view, room, per_mm, kind)
    sharp = seen.sharp
    tell(0.7, _("finding the edges"))
    if sharp.spread / per_mm > segment.WIDEST_EDGE:
        raise RepairError(
            _(
                "the part's edge is {blur} wide in the picture, too blurred to measure; take it "
                "again, in focus and without moving"
            ).format(blur=with_unit(2 * sharp.spread / per_mm, 1))
        )
    grain = _grain(view, middle, sharp, 1 / per_mm)
    points = _to_mm(sharp.points, room, per_mm)
    seen_edges = straight_and_round.edges_of(points, grain)
    picture = checks.picture_of(seen.light, sharp.points)
    notes += checks.compared(_polygon(seen_edges), points, picture)
    camera = None if kind == "scan" else camera_of(view, focal)
    marks = None if depth is None else _blur_of_marks(pixels, view, points, per_mm)
    above = Straightened(seen.light, (room[0], room[3]), 1 / per_mm, grain.spread, marks)
    seen_edges, depth, said, shaded = _on_the_plane(seen_edges, above, camera, depth, edge)
    found = seen_edges if camera is None or depth is None else stood_up(seen_edges, camera, depth)
    apart = 0.0 if shaded else above.apart
    tell(0.9, _("finding the holes"))
    told = kind == "sheet" and bar is not None
    sizes = budget.budget_of(
        seen_edges,
        found,
        view,
        focal,
        depth,
        beside_card=kind == "card",
        by_bar=told,
        apart=apart,
    )
    notes += [*said, *checks.odd_sides(found, sizes.uncertainty)]
    # A hole's rims may be sharp although nobody has said so: that is tried as well.
    depths = [depth]
    if depth is not None and edge is None:
        depths += [replace(depth, broken=0.0)]
    holes, said = _holes(seen, room, per_mm, grain, camera, depths)
    notes += said + _about_spots(segment.spots(seen.light, seen.mask, seen.border, per_mm))
    notes += _about_others(seen.borders, seen.border, per_mm)
    notes += _about_open(depth, edge, sizes.broken, 2 * apart, shaded)
    well = told and depth is not None
    scale = BAR_SCALE if well else budget.BESIDE_CARD if kind == "card" else SCALE
    tell(1.0, _("done"))
    try:
        return _traced(found, sizes, holes, points, notes, scale)
    except RepairError:
        raise checks.Unclear(
            _(
                "the sides found cross each other; light the part evenly, lay it on paper of another "
                "colour and take the photo from straight above"
            ),
            picture,
        ) from None


def _on_the_plane(
    seen: list[Edge],
    picture: Straightened,
    camera: Camera | None,
    depth: Thickness | None,
    edge: float | None,
) -> tuple[list[Edge], Thickness | None, list[str], bool]:
    """The edges as seen on the plane, the thickness with its break as seen, notes, and whether the
    break is of another shade than the top.

    edge : what is told of the break
    """
    if camera is None:
        return seen, depth, [], False
    if depth is None:
        seen, notes = pale_sides.at_the_sheet(seen, picture, camera, depth)
        return seen, depth, notes + _about_thickness(seen, camera), False
    sharp = SHARP if edge is None else 0.0
    shown = pale_breaks.at_the_top(seen, picture, camera, depth, sharp)
    if shown is not None:
        found, depth = shown
        if found is not seen:
            return found, depth, [], True
    placed, notes = pale_sides.at_the_sheet(seen, picture, camera, depth)
    if placed is seen:  # no side was taken for paper
        placed = narrow_walls.at_the_silhouette(seen, picture, camera, depth, sharp)
    seen = placed
    if edge is None and shown is None:
        depth = broken_edge.as_seen(seen, picture, camera, depth)
    return seen, depth, notes, False


def _reference(
    kind: str, picture: image_file.Photo, dpi: float | None, bar: float | None, lens: Any
) -> tuple[View, tuple[float, float, float, float], list[str]]:
    """The view, where to look for the part (left, bottom, right, top, in mm), and notes."""
    pixels = picture.pixels
    if kind == "scan":
        dpi = _refuse_resolution(dpi)
        height, width = (n / dpi * 25.4 for n in pixels.shape[:2])
        return rectify.view_of_scan(dpi, pixels.shape), (0.0, 0.0, width, height), []
    if kind == "card":
        from workbench.measure.photos.card import view_and_room

        return (*view_and_room(pixels), [_beside_card()])
    import cv2

    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    sheet, places, seen = rectify.seen_marks(grey, pixels)
    known = lenses.given_or_kept(lens, picture)
    learnt = None if known is None else known.of(picture)
    view, drawn_out = fit_drawn_out(places, seen, grey.shape, picture.focal, learnt)
    notes = []
    if known is not None and known.is_unlike(view, picture):
        view, drawn_out = fit_drawn_out(places, seen, grey.shape, picture.focal)
        notes = [_about_lens(known.camera)]
    rectify.refuse_curled(view, sheet)
    if drawn_out:
        notes.append(_about_stretch(drawn_out))
    view, room, about = _scaled_by_bar(view, sheet, bar)
    return view, room, notes + about


def _refuse_odd(kind: Any, dpi: Any, bar: Any, lens: Any, edge: Any, progress: Any) -> None:
    """RepairError where one of them is of another kind, before the picture is looked at."""
    gate.choice("reference", kind, REFERENCES)
    if dpi is not None:
        _refuse_resolution(dpi)
    if bar is not None:
        _refuse_bar(bar)
    if lens is not None:
        gate.needed(lens, (lenses.Lens, str, Path), "lens", "camera.json")
    if edge:
        gate.positive("edge", edge)
    if progress is not None:
        gate.needed(progress, Callable, "progress", "print")  # type: ignore[arg-type]


def _refuse_resolution(dpi: Any) -> float:
    if isinstance(dpi, (int, float)) and 50 <= dpi <= 4800:
        return dpi
    raise RepairError(
        _("dpi is {dpi}; give the scan's resolution, 50 to 4800 dots per inch").format(
            dpi=gate.short(dpi)
        )
    )


def _refuse_bar(bar: Any) -> None:
    number_given = isinstance(bar, (int, float)) and math.isfinite(bar)
    if not number_given or not 0.8 <= bar / BAR <= 1.2:
        raise RepairError(
            _("bar is {bar}; measure the printed bar again, it should be near {length}").format(
                bar=with_unit(bar) if number_given else repr(gate.short(bar)),
                length=with_unit(BAR),
            )
        )


def _about_stretch(share: float) -> str:
    return _(
        "the sheet is printed {percent} % too long for its width; sizes are corrected for that"
    ).format(percent=number(100 * share, 1))


def _about_lens(camera: str) -> str:
    return _(
        "the photo does not match the calibration of the camera {camera}, which was left out; "
        "calibrate it again with workbench camera"
    ).format(camera=camera)


def _beside_card() -> str:
    return _(
        "a card gives shapes and ratios, not sizes: measure two sides with calipers to bring the "
        "shape to size, or take the photo on the photo sheet"
    )


def _about_bar() -> str:
    return _(
        "the sheet's bar was not measured: sizes are only as right as the print; read the bar "
        "with calipers and type it in"
    )


def _scaled_by_bar(
    view: View, sheet: Target, bar: float | None
) -> tuple[View, tuple[float, float, float, float], list[str]]:
    if bar is None:
        return view, sheet.room, [_about_bar()]
    share = bar / BAR
    notes = []
    if abs(share - 1) >= WORTH_A_WORD:
        told = _("the sheet was printed at {percent} %; every size is corrected for that")
        notes = [told.format(percent=number(100 * share, 1))]
    left, bottom, right, top = (edge * share for edge in sheet.room)
    return view.printed(share), (left, bottom, right, top), notes


@dataclass(frozen=True, eq=False)
class _Seen:
    """The part in the straightened picture: its light, mask, borders, its own and the sharp one."""

    light: np.ndarray
    mask: np.ndarray
    borders: list[np.ndarray]
    border: np.ndarray
    sharp: segment.Border


def _seen_part(
    pixels: np.ndarray,
    view: View,
    room: tuple[float, float, float, float],
    per_mm: float,
    kind: str,
) -> _Seen:
    light = _straightened(pixels, view, room, per_mm)
    mask, borders, _level = segment.regions(light, LEAST_PART * per_mm**2, alone=kind == "sheet")
    border = _whole_part(borders, light.shape, kind)
    return _Seen(light, mask, borders, border, segment.sharpen(light, border))


def _straightened(
    pixels: np.ndarray, view: View, room: tuple[float, float, float, float], per_mm: float
) -> np.ndarray:
    """The room seen from straight above: (h, w, 3) linear light, ``per_mm`` pixels to the mm."""
    import cv2

    left, bottom, right, top = room
    columns, rows = int((right - left) * per_mm), int((top - bottom) * per_mm)
    light = np.empty((rows, columns, 3), dtype=np.float32)
    x = left + (np.arange(columns) + 0.5) / per_mm
    band = max(1, 300_000 // columns)
    for start in range(0, rows, band):  # in bands, to keep memory small
        y = top - (np.arange(start, min(rows, start + band)) + 0.5) / per_mm
        grid = np.stack(np.meshgrid(x, y), axis=2).reshape(-1, 2)
        seen = view.pixels(grid).astype(np.float32).reshape(len(y), columns, 2)
        low = np.maximum(np.floor([axis.min() for axis in seen.T]).astype(int) - 3, 0)
        high = np.ceil([axis.max() for axis in seen.T]).astype(int) + 4
        seen -= low.astype(np.float32)
        part = pixels[low[1] : max(high[1], low[1] + 1), low[0] : max(high[0], low[0] + 1)]
        if not part.size:
            light[start : start + len(y)] = 0
            continue
        light[start : start + len(y)] = cv2.remap(
            image_file.linear_light(part),
            seen[:, :, 0],
            seen[:, :, 1],
            cv2.INTER_CUBIC,
            borderMode=cv2.BORDER_REPLICATE,
        )
    return light


def _blur_of_marks(
    pixels: np.ndarray, view: View, points: np.ndarray, per_mm: float
) -> tuple[float, float] | None:
    """The blur of the sheet's marks about a part's border (n, 2), as :class:`Straightened` has it.

    They are looked at as the part was. Lens and lean make the picture softer on one side than on the
    other, so it is that of the middle of a plane through them, and how far they are from it.
    """
    narrow = MARKER / 6  # a marker's black rim
    if view.pose is None or view.known is None or narrow * per_mm < segment.REACH:
        return None
    blurs = []
    corners = view.known.reshape(-1, 4, 2)
    if len(corners) < 6:  # twice what a plane takes
        return None
    # Along a side of a mark, as of a part that lies anyhow, all places within a pixel are to come up.
    across, up = np.array([(1.0, -ASLANT), (ASLANT, 1.0)]) / math.hypot(1.0, ASLANT)
    slanting = np.array([(*across, 0.0), (*up, 0.0), (0.0, 0.0, 1.0)])
    aslant = replace(view, homography=view.homography @ slanting)
    for mark in corners @ slanting[:2, :2]:
        (left, bottom), (right, top) = mark.min(axis=0) - narrow, mark.max(axis=0) + narrow
        light = _straightened(pixels, aslant, (left, bottom, right, top), per_mm)
        ring = (mark - (left, top)) * (per_mm, -per_mm) - 0.5
        blurs.append(segment.sharpen(light, ring).spread / per_mm)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    system = np.column_stack([np.ones(len(blurs)), corners.mean(axis=1) - middle])
    plane, *_rest = np.linalg.lstsq(system, np.array(blurs), rcond=None)
    off = system @ plane - blurs
    return float(plane[0]), math.sqrt(float(off @ off) / (len(blurs) - len(plane)))


def _whole_part(borders: list[np.ndarray], shape: tuple[int, ...], kind: str) -> np.ndarray:
    """The largest region, or RepairError where it runs off the picture."""
    largest = borders[0]
    low, high = largest.min(axis=0), largest.max(axis=0)
    if (low <= 1).any() or (high >= np.array(shape[1::-1]) - 2).any():
        where = {
            "sheet": _("the part reaches beyond the room on the sheet; lay it between the markers"),
            "card": _("the part reaches beyond the picture; take the photo from further away"),
            "scan": _("the part reaches the edge of the scan; lay it away from the glass's edge"),
        }
        raise RepairError(where[kind])
    return largest


def _about_others(borders: list[np.ndarray], part: np.ndarray, per_mm: float) -> list[str]:
    import cv2

    others = [cv2.contourArea(b) / per_mm**2 for b in borders if b is not part]
    if others and max(others) > 0.2 * cv2.contourArea(part) / per_mm**2:
        return [_("there is a second thing in the picture; the larger one was traced")]
    return []


def _to_mm(
    points: np.ndarray, room: tuple[float, float, float, float], per_mm: float
) -> np.ndarray:
    """(n, 2) mm for column and row of the straightened picture."""
    return np.column_stack(
        [room[0] + (points[:, 0] + 0.5) / per_mm, room[3] - (points[:, 1] + 0.5) / per_mm]
    )


def _grain(view: View, middle: np.ndarray, sharp: segment.Border, pixel: float) -> Grain:
    spread = sharp.spread * pixel
    shift = math.hypot(
        EDGE_SHARE * spread,
        LEAN_SHARE * sharp.lean * spread,
        MARK_SHARE * view.misfit / view.scale(middle),
    )
    return Grain(shift, 3 * pixel + spread, spread)


def _depth(thickness: Any, kind: str, edge: float | None) -> Thickness | None:
    """How far the part reaches above and below the plane of known size; None on a scan."""
    reading = thickness if isinstance(thickness, Reading) else Reading(thickness)
    if not 0 < reading.value <= THICKEST:
        raise RepairError(
            _("thickness is {value}; give more than 0 and no more than {most}").format(
                value=with_unit(reading.value), most=with_unit(THICKEST)
            )
        )
    if kind == "scan":
        return None
    below = CARD_THICKNESS if kind == "card" else 0.0
    upper, lower, doubt = reading.value - below, -below, reading.uncertainty
    if edge is None:
        share = ROLLED if reading.value < SHEET else MEETING
        less = min(1.0, share * reading.value / MOST_BROKEN)
        return Thickness(upper, lower, doubt, less * BROKEN, less * BROKEN_DOUBT)
    if not (isinstance(edge, (int, float)) and 0 <= edge <= reading.value / 2):
        raise RepairError(
            _("edge is {value} mm; give 0 mm to half of the thickness").format(value=edge)
        )
    # An edge is told to a tenth of a mm, and broken as evenly as to a tenth of that, both rectangular
    # widths (JCGM 100:2008, 4.3.7); a sharp one by up to as much (ISO 13715, from memory), most likely
    # by nothing, a triangular one (4.3.9).
    told = math.hypot(TOLD, 0.1 * edge) / math.sqrt(3) if edge else TOLD / math.sqrt(6)
    return Thickness(upper, lower, doubt, float(edge), told)


def _about_thickness(found: list[Edge], camera: Camera) -> list[str]:
    """What a thickness that was not told may do."""
    spots = np.array([edge.middle if isinstance(edge, Line) else edge.centre for edge in found])
    lean = float(np.hypot(*(spots - camera.foot).T).max()) / camera.height
    if lean < NO_LEAN:
        return []
    return [
        _(
            "no thickness was given: for each mm of it, an upper edge looks up to {lean} too far "
            "out; give the thickness, or bring the sides to size with caliper readings"
        ).format(lean=with_unit(lean, 2))
    ]


def _about_edge(broken: float, off: float) -> str:
    return _(
        "edges were taken to be rounded by {usual}, so sides may be off by up to {off}: say how "
        "far they are rounded (0 if sharp), or read one side with calipers"
    ).format(usual=with_unit(broken, 1), off=with_unit(off, 1))


def _about_shade(broken: float, off: float) -> str:
    return _(
        "the edges look rounded by {broken} and are of another shade than the top, so sides may be "
        "off by up to {off}: read one side with calipers"
    ).format(broken=with_unit(broken, 1), off=with_unit(off, 2))


def _about_open(
    depth: Thickness | None, told: float | None, by_break: float, by_blur: float, shaded: bool
) -> list[str]:
    """What is not known of the edges, and may move a side by so many mm."""
    broken = depth.broken if depth else 0.0
    said = [_about_shade(broken, by_break)] if shaded else []
    if not shaded and told is None and by_break > OPEN_EDGE:
        said = [_about_edge(broken, by_break)]
    return said + ([_about_softness(by_blur)] if by_blur > OPEN_EDGE else [])


def _about_softness(off: float) -> str:
    return _(
        "the part's edges are softer than the sheet's marks, as rounded edges of another shade are, "
        "so sides may be off by up to {off}: read one side with calipers"
    ).format(off=with_unit(off, 1))


def _holes(
    seen: _Seen,
    room: tuple[float, float, float, float],
    per_mm: float,
    grain: Grain,
    camera: Camera | None,
    depths: list[Thickness | None],
) -> tuple[list[Hole], list[str]]:
    """The round holes, each as the first of ``depths`` explains it, and a note on other openings."""
    rings = segment.holes(seen.mask, seen.border, LEAST_HOLE * per_mm**2)
    holes, said = [], []
    for ring in rings:
        opening = _to_mm(segment.sharpen(seen.light, ring).points, room, per_mm)
        tried = (_hole(opening, grain, camera, each) for each in depths)
        hole = next((one for one in tried if one is not None), None)
        if hole is None:
            continue
        holes.append(hole)
        unlike = segment.unlike_ground(seen.light, seen.mask, seen.border, ring)
        if unlike > UNLIKE_PAPER and _rims_apart(hole, camera, depths[0]) < RIMS_APART:
            said = [_about_print()]
    if len(holes) == len(rings):
        return holes, said
    others = len(rings) - len(holes)
    if others == 1:
        return holes, [*said, _("One opening is not a round hole; measure it")]
    told = _("{count} openings are not round holes; measure them")
    return holes, [*said, told.format(count=others)]


def _rims_apart(hole: Hole, camera: Camera | None, depth: Thickness | None) -> float:
    """How far apart the camera saw a hole's two rims, in mm: what is printed has one only."""
    if camera is None or depth is None:
        return 0.0
    lean = math.dist((hole.x, hole.y), camera.foot) / camera.height
    return float(lean * (depth.upper - depth.lower))


def _about_print() -> str:
    return _(
        "something round, not as bright as the paper, was taken for a hole; if it is a print or "
        "a stain on the part, leave the hole out"
    )


def _about_spots(count: int) -> list[str]:
    if not count:
        return []
    if count == 1:
        return [
            _(
                "a spot on the part was taken for a print or a stain and left out; if it is a "
                "hole in shadow, measure it"
            )
        ]
    return [
        _(
            "{count} spots on the part were taken for prints or stains and left out; measure "
            "those that are holes in shadow"
        ).format(count=count)
    ]


def _round_hole(ring: np.ndarray, grain: Grain) -> Arc | None:
    found = straight_and_round.edges_of(ring, grain) if len(ring) >= 12 else []
    return found[0] if len(found) == 1 and isinstance(found[0], Arc) else None


def _hole(
    ring: np.ndarray, grain: Grain, camera: Camera | None, depth: Thickness | None
) -> Hole | None:
    if len(ring) < 12:
        return None
    if camera is not None and depth is not None:
        found = bored(ring, camera, depth, grain)
        if found is None:
            return None
        (x, y), across, doubt = found
        return Hole(float(x), float(y), across, doubt)
    arc = _round_hole(ring, grain)
    if arc is None:
        return None
    x, y = (float(value) for value in arc.centre)
    return Hole(x, y, 2 * arc.radius, 2 * math.sqrt(arc.covariance[2, 2]))


def _traced(
    found: list[Edge],
    sizes: budget.Budget,
    holes: list[Hole],
    points: np.ndarray,
    notes: list[str],
    scale: float,
) -> Traced:
    corners = _corners(found)
    outline = Outline(_drawn(found, corners))
    low = outline.box[0]
    return Traced(
        outline=outline.moved(*-low),
        corners=corners - low,
        sides=tuple(
            _side(edge, float(length), float(u))
            for edge, length, u in zip(found, sizes.lengths, sizes.uncertainty, strict=True)
        ),
        holes=tuple(
            Hole(float(h.x - low[0]), float(h.y - low[1]), h.diameter, h.uncertainty) for h in holes
        ),
        border=points - low,
        notes=tuple(notes),
        own=sizes.own,
        ways=tuple(sizes.ways),
        scale=scale,
    )


def _side(edge: Edge, length: float, uncertainty: float) -> Side:
    if isinstance(edge, Line):
        return Side("straight", length, uncertainty)
    return Side("arc", length, uncertainty, edge.radius)


def _polygon(found: list[Edge]) -> np.ndarray:
    """(n, 2) the outline of the edges, arcs as chords."""
    try:
        return Outline(_drawn(found, _corners(found))).chords()
    except RepairError:
        return _corners(found)


def _corners(found: list[Edge]) -> np.ndarray:
    only = found[0]
    if len(found) == 1 and isinstance(only, Arc):
        return (only.centre + np.array([only.radius, 0.0]))[None, :]
    return straight_and_round.corners_of(found)


def _drawn(found: list[Edge], corners: np.ndarray) -> list[tuple[float, ...]]:
    """The corners with what leads on from each, as an outline takes them."""
    only = found[0]
    if len(found) == 1 and isinstance(only, Arc):
        (x, y), radius = corners[0], only.radius
        return [(x, y, 0.0, radius), (x - 2 * radius, y, 0.0, radius)]
    drawn = []
    for edge, a, b in zip(found, np.roll(corners, 1, axis=0), corners, strict=True):
        through: tuple[float, ...] = ()
        if isinstance(edge, Arc):
            sweep = straight_and_round.arc_sweep(edge, a, b)
            middle = math.atan2(*(a - edge.centre)[::-1]) + sweep / 2
            spoke = edge.radius * np.array([math.cos(middle), math.sin(middle)])
            through = (0.0, *(edge.centre + spoke))
        drawn.append((*a, *through))
    return [*drawn[1:], drawn[0]]
