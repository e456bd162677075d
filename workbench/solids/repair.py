"""A repair: plain data from which everything else is worked out.

Readings, steps, a material, a printer, how it is used and what was tried. No geometry here.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from workbench import data
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.measured import Measured
from workbench.solids.parameters import Size
from workbench.words import _, number

FACES = ("top", "bottom", "left", "right", "front", "back")

#: Version of the JSON form; readers refuse a newer one in words.
FORMAT = 1

#: What sharp edges may be rounded by.
ROUNDING = Size(0, 5, 0.1, measure="0.5 mm is kind to hands")

#: The three kinds of fit, in the words of ISO 286-1.
FITS = ("clearance", "transition", "interference")

#: How a trial print went.
OUTCOMES = ("would not enter", "too tight", "right", "loose", "fell out")


@dataclass(frozen=True)
class Seat:
    """Where a part sits: on a face of an earlier step.

    ``on`` reads "bottom of blade": the face of that step that looks down as the repair stands
    on the bench. The part's own ``by`` face (its bottom) is laid on it, centred.

    along, across : offsets in the face, in mm. On an upright face ``along`` runs level and
        ``across`` runs up; on top and bottom ``along`` runs to the right.
    turn : degrees about the line that points out of the face
    sink : how far the part is pushed into the face, in mm
    """

    on: str
    along: float = 0.0
    across: float = 0.0
    turn: float = 0.0
    sink: float = 0.0
    by: str = "bottom"

    def __post_init__(self) -> None:
        face, _of, step = str(self.on).partition(" of ")
        if not isinstance(self.on, str) or face not in FACES or not step:
            raise RepairError(
                _(
                    'seat is {on!r}; write a face and a step, such as "bottom of blade"; faces: {faces}'
                ).format(on=self.on, faces=", ".join(FACES))
            )
        if self.by not in FACES:
            raise RepairError(
                _("by is {by!r}; give one of {faces}").format(by=self.by, faces=", ".join(FACES))
            )
        _require_finite(self, ("along", "across", "turn", "sink"))

    @property
    def face(self) -> str:
        """The face's name."""
        return self.on.partition(" of ")[0]

    @property
    def step(self) -> str:
        """The name of the step that it sits on."""
        return self.on.partition(" of ")[2]


@dataclass(frozen=True)
class At:
    """Where a part stands by itself: its own origin at (x, y, z) mm.

    tilt : degrees about the y axis, in the plane of the sketch, from x towards z
    turn : degrees about the z axis, after the tilt
    """

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    turn: float = 0.0
    tilt: float = 0.0

    def __post_init__(self) -> None:
        _require_finite(self, ("x", "y", "z", "turn", "tilt"))


Place = Seat | At


@dataclass(frozen=True)
class Step:
    """One template with its values, where it sits, and whether it adds or cuts."""

    name: str
    template: str
    values: Mapping[str, Any]
    place: Place = field(default_factory=At)
    cuts: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        kind = "seat" if isinstance(self.place, Seat) else "at"
        return {
            "name": self.name,
            "template": self.template,
            "values": dict(self.values),
            kind: asdict(self.place),
            "cuts": self.cuts,
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Step:
        """Read back what :meth:`to_dict` wrote; values are checked against the template."""
        place: Place = Seat(**row["seat"]) if "seat" in row else At(**row.get("at", {}))
        name = _step_name(row["name"])
        values = catalogue.find(row["template"]).complete(row["values"], name)
        return cls(name, row["template"], values, place, bool(row.get("cuts", False)))


@dataclass(frozen=True)
class Load:
    """A hand load on a step: ``force`` newtons along ``direction`` as the repair stands.

    ``repeats`` says that it comes again and again, not once.
    """

    step: str
    force: float
    direction: tuple[float, float, float] = (0.0, 0.0, -1.0)
    repeats: bool = True

    def __post_init__(self) -> None:
        if not (isinstance(self.force, (int, float)) and math.isfinite(self.force)) or (
            self.force <= 0
        ):
            raise RepairError(
                _("load on {step}: force is {force!r} N; give a number above 0 N").format(
                    step=self.step, force=self.force
                )
            )
        what = _("load on {step}: direction").format(step=self.step)
        object.__setattr__(self, "direction", _direction(what, self.direction))


@dataclass(frozen=True)
class Fit:
    """How a size of a step is to fit its counterpart, which was read.

    ``mating`` is the reading of the counterpart: the slot that a tab enters, the hole for a peg,
    the screw through a hole.
    """

    step: str
    field: str
    mating: Reading
    kind: str = "clearance"

    def __post_init__(self) -> None:
        if self.kind not in FITS:
            raise RepairError(
                _("{step}: fit of {field} is {kind!r}; give one of {known}").format(
                    step=self.step,
                    field=_(self.field.replace("_", " ")),
                    kind=self.kind,
                    known=", ".join(FITS),
                )
            )
        if not isinstance(self.mating, Reading):
            object.__setattr__(self, "mating", Reading(self.mating))
        if self.mating.value <= 0:
            raise RepairError(
                _("{step}: what {field} fits reads {value} mm; give more than 0 mm").format(
                    step=self.step,
                    field=_(self.field.replace("_", " ")),
                    value=self.mating.value,
                )
            )

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        return {
            "step": self.step,
            "field": self.field,
            "mating": self.mating.to_dict(),
            "kind": self.kind,
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Fit:
        """Read back what :meth:`to_dict` wrote."""
        return cls(row["step"], row["field"], Reading.from_dict(row["mating"]), row["kind"])


@dataclass(frozen=True)
class Trial:
    """One print of a revision, tried in place: which size mattered and how it went."""

    revision: int
    step: str
    field: str
    outcome: str
    set_to: float
    measured: float | None = None
    note: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        if self.outcome not in OUTCOMES:
            raise RepairError(
                _("outcome is {outcome!r}; give one of {known}").format(
                    outcome=self.outcome, known=", ".join(OUTCOMES)
                )
            )

    def __str__(self) -> str:
        told = _("Revision {revision}: {outcome}, set to {size} mm.")
        if self.measured is not None:
            told = _("Revision {revision}: {outcome}, set to {size} mm, read {measured} mm.")
        return told.format(
            revision=self.revision,
            outcome=_(self.outcome, "outcome"),
            size=number(self.set_to),
            measured=number(self.measured or 0.0),
        )


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

    Every edit checks its input first: a refused edit changes nothing. ``steps`` is a tuple of
    frozen steps, so keeping an earlier one is enough to go back to it.

    >>> divider = Repair("tray divider")
    >>> divider.add("fin", name="blade", bottom=35, top=26, height=71, inset=-5, thickness=1.6)
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

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            raise RepairError(_("name is empty; say what the part is, such as tray divider"))
        data.material(self.material)
        data.printer(self.printer)
        if self.down is not None:
            self.down = _direction(_("down"), self.down)
        self.round(self.rounding)
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
        values : the template's parameters, as numbers, text ("1 3/8 in") or Readings

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
        """Take a shape away from everything that was added; parameters as for :meth:`add`."""
        return self._append(template, seat, name, values, cuts=True)

    def change(
        self, step: str, place: str | Place | None = None, cuts: bool | None = None, **values: Any
    ) -> Repair:
        """Change values of a step, where it sits, or whether it cuts."""
        old = self.step(step)
        template = catalogue.find(old.template)
        complete = template.complete({**old.values, **values}, step)
        new_place = old.place if place is None else self._place(place, before=step)
        changed = replace(
            old,
            values=complete,
            place=new_place,
            cuts=old.cuts if cuts is None else cuts,
        )
        self.steps = tuple(changed if s.name == step else s for s in self.steps)
        self._note_readings(step, values)
        return self

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
        self.steps = tuple(s for s in self.steps if s.name != step)
        self.loads = tuple(load for load in self.loads if load.step != step)
        self.fits = tuple(fit for fit in self.fits if fit.step != step)
        self.readings = {
            key: reading for key, reading in self.readings.items() if not key.startswith(f"{step}.")
        }
        left = {name: kept.without(step) for name, kept in self.sketches.items()}
        self.sketches = {name: kept for name, kept in left.items() if kept is not None}
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

    def round(self, radius: float) -> Repair:
        """Round the outer edges that are sharper than a box's with ``radius``, in mm; 0 for none.

        A box's own edges stay, since every face that sits on another or on the bed ends in one;
        a check tells when there was nothing to round.
        """
        self.rounding = ROUNDING.check(_("rounding"), radius)
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
        label = self._free_name(found.name.replace("_", " ")) if name is None else _step_name(name)
        if any(step.name == label for step in self.steps):
            raise RepairError(
                _("there is already a step {name!r}; give this one another name").format(name=label)
            )
        complete = found.complete(values, label)
        place = At() if seat is None else self._place(seat)
        self.steps = (*self.steps, Step(label, found.name, complete, place, cuts))
        self._note_readings(label, values)
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
            },
            indent=2,
            ensure_ascii=False,
        )

    @classmethod
    def from_json(cls, text: str) -> Repair:
        """Read a repair back; RepairError says in a sentence what is damaged or missing."""
        try:
            row = json.loads(text)
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
                steps=_in_order(Step.from_dict(step) for step in row["steps"]),
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


def _in_order(steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps, or RepairError where names repeat or a seat leads nowhere or round in a ring."""
    listed = tuple(steps)
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


def _direction(what: str, given: Any) -> tuple[float, float, float]:
    """Three finite numbers, not all 0, or RepairError naming ``what``."""
    try:
        x, y, z = (float(value) for value in given)
    except (TypeError, ValueError):
        x = y = z = math.nan
    if not math.isfinite(x + y + z) or not (x or y or z):
        raise RepairError(
            _("{what} is {given!r}, which points nowhere; give x, y, z such as (0, 0, -1)").format(
                what=what, given=given
            )
        )
    return x, y, z


def _step_name(name: Any) -> str:
    if not isinstance(name, str) or not name.strip() or "." in name or " of " in name:
        raise RepairError(
            _('step name is {name!r}; give a word or two without a full stop or "of"').format(
                name=name
            )
        )
    return name


def _require_finite(holder: Any, names: Iterable[str]) -> None:
    for name in names:
        value = getattr(holder, name)
        try:
            finite = math.isfinite(value)
        except TypeError:
            finite = False
        if not finite:
            unit = "°" if name in ("turn", "tilt") else " mm"
            raise RepairError(
                _("{name} is {value!r}{unit}; give a finite number").format(
                    name=name, value=value, unit=unit
                )
            )
        object.__setattr__(holder, name, float(value))
