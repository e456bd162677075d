"""A repair: plain data from which everything else is worked out.

Readings, steps, a material, a printer, how it is used and what was tried. No geometry here.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from itertools import chain, count
from pathlib import Path
from typing import Any

from workbench import data, gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.building import following
from workbench.solids.counterpart import Counterpart, Loose, counterpart_of, room
from workbench.solids.measured import Measured
from workbench.solids.motion import Motion, motion_of
from workbench.solids.parameters import Count, Size
from workbench.solids.recipe import limits, stored, uses
from workbench.solids.recipe.ease import Ease
from workbench.solids.recipe.limits import Limit
from workbench.solids.recipe.repeats import REPEAT, Repeat, mirror_of, repeat_of
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import FACES, OTHER_SIDE, PREFIX, At, Place, Seat
from workbench.solids.recipe.service import Fit, Load, Trial, direction_of
from workbench.solids.recipe.step import Step, step_name
from workbench.words import _

#: Stands in the name of a pupil's part between whose it is and what it is.
WHOSE = " · "

#: What sharp edges may be rounded by.
ROUNDING = Size(0, 5, 0.1, measure="0.5 mm is easy on the hands")


@dataclass(frozen=True)
class _Asked:
    """Where and how often a new step is to stand, as :meth:`Repair.add` was told."""

    seat: str | Place | None
    name: str | None
    cuts: bool
    repeat: Repeat | None
    mirror: str
    other_hand: bool


@gate.asked
@dataclass
class Repair:
    """A part being made again, as plain data that :meth:`add`, :meth:`cut` and others edit.

    name : what the part is called; files are named after it
    material : a name from the table of materials
    printer : a name from the table of printers
    shows : the sides that will be seen, such as ``("front",)``; they are kept free of support
    rounding : radius given to sharp outer edges, in mm; 0 leaves them as they are
    sketches : measured outlines with the steps that they became, by name
    limits : what must hold between sizes for the part to do its job
    counterparts : what the part works with (:meth:`against`)
    loose : its bodies that do not touch the rest on purpose (:meth:`let_loose`)
    eases : rounds and chamfers on chosen edges, which come after all steps

    Every edit checks its input first: a refused edit changes nothing. ``steps`` is a tuple of
    frozen steps, so keeping an earlier one is enough to go back to it.

    >>> divider = Repair("tray divider")
    >>> divider.add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
    Repair('tray divider', 1 step)
    >>> divider.add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    Repair('tray divider', 2 steps)
    """

    name: str
    material: str = "PLA"
    printer: str = "generic 220"
    steps: tuple[Step, ...] = ()
    readings: dict[str, Reading] = field(default_factory=dict)
    down: tuple[float, float, float] | None = None
    uses: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    loads: tuple[Load, ...] = ()
    fits: tuple[Fit, ...] = ()
    trials: tuple[Trial, ...] = ()
    statements: dict[str, str] = field(default_factory=dict)
    rounding: float = 0.0
    sketches: dict[str, Measured] = field(default_factory=dict)
    limits: tuple[Limit, ...] = ()
    counterparts: tuple[Counterpart, ...] = ()
    loose: tuple[Loose, ...] = ()
    eases: tuple[Ease, ...] = ()

    def __post_init__(self) -> None:
        gate.name(_("name"), self.name)
        self._refuse_other_kinds()
        gate.needed(self.material, str, _("material"), "PLA")
        gate.needed(self.printer, str, _("printer"), "generic 220")
        data.material(self.material)
        data.printer(self.printer)
        if self.down is not None:
            self.down = direction_of(_("down"), self.down)
        self.round(self.rounding)
        self.steps = following.resolved(self.steps)
        for fit in self.fits:
            catalogue.find(self.step(fit.step).template).parameter(fit.field)
        places = (one.place for one in self.counterparts)
        seats = (place.step for place in places if isinstance(place, Seat))
        for step in (*(one.step for one in self.loose), *seats):
            self.step(step)
        uses.read(self.uses)
        for side in self.shows:
            if side not in FACES:
                raise RepairError(
                    _("side that shows is {side!r}; give some of {faces}").format(
                        side=side, faces=", ".join(FACES)
                    )
                )

    def _refuse_other_kinds(self) -> None:
        """Each field holds what it is for."""
        rows: tuple[tuple[str, type, str], ...] = (
            ("steps", Step, 'Repair("foot").add("box")'),
            ("uses", str, '("outdoors",)'),
            ("shows", str, '("front",)'),
            ("loads", Load, '(Load("blade", 10),)'),
            ("fits", Fit, 'Repair(...).fit("foot", "thickness", 2.6)'),
            ("trials", Trial, '(Trial(1, "foot", "thickness", "right", 2.3),)'),
            ("readings", Reading, '{"foot.thickness": Reading(2.3)}'),
            ("statements", str, '{"food": "it holds closed packets only"}'),
            ("sketches", Measured, '{"outline": ...}'),
            ("limits", Limit, 'Repair(...).limit("lip.depth", at_most=4)'),
            ("counterparts", Counterpart, "Repair(...).against(other)"),
            ("loose", Loose, 'Repair(...).let_loose("lid")'),
            ("eases", Ease, 'Repair(...).round("top of key", 0.5)'),
        )
        for name, kind, such_as in rows:
            held = getattr(self, name)
            label = _(name)
            if name in ("readings", "statements", "sketches"):
                for key in gate.needed(held, dict, label, such_as):
                    gate.needed(key, str, label, such_as)
                held = held.values()
            else:
                gate.needed(held, tuple, label, such_as)
            for each in held:
                gate.needed(each, kind, label, such_as)
        for name, times in Counter(step.name for step in self.steps).items():
            if times > 1:
                raise _twice(name)

    def __repr__(self) -> str:
        count = len(self.steps)
        return f"Repair({self.name!r}, {count} step{'' if count == 1 else 's'})"

    # -- edits -------------------------------------------------------------------------------

    def add(
        self,
        template: str | Callable[..., Any],
        seat: str | Place | None = None,
        name: str | None = None,
        repeat: Repeat | None = None,
        mirror: str = "",
        other_hand: bool = False,
        **values: Any,
    ) -> Repair:
        """Add a part: a template by name or function, with its values.

        template : "fin", "tab", ... or a function annotated like them
        seat : "bottom of blade", a :class:`Seat`, an :class:`At`, or None for the origin
        name : of the step; the template's name, numbered if taken, unless given
        repeat : ``Row(n, pitch)`` or ``Ring(n, radius)`` where it stands several times
        mirror : "left-right", "front-back" or "top-bottom" where it stands as a pair, mirrored
            in the middle of what it sits on
        other_hand : mirror the template's own shape, left to right
        values : the template's parameters, as numbers, text ("1 3/8 in") or Readings, or
            following other sizes: ``width=Same("base.width")``

        Raises RepairError naming the step, field, value and unit that cannot be used.
        """
        new = _Asked(seat, name, False, repeat, mirror, other_hand)
        return self._append(template, values, new)

    def cut(
        self,
        template: str | Callable[..., Any],
        seat: str | Place | None = None,
        name: str | None = None,
        repeat: Repeat | None = None,
        mirror: str = "",
        other_hand: bool = False,
        **values: Any,
    ) -> Repair:
        """Take a shape away from what stands above it in the list; parameters as for :meth:`add`."""
        new = _Asked(seat, name, True, repeat, mirror, other_hand)
        return self._append(template, values, new)

    def change(
        self,
        step: str,
        place: str | Place | None = None,
        cuts: bool | None = None,
        repeat: Repeat | str | None = None,
        mirror: str | None = None,
        **values: Any,
    ) -> Repair:
        """Change values of a step, where and how often it stands, or whether it cuts.

        A number of its place or pattern is named as in ``**{"place.inset": 2.5}``. A plain value
        ends what its size followed. ``repeat="once"`` ends a pattern, ``mirror=""`` a pair.
        """
        old = self.step(step)
        if mirror is not None:
            old = replace(old, mirror=mirror_of(mirror))
        changed, read = self._changed(old, place, cuts, values, repeat)
        return self._replace([changed], {step: {**values, **read}})

    def change_all(self, values: Mapping[str, Mapping[str, Any]]) -> Repair:
        """Change values of several steps at once, named as for :meth:`change`.

        What follows others is worked out once, from the values that all have then.
        """
        changed, noted = [], {}
        such_as = '{"base": {"width": 20}}'
        for step, given in gate.needed(values, Mapping, "values", such_as).items():
            gate.needed(given, Mapping, "values", such_as)
            one, read = self._changed(self.step(step), None, None, given)
            changed.append(one)
            noted[step] = {**given, **read}
        return self._replace(changed, noted)

    def remove(self, step: str) -> Repair:
        """Take a step out; refused while another step sits on it."""
        self.step(step)
        for other in self.steps:
            if isinstance(other.place, Seat) and other.place.step == step:
                raise RepairError(
                    _("{other} sits on {step}; seat it elsewhere or remove it first").format(
                        other=other.name, step=step
                    )
                )
        for name, size in following.followers(self.steps, step):
            raise RepairError(
                _("{name}.{size} follows {step}; give it a number first").format(
                    name=name, size=size, step=step
                )
            )
        self.steps = tuple(s for s in self.steps if s.name != step)
        self.loads = tuple(load for load in self.loads if load.step != step)
        self.fits = tuple(fit for fit in self.fits if fit.step != step)
        self.loose = tuple(body for body in self.loose if body.step != step)
        self.limits = tuple(limit for limit in self.limits if step not in limit.steps)
        self.eases = tuple(ease for ease in self.eases if step not in ease.steps)
        self.readings = {
            key: reading for key, reading in self.readings.items() if not key.startswith(f"{step}.")
        }
        left = {name: kept.without(step) for name, kept in self.sketches.items()}
        self.sketches = {name: kept for name, kept in left.items() if kept is not None}
        return self

    def move(self, step: str, by: int) -> Repair:
        """Move a step ``by`` places down the list, up where it is negative, no further than its end.

        >>> part = Repair("box").add("box").cut("box", name="room").add("peg", name="boss")
        >>> [step.name for step in part.move("room", 1).steps]
        ['box', 'boss', 'room']
        """
        moved, by = self.step(step), Count(-9999, 9999).check("by", by)
        others = [other for other in self.steps if other is not moved]
        others.insert(max(0, self.steps.index(moved) + by), moved)
        self.steps = tuple(others)
        return self

    def rename(self, step: str, name: str) -> Repair:
        """Give a step another name; whatever refers to it follows."""
        old, new = self.step(step).name, name if name == step else self._unused(name)

        def now(named: str) -> str:
            return new if named == old else named

        def renamed(named: Any) -> Any:
            return replace(named, step=now(named.step))

        moved = (
            replace(s, name=now(s.name), place=s.place.following(old, new)) for s in self.steps
        )
        self.steps = tuple(following.renamed(step, now) for step in moved)
        self.loads = tuple(map(renamed, self.loads))
        self.fits = tuple(map(renamed, self.fits))
        self.loose = tuple(map(renamed, self.loose))
        self.trials = tuple(map(renamed, self.trials))
        self.limits = tuple(limit.renamed(now) for limit in self.limits)
        self.eases = tuple(ease.renamed(now) for ease in self.eases)
        parted = ((key.partition("."), reading) for key, reading in self.readings.items())
        self.readings = {f"{now(of)}.{field}": reading for (of, _dot, field), reading in parted}
        self.sketches = {label: kept.following(old, new) for label, kept in self.sketches.items()}
        return self

    def duplicate(self, step: str, name: str | None = None) -> Repair:
        """Put a second one of a step right below it, with its readings and fits, in the same place.

        Its name is the first one's, numbered, unless given.
        """
        old = self.step(step)
        new = self.free_name(old.name) if name is None else self._unused(name)
        at = self.steps.index(old) + 1
        self.steps = (*self.steps[:at], replace(old, name=new), *self.steps[at:])
        self.fits += tuple(replace(fit, step=new) for fit in self.fits if fit.step == step)
        self.readings |= {
            f"{new}.{key.partition('.')[2]}": reading
            for key, reading in self.readings.items()
            if key.partition(".")[0] == step
        }
        return self

    def fit(
        self,
        step: str,
        field: str,
        mating: Reading | str | float | Iterable[str | float],
        kind: str = "clearance",
    ) -> Repair:
        """Say how a size is to fit its counterpart; a fit said earlier for it is replaced.

        step, field : the size of ours, such as "foot", "thickness"
        mating : what the counterpart reads, as a Reading, text or mm
        kind : "clearance", "transition" or "interference"

        >>> divider = Repair("tray divider").add("tab", name="foot", thickness=2.3)
        >>> divider.fit("foot", "thickness", "2.45 mm").fits[0].kind
        'clearance'
        """
        catalogue.find(self.step(step).template).parameter(field)
        reading = mating if isinstance(mating, Reading) else Reading(mating)
        wish = Fit(step, field, reading, kind)
        others = (f for f in self.fits if (f.step, f.field) != (step, field))
        self.fits = (*others, wish)
        return self

    def limit(self, size: str, at_least: str | float = "", at_most: str | float = "") -> Repair:
        """Say what must hold between sizes for the part to do its job; a build checks it.

        size : "step.field", or plain arithmetic of sizes
        at_least, at_most : plain arithmetic of other sizes

        >>> part = Repair("plate").add("box", name="plate").add("box", At(20), "lip", depth=4)
        >>> part.limit("lip.depth", at_most="plate.depth / 2 - 2").limits[0].at_most.text
        'plate.depth / 2 - 2'
        """
        bounds = {"at_least": at_least, "at_most": at_most}
        given = {name: text for name, text in bounds.items() if text != ""}
        new = Limit.from_dict({"size": size, **given})
        if new.at_least is None and new.at_most is None:
            raise RepairError(
                _("limit on {size} is empty; give at_least or at_most").format(size=size)
            )
        new.refusal(self._number)  # which says where a size is not there
        self.limits = (*self.limits, new)
        return self

    def keep_limits(self) -> None:
        """Raise RepairError where the sizes as they are do not keep a limit."""
        limits.kept(self.limits, self._number)

    def _number(self, step: str, field_name: str) -> float:
        value = self.step(step).number(field_name)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise RepairError(
                _("{step}.{field} is not a number; choose another size").format(
                    step=step, field=field_name
                )
            )
        return value

    def round(self, where: Any, radius: Any = None) -> Repair:
        """Round edges with ``radius``, in mm; 0 takes an earlier round of them back.

        where : "top of key", "all of key", "between upright and base" for an inside corner, or
            a point (x, y, z) near one edge. A number alone is the radius for every outer edge
            that is sharper than a box's

        A build refuses a radius that does not work there, and says the largest that does.

        >>> key = Repair("key").add("box", name="key").round("top of key", 0.5)
        >>> key.eases[0].where
        'top of key'
        """
        if radius is None:
            self.rounding = ROUNDING.check(_("rounding"), where)
            return self
        return self._ease(where, radius, chamfer=False)

    def chamfer(self, where: Any, size: Any) -> Repair:
        """Chamfer edges by ``size`` mm on each face; ``where`` as for :meth:`round`."""
        return self._ease(where, size, chamfer=True)

    def _ease(self, where: Any, size: Any, chamfer: bool) -> Repair:
        new = Ease.read(where, size, chamfer, (step.name for step in self.steps))
        kept = tuple(ease for ease in self.eases if ease.where != new.where)
        self.eases = (*kept, new) if new.size else kept
        return self

    def against(
        self,
        other: Repair | str | Path,
        at: str | Place | None = None,
        motion: Motion | None = None,
        *,
        name: str | None = None,
        unit: str | None = None,
        gap: float | None = None,
    ) -> Repair:
        """Put what the part works with beside it; the checks judge the two together.

        other : another repair, the folder or record of one that was exported, or the path of an
            STL, 3MF or STEP file
        at : where the other one stands, by this repair's axes: :class:`At`, or a seat on a
            step; the origin unless given
        motion : how this part comes to its place: :class:`Slide` or :class:`Turn`
        name : of the other one; one of that name is replaced
        unit : of an STL file, which does not name one
        gap : least room in mm between the two; that of a clearance fit unless given

        Raises RepairError when the other one cannot be read or is open, or a number cannot be.
        """
        place = At() if at is None else self._place(at)
        one = counterpart_of(other, place, motion, name, unit, gap)
        others = (old for old in self.counterparts if old.name != one.name)
        self.counterparts = (*others, one)
        return self

    def split(
        self,
        at: float | tuple[str, float] | None = None,
        joint: str = "dovetail",
        gap: float = 0.25,
    ) -> tuple[Repair, Repair]:
        """Two repairs that go together to this one, such as for a bed that it is too long for.

        at : where, in mm along the longer of the part's level sides, or ("x", 120) or
            ("y", 60); its middle unless given
        joint : "lap", one half lies on the other; "dovetail", a tongue slides down into a
            socket; "pins", two pins go into holes
        gap : room between the joint's faces, in mm

        Each half has its parting as steps, and the first has the second beside it
        (:meth:`against`).

        Raises RepairError when the place is outside of the part, or no joint can be made there.
        """
        from workbench.solids.split import split

        return split(self, at, joint, gap)

    def let_loose(
        self, step: str, motion: Motion | None = None, gap: float | None = None
    ) -> Repair:
        """Let the body that a step belongs to stand loose on purpose, such as a lid by its box.

        step : one that the body is made of
        motion : how it comes to its place beside the rest: :class:`Slide` or :class:`Turn`
        gap : least room in mm all round it; that of a clearance fit unless given
        """
        body = Loose(self.step(step).name, motion_of(motion), room(gap))
        others = (old for old in self.loose if old.step != step)
        self.loose = (*others, body)
        return self

    def step(self, name: str) -> Step:
        """The step called ``name``, or RepairError listing those there are."""
        for step in self.steps:
            if step.name == name:
                return step
        names = (step.name for step in self.steps)
        raise gate.unknown(_("there is no step {name!r}; steps: {known}"), name, names)

    def copy(self, name: str | None = None) -> Repair:
        """An independent repair with the same data."""
        other = Repair.from_json(self.to_json())
        other.name = gate.name(_("name"), self.name if name is None else name)
        return other

    def mirrored(self, name: str) -> Repair:
        """The other hand of the part, mirrored left to right, as a repair of its own.

        What was read, its fits and what it bears are the same; how trials of this one went, and
        what was measured of its outline, stay here.

        >>> left = Repair("left handle").add("wedge", At(5), "grip")
        >>> left.mirrored("right handle").step("grip").place.x
        -5.0
        """
        other = self.copy(gate.name(_("name"), name))
        other.steps = following.resolved([step.mirrored() for step in self.steps])
        other.loads = tuple(
            replace(load, direction=(-load.direction[0], *load.direction[1:]))
            for load in self.loads
        )
        other.down = (-self.down[0], *self.down[1:]) if self.down else None
        other.shows = tuple(OTHER_SIDE.get(side, side) for side in self.shows)
        other.eases = tuple(ease.mirrored() for ease in self.eases)
        other.trials, other.statements, other.sketches = (), {}, {}
        return other

    def _append(
        self, template: str | Callable[..., Any], values: dict[str, Any], asked: _Asked
    ) -> Repair:
        found = catalogue.find(template)
        label = (
            self.free_name(found.name.replace("_", " "))
            if asked.name is None
            else self._unused(asked.name)
        )
        step = Step(
            label,
            found.name,
            values,
            At() if asked.seat is None else self._place(asked.seat),
            asked.cuts,
            {},
            repeat_of(asked.repeat),
            mirror_of(asked.mirror),
            asked.other_hand,
        )
        step, read = self._settled(step, {})
        self.steps = following.resolved([*self.steps, step])
        self._note_readings(label, {**values, **read})
        return self

    def _changed(
        self,
        old: Step,
        place: str | Place | None,
        cuts: bool | None,
        values: Mapping[str, Any],
        repeat: Repeat | str | None = None,
    ) -> tuple[Step, dict[str, Reading]]:
        """A step after a change, and what was read for its place."""
        new = replace(
            old,
            place=old.place if place is None else self._place(place, before=old.name),
            repeat=old.repeat if repeat is None else repeat_of(repeat),
            cuts=old.cuts if cuts is None else cuts,
        )
        fresh = ((PREFIX,) if place is not None else ()) + ((REPEAT,) if repeat else ())
        kept = {
            name: same
            for name, same in old.follows.items()
            if name not in values and not name.startswith(fresh)
        }
        for name in values:
            new.parameter(name)
        return self._settled(new.with_numbers(values), kept)

    def _settled(self, step: Step, follows: Mapping[str, Same]) -> tuple[Step, dict[str, Reading]]:
        """The step with plain numbers, and what was read for its place and pattern."""
        sizes, own = following.taken_apart(step.values)
        template = catalogue.find(step.template)
        for name in own:
            template.parameter(name)
        place, more, read = following.held_taken_apart(step.place, PREFIX)
        found = {**follows, **own, **more}
        repeat = step.repeat
        if repeat is not None:
            repeat, more, noted = following.held_taken_apart(repeat, REPEAT)
            found, read = found | more, read | noted
        values = template.complete(sizes, step.name)
        return replace(step, values=values, place=place, repeat=repeat, follows=found), read

    def _replace(self, changed: Iterable[Step], noted: Mapping[str, Mapping[str, Any]]) -> Repair:
        new = {step.name: step for step in changed}
        self.steps = following.resolved([new.get(step.name, step) for step in self.steps])
        for step, values in noted.items():
            self._note_readings(step, values)
        return self

    def _place(self, place: str | Place, before: str | None = None) -> Place:
        settled = Seat(place) if isinstance(place, str) else place
        if not isinstance(settled, Place):
            raise RepairError(
                _(
                    'place is {place!r}; give a seat such as "bottom of blade", or At(x, y, z) in mm'
                ).format(place=place)
            )
        if isinstance(settled, Seat):
            if settled.step == before:
                raise RepairError(
                    _("{step} cannot sit on itself; give another step").format(step=before)
                )
            under = self.step(settled.step)
            if before is not None and before in self._under(under.name):
                raise RepairError(
                    _("{under} already sits on {step}; they cannot sit on each other").format(
                        under=under.name, step=before
                    )
                )
        return settled

    def _under(self, name: str) -> list[str]:
        under = []
        place = self.step(name).place
        while isinstance(place, Seat):
            under.append(place.step)
            place = self.step(place.step).place
        return under

    def _unused(self, name: str) -> str:
        label = step_name(name)
        if any(step.name == label for step in self.steps):
            raise _twice(label)
        return label

    def free_name(self, base: str) -> str:
        """A name for a new step: ``base``, numbered where there is one already."""
        taken = {step.name for step in self.steps}
        names = chain([base], (f"{base} {number}" for number in count(2)))
        return next(name for name in names if name not in taken)

    def _note_readings(self, step: str, values: Mapping[str, Any]) -> None:
        for field_name, value in values.items():
            if isinstance(value, Reading):
                self.readings[f"{step}.{field_name}"] = value
            elif isinstance(value, Same):
                self.readings.pop(f"{step}.{field_name}", None)

    # -- the record --------------------------------------------------------------------------

    def to_json(self) -> str:
        """The repair as JSON text, from which :meth:`from_json` makes an equal one."""
        return json.dumps(
            {
                "format": stored.FORMAT,
                "name": self.name,
                "material": self.material,
                "printer": self.printer,
                "steps": [step.to_dict() for step in self.steps],
                "readings": {key: r.to_dict() for key, r in self.readings.items()},
                "down": self.down,
                "uses": list(self.uses),
                "shows": list(self.shows),
                "loads": [asdict(load) for load in self.loads],
                "fits": [fit.to_dict() for fit in self.fits],
                "trials": [asdict(trial) for trial in self.trials],
                "statements": self.statements,
                "rounding": self.rounding,
                "sketches": {name: kept.to_dict() for name, kept in self.sketches.items()},
                **{
                    name: [one.to_dict() for one in held]
                    for name in ("counterparts", "loose", "limits", "eases")
                    if (held := getattr(self, name))
                },
            },
            indent=2,
            ensure_ascii=False,
        )

    @classmethod
    def from_json(cls, text: str) -> Repair:
        """Read a repair back; RepairError says in a sentence what is damaged or missing."""
        return cls(**stored.fields_of(text))


def _twice(name: str) -> RepairError:
    return RepairError(
        _("there is already a step {name!r}; give this one another name").format(name=name)
    )


def a_repair(given: Any) -> Repair:
    """The repair itself, or RepairError where something else was given."""
    return gate.needed(given, Repair, _("repair"), 'Repair("foot").add("box")')
