"""A repair: plain data from which everything else is worked out.

Readings, steps, a material, a printer, how it is used and what was tried. No geometry here.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from workbench import data, gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids import catalogue, following, limits
from workbench.solids.counterpart import Counterpart, Loose, counterpart_of, room
from workbench.solids.limits import Limit
from workbench.solids.measured import Measured
from workbench.solids.motion import Motion
from workbench.solids.parameters import Size
from workbench.solids.same import Same
from workbench.solids.seat import FACES, PREFIX, At, Place, Seat
from workbench.solids.service import Fit, Load, Trial, direction_of
from workbench.solids.step import Step, step_name
from workbench.words import _

#: Version of the JSON form; readers refuse a newer one in words. Before 2, every cut took from
#: everything that adds, wherever it stood.
FORMAT = 2

#: What sharp edges may be rounded by.
ROUNDING = Size(0, 5, 0.1, measure="0.5 mm is kind to hands")


@dataclass
class Repair:
    """A part being made again, as plain data that :meth:`add`, :meth:`cut` and others edit.

    Parameters
    ----------
    name : what the part is called; files are named after it
    material : a name from the table of materials
    printer : a name from the table of printers
    shows : the sides that will be seen, such as ``("front",)``; they are kept free of support
    rounding : radius given to sharp outer edges, in mm; 0 leaves them as they are
    sketches : measured outlines with the steps that they became, by name
    limits : what must hold between sizes for the part to do its job
    counterparts : what the part works with (:meth:`against`)
    loose : its bodies that do not touch the rest on purpose (:meth:`let_loose`)

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

    def __post_init__(self) -> None:
        gate.name(_("name of the part"), self.name)
        data.material(self.material)
        data.printer(self.printer)
        if self.down is not None:
            self.down = direction_of(_("down"), self.down)
        self.round(self.rounding)
        self.steps = following.resolved(self.steps)
        for side in self.shows:
            if side not in FACES:
                raise RepairError(
                    _("side that shows is {side!r}; give some of {faces}").format(
                        side=side, faces=", ".join(FACES)
                    )
                )

    def __repr__(self) -> str:
        count = len(self.steps)
        return f"Repair({self.name!r}, {count} step{'' if count == 1 else 's'})"

    # -- edits -------------------------------------------------------------------------------

    def add(
        self,
        template: str | Callable[..., Any],
        seat: str | Place | None = None,
        name: str | None = None,
        **values: Any,
    ) -> Repair:
        """Add a part: a template by name or function, with its values.

        Parameters
        ----------
        template : "fin", "tab", ... or a function annotated like them
        seat : "bottom of blade", a :class:`Seat`, an :class:`At`, or None for the origin
        name : of the step; the template's name, numbered if taken, unless given
        values : the template's parameters, as numbers, text ("1 3/8 in") or Readings, or
            following other sizes: ``width=Same("base.width")``

        Raises
        ------
        RepairError
            Naming the step, field, value and unit that cannot be used.
        """
        return self._append(template, seat, name, values, cuts=False)

    def cut(
        self,
        template: str | Callable[..., Any],
        seat: str | Place | None = None,
        name: str | None = None,
        **values: Any,
    ) -> Repair:
        """Take a shape away from what stands above it in the list; parameters as for :meth:`add`."""
        return self._append(template, seat, name, values, cuts=True)

    def change(
        self, step: str, place: str | Place | None = None, cuts: bool | None = None, **values: Any
    ) -> Repair:
        """Change values of a step, where it sits, or whether it cuts.

        A number of its place is named as in ``**{"place.inset": 2.5}``. A plain value ends what
        its size followed.
        """
        changed, read = self._changed(self.step(step), place, cuts, values)
        return self._replace([changed], {step: {**values, **read}})

    def change_all(self, values: Mapping[str, Mapping[str, Any]]) -> Repair:
        """Change values of several steps at once, named as for :meth:`change`.

        What follows others is worked out once, from the values that all have then.
        """
        changed, noted = [], {}
        for step, given in values.items():
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
        moved = self.step(step)
        others = [other for other in self.steps if other is not moved]
        others.insert(max(0, self.steps.index(moved) + by), moved)
        self.steps = tuple(others)
        return self

    def rename(self, step: str, name: str) -> Repair:
        """Give a step another name; whatever refers to it follows."""
        old, new = self.step(step).name, name if name == step else self._unused(name)

        def renamed(named: Any) -> Any:
            return replace(named, step=new) if named.step == old else named

        self.steps = tuple(
            following.renamed(
                replace(
                    s, name=new if s.name == old else s.name, place=s.place.following(old, new)
                ),
                lambda other: new if other == old else other,
            )
            for s in self.steps
        )
        self.loads = tuple(map(renamed, self.loads))
        self.fits = tuple(map(renamed, self.fits))
        self.loose = tuple(map(renamed, self.loose))
        self.trials = tuple(map(renamed, self.trials))
        self.limits = tuple(
            limit.renamed(lambda other: new if other == old else other) for limit in self.limits
        )
        self.readings = {
            f"{new}.{field_name}" if of == old else f"{of}.{field_name}": reading
            for (of, _dot, field_name), reading in (
                (key.partition("."), reading) for key, reading in self.readings.items()
            )
        }
        self.sketches = {label: kept.following(old, new) for label, kept in self.sketches.items()}
        return self

    def duplicate(self, step: str, name: str | None = None) -> Repair:
        """Put a second one of a step right below it, with its readings and fits, in the same place.

        Its name is the first one's, numbered, unless given.
        """
        old = self.step(step)
        new = self._free_name(old.name) if name is None else self._unused(name)
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

        Parameters
        ----------
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

        Parameters
        ----------
        size : "step.field", or plain arithmetic of sizes
        at_least, at_most : plain arithmetic of other sizes

        >>> part = Repair("plate").add("box", name="plate").add("box", At(20), "lip", depth=4)
        >>> part.limit("lip.depth", at_most="plate.depth / 2 - 2").limits[0].at_most.text
        'plate.depth / 2 - 2'
        """
        texts = {"size": size, "at_least": at_least, "at_most": at_most}
        new = Limit.from_dict({name: text for name, text in texts.items() if text != ""})
        if new.at_least is None and new.at_most is None:
            raise RepairError(
                _("limit on {size} says nothing; give at_least or at_most").format(size=size)
            )
        new.refusal(self._number)  # which says where a size is not there
        self.limits = (*self.limits, new)
        return self

    def keep_limits(self) -> None:
        """Raise RepairError where the sizes as they are do not keep a limit."""
        limits.kept(self.limits, self._number)

    def _number(self, step: str, field_name: str) -> float:
        value = self.step(step).number(field_name)
        return float(value)

    def round(self, radius: float) -> Repair:
        """Round the outer edges that are sharper than a box's with ``radius``, in mm; 0 for none.

        A box's own edges stay, since every face that sits on another or on the bed ends in one;
        a check tells when there was nothing to round.
        """
        self.rounding = ROUNDING.check(_("rounding"), radius)
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

        Parameters
        ----------
        other : another repair, or the path of an STL, 3MF or STEP file
        at : where the other one stands, by this repair's axes: :class:`At`, or a seat on a
            step; the origin unless given
        motion : how this part comes to its place: :class:`Slide` or :class:`Turn`
        name : of the other one; one of that name is replaced
        unit : of an STL file, which does not name one
        gap : least room in mm between the two; that of a clearance fit unless given

        Raises
        ------
        RepairError
            When the other one cannot be read or is open, or a number cannot be.
        """
        place = At() if at is None else self._place(at)
        one = counterpart_of(other, place, motion, name, unit, gap)
        others = (old for old in self.counterparts if old.name != one.name)
        self.counterparts = (*others, one)
        return self

    def let_loose(
        self, step: str, motion: Motion | None = None, gap: float | None = None
    ) -> Repair:
        """Let the body that a step belongs to stand loose on purpose, such as a lid by its box.

        Parameters
        ----------
        step : one that the body is made of
        motion : how it comes to its place beside the rest: :class:`Slide` or :class:`Turn`
        gap : least room in mm all round it; that of a clearance fit unless given
        """
        body = Loose(self.step(step).name, motion, room(gap))
        others = (old for old in self.loose if old.step != step)
        self.loose = (*others, body)
        return self

    def step(self, name: str) -> Step:
        """The step called ``name``, or RepairError listing those there are."""
        for step in self.steps:
            if step.name == name:
                return step
        raise RepairError(
            _("there is no step {name!r}; steps: {known}").format(
                name=name, known=", ".join(s.name for s in self.steps) or _("none yet")
            )
        )

    def copy(self, name: str | None = None) -> Repair:
        """An independent repair with the same data."""
        other = Repair.from_json(self.to_json())
        other.name = name or self.name
        return other

    def _append(
        self,
        template: str | Callable[..., Any],
        seat: str | Place | None,
        name: str | None,
        values: dict[str, Any],
        cuts: bool,
    ) -> Repair:
        found = catalogue.find(template)
        label = (
            self._free_name(found.name.replace("_", " ")) if name is None else self._unused(name)
        )
        sizes, follows = following.taken_apart(values)
        for field_name in follows:
            found.parameter(field_name)
        complete = found.complete(sizes, label)
        place, place_follows, read = following.place_taken_apart(
            At() if seat is None else self._place(seat)
        )
        step = Step(label, found.name, complete, place, cuts, follows | place_follows)
        self.steps = following.resolved([*self.steps, step])
        self._note_readings(label, {**values, **read})
        return self

    def _changed(
        self,
        old: Step,
        place: str | Place | None,
        cuts: bool | None,
        values: Mapping[str, Any],
    ) -> tuple[Step, dict[str, Reading]]:
        """A step after a change, and what was read for its place."""
        placed = {k.removeprefix(PREFIX): v for k, v in values.items() if k.startswith(PREFIX)}
        sizes, follows = following.taken_apart(
            {name: value for name, value in values.items() if not name.startswith(PREFIX)}
        )
        template = catalogue.find(old.template)
        for name in follows:
            template.parameter(name)
        for name in placed if place is None else ():
            old.parameter(PREFIX + name)
        moved = old.place.with_numbers(placed) if placed else old.place
        new_place, place_follows, read = following.place_taken_apart(
            moved if place is None else self._place(place, before=old.name)
        )
        kept = {
            name: same
            for name, same in old.follows.items()
            if name not in values and (place is None or not name.startswith(PREFIX))
        }
        changed = replace(
            old,
            values=template.complete({**old.values, **sizes}, old.name),
            place=new_place,
            cuts=old.cuts if cuts is None else cuts,
            follows=kept | follows | place_follows,
        )
        return changed, read

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
                raise RepairError(_("{step} cannot sit on itself").format(step=before))
            under = self.step(settled.step)
            if before is not None and before in self._under(under.name):
                raise RepairError(
                    _("{under} already sits on {step}; they cannot sit on each other").format(
                        under=under.name, step=before
                    )
                )
        return settled

    def _under(self, name: str) -> list[str]:
        chain = []
        place = self.step(name).place
        while isinstance(place, Seat):
            chain.append(place.step)
            place = self.step(place.step).place
        return chain

    def _unused(self, name: str) -> str:
        label = step_name(name)
        if any(step.name == label for step in self.steps):
            raise RepairError(
                _("there is already a step {name!r}; give this one another name").format(name=label)
            )
        return label

    def _free_name(self, base: str) -> str:
        taken = {step.name for step in self.steps}
        if base not in taken:
            return base
        number = 2
        while f"{base} {number}" in taken:
            number += 1
        return f"{base} {number}"

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
                "format": FORMAT,
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
                **(
                    {"counterparts": [one.to_dict() for one in self.counterparts]}
                    if self.counterparts
                    else {}
                ),
                **({"loose": [body.to_dict() for body in self.loose]} if self.loose else {}),
                **({"limits": [limit.to_dict() for limit in self.limits]} if self.limits else {}),
            },
            indent=2,
            ensure_ascii=False,
        )

    @classmethod
    def from_json(cls, text: str) -> Repair:
        """Read a repair back; RepairError says in a sentence what is damaged or missing."""
        try:
            row = gate.json_in(text, _("the record"))
            if not isinstance(row, dict):
                raise TypeError("not an object")
            if row.get("format", 0) > FORMAT:
                raise RepairError(
                    _("record is of format {found}, newer than {known}; update workbench").format(
                        found=row["format"], known=FORMAT
                    )
                )
            return cls(
                name=row["name"],
                material=row.get("material", "PLA"),
                printer=row.get("printer", "generic 220"),
                steps=_in_order(map(Step.from_dict, row["steps"]), row.get("format", 0)),
                readings={k: Reading.from_dict(r) for k, r in row.get("readings", {}).items()},
                down=tuple(row["down"]) if row.get("down") else None,
                uses=tuple(row.get("uses", ())),
                shows=tuple(row.get("shows", ())),
                loads=tuple(Load(**load) for load in row.get("loads", ())),
                fits=tuple(Fit.from_dict(fit) for fit in row.get("fits", ())),
                trials=tuple(Trial(**trial) for trial in row.get("trials", ())),
                statements=dict(row.get("statements", {})),
                rounding=row.get("rounding", 0.0),
                sketches={
                    name: Measured.from_dict(kept) for name, kept in row.get("sketches", {}).items()
                },
                limits=tuple(map(Limit.from_dict, row.get("limits", ()))),
                counterparts=tuple(map(Counterpart.from_dict, row.get("counterparts", ()))),
                loose=tuple(map(Loose.from_dict, row.get("loose", ()))),
            )
        except json.JSONDecodeError as error:
            raise RepairError(
                _("record is damaged at line {line}; use an earlier revision ({reason})").format(
                    line=error.lineno, reason=error.msg
                )
            ) from None
        except RepairError:
            raise
        except KeyError as error:
            raise RepairError(
                _("record is not a repair: it lacks {what}; use an earlier revision").format(
                    what=error
                )
            ) from None
        except (TypeError, ValueError, AttributeError, RecursionError) as error:
            raise RepairError(
                _("record is not a repair: {reason}; use an earlier revision").format(reason=error)
            ) from None


def _in_order(steps: Iterable[Step], form: int) -> tuple[Step, ...]:
    """The steps, or RepairError where names repeat or a seat leads nowhere or round in a ring."""
    listed = tuple(steps)
    if form < 2:
        listed = tuple(sorted(listed, key=lambda step: step.cuts))
    by_name = {step.name: step for step in listed}
    if len(by_name) != len(listed):
        raise RepairError(_("record has two steps of the same name; use an earlier revision"))
    for step in listed:
        seen = {step.name}
        place = step.place
        while isinstance(place, Seat):
            if place.step not in by_name or place.step in seen:
                raise RepairError(
                    _("{step} sits on {on!r}, which leads nowhere; use an earlier revision").format(
                        step=step.name, on=place.on
                    )
                )
            seen.add(place.step)
            place = by_name[place.step].place
    return listed
