"""Two parts that work together: do they run into each other, is there room, and do they go in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.fit.fits import ROOM
from workbench.checks.fit.printer_profile import profile_of
from workbench.checks.fix import Fix
from workbench.checks.fix_search import moving, passing, resizing
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.counterpart import Counterpart
from workbench.solids.meshes.body import body_of
from workbench.solids.meshes.mesh import Mesh
from workbench.solids.motion import WAYS, Motion, swept
from workbench.words import _, lengths, number, sizes, with_unit

if TYPE_CHECKING:
    from manifold3d import Manifold

#: An overlap flatter than this, in mm, or of less volume than this, in mm³, is rounding.
FLAT, CRUMB = 0.01, 1e-3

#: Parts that slide on each other are meant to touch: on the way, what overlaps less than the
#: meshes of round faces may be off is no catch, in mm. Our choice.
RUB = 0.04

#: How much further than the room asked is looked for the gap, in mm. Our choice.
_FURTHER = 0.5

#: So many steps are tried for one that leaves more room. Our choice.
_STEPS = 3

#: Places on the way that are tried to find where it catches first. Our choice.
_HALVINGS = 2

SOURCE = "room: common practice, no source; shapes: manifold3d"


@dataclass(frozen=True)
class Overlap:
    """Where two bodies run into each other: how much, around which place, and how large there."""

    volume: float
    middle: np.ndarray
    size: np.ndarray

    @classmethod
    def of(cls, one: Manifold, other: Manifold, flat: float = FLAT) -> Overlap | None:
        """The overlap of two bodies, or None where they keep clear but for rounding."""
        shared = one ^ other
        if shared.is_empty() or shared.volume() < CRUMB:
            return None
        # Where they meet in several places, the largest is told.
        most = max(shared.decompose(), key=lambda piece: piece.volume())
        box = np.array(most.bounding_box()).reshape(2, 3)
        if np.ptp(box, axis=0).min() < flat:
            return None
        return cls(float(shared.volume()), box.mean(axis=0), np.ptp(box, axis=0))


@dataclass(frozen=True)
class Catch:
    """What is in the way: the overlap, and the share of the way that is still to go there."""

    overlap: Overlap
    to_go: float


def against(subject: Subject) -> Iterator[Finding]:
    """Whether the part and each of its counterparts can be together."""
    for one in subject.repair.counterparts:
        try:
            other = one.mesh(subject.assembly)
        except RepairError as error:
            yield Finding(
                severity="warning",
                rule="runs into",
                where=one.name,
                text=_("{name} cannot be checked against the part: {reason}").format(
                    name=one.name, reason=error
                ),
                remedy=_("Put the file back, or give the other part again."),
            )
            continue
        printed = bool(one.record)
        for found in judged(subject, subject.mesh, other, one.name, one.motion, one.gap, printed):
            fix = found.fix
            if found.rule == "least gap" and not found.passed:
                fix = _roomier(subject, one, found)
            elif found.rule == "runs into":
                fix = _apart(subject, one, found)
            yield replace(found, fix=fix)


def _apart(subject: Subject, one: Counterpart, found: Finding) -> Fix | None:
    """The fix that moves the step out of the other body, the least way."""
    solid = _solid(one.mesh(subject.assembly), one.name)
    own = _solid(subject.mesh, "")
    overlap = Overlap.of(own, solid)
    if overlap is None or found.where not in [step.name for step in subject.repair.steps]:
        return None
    way, far = least_move(own, solid, overlap)
    by = (far + FLAT) * np.array(WAYS[way])
    fix = moving(subject, subject.repair.step(found.where), by)

    def passes(after: Subject) -> bool:
        return Overlap.of(_solid(after.mesh, ""), solid) is None

    return fix if fix is not None and passing(subject, fix, passes) else None


def _roomier(subject: Subject, one: Counterpart, found: Finding) -> Fix | None:
    """The fix that leaves the room asked, by one size of one step."""
    more = (found.limit or 0.0) - (found.number or 0.0)

    def passes(after: Subject) -> bool:
        pair = _solid(after.mesh, ""), _solid(one.mesh(after.assembly), one.name)
        if Overlap.of(*pair) is not None:
            return False
        return _least_gap(after, *pair, one.name, one.gap, bool(one.record)).passed

    for step in subject.repair.steps[:_STEPS]:
        ways = (more, 2 * more) if step.cuts else (-more, -2 * more)
        fix = resizing(subject, step.name, ways, passes)
        if fix is not None:
            return fix
    return None


def loose(subject: Subject) -> Iterator[Finding]:
    """Whether each body that is loose on purpose is loose, has room and goes to its place."""
    if not subject.repair.loose:
        return
    bodies = _bodies(subject.mesh)
    for body in subject.repair.loose:
        own = _holding(bodies, subject.part_mesh(body.step))
        rest = [mesh for index, mesh in enumerate(bodies) if index != own]
        if own is None or not rest:
            yield Finding(
                severity="stop",
                rule="one piece",
                where=body.step,
                text=_("{step} should be loose but is joined to the rest.").format(step=body.step),
                remedy=_("Move it away, or make room round it first."),
            )
            continue
        yield from judged(
            subject,
            bodies[own],
            _together(rest),
            _("the rest"),
            body.motion,
            body.gap,
            True,
            body.step,
        )


def judged(
    subject: Subject,
    part: Mesh,
    other: Mesh,
    name: str,
    motion: Motion | None,
    gap: float | None,
    printed: bool,
    where: str = "",
) -> Iterator[Finding]:
    """What there is to say of two bodies in place, the first of which came by a motion.

    name : of the other body
    printed : whether the other is printed as well, so that both may come out too large
    where : the step that findings are about; the other body's name unless given
    """
    where = where or name
    one, two = _solid(part, subject.repair.name), _solid(other, name)
    overlap = Overlap.of(one, two)
    if overlap is not None:
        # How it comes there is asked when there is room for it.
        yield _runs_into(subject, overlap, one, two, name)
        return
    yield _least_gap(subject, one, two, where, gap, printed)
    if motion is not None:
        catch = way_in(part, two, motion)
        if catch is not None:
            yield _caught(catch, motion, name, where)
        else:
            yield Finding(
                severity="note",
                rule="way in",
                where=where,
                text=_("It goes into place beside {name}.").format(name=name),
                passed=True,
            )


def way_in(part: Mesh, other: Manifold, motion: Motion) -> Catch | None:
    """Where the part catches on its way to its place; None where it passes."""
    count = motion.stretches()
    begun = Overlap.of(_solid((motion.before(part[0], 1.0), part[1]), ""), other, RUB)
    if begun is not None:
        return Catch(begun, 1.0)
    for index in range(count):
        first, last = 1 - index / count, 1 - (index + 1) / count
        found = _catches(part, motion, first, last, other)
        if found is None:
            continue
        low, high = first, last
        for _turn in range(_HALVINGS):
            middle = (low + high) / 2
            sooner = _catches(part, motion, low, middle, other)
            low, high, found = (middle, high, found) if sooner is None else (low, middle, sooner)
        return Catch(found, high)
    return None


def _catches(
    part: Mesh, motion: Motion, first: float, last: float, other: Manifold
) -> Overlap | None:
    """The largest overlap of what the part sweeps between two shares of the way to go."""
    import manifold3d

    vertices, _faces = part
    start, end = motion.before(vertices, first), motion.before(vertices, last)
    box = np.array(other.bounding_box()).reshape(2, 3)
    near = [
        body
        for corners, faces in swept(part, start, end)
        if (corners.min(axis=0) < box[1]).all()
        and (corners.max(axis=0) > box[0]).all()
        and (body := body_of(corners, faces)) is not None
    ]
    if not near:
        return None
    # Prisms that overlap count twice: what is asked is whether there is anything, and where.
    return Overlap.of(manifold3d.Manifold.compose(near), other, RUB)


def _runs_into(
    subject: Subject, overlap: Overlap, one: Manifold, two: Manifold, name: str
) -> Finding:
    way, far = least_move(one, two, overlap)
    step = _step_near(subject, overlap.middle)
    return Finding(
        severity="stop",
        rule="runs into",
        where=step or name,
        text=_("{step} runs into {name} by {volume} mm³ around ({place}) mm, {wide} deep.").format(
            step=step or subject.repair.name,
            name=name,
            volume=number(overlap.volume, 1),
            place=sizes(overlap.middle, 1),
            wide=with_unit(float(overlap.size.min())),
        ),
        number=overlap.volume,
        limit=0.0,
        unit="mm³",
        remedy=_("Make it smaller there, or move it {far} {way}.").format(
            far=with_unit(far), way=towards(way)
        ),
        source=SOURCE,
    )


def towards(way: str) -> str:
    """A direction in words, as in "move it up"."""
    return {
        "right": _("to the right"),
        "left": _("to the left"),
        "back": _("to the back"),
        "front": _("to the front"),
        "up": _("up"),
        "down": _("down"),
    }[way]


def least_move(one: Manifold, two: Manifold, overlap: Overlap) -> tuple[str, float]:
    """The way, of the six along the axes, in which the first body comes free soonest, in mm.

    Each is followed until the two are clear: by as much as they still overlap, again and again.
    """
    best = ("", np.inf)
    axis = {way: int(np.abs(direction).argmax()) for way, direction in WAYS.items()}
    for way in sorted(WAYS, key=lambda way: overlap.size[axis[way]]):
        far, left = 0.0, overlap
        while left is not None and far < best[1]:
            far += float(left.size[axis[way]])
            if far >= best[1]:
                break
            left_now = Overlap.of(one.translate(list(far * np.array(WAYS[way]))), two)
            if left_now is None:
                best = (way, far)
                break
            left = left_now
    return best


def _least_gap(
    subject: Subject, one: Manifold, two: Manifold, name: str, gap: float | None, printed: bool
) -> Finding:
    asked = ROOM if gap is None else gap
    grown = _grown(subject, printed)
    search = max(asked + grown, 0.0) + _FURTHER
    found = float(one.min_gap(two, search))
    left = found - grown
    fits = left >= asked
    text = _("{name}: {drawn} of room as drawn, about {gap} as printed; {asked} wanted.")
    if fits:
        text = _("{name}: {gap} of room as printed, {asked} wanted.")
    if fits and found >= search:
        text = _("{name}: more than {gap} of room as printed, {asked} wanted.")
    more = _("Leave {more} more room between the two.").format(more=with_unit(asked - left))
    return Finding(
        severity="note" if fits else "warning",
        rule="least gap",
        where=name,
        text=text.format(name=name, **lengths(drawn=found, gap=left, asked=asked)),
        number=left,
        limit=asked,
        unit="mm",
        remedy="" if fits else more,
        source=SOURCE,
        passed=fits,
    )


def _grown(subject: Subject, printed: bool) -> float:
    """By how much printing closes a gap, in mm: half of what an outside grows and a hole shrinks."""
    bias = profile_of(subject.repair.printer, subject.repair.material).bias
    size = float(np.ptp(subject.mesh[0], axis=0).min())
    out, bore = bias.of("outside", size)[0] / 2, -bias.of("hole", size)[0] / 2
    return max(0.0, out + bore) if printed else max(0.0, out, bore)


def _caught(catch: Catch, motion: Motion, name: str, where: str) -> Finding:
    return Finding(
        severity="warning",
        rule="way in",
        where=where,
        text=_(
            "On its way in it catches on {name} {when}, around ({place}) mm, {wide} deep."
        ).format(
            name=name,
            when=motion.told(catch.to_go),
            place=sizes(catch.overlap.middle, 1),
            wide=with_unit(float(catch.overlap.size.min())),
        ),
        number=float(catch.overlap.size.min()),
        limit=0.0,
        unit="mm",
        remedy=_("Make room there, or put it in another way; a springy hook may still pass."),
        source=SOURCE,
    )


def _step_near(subject: Subject, place: np.ndarray) -> str:
    """The step that adds and has a corner or a face nearest to a place."""
    best, name = np.inf, ""
    for step in subject.repair.steps:
        if step.cuts:
            continue
        vertices, _faces = subject.part_mesh(step.name)
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        outside = np.maximum(np.maximum(low - place, place - high), 0)
        off = float(np.hypot.reduce(outside)) + 1e-6 * float(np.prod(high - low))
        if off < best:
            best, name = off, step.name
    return name


def _bodies(mesh: Mesh) -> list[Mesh]:
    """The bodies of a closed mesh, hollows with what holds them."""
    solid = _solid(mesh, "")
    found = []
    for body in solid.decompose():
        made = body.to_mesh64()
        found.append((np.array(made.vert_properties)[:, :3], np.array(made.tri_verts, np.int64)))
    return found


def _holding(bodies: list[Mesh], part: Mesh) -> int | None:
    """Which body a step's own shape is part of: the one that it shares most with."""
    own = _solid(part, "")
    shares = [(own ^ _solid(body, "")).volume() for body in bodies]
    return int(np.argmax(shares)) if shares and max(shares) > CRUMB else None


def _together(bodies: list[Mesh]) -> Mesh:
    counts = np.cumsum([0, *(len(vertices) for vertices, _faces in bodies)])
    return (
        np.concatenate([vertices for vertices, _faces in bodies]),
        np.concatenate([faces + n for (_v, faces), n in zip(bodies, counts, strict=False)]),
    )


def _solid(mesh: Mesh, name: str) -> Manifold:
    made = body_of(*mesh)
    if made is None:
        raise RepairError(
            _(
                "{name}: the surface touches itself, so it cannot be checked against another part; export it again"
            ).format(name=name)
        )
    return made
