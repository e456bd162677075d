"""A row of the measuring table: one reading between named corners, or one statement."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import RESOLUTION, SETTING, UNITS, Reading
from workbench.words import _, number, quantity, with_unit

#: Each kind of reading: how many names it takes, and an example.
LENGTHS = {
    "side": ((2,), "A B"),
    "diagonal": ((2,), "A C"),
    "distance": ((2,), "A C"),
    "height": ((3,), "C over A B"),
    "offset": ((3,), "C along A B"),
    "overall width": ((0, 2), "along A B"),
    "overall height": ((0, 2), "over A B"),
    "radius": ((1, 2), "B"),
    "rise": ((2,), "A B"),
    "diameter": ((1,), "H"),
    "sum": ((), "side A B plus offset C along A B"),
}
ANGLES = {"angle": ((1, 3), "B")}
STATEMENTS = {
    "parallel": ((4,), "A B and D C"),
    "square": ((1, 4), "B"),
    "equal": ((4,), "A D and B C"),
    "in line": ((3,), "C with A B"),
}
KINDS: dict[str, tuple[tuple[int, ...], str]] = {**LENGTHS, **ANGLES, **STATEMENTS}

#: Kinds whose value or doubt is in degrees.
IN_DEGREES = {"angle", "parallel", "square"}

#: A protractor or bevel gauge with marks at each degree.
PROTRACTOR = "protractor"
DEGREES = "°"

#: Which part of a hole the jaws reach: its near side, its far side, or its middle.
RIMS = ("near", "far", "centre")

#: A size that a sum adds (1) or takes away (-1): sign, kind, names.
Term = tuple[int, str, tuple[str, ...]]


@dataclass(frozen=True)
class Row:
    """One reading or statement of a sketch: a line of the measuring table.

    name : what messages call it
    kind : one of ``KINDS``
    where : names of corners and circles, in the order that the kind asks for
    values : what was read, in mm or degrees; empty for a statement, which holds exactly
    instrument : as for :class:`~workbench.Reading`, or "protractor"
    unit : that the values were written in; they are kept in mm or degrees
    uncertainty : standard uncertainty in mm or degrees, where it is known better than from
        the instrument and the scatter
    rim : "near", "far" or "centre" of a circle
    terms : of a sum: (1 or -1, kind, where) for each size that it adds or takes away
    """

    name: str
    kind: str
    where: tuple[str, ...]
    values: tuple[float, ...] = ()
    instrument: str = "calipers"
    unit: str = "mm"
    uncertainty: float | None = None
    rim: str = "near"
    terms: tuple[Term, ...] = ()

    @property
    def value(self) -> float:
        """Mean of the values, in mm or degrees; 0 for a statement."""
        return math.fsum(self.values) / len(self.values) if self.values else 0.0

    @property
    def measures(self) -> str:
        """The unit of value and uncertainty: "mm" or "°"."""
        return DEGREES if self.kind in IN_DEGREES else "mm"

    @property
    def exact(self) -> bool:
        """Whether it is a statement that must hold exactly."""
        return not self.values and self.uncertainty is None

    def sigma(self, setting: float = SETTING) -> float:
        """Standard uncertainty in mm or degrees; 0 where it holds exactly.

        Of lengths as for a Reading by a hand whose settings differ by ``setting`` mm.
        """
        if self.uncertainty is not None or not self.values:
            return self.uncertainty or 0.0
        if self.measures == "mm":
            return Reading(self.values, self.instrument).uncertainty_by(setting)
        n, mean = len(self.values), self.value
        squares = math.fsum((v - mean) ** 2 for v in self.values)
        scatter = math.sqrt(squares / (n - 1) / n) if n > 1 else 0.0
        return math.hypot(1.0 / math.sqrt(12), scatter)

    def __str__(self) -> str:
        if not self.values:
            return self.name
        return f"{self.name}: {quantity(self.value, self.measures)}"

    def to_dict(self) -> dict[str, Any]:
        """Plain data, with only what differs from the usual."""
        row: dict[str, Any] = {"name": self.name, "kind": self.kind, "where": list(self.where)}
        if self.values:
            row |= {"values": list(self.values), "instrument": self.instrument, "unit": self.unit}
        if self.uncertainty is not None:
            row["uncertainty"] = self.uncertainty
        if self.rim != "near":
            row["rim"] = self.rim
        if self.terms:
            row["terms"] = [[sign, kind, list(where)] for sign, kind, where in self.terms]
        return row

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Row:
        """Read back what :meth:`to_dict` wrote; the sketch that takes it checks it."""
        return cls(
            name=row["name"],
            kind=row["kind"],
            where=tuple(row["where"]),
            values=tuple(float(v) for v in row.get("values", ())),
            instrument=row.get("instrument", "calipers"),
            unit=row.get("unit", "mm"),
            uncertainty=row.get("uncertainty"),
            rim=row.get("rim", "near"),
            terms=tuple((int(s), k, tuple(w)) for s, k, w in row.get("terms", ())),
        )


def in_words(kind: str, where: Iterable[str]) -> str:
    """A size as one would say it: "height D over A B"."""
    names = [*where]
    letters = dict(zip("abcd", names, strict=False))
    templates = {
        "height": _("height {a} over {b} {c}"),
        "offset": _("offset {a} along {b} {c}"),
        "overall width": _("overall width along {a} {b}") if names else _("overall width"),
        "overall height": _("overall height over {a} {b}") if names else _("overall height"),
        "parallel": _("parallel {a} {b} and {c} {d}"),
        "equal": _("equal {a} {b} and {c} {d}"),
        "in line": _("in line {a} with {b} {c}"),
    }
    if kind == "square" and len(names) == 4:
        return _("square {a} {b} and {c} {d}").format(**letters)
    if kind in templates:
        return templates[kind].format(**letters)
    return " ".join([_(kind), *names])


def sum_text(terms: Iterable[Term]) -> str:
    """Terms as words: "side A B plus offset C along A B"."""
    text = ""
    for sign, kind, where in terms:
        joint = (" plus " if sign > 0 else " minus ") if text or sign < 0 else ""
        text += joint + in_words(kind, where)
    return text.strip()


def split_sum(text: str) -> list[tuple[int, str, str]]:
    """(sign, kind, place as written) of each size in "side A B plus offset C along A B".

    Raises RepairError when a part of it is not a kind of length.
    """
    terms: list[tuple[int, str, str]] = []
    sign, words = 1, []
    for word in [*text.replace("+", " plus ").replace(" - ", " minus ").split(), "plus"]:
        if word not in ("plus", "minus"):
            words.append(word)
            continue
        if words:
            terms.append((sign, *_kind_and_place(" ".join(words))))
        sign, words = (1 if word == "plus" else -1), []
    if not terms:
        raise RepairError(
            _('sum names no sizes; write it like "{example}"').format(example=KINDS["sum"][1])
        )
    return terms


def _kind_and_place(part: str) -> tuple[str, str]:
    for kind in LENGTHS:
        if kind != "sum" and (part == kind or part.startswith(kind + " ")):
            return kind, part[len(kind) :]
    raise RepairError(
        _('sum: {part!r} is not a size; write it like "{example}"').format(
            part=part, example=KINDS["sum"][1]
        )
    )


def read_values(
    label: str, kind: str, value: Any, instrument: str | None, unit: str | None
) -> tuple[tuple[float, ...], str, str]:
    """What was read for a row: values in mm or degrees, the unit written, the instrument.

    Raises RepairError naming the row, when the value is not a length or an angle, or the unit is
    unknown.
    """
    if kind in IN_DEGREES:
        return _all_degrees(label, value), DEGREES, PROTRACTOR
    if value is None:
        return (), unit or "mm", instrument or "calipers"
    if isinstance(value, Reading):
        return value.values, value.unit, instrument or value.instrument
    try:
        reading = Reading(value, instrument or "calipers", unit or "mm")
    except RepairError as error:
        raise RepairError(f"{label}: {error}") from None
    return reading.values, reading.unit, reading.instrument


def _all_degrees(label: str, value: Any) -> tuple[float, ...]:
    if value is None:
        return ()
    try:
        listed = [value] if isinstance(value, (str, int, float)) else list(value)
        return tuple(_degrees(v) for v in listed)
    except (TypeError, ValueError):
        raise RepairError(
            _("{label} is {value!r}; give degrees, such as 63.5").format(label=label, value=value)
        ) from None


def _degrees(value: Any) -> float:
    if isinstance(value, str):
        value = value.strip().rstrip("°").replace(",", ".")
    amount = math.nan if isinstance(value, bool) else float(value)
    if not math.isfinite(amount):
        raise ValueError
    return amount


def check_kind(kind: str) -> None:
    """RepairError listing the kinds there are, unless it is one of them."""
    if kind not in KINDS:
        raise RepairError(
            _("{kind!r} is not a kind of reading; use one of {known}").format(
                kind=kind, known=", ".join(KINDS)
            )
        )


def check_row(row: Row) -> Row:
    """The row itself, or RepairError naming it and what it cannot be: all but its place."""
    check_kind(row.kind)
    for field, given, known in (
        ("rim", row.rim, RIMS),
        ("instrument", row.instrument, (*RESOLUTION, PROTRACTOR)),
        ("unit", row.unit, (*UNITS, DEGREES)),
    ):
        gate.choice(f"{row.name}: {field}", given, known)
    if row.uncertainty is not None and not _is_above_0(row.uncertainty):
        raise RepairError(
            _("{name}: uncertainty is {value!r}; give a number above 0").format(
                name=row.name, value=row.uncertainty
            )
        )
    if row.kind in STATEMENTS and row.values:
        raise RepairError(
            _("{name} needs no value; to soften it give an uncertainty").format(name=row.name)
        )
    if row.kind not in STATEMENTS and row.kind != "sum" and not row.values:
        raise RepairError(_("{name} has no value; read it again").format(name=row.name))
    for value in row.values:
        _check_value(row, value)
    return row


def _check_value(row: Row, value: float) -> None:
    if row.kind == "angle" and not 0 < value < 360:
        raise RepairError(
            _("{name} is {value}°; give more than 0° and less than 360°").format(
                name=row.name, value=number(value)
            )
        )
    if row.measures == "mm" and row.kind not in ("offset", "sum") and value <= 0:
        raise RepairError(
            _("{name} is {value}; give more than 0, or leave a corner out").format(
                name=row.name, value=with_unit(value)
            )
        )


def _is_above_0(value: Any) -> bool:
    return isinstance(value, (int, float)) and math.isfinite(value) and value > 0
