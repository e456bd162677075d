"""Reading the tables: figures with their sources, and a mistake told with file, line and key."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _, number

_HEADER = re.compile(r"^\s*\[([^\[\]]+)\]\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[\w-]+)\s*[.=]""")
_PART = re.compile(r'"([^"]*)"|' r"'([^']*)'|([\w-]+)")


@dataclass(frozen=True)
class Figure:
    """A number with its unit, the range that it was found in, and where it comes from."""

    value: Any
    source: str
    unit: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Column:
    """What a table may hold under a key.

    kind : "number", "numbers" (a list of three), "text" or "flag"
    low, high : sensible limits of a number, in ``unit``; outside them it is a slip of the pen
    """

    kind: str
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    needed: bool = True


class Table:
    """One TOML file, read whole, whose complaints name the file, the line and the key."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text = self._read()
        try:
            self.rows: dict[str, Any] = tomllib.loads(self.text)
        except RecursionError:
            raise self._unreadable(_("it is nested too deeply")) from None
        except ValueError as error:  # a number of too many digits is no TOMLDecodeError
            raise self._unreadable(str(error)) from None
        self.sources = self.rows.pop("sources", {})

    def _read(self) -> str:
        try:
            return gate.text(self.path)
        except UnicodeDecodeError:
            reason = _("it is not plain text in UTF-8")
        except OSError as error:
            reason = error.strerror or type(error).__name__
        raise RepairError(
            _("{file} cannot be read: {reason}; put it right or move it away").format(
                file=self.path, reason=reason
            )
        )

    def _unreadable(self, message: str) -> RepairError:
        found = re.search(r"\s*\(at line (\d+), column \d+\)", message)
        lines = self.text.splitlines() or [""]
        line = int(found[1]) if found else len(lines)
        reason = message[: found.start()] if found else message
        return RepairError(
            _("{file}, line {line}, reads {text!r}: {reason}; put that line right").format(
                file=self.path,
                line=line,
                text=gate.short(lines[min(line, len(lines)) - 1].strip(), 100),
                reason=reason[:1].lower() + reason[1:],
            )
        )

    def line(self, row: str, key: str | None = None) -> int:
        """The line, counted from 1, that holds the row's heading or one of its keys."""
        heading = 0
        inside = False
        for at, text in enumerate(self.text.splitlines(), start=1):
            header = _HEADER.match(text)
            if header:
                parts = ["".join(part) for part in _PART.findall(header[1])]
                inside = bool(parts) and parts[0] == row
                heading = heading or (at if inside else 0)
                if inside and key is not None and key in parts[1:]:
                    return at
                continue
            found = _KEY.match(text)
            if inside and key is not None and found and found[1].strip("\"'") == key:
                return at
        return heading or 1

    def wrong(self, row: str, key: str | None, what: str) -> RepairError:
        """A complaint about one key of one row."""
        label = f"{row}.{key}" if key else row
        return RepairError(
            _("{file}, line {line}, {key}: {what}").format(
                file=self.path, line=self.line(row, key), key=label, what=what
            )
        )

    def figures(self, columns: Mapping[str, Column]) -> dict[str, dict[str, Figure]]:
        """Every row as figures by key; each is checked against its column."""
        found: dict[str, dict[str, Figure]] = {}
        for row, entries in self.rows.items():
            if not isinstance(entries, dict):
                raise self.wrong(row, None, _("it stands alone; put it under a heading like [PLA]"))
            found[row] = {
                key: self._figure(row, key, entry, columns) for key, entry in entries.items()
            }
        return found

    def _figure(self, row: str, key: str, entry: Any, columns: Mapping[str, Column]) -> Figure:
        column = columns.get(key)
        if column is None:
            raise self.wrong(row, key, _unknown(key, columns))
        given = entry if isinstance(entry, dict) else {"value": entry}
        strange = set(given) - {"value", "text", "low", "high", "source"}
        if strange:
            raise self.wrong(row, key, _unknown(min(strange), ("value", "low", "high", "source")))
        source = given.get("source", _("your own file {file}").format(file=self.path.name))
        value: Any = given.get("text", given.get("value"))
        self._check(row, key, column, value)
        low, high = given.get("low"), given.get("high")
        for bound in (low, high):
            if bound is not None:
                self._check(row, key, Column("number", column.unit, column.low, column.high), bound)
        if column.kind == "number" and not (
            (value if low is None else low) <= value <= (value if high is None else high)
        ):
            what = _("{value} is not between its own low and high; put them in order").format(
                value=number(value, 4)
            )
            raise self.wrong(row, key, what)
        settled = tuple(float(v) for v in value) if column.kind == "numbers" else value
        return Figure(settled, str(self.sources.get(source, source)), column.unit, low, high)

    def _check(self, row: str, key: str, column: Column, value: Any) -> None:
        if column.kind == "number" and not _is_number(value):
            what = _("{value!r} is not a number; write one such as 1.24, without quotes or unit")
        elif column.kind == "numbers" and not (
            isinstance(value, list) and len(value) == 3 and all(map(_is_number, value))
        ):
            what = _("{value!r} is not three numbers; write them like [220, 220, 250]")
        elif column.kind == "text" and not isinstance(value, str):
            what = _("{value!r} is not text; write it in quotes")
        elif column.kind == "flag" and not isinstance(value, bool):
            what = _("{value!r} is neither true nor false; write one of them, without quotes")
        else:
            amounts = value if column.kind == "numbers" else [value]
            if column.kind not in ("number", "numbers") or all(
                column.low <= amount <= column.high for amount in amounts
            ):
                return
            what = _("{value!r} {unit} cannot be right; give {low} to {high} {unit}")
        raise self.wrong(
            row,
            key,
            what.format(
                value=value, unit=column.unit, low=number(column.low), high=number(column.high)
            ),
        )


def merged(
    tables: Iterable[Table], columns: Mapping[str, Column]
) -> dict[str, tuple[Table, dict[str, Figure]]]:
    """Rows of all tables: a later file's figures are laid over an earlier one's of the same name.

    A row with ``like = "PETG"`` begins with the figures of that row.
    """
    known: dict[str, tuple[Table, dict[str, Figure]]] = {}
    for table in tables:
        for row, figures in table.figures({**columns, "like": Column("text")}).items():
            own = dict(figures)
            like = own.pop("like", None)
            if like is not None and like.value not in known:
                what = _("{like!r} does not stand above it; use one of {known}").format(
                    like=like.value, known=", ".join(known)
                )
                raise table.wrong(row, "like", what)
            base = known[like.value][1] if like is not None else known.get(row, (table, {}))[1]
            whole = {**base, **own}
            missing = [k for k, c in columns.items() if c.needed and k not in whole]
            if missing:
                what = _('{missing} is missing; add it, or begin with like = "{like}"').format(
                    missing=", ".join(missing), like=next(iter(known), row)
                )
                raise table.wrong(row, None, what)
            known[row] = (table, whole)
    return known


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _unknown(key: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(key, list(known), n=1)
    if close:
        return _("{key!r} is not known; did you mean {close!r}?").format(key=key, close=close[0])
    return _("{key!r} is not known; use one of {known}").format(key=key, known=", ".join(known))
