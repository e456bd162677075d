"""A size that follows other sizes of the repair, by plain arithmetic."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import InitVar, dataclass
from functools import cached_property
from typing import Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _

#: A formula longer than this, in characters, is no size that a person would want to read.
LONGEST = 200

#: A number; a size as "step.field", its step in quotes where it has other signs in it; a sign.
_TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+(?:[.,]\d+)?|[.,]\d+)(?![\w.])"
    r"|(?:'(?P<quoted>[^'.]+)'|(?P<step>[^\W\d](?:[\w ]*\w)?))\.(?P<field>[^\W\d]\w*(?:\.[^\W\d]\w*)?)"
    r"|(?P<sign>[-+*/()−×÷]))"
)
#: A unit behind a number says nothing new: numbers are mm, or degrees for an angle.
_UNIT = re.compile(r"(?<=\d)\s*(?:mm\b|°)")
_PLAIN = re.compile(r"[^\W\d](?:[\w ]*\w)?")
_SIGNS = {"−": "-", "×": "*", "÷": "/"}
_ORDER = {"+": 1, "-": 1, "*": 2, "/": 2, "negative": 3}

#: What may be added to a size: text, a number, a Reading or another Same.
Added = Any

#: A size of a step: the step's name, and the field as :meth:`Step.number` takes it.
Size = tuple[str, str]


@gate.asked
@dataclass(frozen=True)
class Same:
    """A size that is another one, or a sum, difference, product or quotient of others.

    text : such as "base.width" or "base.width - 2*wall.thickness"; numbers are in mm, or
        degrees for an angle. A place has its numbers too: "hook.place.inset"
    plus, minus : what to add and to take away, as text, a number, a Reading or another Same

    It is read by a parser of its own and never run as code.

    >>> Same("base.width", minus="2*wall.thickness").text
    'base.width - 2*wall.thickness'
    >>> Same("base.width / 2").value(lambda step, field: 30.0)
    15.0
    """

    text: str
    plus: InitVar[Added] = ""
    minus: InitVar[Added] = ""

    def __post_init__(self, plus: Added, minus: Added) -> None:
        given = self.text
        text = given.strip() if isinstance(given, str) else ""
        for sign, more in (("+", plus), ("-", minus)):
            if more != "":
                text += f" {sign} {_bracketed(_written(more))}"
        text = _UNIT.sub("", text)
        object.__setattr__(self, "text", text)
        if len(text) > LONGEST:
            raise RepairError(
                _(
                    "size to follow has {count} characters, beginning {text!r}; give at most {most}, or let another size hold part of the sum"
                ).format(count=len(text), text=text[:40], most=LONGEST)
            )
        if not text:
            raise RepairError(
                _(
                    "size to follow is {text!r}; write a step, a full stop and its size, such as base.width"
                ).format(text=given)
            )
        if not self.sizes:
            raise RepairError(
                _(
                    "{text} follows no size; give the number itself, or a size such as base.width"
                ).format(text=text)
            )

    @cached_property
    def sizes(self) -> tuple[Size, ...]:
        """The sizes that it is worked out from."""
        found = (item for item in self._in_order if isinstance(item, tuple))
        return tuple(dict.fromkeys(found))

    def value(self, look: Callable[[str, str], float]) -> float:
        """What it comes to, where ``look`` gives the value of a step's field."""
        stack: list[float] = []
        for item in self._in_order:
            if isinstance(item, tuple):
                stack.append(float(look(*item)))
            elif isinstance(item, float):
                stack.append(item)
            elif item == "negative":
                stack.append(-stack.pop())
            else:
                right, left = stack.pop(), stack.pop()
                stack.append(self._worked_out(item, left, right))
        return stack[0]

    def renamed(self, name: Callable[[str], str]) -> Same:
        """The same with each step's name as ``name`` has it now."""

        def new(match: re.Match[str]) -> str:
            old = match["quoted"] or match["step"]
            if old is None:
                return match[0]
            step = named_for_sum(name(old))
            gap = match[0][: len(match[0]) - len(match[0].lstrip())]
            return f"{gap}{step}.{match['field']}"

        return Same(_TOKEN.sub(new, self.text))

    def _worked_out(self, sign: str, left: float, right: float) -> float:
        if sign == "/":
            if right == 0:
                raise RepairError(
                    _("{text} divides by 0; change a size or the sum").format(text=self.text)
                )
            return left / right
        found = {"+": left + right, "-": left - right, "*": left * right}[sign]
        if not math.isfinite(found):
            raise RepairError(
                _("{text} does not give a number; change a size").format(text=self.text)
            )
        return found

    @cached_property
    def _in_order(self) -> tuple[str | float | Size, ...]:
        """Numbers, sizes and signs in the order in which they are worked out."""
        output: list[str | float | Size] = []
        waiting: list[str] = []
        operand = True  # whether a number, a size or a bracket comes next
        for token in self._tokens():
            if not isinstance(token, str):
                self._refuse_unless(operand)
                output.append(token)
                operand = False
            elif token == "(":
                self._refuse_unless(operand)
                waiting.append(token)
            elif token == ")":
                self._refuse_unless(not operand and "(" in waiting)
                while (sign := waiting.pop()) != "(":
                    output.append(sign)
            else:
                self._refuse_unless(not operand or token == "-")
                sign = "negative" if operand else token
                while not operand and waiting and _ORDER.get(waiting[-1], 0) >= _ORDER[sign]:
                    output.append(waiting.pop())
                waiting.append(sign)
                operand = True
        self._refuse_unless(not operand and "(" not in waiting)
        return (*output, *reversed(waiting))

    def _tokens(self) -> Iterator[str | float | Size]:
        at = 0
        while at < len(self.text):
            found = _TOKEN.match(self.text, at)
            self._refuse_unless(found is not None)
            assert found is not None
            at = found.end()
            if found["number"]:
                yield float(found["number"].replace(",", "."))
            elif found["sign"]:
                yield _SIGNS.get(found["sign"], found["sign"])
            else:
                yield found["quoted"] or found["step"], found["field"]

    def _refuse_unless(self, fine: bool) -> None:
        if not fine:
            raise RepairError(
                _(
                    "{text!r} cannot be worked out; write sizes and numbers with + - * / and brackets, such as base.width - 2*wall.thickness"
                ).format(text=self.text)
            )


def names_a_size(text: str) -> bool:
    """Whether a text names a size of a step, as a sum of sizes does.

    >>> names_a_size("base.width - 4"), names_a_size("1 3/8 in"), names_a_size("12.5 mm")
    (True, False, False)
    """
    return any(found["field"] for found in _TOKEN.finditer(text))


def named_for_sum(step: str) -> str:
    """A step's name as a sum of sizes takes it: in quotes where it has other signs in it."""
    return step if _PLAIN.fullmatch(step) else f"'{step}'"


def _written(more: Any) -> str:
    """What is added or taken away, as it stands in the sum: numbers with plain digits."""
    if isinstance(more, Same):
        return more.text
    if isinstance(more, str):
        return more.strip()
    value = getattr(more, "value", more)  # of a Reading
    if isinstance(value, bool) or not isinstance(value, (int, float, np.number)):
        return repr(more)
    value = float(value)
    return np.format_float_positional(value, trim="-") if math.isfinite(value) else str(value)


def _bracketed(text: str) -> str:
    return f"({text})" if any(sign in text for sign in "+-−") else text
