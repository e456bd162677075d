"""What a cut leaves beside it: the least wall to any other face, and a side that it opens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench.checks.cautions.sharp import edges
from workbench.checks.fix import Fix
from workbench.checks.fix_search import moving, passing, resizing
from workbench.checks.inside import inside
from workbench.checks.orientation.side_names import SIDES
from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.checks.together import towards
from workbench.checks.walls import narrowest, thinnest, thinnest_at
from workbench.solids.building.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.geometry.connected_components import linked
from workbench.solids.motion import WAYS
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step
from workbench.words import _, setting, with_unit

#: Lines of the nozzle's width that a wall wants. Common practice, no source.
LINES = 2

#: Triangles that meet at less than this off flat are of one face, in degrees. Our choice.
_SMOOTH = 31.0

#: Less than this is flat, in degrees. Our choice.
_FLAT = 0.1

#: Two directions nearer than this are one, as a cosine (20 degrees); a round has more of them.
#: Our choice.
_LIKE, _ROUND = 0.94, 8

#: Faces square to an axis look along it by less than this, as a cosine. Our choice.
_SQUARE = 0.35

#: A passage that opens more sides than this is meant to, as between lugs. Our choice.
_MEANT = 3

#: Rays start no farther apart than this, in mm, and at most so many along a triangle's side.
#: Our choice.
_APART, _MOST = 1.0, 12

#: Just off a face, in mm; and what a wall is short by before it counts, as a part of a line.
#: Our choice.
_JUST, _SHORT = 1e-3, 0.05

#: So far off a round wall is beyond the chords of another mesh of it, in mm. Our choice.
_CHORD = 0.05

#: A wall that was found already may differ by this, in mm. Our choice.
_SAME = 0.15

_STILL = np.zeros(3)


@dataclass(frozen=True)
class _Surface:
    """A mesh's triangles: corners (m, 3, 3), middles (m, 3), outward normals (m, 3), faces (m,)
    that they belong to, the pairs of faces that meet at an edge, and the faces that curve
    inward, as the wall of a bore does."""

    corners: np.ndarray
    middles: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    meeting: frozenset[tuple[int, int]]
    hollow: np.ndarray


def thin_places(subject: Subject) -> Iterator[Finding]:
    """Thin walls and narrow gaps, and what each cut leaves beside it: a wall is told once.

    Where one edit of the wall does for several cuts beside it, the wall is told, else the cuts are.
    """
    beside = list(cut_edges(subject))
    for found in thinnest(subject):
        alike = [cut for cut in beside if _as_thin(found, cut)]
        points = thinnest_at(subject) if alike else np.empty((0, 3))
        names = {cut.where for cut in alike if _is_near(subject, found, cut, points)}
        left = set[str]()

        def settled(after: Subject, names: set[str] = names, left: set[str] = left) -> bool:
            left |= {cut.where for cut in cut_edges(after) if cut.rule == "thin edge"}
            return left.isdisjoint(names)

        if not names:
            yield found
        elif _exact(found, alike) and found.fix and passing(subject, found.fix, settled):
            yield found
            beside = [cut for cut in beside if cut not in alike or cut.where in left]
    yield from beside


def _as_thin(found: Finding, cut: Finding) -> bool:
    """Whether a thin wall may be one that a cut leaves beside it: sections may miss its least."""
    wall, beside = found.number or 0.0, cut.number or 0.0
    return (found.rule, cut.rule) == ("thinnest wall", "thin edge") and beside < wall + _SAME


def _exact(found: Finding, alike: list[Finding]) -> bool:
    """Whether the wall of several cuts is as thin as a section shows it."""
    return len(alike) > 1 and all(
        (found.number or 0.0) - (cut.number or 0.0) < _SAME for cut in alike
    )


def _is_near(subject: Subject, found: Finding, cut: Finding, points: np.ndarray) -> bool:
    """Whether one of the (n, 3) points of a thin wall is beside a cut."""
    tool, reach = subject.part_mesh(cut.where)[0], (found.number or 0.0) + _SAME
    low, high = tool.min(axis=0) - reach, tool.max(axis=0) + reach
    return bool(((points > low) & (points < high)).all(axis=1).any())


def cut_edges(subject: Subject) -> Iterator[Finding]:
    """For each cut whether it stays clear of every other face, and closed at its sides."""
    cuts = [step for step in subject.repair.steps if step.cuts]
    if not cuts:
        return
    surface = _surface(*subject.mesh)
    told: list[tuple[str, np.ndarray, float]] = []
    for step in cuts:
        own = _walls(subject, step, surface)
        if len(own):
            yield from _thin(subject, step, surface, own, told)
            yield from _opened(subject, step, surface, own)


def _walls(subject: Subject, step: Step, surface: _Surface) -> np.ndarray:
    """The triangles of the part (k,) that a cut left."""
    tool = subject.part_mesh(step.name)
    return np.flatnonzero(_inside(tool, surface.middles + _JUST * surface.normals))


def bores(subject: Subject) -> Iterator[Finding]:
    """A hole that a template makes, too near to another face: what no section across shows."""
    limit = LINES * subject.printer.nozzle
    near, place = _beside_bores(subject, limit)
    if _wide(subject, near) or narrowest(subject) < near + _SAME:
        return

    def passes(after: Subject) -> bool:
        return _beside_bores(after, limit)[0] > limit - 2 * _JUST

    name, by = _holding(subject, place), limit - near
    yield _told(subject, name, near, resizing(subject, name, (by, 2 * by, -2 * by), passes))


def _beside_bores(subject: Subject, limit: float) -> tuple[float, np.ndarray]:
    """The least wall in mm beside a round hollow that no cut makes, and (3,) the middle of it."""
    surface = _surface(*subject.mesh)
    if not len(surface.hollow):
        return np.inf, np.zeros(3)
    own = np.isin(surface.faces, surface.hollow)
    for step in subject.repair.steps:
        if step.cuts and own.any():
            outside = surface.middles + _JUST * surface.normals
            own &= ~_inside(subject.part_mesh(step.name), outside)
    # Its walls run straight through: a ray from the middle of each strip finds what is beside it.
    near, way, start = _least_wall(surface, np.flatnonzero(own), limit, finely=False)
    return near, start - way * min(near, limit) / 2


def _holding(subject: Subject, point: np.ndarray) -> str:
    """The step that a point lies in."""
    for step in subject.repair.steps:
        if not step.cuts and _inside(subject.part_mesh(step.name), point[None])[0]:
            return step.name
    return subject.repair.name


def _thin(
    subject: Subject,
    step: Step,
    surface: _Surface,
    own: np.ndarray,
    told: list[tuple[str, np.ndarray, float]],
) -> Iterator[Finding]:
    """A wall between the cut and a face that does not meet it, thinner than two lines.

    told : for each wall that was told its cut, (1, 3) a point just beyond it, and how thick it is
    """
    limit = LINES * subject.printer.nozzle
    near, way, place = _least_wall(surface, own, limit)
    if _wide(subject, near):
        return
    beyond = (place - (near + 2 * _JUST) * way)[None]
    if any(
        abs(near - wall) < _SAME
        and _inside(subject.part_mesh(other), beyond)[0]
        and _inside(subject.part_mesh(step.name), point)[0]
        for other, point, wall in told
    ):
        return
    told.append((step.name, beyond, near))

    def passes(after: Subject) -> bool:
        surface = _surface(*after.mesh)
        walls = _walls(after, after.repair.step(step.name), surface)
        return _wide(after, _least_wall(surface, walls, limit)[0])

    by = limit - near
    fix: Fix | None = moving(subject, step, by * way)
    if fix is None or not passing(subject, fix, passes):
        fix = resizing(subject, step.name, (-by, -2 * by), passes)
    yield _told(subject, step.name, near, fix, way)


def _wide(subject: Subject, wall: float) -> bool:
    """Whether a wall in mm is of two lines."""
    return wall >= (LINES - _SHORT) * subject.printer.nozzle


def _told(
    subject: Subject, step: str, near: float, fix: Fix | None, way: np.ndarray = _STILL
) -> Finding:
    """way : (3,) away from the wall, in which a cut that can be moved is to go"""
    nozzle = subject.printer.nozzle
    limit = LINES * nozzle
    text = (
        _("{step} leaves a wall of {wall} beside it: less than one line of {nozzle} mm.")
        if near < (1 - _SHORT) * nozzle
        else _("{step} leaves a wall of {wall} beside it; two lines of {nozzle} mm need {limit}.")
    )
    moves = fix is not None and "values" not in fix["steps"][step]
    side = next((to for to, axis in WAYS.items() if np.dot(axis, way) > _LIKE), None)
    move = _("Move it {by} {way}, or make it smaller.")
    away = _("away from that wall") if side is None else towards(side)
    return Finding(
        severity="stop" if near < (1 - _SHORT) * nozzle else "warning",
        rule="thin edge",
        where=step,
        text=text.format(
            step=step, wall=with_unit(near), nozzle=setting(nozzle), limit=with_unit(limit)
        ),
        number=near,
        limit=limit,
        unit="mm",
        remedy=move.format(by=with_unit(limit - near), way=away)
        if moves
        else _("Make the hole smaller, or the part larger there."),
        source=PRACTICE,
        fix=fix,
    )


def _least_wall(
    surface: _Surface, own: np.ndarray, limit: float, finely: bool = True
) -> tuple[float, np.ndarray, np.ndarray]:
    """The least way through the material from some faces to one that does not meet them, its
    direction from that face back, and (3,) where it starts."""
    found = (np.inf, np.zeros(3), np.zeros(3))
    lows, highs = surface.corners.min(axis=1), surface.corners.max(axis=1)
    for face in np.unique(surface.faces[own]).tolist():
        mine = own[surface.faces[own] == face]
        around = [face, *(other for one, other in surface.meeting if one == face)]
        low, high = lows[mine].min(axis=0) - limit, highs[mine].max(axis=0) + limit
        beside = ((highs >= low) & (lows <= high)).all(axis=1)
        near = np.flatnonzero(beside & ~np.isin(surface.faces, around))
        if not len(near):
            continue
        starts, of = _spread(surface.corners[mine]) if finely else _middles(surface, mine)
        ways = -surface.normals[mine[of]]
        begin, corners = starts + _JUST * ways, surface.corners[near]
        ray, other = _close(corners, begin, begin + limit * ways)
        gone = _gone(corners[other], surface.normals[near[other]], begin[ray], ways[ray])
        gone[gone >= limit] = np.inf
        if len(gone) and gone.min() + _JUST < found[0]:
            least = int(np.argmin(gone))
            found = float(gone[least]) + _JUST, -ways[ray[least]], starts[ray[least]]
    return found


def _middles(surface: _Surface, own: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return surface.middles[own], np.arange(len(own))


def _spread(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points (k, 3) inside triangles (m, 3, 3), :data:`_APART` or less along their longest side,
    and the triangle (k,) that each lies in. Long ones are those of round walls: slender."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    first = np.argmax(sides, axis=1)
    row = np.arange(len(corners))
    a, b, c = (corners[row, (first + turn) % 3] for turn in range(3))
    counts = np.clip(np.ceil(sides.max(axis=1) / _APART), 1, _MOST).astype(int)
    of = np.repeat(row, counts)
    step = np.arange(len(of)) - np.repeat(np.cumsum(counts) - counts, counts)
    along = ((step + 0.5) / counts[of])[:, None]
    middle = a[of] + along * (b - a)[of]
    return middle + (c[of] - middle) / 3, of


def _close(
    corners: np.ndarray, starts: np.ndarray, ends: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Indices of stretches (n, 3) and of triangles (m, 3, 3) whose boxes meet, pair by pair: every
    one with every other would take minutes for a thread."""
    import shapely

    lows, highs = corners.min(axis=1) - _JUST, corners.max(axis=1) + _JUST
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    tree = shapely.STRtree(shapely.box(lows[:, 0], lows[:, 1], highs[:, 0], highs[:, 1]))
    ray, triangle = tree.query(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    meet = (lows[triangle, 2] <= high[ray, 2]) & (highs[triangle, 2] >= low[ray, 2])
    return ray[meet], triangle[meet]


def _gone(
    corners: np.ndarray, normals: np.ndarray, starts: np.ndarray, ways: np.ndarray
) -> np.ndarray:
    """(n,) how far along each ray its triangle is, if it looks the ray's way; inf for no hit."""
    facing = (ways * normals).sum(axis=1)
    away = ((corners[:, 0] - starts) * normals).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        gone = np.where((facing > 1e-6) & (away > -_JUST), away / facing, np.inf)
    hits = np.flatnonzero(np.isfinite(gone))
    spots = starts[hits] + gone[hits, None] * ways[hits]
    outside = np.zeros(len(hits), dtype=bool)
    for corner in range(3):
        one, other = corners[hits, corner], corners[hits, (corner + 1) % 3]
        turn = np.cross(other - one, spots - one)
        outside |= (turn * normals[hits]).sum(axis=1) < -1e-9
    gone[hits[outside]] = np.inf
    return gone


def _opened(subject: Subject, step: Step, surface: _Surface, own: np.ndarray) -> Iterator[Finding]:
    """A side that the cut opens besides the way that it goes in and out."""
    sides, is_round = _sides(subject, step, surface, own)
    if not sides or len(sides) > _MEANT:
        return
    fix = _closed(subject, step, sides) if is_round else None
    yield Finding(
        severity="warning" if is_round else "note",
        rule="open edge",
        where=step.name,
        text=_("{step} opens a side of the part: {sides}.").format(
            step=step.name, sides=", ".join(_(side, "side") for side in sorted(sides))
        ),
        number=float(len(sides)),
        limit=0.0,
        unit=_("sides"),
        remedy=_("To keep the edge closed, move it inwards.")
        if fix
        else _("If it is meant to be open, leave it as it is."),
        source=PRACTICE,
        fix=fix,
    )


def _sides(
    subject: Subject, step: Step, surface: _Surface, own: np.ndarray
) -> tuple[set[str], bool]:
    """The sides that a cut opens, without the face that it is seated on, and whether it is round."""
    wanted = _distinct(_normals(*subject.part_mesh(step.name)))
    is_round = len(wanted) > _ROUND
    if is_round:
        ways = _beside_a_round(subject, step, surface, own, wanted)
    else:
        ways = _beside_a_box(subject, step, -surface.normals[own], wanted)
    sides = {max(SIDES, key=lambda name: float(np.dot(SIDES[name], way))) for way in ways}
    if isinstance(step.place, Seat):  # it was laid on that face to open it
        sides.discard(step.place.face)
    return sides, is_round


def _closed(subject: Subject, step: Step, sides: set[str]) -> Fix | None:
    """The fix that moves a hole in from a side that it opens, by two lines more than it needs."""
    vertices, tool = subject.mesh[0], subject.part_mesh(step.name)[0]
    by = np.zeros(3)
    for side in sides:
        way = np.array(SIDES[side], dtype=float)
        over = float((tool @ way).max() - (vertices @ way).max())
        by -= (over + LINES * subject.printer.nozzle) * way

    def passes(after: Subject) -> bool:
        hole, surface = after.repair.step(step.name), _surface(*after.mesh)
        own = _walls(after, hole, surface)
        wall = _least_wall(surface, own, LINES * after.printer.nozzle)[0]
        return _wide(after, wall) and not _sides(after, hole, surface, own)[0]

    fix = moving(subject, step, by)
    return fix if fix is not None and passing(subject, fix, passes) else None


def _beside_a_round(
    subject: Subject, step: Step, surface: _Surface, own: np.ndarray, wanted: np.ndarray
) -> list[np.ndarray]:
    """Which way the faces look that a round's wall meets square to its axis; its own faces, as of
    a thread, and those of a cut that it opens into are no side of the part."""
    known = facts_of(step.template).axial  # most of a thread looks along its axis
    axis = (
        frame(subject.repair, step.name)[:3, 2]
        if known
        else np.linalg.eigh(wanted.T @ wanted)[1][:, 0]
    )
    lateral = np.abs(surface.normals[own] @ axis) < _SQUARE
    walls = set(surface.faces[own[lateral]].tolist())
    met = {face for wall, face in surface.meeting if wall in walls}
    tool = subject.part_mesh(step.name)
    low, high = tool[0].min(axis=0) - _CHORD, tool[0].max(axis=0) + _CHORD
    found = []
    for face in sorted(met - set(surface.faces[own].tolist())):
        mine = surface.faces == face
        corners = surface.corners[mine]
        if not ((corners > low) & (corners < high)).all(axis=2).any():
            continue  # it meets a level face that runs on into a thread's flank
        mean, points = surface.normals[mine].mean(axis=0), surface.middles[mine]
        if np.linalg.norm(mean) > 0.5 and abs(mean @ axis) < _SQUARE:
            points = points + _CHORD * surface.normals[mine]
            if _inside(tool, points).all():
                continue  # a chip of the cut's own wall, where a chord of its mesh passes it
            if not _in_another(subject, step, points, corners, mean):
                found.append(mean)
    return found


def _in_another(
    subject: Subject, step: Step, points: np.ndarray, corners: np.ndarray, way: np.ndarray
) -> bool:
    """Whether points (n, 3) of a face all lie in another cut, short of the part's end that way."""
    if (corners @ way).max() > (subject.mesh[0] @ way).max() - _JUST:
        return False
    taken = np.zeros(len(points), dtype=bool)
    for other in subject.repair.steps:
        if other.cuts and other is not step and not taken.all():
            taken |= _inside(subject.part_mesh(other.name), points)
    return bool(taken.all())


def _beside_a_box(
    subject: Subject, step: Step, left: np.ndarray, wanted: np.ndarray
) -> list[np.ndarray]:
    """In which directions it has no wall left, besides those in which it was pushed in."""
    there = (wanted @ left.T > _LIKE).any(axis=1)
    if there.sum() < 3:  # it trims an end or a corner
        return []
    axis = frame(subject.repair, step.name)[:3, 2]
    vertices, faces = subject.part_mesh(step.name)
    corners, normals = np.asarray(vertices)[faces], _normals(vertices, faces)
    found = []
    for way in wanted[~there]:
        mine = normals @ way > _LIKE
        points = corners[mine].mean(axis=1) + _JUST * normals[mine]
        if abs(way @ axis) < _LIKE and not _in_another(subject, step, points, corners[mine], way):
            found.append(way)
    return found


def _distinct(normals: np.ndarray) -> np.ndarray:
    """Directions that are not alike (k, 3)."""
    kept: list[np.ndarray] = []
    for normal in np.unique(np.round(normals, 4), axis=0):
        if all(normal @ other < _LIKE for other in kept):
            kept.append(normal)
    return np.array(kept).reshape(-1, 3)


def _surface(vertices: np.ndarray, faces: np.ndarray) -> _Surface:
    found = edges(vertices, faces)
    one, other = found.sides.T
    smooth = np.abs(found.angles - 180) < _SMOOTH
    face = linked(len(faces), one[smooth], other[smooth])
    pairs = set(zip(face[one].tolist(), face[other].tolist(), strict=True))
    corners = np.asarray(vertices, dtype=float)[faces]
    return _Surface(
        corners,
        corners.mean(axis=1),
        _normals(vertices, faces),
        face,
        frozenset((a, b) for pair in pairs for a, b in (pair, pair[::-1])),
        np.flatnonzero(np.bincount(face[one[smooth & (found.angles > 180 + _FLAT)]])),
    )


def _normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Outward unit normals (m, 3)."""
    corners = np.asarray(vertices, dtype=float)[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(cross / np.linalg.norm(cross, axis=1, keepdims=True).clip(1e-300))


def _inside(tool: tuple[np.ndarray, np.ndarray], points: np.ndarray) -> np.ndarray:
    """Which of the points (n, 3) lie inside a closed mesh."""
    vertices, faces = tool
    near = ((points > vertices.min(axis=0)) & (points < vertices.max(axis=0))).all(axis=1)
    near[near] = inside(vertices, faces, points[near])
    return np.asarray(near)
