"""What a template asks for: each parameter annotated once, read by everything else.

A template is a function from numbers to a solid. Its parameters carry a range, a step, a unit
and what to measure::

    def foot(width: Annotated[float, Size(2, 80, 0.1, measure="across the foot")] = 20.0): ...

Sliders, documentation, checking and the command line all read that one annotation, so a
function of the user's own works wherever a shipped one does.
"""

from __future__ import annotations

import inspect
import math
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, wraps
from typing import Any, TypeVar

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading, parse_length
from workbench.units import MM, Unit
from workbench.words import _, meant, number, quantity, sized

T = TypeVar("T")
F = TypeVar("F", bound=Callable[..., Any])

#: What is nearer to 0 than this, in mm or degrees, is 0: no printer shows it, and the geometry
#: kernel makes no fillet or slot of it.
NOTHING = 1e-4

#: Decimals that a size is kept to: what is written in a notebook's cell is what is kept.
DECIMALS = 10

#: Words that adding and changing a step take for themselves.
RESERVED = (
    "self",
    "template",
    "seat",
    "name",
    "place",
    "step",
    "cuts",
    "repeat",
    "mirror",
    "other_hand",
)


@gate.asked
@dataclass(frozen=True)
class Size:
    """A number with a range: ``low`` to ``high`` in ``unit``, moved in steps of ``step``."""

    low: float
    high: float
    step: float = 0.1
    unit: str = "mm"
    measure: str = ""

    def __post_init__(self) -> None:
        for name in ("low", "high", "step"):
            gate.needed(getattr(self, name), (int, float), name, "20")
        gate.choice("unit", self.unit, ("mm", "°"))
        _refuse_measure(self)
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise RepairError(
                _("a size runs from {low} to {high}; give a low end below a high end").format(
                    **self._limits()
                )
            )
        if not self.step > 0:
            raise RepairError(
                _("a size moves in steps of {step}; give a step above 0").format(
                    step=quantity(self.step, self.unit)
                )
            )

    def check(self, field: str, value: Any, unit: Unit = MM) -> float:
        """Return ``value`` as a float within the range, or raise RepairError naming ``field``.

        ``unit`` is that of a text that names none; a limit typed as it is shown counts as met.
        """
        if isinstance(value, Reading):
            value = value.value
        if isinstance(value, str):
            is_length = self.unit == "mm"
            value = _length(field, value, unit) if is_length else _plain_number(field, value)
            value = self._met(value, unit.slack if is_length else 0.0)
        try:
            amount = float(value)
        except (TypeError, ValueError, OverflowError):
            amount = math.nan
        if not math.isfinite(amount) or isinstance(value, bool):
            raise RepairError(
                _("{field} is {value!r}; give a number from {low} to {high}").format(
                    field=field, value=gate.short(value), **self._limits()
                )
            )
        if not self.low <= amount <= self.high:
            raise RepairError(
                _("{field} is {value}; give {low} to {high} ({measure})").format(
                    field=field,
                    value=_exactly(amount, self.unit),
                    measure=_(self.measure) if self.measure else _("measure it again"),
                    **self._limits(),
                )
            )
        return 0.0 if abs(amount) < NOTHING and self.low <= 0 else round(amount, DECIMALS)

    def _met(self, value: float, slack: float) -> float:
        """The value, or the limit where it misses it by no more than ``slack``."""
        nearest = min(max(value, self.low), self.high)
        return nearest if abs(value - nearest) <= slack else value

    def _limits(self) -> dict[str, str]:
        low = sized(self.low) if self.unit == "mm" else number(self.low)
        low = f"{self.low:.3g}" if self.low and low == "0" else low
        return {"low": low, "high": quantity(self.high, self.unit)}


@gate.asked
@dataclass(frozen=True)
class Count:
    """A whole number from ``low`` to ``high``."""

    low: int
    high: int
    measure: str = ""

    def __post_init__(self) -> None:
        for name in ("low", "high"):
            gate.needed(getattr(self, name), int, name, "20")
        _refuse_measure(self)
        if self.low > self.high:
            raise RepairError(
                _("a size runs from {low} to {high}; give a low end below a high end").format(
                    low=self.low, high=self.high
                )
            )

    def check(self, field: str, value: Any) -> int:
        """Return ``value`` as an int within the range, or raise RepairError naming ``field``."""
        try:
            amount = float(value)
        except (TypeError, ValueError, OverflowError):
            amount = math.nan
        if isinstance(value, bool) or not math.isfinite(amount) or amount % 1:
            raise RepairError(
                _("{field} is {value!r}; give a whole number from {low} to {high}").format(
                    field=field, value=gate.short(value), low=self.low, high=self.high
                )
            )
        if not self.low <= amount <= self.high:
            raise RepairError(
                _("{field} is {value}; give {low} to {high}").format(
                    field=field, value=int(amount), low=self.low, high=self.high
                )
            )
        return int(amount)


@gate.asked
@dataclass(frozen=True)
class Choice:
    """One word out of ``options``."""

    options: tuple[str, ...]
    measure: str = ""

    def __post_init__(self) -> None:
        several = gate.needed(self.options, (tuple, list), "options", '("round", "square")')
        for option in several or (None,):
            gate.needed(option, str, "options", '("round", "square")')
        _refuse_measure(self)

    def check(self, field: str, value: Any) -> str:
        """Return ``value`` if it is an option, or raise RepairError naming ``field``."""
        value = meant(value, self.options) if isinstance(value, str) else value
        return gate.choice(field, value, self.options, _)


@dataclass(frozen=True)
class _Measured:
    measure: str = ""

    def __post_init__(self) -> None:
        _refuse_measure(self)


@gate.asked
@dataclass(frozen=True)
class Flag(_Measured):
    """Yes or no."""

    def check(self, field: str, value: Any) -> bool:
        """Return ``value`` as a bool, or raise RepairError naming ``field``."""
        if isinstance(value, str):
            value = {"yes": True, "true": True, "no": False, "false": False}.get(
                meant(value, ("yes", "no", "true", "false")), value
            )
        if isinstance(value, (int, float)) and value in (0, 1):
            return bool(value)
        raise RepairError(
            _("{field} is {value!r}; give yes or no").format(field=field, value=gate.short(value))
        )


@gate.asked
@dataclass(frozen=True)
class Corners(_Measured):
    """A list of corners in mm, rounds and arcs among them, as :class:`Outline` takes them."""

    def check(self, field: str, value: Any) -> tuple[tuple[float, ...], ...]:
        """Return ``value`` as a tuple of corners, or raise RepairError naming ``field``."""
        from workbench.measure.outlines.outline import Outline

        try:
            outline = value if isinstance(value, Outline) else Outline(value)
        except TypeError:
            raise RepairError(
                _("{field} is not a list of corners; give pairs of numbers, in mm").format(
                    field=field
                )
            ) from None
        except RepairError as error:
            raise RepairError(f"{field}: {error}") from None
        return outline.corners


@gate.asked
@dataclass(frozen=True)
class Words:
    """A text of one line, at most ``longest`` signs long."""

    longest: int = 30
    measure: str = ""

    def __post_init__(self) -> None:
        Count(1, gate.NOTE).check("longest", self.longest)
        _refuse_measure(self)

    def check(self, field: str, value: Any) -> str:
        """Return ``value`` as a text without spaces about it, or raise RepairError naming ``field``."""
        text = unicodedata.normalize("NFC", value.strip()) if isinstance(value, str) else ""
        if not text or not text.isprintable():
            raise RepairError(
                _("{field} is {value!r}; give a text of one line").format(
                    field=field, value=gate.short(value)
                )
            )
        if len(text) > self.longest:
            raise RepairError(
                _("{field} has {count} characters; give at most {most}").format(
                    field=field, count=len(text), most=self.longest
                )
            )
        return text


def _refuse_measure(kind: Any) -> None:
    gate.needed(kind.measure, str, "measure", '"across the foot"')


Kind = Size | Count | Choice | Flag | Corners | Words


@dataclass(frozen=True)
class Parameter:
    """One thing that a template asks for."""

    name: str
    kind: Kind
    default: Any

    @property
    def label(self) -> str:
        """The name as words: ``root_thickness`` reads ``root thickness``."""
        return self.name.replace("_", " ")

    @property
    def said(self) -> str:
        """The label in the user's language; what it measures tells words apart that are one."""
        told = _(self.label, self.kind.measure)
        return told if told != self.label else _(self.label)


@dataclass(frozen=True)
class Template:
    """A template function with what it asks for."""

    name: str
    function: Callable[..., Any]
    parameters: tuple[Parameter, ...]
    summary: str

    def parameter(self, field: str) -> Parameter:
        """The parameter called ``field``, or RepairError listing those there are."""
        return one_of(
            {parameter.name: parameter for parameter in self.parameters}, field, self.name
        )

    def complete(self, values: Mapping[str, Any], where: str = "") -> dict[str, Any]:
        """All values, checked and with defaults filled in; ``where`` names the step in errors."""
        prefix = where or _(self.name.replace("_", " "))
        for field in values:
            self.parameter(field)
        return {
            p.name: p.kind.check(f"{prefix}: {p.said}", values.get(p.name, p.default))
            for p in self.parameters
        }


def one_of(asked: Mapping[str, T], field: str, owner: str) -> T:
    """What is asked under a name, or RepairError listing the names that the owner has."""
    if field in asked:
        return asked[field]
    raise RepairError(
        _("{template} has no {field!r}; it asks for {known}").format(
            template=owner, field=field, known=", ".join(asked)
        )
    )


def _length(field: str, text: str, unit: Unit) -> float:
    try:
        return parse_length(text, unit.name)
    except RepairError as error:
        raise RepairError(f"{field}: {error}") from None


def _exactly(amount: float, unit: str) -> str:
    """The amount and its unit, with as many digits as it takes to show that it is not 0."""
    if amount and number(amount, 4) == "0":
        return f"{amount:.3g} {unit}"
    return quantity(amount, unit, 4)


def _plain_number(field: str, text: str) -> float:
    try:
        return float(text.strip().rstrip("°").replace(",", "."))
    except ValueError:
        raise RepairError(
            _("{field} is {text!r}; give a number such as 45").format(field=field, text=text)
        ) from None


def _evaluated(annotation: Any, function: Callable[..., Any]) -> Any:
    """The annotation itself where it was written as text (``from __future__ import annotations``)."""
    if isinstance(annotation, str):
        return eval(annotation, getattr(inspect.unwrap(function), "__globals__", {}))
    return annotation


@lru_cache(maxsize=256)
def template_of(function: Callable[..., Any]) -> Template:
    """Read a template function's annotations.

    Raises RepairError when a parameter lacks an annotation of this module or a default within its
    range, or is called as something that steps use themselves.
    """
    name = getattr(function, "__name__", str(function))
    try:
        signature = inspect.signature(function)
        hints = {
            field: _evaluated(declared.annotation, function)
            for field, declared in signature.parameters.items()
        }
    except (TypeError, NameError, ValueError, SyntaxError) as error:
        raise RepairError(
            _("template {name} cannot be read: {error}; put its annotations right").format(
                name=name, error=str(error).partition(" <")[0]
            )
        ) from None
    parameters: list[Parameter] = []
    for field, declared in signature.parameters.items():
        kinds = [m for m in getattr(hints.get(field), "__metadata__", ()) if isinstance(m, Kind)]
        if not kinds or declared.default is inspect.Parameter.empty:
            raise RepairError(
                _(
                    "template {name} says too little about {field}; annotate it, for example "
                    "Annotated[float, Size(1, 100, 0.1, measure='across the foot')] = 20.0"
                ).format(name=name, field=field)
            )
        if field in RESERVED:
            raise RepairError(
                _(
                    "template {name} asks for {field!r}, a word that steps use themselves; call it something else"
                ).format(name=name, field=field)
            )
        default = kinds[0].check(
            _("{name}: default of {field}").format(name=name, field=field), declared.default
        )
        parameters.append(Parameter(field, kinds[0], default))
    summary = (inspect.getdoc(function) or name).split("\n", 1)[0].rstrip(".")
    return Template(name, function, tuple(parameters), summary)


def checked(function: F) -> F:
    """A template function that checks its own annotations, whoever calls it.

    Values may be given as numbers, text or Readings, in order or by name. Whatever the kernel
    raises becomes a RepairError that names the template.
    """

    @wraps(function)
    def call(*given: Any, **named: Any) -> Any:
        template = template_of(call)
        fields = [parameter.name for parameter in template.parameters]
        if len(given) > len(fields) or set(fields[: len(given)]) & set(named):
            raise RepairError(
                _("{template} takes each of its sizes once: {known}; give them by name").format(
                    template=template.name, known=", ".join(fields)
                )
            )
        values = template.complete({**dict(zip(fields, given, strict=False)), **named})
        try:
            return function(**values)
        except RepairError:
            raise
        except Exception as error:  # the kernel raises types of its own
            raise RepairError(
                _(
                    "{template} cannot be built from these values ({reason}); change a size by 0.1 mm"
                ).format(template=template.name, reason=str(error) or type(error).__name__)
            ) from error

    return gate.asked(call)  # type: ignore[return-value]
