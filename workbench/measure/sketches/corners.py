"""Where a reading is taken: corners and circles, as one names them."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import FARTHEST
from workbench.measure.sketches.table_row import KINDS
from workbench.words import _, meant, number

#: Small words that make a place read well and say nothing more.
FILLERS = ("over", "along", "and", "to", "from", "at", "of", "between", "with", "in")

#: Words between the sizes of a sum.
_SIGNS = {"plus", "minus"}


def names_of(
    kind: str, where: str | Iterable[str], corners: Sequence[str], circles: Sequence[str]
) -> tuple[str, ...]:
    """The names in a place such as "C over A B", "CAB" or ("C", "A", "B").

    corners : those there are, in order round the outline
    circles : those there are

    Raises RepairError when a name is not known, or the kind of reading asks for others.
    """
    gate.needed(where, (str, Iterable), _("place"), "A B")
    tokens = where.replace(",", " ").split() if isinstance(where, str) else list(where)
    for token in tokens:
        gate.needed(token, str, _("place"), "A B")
    known = [*corners, *circles]
    label = " ".join([kind, *map(str, tokens)])
    names: list[str] = []
    for token in tokens:
        if token in known:
            names.append(token)
        elif len(token) > 1 and all(letter in known for letter in token):
            names.extend(token)
        elif meant(token, FILLERS, "place") not in FILLERS:
            raise RepairError(
                _("{label}: there is no corner {name!r}; corners: {known}").format(
                    label=label, name=token, known=gate.listed(known) or _("none yet")
                )
            )
    _check_count(kind, label, names)
    _check_circles(kind, label, names, circles)
    if kind in ("side", "rise") or (kind == "radius" and len(names) == 2):
        _check_neighbours(label, names, corners)
    return tuple(names)


def said_place(text: str) -> str:
    """A place such as "C over A B" with its small words in the user's language."""
    return " ".join(_(word, "place") if word in FILLERS else word for word in text.split())


def _check_count(kind: str, label: str, names: Sequence[str]) -> None:
    counts, example = KINDS[kind]
    if len(names) not in counts:
        raise RepairError(
            _('{label}: {kind} needs {count} corners, such as "{example}"').format(
                label=label,
                kind=kind,
                count=_(" or ").join(str(c) for c in counts),
                example=said_place(example),
            )
        )
    lines = [names[:2], names[2:]] if len(names) == 4 else [names]
    if any(len(set(line)) < len(line) for line in lines):
        raise RepairError(
            _("{label} names one corner twice; name different ones").format(label=label)
        )


def _check_circles(kind: str, label: str, names: Sequence[str], circles: Container[str]) -> None:
    for i, name in enumerate(names):
        is_circle = name in circles
        if kind == "diameter" and not is_circle:
            raise RepairError(
                _("{label}: {name} is a corner; a diameter needs a circle").format(
                    label=label, name=name
                )
            )
        fits = kind in ("distance", "diameter") or (kind in ("height", "offset") and i == 0)
        if is_circle and not fits:
            raise RepairError(
                _("{label}: {name} is a circle; name a corner there").format(label=label, name=name)
            )


def _check_neighbours(label: str, names: Sequence[str], corners: Sequence[str]) -> None:
    a, b = names
    apart = abs(corners.index(a) - corners.index(b))
    if apart not in (1, len(corners) - 1):
        raise RepairError(
            _("{label}: {a} and {b} are not neighbours; call it a diagonal").format(
                label=label, a=a, b=b
            )
        )


def point_name(name: Any, others: Container[str]) -> str:
    """The name of a corner or circle itself, or RepairError where it cannot be one."""
    if not isinstance(name, str) or not name or " " in name or gate.fitted(name) != name:
        raise RepairError(_("corner name is {name!r}; give a letter or one word").format(name=name))
    if len(name) > 1 and meant(name, FILLERS, "place") in {*FILLERS, *_SIGNS}:
        raise RepairError(_("corner name is {name!r}; give a letter").format(name=name))
    if name in others:
        raise RepairError(
            _("{name} is a corner and a circle; give one of them another name").format(name=name)
        )
    return name


def drawn_at(
    name: str, x: Any, y: Any, others: Mapping[str, tuple[float, float]]
) -> tuple[float, float]:
    """Where a point is drawn, or RepairError where that is no spot of its own."""
    try:
        spot = (float(x), float(y))
    except (TypeError, ValueError, OverflowError):
        spot = (math.nan, math.nan)
    if not (abs(spot[0]) <= FARTHEST and abs(spot[1]) <= FARTHEST):  # which NaN is not either
        raise RepairError(
            _("{name} is drawn at ({x}, {y}); give two numbers of at most {most}").format(
                name=name, x=gate.short(x), y=gate.short(y), most=number(FARTHEST)
            )
        )
    for other, taken in others.items():
        if other != name and math.dist(spot, taken) < 1e-9:
            raise RepairError(
                _("{a} and {b} are drawn at the same spot; draw them apart").format(a=other, b=name)
            )
    return spot
