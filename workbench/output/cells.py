"""The cells of a template notebook: heading, sizes, and readable code that builds the repair."""

from __future__ import annotations

import io
import json
import keyword
import re
import tokenize
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from hashlib import sha256
from itertools import count
from typing import Any

from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Corners, Count, Flag, Parameter, Size
from workbench.solids.repair import At, Repair, Seat, Step
from workbench.words import _, number

#: Tags of the cells. The first is the papermill convention.
PARAMETERS = "parameters"
BUILD = "build"

Names = Mapping[str, tuple[str, str]]


def parameter_names(repair: Repair) -> dict[str, tuple[str, str]]:
    """For each size of each step a Python name, such as ``blade_bottom``, in order.

    >>> parameter_names(Repair("door").add("tab", name="foot"))["foot_width"]
    ('foot', 'width')
    """
    names: dict[str, tuple[str, str]] = {}
    for step in repair.steps:
        for field in step.values:
            base = re.sub(r"\W+", "_", f"{step.name}_{field}").lower()
            if not base.isidentifier() or keyword.iskeyword(base):
                base = f"size_{base}"
            free = (base if n == 1 else f"{base}_{n}" for n in count(1))
            names[next(name for name in free if name not in names)] = (step.name, field)
    return names


def write(repair: Repair, names: Names, title: str, note: str) -> list[Any]:
    """The notebook's cells, in order, with ids that stay the same from one saving to the next."""
    from nbformat.v4 import new_code_cell, new_markdown_cell

    def code(name: str, source: str) -> Any:
        return new_code_cell(source, id=name, metadata={"tags": [name]})

    return [
        new_markdown_cell(_heading(repair, names, title, note), id="title"),
        code(PARAMETERS, _parameters(repair, names)),
        code(BUILD, _build(repair, names)),
        code("bench", "bench(repair)"),
    ]


def fingerprint(source: str) -> str:
    """The same for the same code, however it is spaced, wrapped or commented."""
    skipped = {
        tokenize.COMMENT,
        tokenize.NL,
        tokenize.NEWLINE,
        tokenize.INDENT,
        tokenize.DEDENT,
        tokenize.ENDMARKER,
    }
    try:
        tokens = [
            token.string
            for token in tokenize.generate_tokens(io.StringIO(source).readline)
            if token.type not in skipped
        ]
    except (tokenize.TokenError, SyntaxError):
        tokens = [source]
    closing = (")", "]", "}")
    kept = [
        token
        for token, after in zip(tokens, [*tokens[1:], ""], strict=True)
        if not (token == "," and after in closing)
    ]
    return sha256("\0".join(kept).encode()).hexdigest()


def literal(value: Any) -> str:
    """A value as it is written in code, with double quotes.

    >>> literal(34.9), literal((1, "a")), literal(At(z=2.0))
    ('34.9', '(1, "a")', 'At(x=0.0, y=0.0, z=2.0, turn=0.0, tilt=0.0)')
    """
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list):
        return f"[{', '.join(map(literal, value))}]"
    if isinstance(value, tuple):
        return f"({', '.join(map(literal, value))}{',' if len(value) == 1 else ''})"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{literal(k)}: {literal(v)}" for k, v in value.items()) + "}"
    if is_dataclass(value):
        inner = (f"{f.name}={literal(getattr(value, f.name))}" for f in fields(value))
        return f"{type(value).__name__}({', '.join(inner)})"
    return repr(value)


def size_literal(value: Any) -> str:
    """A size as a person would write it: to ten decimals, which no hand can tell from the mean.

    >>> size_literal(104.79999999999998 / 3)
    '34.9333333333'
    """
    return literal(round(value, 10) + 0.0 if isinstance(value, float) else value)


def _heading(repair: Repair, names: Names, title: str, note: str) -> str:
    rows = [
        "| "
        + " | ".join(
            (
                f"`{name}`",
                _shown(repair.step(step), parameter),
                _what(parameter),
                str(repair.readings.get(f"{step}.{field}", "")),
            )
        )
        + " |"
        for name, (step, field) in names.items()
        for parameter in [_parameter(repair.step(step), field)]
    ]
    return "\n".join(
        [
            f"# {title[:1].upper()}{title[1:]}",
            "",
            *([note, ""] if note else []),
            _(
                "Measure the part, write the sizes in the next cell and run all cells: "
                "the same part, with your numbers."
            ),
            "",
            "| {name} | {value} | {measure} | {reading} |".format(
                name=_("name"),
                value=_("size"),
                measure=_("what to measure"),
                reading=_("as it was read"),
            ),
            "|---|---|---|---|",
            *rows,
        ]
    )


def _parameter(step: Step, field: str) -> Parameter:
    return catalogue.find(step.template).parameter(field)


def _shown(step: Step, parameter: Parameter) -> str:
    value = step.values[parameter.name]
    if isinstance(parameter.kind, Size):
        return f"{number(value, 3)} {parameter.kind.unit}"
    if isinstance(parameter.kind, Flag):
        return _("yes") if value else _("no")
    if isinstance(parameter.kind, Corners):
        return _("{count} corners").format(count=len(value))
    return str(value)


def _what(parameter: Parameter) -> str:
    return _(parameter.kind.measure) if parameter.kind.measure else parameter.label


def _comment(parameter: Parameter) -> str:
    kind = parameter.kind
    if isinstance(kind, Size):
        hint = kind.unit
    elif isinstance(kind, Count):
        hint = _("{low} to {high}").format(low=kind.low, high=kind.high)
    elif isinstance(kind, Choice):
        hint = _("one of {options}").format(options=", ".join(kind.options))
    else:
        hint = _("True or False") if isinstance(kind, Flag) else _("corners, in mm")
    return f"{hint}, {_what(parameter)}"


def _parameters(repair: Repair, names: Names) -> str:
    lines: list[str] = []
    last = None
    for name, (step_name, field) in names.items():
        step = repair.step(step_name)
        if step_name != last:
            summary = catalogue.find(step.template).summary
            lines += [*([""] if lines else []), f"# {step_name}: {summary}"]
            last = step_name
        lines.append(
            f"{name} = {size_literal(step.values[field])}  # {_comment(_parameter(step, field))}"
        )
    return "\n".join(lines)


def _build(repair: Repair, names: Names) -> str:
    by_step: dict[str, list[tuple[str, str]]] = {}
    for name, (step_name, field) in names.items():
        by_step.setdefault(step_name, []).append((field, name))
    lines = [
        call(
            "repair = Repair",
            [literal(repair.name)],
            {"material": literal(repair.material), "printer": literal(repair.printer)},
        )
    ]
    standing: set[str] = set()
    later: list[Step] = []
    for step in repair.steps:
        seated = step.place != At()
        waits = isinstance(step.place, Seat) and step.place.step not in standing
        lines.append(
            call(
                "repair.cut" if step.cuts else "repair.add",
                [literal(step.template)],
                {
                    **({"seat": _place(step.place)} if seated and not waits else {}),
                    "name": literal(step.name),
                    **dict(by_step.get(step.name, [])),
                },
            )
        )
        standing.add(step.name)
        if waits:
            later.append(step)
    for step in later:
        lines.append(call("repair.change", [literal(step.name)], {"place": _place(step.place)}))
    lines += _facts(repair)
    source = "\n".join(lines)
    return f"{_imports(source)}\n\n{source}\nrepair"


def _facts(repair: Repair) -> Iterator[str]:
    """What else is known: use, loads, trials, statements and readings."""
    if repair.down is not None:
        yield f"repair.down = {literal(repair.down)}"
    for field in ("uses", "loads", "trials", "statements"):
        value = getattr(repair, field)
        if value:
            yield f"repair.{field} = {literal(value)}"
    noted = [
        f"    {literal(where)}: ({size_literal(_size(repair, where))}, {_reading(reading)}),"
        for where, reading in repair.readings.items()
    ]
    if noted:
        yield "\n".join(
            [
                "# " + _("What was read, and the size it led to. Change a size and its old"),
                "# " + _("readings are left behind."),
                "noted = {",
                *noted,
                "}",
                "keep_readings(repair, noted)",
            ]
        )


def _size(repair: Repair, where: str) -> Any:
    step, _dot, field = where.partition(".")
    return repair.step(step).values[field]


def _reading(reading: Any) -> str:
    instrument = "" if reading.instrument == "calipers" else f", {literal(reading.instrument)}"
    return f"Reading({literal(list(reading.values))}{instrument})"


def _place(place: Seat | At) -> str:
    defaults = Seat("bottom of x") if isinstance(place, Seat) else At()
    moved = [
        f"{f.name}={literal(getattr(place, f.name))}"
        for f in fields(place)
        if f.name != "on" and getattr(place, f.name) != getattr(defaults, f.name)
    ]
    if isinstance(place, At):
        return f"At({', '.join(moved)})"
    return f"Seat({', '.join([literal(place.on), *moved])})" if moved else literal(place.on)


def _imports(source: str) -> str:
    public = ["At", "Load", "Reading", "Repair", "Seat", "Trial"]
    used = [name for name in public if re.search(rf"\b{name}\(", source)]
    lines = [f"from workbench import {', '.join([*used, 'bench'])}"]
    if "keep_readings(" in source:
        lines.append("from workbench.output.notebook import keep_readings")
    return "\n".join(lines)


def call(function: str, plain: Iterable[str], named: Mapping[str, str]) -> str:
    """A call in code: on one line where it fits, else one argument a line.

    >>> print(call("cut", ['"box"'], {"width": "3.0"}))
    cut("box", width=3.0)
    """
    arguments = [*plain, *(f"{name}={value}" for name, value in named.items())]
    line = f"{function}({', '.join(arguments)})"
    if len(line) <= 88:
        return line
    return "\n".join([f"{function}(", *(f"    {argument}," for argument in arguments), ")"])
