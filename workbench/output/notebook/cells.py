"""The cells of a template notebook: heading, sizes, and readable code that builds the repair."""

from __future__ import annotations

import io
import json
import re
import tokenize
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass
from hashlib import sha256
from pprint import pformat
from textwrap import indent
from typing import Any

from workbench import _HOMES, units
from workbench.measure.reading import UNITS, Reading
from workbench.output.files.paths import slug
from workbench.output.notebook.own_templates import source_of
from workbench.output.notebook.repair_sizes import (
    Place,
    comes_first,
    follows,
    is_chosen,
    parameter,
    reading,
    readings_noted,
    size,
)
from workbench.solids import catalogue
from workbench.solids.parameters import (
    DECIMALS,
    Choice,
    Corners,
    Count,
    Flag,
    Parameter,
    Size,
    Words,
)
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import REPEAT
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import PREFIX, At, Seat
from workbench.solids.recipe.step import Step
from workbench.words import _, number

#: Tags of the cells. The first is the papermill convention.
PARAMETERS = "parameters"
BUILD = "build"
BENCH = "bench"

#: Cells that the tool wrote into notebooks and no longer does.
FORMER = tuple(
    f"from {module} import summary\n\nprint(summary(repair))"
    for module in ("workbench.output.summary", "workbench.output.notebook.summary")
)

Names = Mapping[str, Place]

_PICTURE = "picture.png"

#: Characters in a line of code.
_WIDEST = 100


def write(repair: Repair, names: Names, title: str, note: str, picture: bytes) -> list[Any]:
    """The notebook's cells, in order, with ids that stay the same from one saving to the next.

    names : of the sizes, as named_sizes gives them
    title, note : for the heading
    picture : of the repair, as PNG
    """
    with units.using(units.MM):  # whoever opens it may read other units than its author
        return _written(repair, names, title, note, picture)


def _written(repair: Repair, names: Names, title: str, note: str, picture: bytes) -> list[Any]:
    def cell(kind: str, name: str, source: str, **more: Any) -> dict[str, Any]:
        return {"cell_type": kind, "id": name, "metadata": {}, "source": source, **more}

    def code(name: str, source: str) -> dict[str, Any]:
        tags = {"tags": [name]}
        return cell("code", name, source, metadata=tags, outputs=[], execution_count=None)

    attached = {_PICTURE: {"image/png": b64encode(picture).decode()}}
    own = [step.template for step in repair.steps if step.template not in catalogue.SHIPPED]
    return [
        cell("markdown", "title", heading(repair, names, title, note), attachments=attached),
        code(PARAMETERS, parameters(repair, names)),
        *(
            code(f"template-{slug(name)}", source_of(catalogue.find(name).function))
            for name in dict.fromkeys(own)
        ),
        code(BUILD, build(repair, names)),
        code(BENCH, "bench(repair)"),
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
    kept = [
        token
        for i, token in enumerate(tokens)
        if not (token == "," and tokens[i + 1 : i + 2] in ([")"], ["]"], ["}"]))
    ]
    return sha256("\0".join(kept).encode()).hexdigest()


def literal(value: Any) -> str:
    """A value as it is written in code, with double quotes.

    >>> literal(34.9), literal((1, "a")), literal(At(z=2.0))
    ('34.9', '(1, "a")', 'At(z=2.0)')
    """
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return f"[{', '.join(map(literal, value))}]"
    if isinstance(value, tuple):
        return f"({', '.join(map(literal, value))}{',' if len(value) == 1 else ''})"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{literal(k)}: {literal(v)}" for k, v in value.items()) + "}"
    if is_dataclass(value):
        inner = (
            f"{f.name}={literal(getattr(value, f.name))}"
            for f in fields(value)
            if f.default is MISSING or getattr(value, f.name) != f.default
        )
        return f"{type(value).__name__}({', '.join(inner)})"
    return repr(value)


def size_literal(value: Any) -> str:
    """A size as it is written in code, to the decimals that a step keeps.

    >>> size_literal(104.79999999999998 / 3)
    '34.9333333333'
    """
    if isinstance(value, Same):
        return f"Same({literal(value.text)})"
    return literal(round(value, DECIMALS) + 0.0 if isinstance(value, float) else value)


def marked(text: str) -> str:
    """A stranger's text among ours: no picture is fetched for it, and no link hides behind it.

    >>> print(marked("a ![b](http://c) <img>"))
    a !\\[b\\](http://c) &lt;img>
    """
    return text.replace("<", "&lt;").replace("[", "\\[").replace("]", "\\]")


def comment(text: str) -> str:
    """Any text as a comment of one line: whatever would end the line, or hide in it, is a space.

    A minus sign is the one of the keyboard, as linters ask of code.

    >>> comment("upright\\nimport os"), comment("left (−)")
    ('# upright import os', '# left (-)')
    """
    plain = "".join(c if c.isprintable() else " " for c in text.replace("−", "-"))
    return "# " + " ".join(plain.split())


def _quoted(text: str) -> str:
    signs = json.dumps(text, ensure_ascii=False)
    return "".join(c if c.isprintable() else _escaped(c) for c in signs)


def _escaped(sign: str) -> str:
    return f"\\u{ord(sign):04x}" if ord(sign) < 0x10000 else f"\\U{ord(sign):08x}"


def heading(repair: Repair, names: Names, title: str, note: str) -> str:
    chosen = {name: place for name, place in names.items() if is_chosen(repair, place)}
    rows = [
        f"| `{name}` | {_shown(repair, place)} | {_what(parameter(repair, place))} "
        f"| {reading(repair, place) or ''} |"
        for name, place in (chosen or names).items()
    ]
    return "\n".join(
        [
            f"# {marked(title[:1].upper() + title[1:])}",
            "",
            *([marked(note), ""] if note else []),
            f"![{marked(title)}](attachment:{_PICTURE})",
            "",
            _(
                "Measure yours, write the sizes into the next cell and run all cells: "
                "the same part with your numbers."
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


def _shown(repair: Repair, place: Place) -> str:
    value, kind = size(repair, place), parameter(repair, place).kind
    if isinstance(kind, Size):
        return f"{number(value, 3)} {kind.unit}"
    if isinstance(kind, Flag):
        return _("yes") if value else _("no")
    if isinstance(kind, Corners):
        return _("{count} corners").format(count=len(value))
    return str(value)


def _what(asked: Parameter) -> str:
    return _(asked.kind.measure) if asked.kind.measure else asked.label


def _hint(asked: Parameter) -> str:
    kind = asked.kind
    if isinstance(kind, Size):
        hint = kind.unit
    elif isinstance(kind, Count):
        hint = _("{low} to {high}").format(low=kind.low, high=kind.high)
    elif isinstance(kind, Choice):
        hint = _("one of {options}").format(options=", ".join(kind.options))
    elif isinstance(kind, Words):
        hint = _("text in quotes")
    else:
        hint = _("True or False") if isinstance(kind, Flag) else _("corners, in mm")
    return f"{hint}; {_what(asked)}" if " " in hint else f"{hint}, {_what(asked)}"


def parameters(repair: Repair, names: Names) -> str:
    last = None
    follow = any(follows(repair, place) is not None for place in names.values())
    lines: list[str] = ["from workbench import Same"] if follow else []
    for name, place in names.items():
        step = repair.step(place[0])
        block = step.name if comes_first(repair, place) else ""
        if block != last:
            said = _(catalogue.find(step.template).summary)
            about = f"{block}: {said[:1].lower()}{said[1:]}" if block else _("Not changed so far")
            lines += [*([""] if lines else []), comment(about)]
            last = block
        value = size_literal(follows(repair, place) or size(repair, place))
        lines.append(f"{name} = {value}  {comment(_hint(parameter(repair, place)))}")
    return "\n".join(lines)


def build(repair: Repair, names: Names) -> str:
    by_place = {place: name for name, place in names.items()}
    lines = [
        call(
            "repair = Repair",
            [literal(repair.name)],
            {"material": literal(repair.material), "printer": literal(repair.printer)},
        )
    ]
    standing: set[str] = set()
    later: list[str] = []
    for step in repair.steps:
        # What rests on a step further down, or follows its sizes, is said once that is there.
        standing.add(step.name)
        ahead = {
            name
            for name, same in step.follows.items()
            if not {other for other, _field in same.sizes} <= standing
        }
        below = isinstance(step.place, Seat) and step.place.step not in standing
        waits = below or any(name.startswith(PREFIX) for name in ahead)
        held = {n: by_place.get((step.name, PREFIX + n), "") for n in step.place.numbers()}
        place = {"place": _place(step.place, held)} if step.place != At() else {}
        values = {field: by_place[step.name, field] for field in step.values}
        now = {field: name for field, name in values.items() if field not in ahead}
        seat = {"seat": place["place"]} if place and not waits else {}
        function = "repair.cut" if step.cuts else "repair.add"
        named = {**seat, "name": literal(step.name), **_pattern(step, by_place), **now}
        lines.append(call(function, [literal(step.template)], named))
        changed = (place if waits else {}) | {f: values[f] for f in values if f in ahead}
        if changed:
            later.append(call("repair.change", [literal(step.name)], changed))
    lines += later
    lines += _facts(repair, by_place)
    source = "\n".join(lines)
    return f"{_imports(repair, source)}\n\n{source}\nrepair"


def _facts(repair: Repair, by_place: Mapping[Place, str]) -> Iterator[str]:
    """What else is known of the repair: its fits, use, loads and the like, and its readings."""
    for fit in repair.fits:
        mating = by_place[fit.step, f"{fit.field}.mating"]
        plain = [literal(fit.step), literal(fit.field), mating, literal(fit.kind)]
        yield call("repair.fit", plain, {})
    for limit in repair.limits:
        size, *rest = limit.to_dict().items()
        yield call("repair.limit", [literal(size[1])], {n: literal(text) for n, text in rest})
    for ease in repair.eases:
        where = literal(ease.where if ease.at is None else ease.at)
        function = "repair.chamfer" if ease.chamfer else "repair.round"
        yield call(function, [where, literal(ease.size)], {})
    told = {"name", "material", "printer", "steps", "readings", "fits", "sketches"}
    told |= {"limits", "eases"}
    blank = Repair(repair.name)
    for field in fields(repair):
        value = getattr(repair, field.name)
        if field.name not in told and value != getattr(blank, field.name):
            yield _assigned(f"repair.{field.name}", value)
    for name, kept in repair.sketches.items():
        row = pformat(kept.to_dict(), width=_WIDEST, sort_dicts=False)
        yield f"repair.sketches[{literal(name)}] = Measured.from_dict(\n{indent(row, '    ')}\n)"
    noted = [
        f"    {literal(where)}: ({size_literal(saved)}, {_reading(found)}),"
        for where, (saved, found) in readings_noted(repair)
    ]
    if noted:
        yield "\n".join(
            [
                comment(_("The readings behind the sizes; changing a size drops its readings.")),
                "noted = {",
                *noted,
                "}",
                "keep_readings(repair, noted)",
            ]
        )


def _assigned(name: str, value: Any) -> str:
    """An assignment, one item a line where a row of things does not fit on one."""
    line = f"{name} = {literal(value)}"
    if len(line) <= _WIDEST or not isinstance(value, tuple):
        return line
    return "\n".join([f"{name} = (", *(f"    {literal(item)}," for item in value), ")"])


def _reading(found: Reading) -> str:
    values = [value / UNITS[found.unit] for value in found.values]
    exact = Reading(values, found.instrument, found.unit) == found
    arguments: list[Any] = [values if exact else [f"{value!r} mm" for value in found.values]]
    named = {
        **({"instrument": found.instrument} if found.instrument != "calipers" else {}),
        **({"unit": found.unit} if found.unit != "mm" else {}),
    }
    return call("Reading", map(literal, arguments), {k: literal(v) for k, v in named.items()})


def _pattern(step: Step, names: Mapping[Place, str]) -> dict[str, str]:
    """How often a step stands, in code."""
    found = {}
    if step.repeat is not None:
        held = {n: names.get((step.name, REPEAT + n)) for n in step.repeat.numbers()}
        arguments = [
            f"{f.name}={held.get(f.name) or literal(getattr(step.repeat, f.name))}"
            for f in fields(step.repeat)
            if f.default is MISSING or getattr(step.repeat, f.name) != f.default
        ]
        found["repeat"] = f"{type(step.repeat).__name__}({', '.join(arguments)})"
    if step.mirror:
        found["mirror"] = literal(step.mirror)
    return found | ({"other_hand": "True"} if step.other_hand else {})


def _place(place: Seat | At, names: Mapping[str, str]) -> str:
    """A place in code, its numbers by the names that they have in the parameters cell."""
    defaults = Seat("bottom of x") if isinstance(place, Seat) else At()
    moved = [
        f"{f.name}={_number(place, f.name, names)}"
        for f in fields(place)
        if f.name != "on" and getattr(place, f.name) != getattr(defaults, f.name)
    ]
    if isinstance(place, At):
        return f"At({', '.join(moved)})"
    return f"Seat({', '.join([literal(place.on), *moved])})" if moved else literal(place.on)


def _number(place: Seat | At, field: str, names: Mapping[str, str]) -> str:
    value = getattr(place, field)
    if field == "inset" and isinstance(value, tuple):
        assert isinstance(place, Seat)
        named = (names.get(f"inset_{edge}") for edge in place.edges)
        pairs = zip(named, value, strict=False)
        return f"({', '.join(name or literal(one) for name, one in pairs)})"
    return names.get(field) or literal(value)


def _imports(repair: Repair, source: str) -> str:
    """Import what the code uses; a function of the user's own stands in its own cell."""
    public = {name for name in _HOMES if re.search(rf"(?<![\w.]){name}\(", source)}
    lines = [f"from workbench import {', '.join(sorted({*public, 'bench'}))}"]
    if "keep_readings(" in source:
        lines.append("from workbench.output.notebook.repair_sizes import keep_readings")
    if "Measured.from_dict(" in source:
        lines.append("from workbench.solids.measured import Measured")
    return "\n".join(lines)


def call(function: str, plain: Iterable[str], named: Mapping[str, str]) -> str:
    """A call in code: on one line where it fits, else one argument a line.

    >>> print(call("cut", ['"box"'], {"width": "3.0"}))
    cut("box", width=3.0)
    """
    arguments = [*plain, *(f"{name}={value}" for name, value in named.items())]
    line = f"{function}({', '.join(arguments)})"
    if len(line) <= _WIDEST:
        return line
    return "\n".join([f"{function}(", *(f"    {argument}," for argument in arguments), ")"])
