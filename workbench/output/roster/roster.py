"""A roster: a table of who needs which part, with their readings, read row by row.

It is a CSV file (RFC 4180) as spreadsheets save it. The first row names the columns: ``template``
and ``pupil``; ``material``, ``printer``, ``unit`` and ``instrument`` if wanted; and the sizes by
the names that the template gives them, such as ``blade_bottom``. Rows are never all in memory.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from io import TextIOWrapper
from pathlib import Path

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import UNITS
from workbench.measure.repeated_readings import readings_in
from workbench.words import _, meant

#: Columns that are no sizes; the first two must be there.
TEMPLATE, PUPIL, MATERIAL, PRINTER = "template", "pupil", "material", "printer"
UNIT, INSTRUMENT = "unit", "instrument"
NEEDED = (TEMPLATE, PUPIL)
PLAIN = (*NEEDED, MATERIAL, PRINTER, UNIT, INSTRUMENT)

#: Other headings for them.
_ALSO = {"pupil_label": PUPIL, "label": PUPIL, "units": UNIT}

#: What may stand between cells.
_DELIMITERS = (",", ";", "\t")

#: A cell that begins so is taken for a formula by spreadsheets.
FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "\t", "\r")

_WITH_UNIT = re.compile(r"(?P<name>.*?)\s*[(\[](?P<unit>mm|cm|in)[)\]]\s*", re.IGNORECASE)
#: Signs of a cell at most: of a name, and of the readings of a size.
_LONGEST, _LONGEST_SIZE = 60, 1000


@dataclass(frozen=True)
class Row:
    """One row as it stands in the file.

    number : as a spreadsheet counts them, the row of headings being 1
    cells : what is filled in, by column
    units : the unit that a column's heading names, by column
    fault : why the row cannot be read, or ""
    """

    number: int
    cells: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    fault: str = ""

    def get(self, column: str) -> str:
        """The cell in a column, or ""."""
        return self.cells.get(column, "")

    @property
    def sizes(self) -> dict[str, str]:
        """The cells that hold sizes, by the size's name."""
        return {name: text for name, text in self.cells.items() if name not in PLAIN}


@dataclass(frozen=True)
class Roster:
    """A roster's file with what its first row says."""

    path: Path
    encoding: str
    delimiter: str
    columns: tuple[str, ...]
    units: Mapping[str, str]

    def rows(self) -> Iterator[Row]:
        """The rows one by one; empty ones are left out.

        Raises RepairError when a quote is not closed, or the disk fails.
        """
        for number, cells in _records(self.path, self.encoding, self.delimiter):
            if number > 1 and any(cell.strip() for cell in cells):
                yield self._row(number, cells)

    def _row(self, number: int, cells: list[str]) -> Row:
        filled = {
            column: cell.strip()
            for column, cell in zip(self.columns, cells, strict=False)
            if column and cell.strip()
        }
        fault = self._fault(cells, filled)
        shown = {column: _fit(column, cell) for column, cell in filled.items()}
        return Row(number, shown, self.units, fault)

    def _fault(self, cells: list[str], filled: Mapping[str, str]) -> str:
        if any(cell.strip() for cell in cells[len(self.columns) :]):
            return _(
                "it has {found} cells for {known} columns; put a decimal comma in quotes, or take "
                "out a separator"
            ).format(found=len(cells), known=len(self.columns))
        unnamed = [cell for column, cell in zip(self.columns, cells, strict=False) if not column]
        if any(cell.strip() for cell in unnamed):
            return _("a column with {cell!r} has no heading; name it, or empty the cell").format(
                cell=gate.short("".join(unnamed).strip())
            )
        for column, cell in filled.items():
            fault = _cell_fault(column, cell)
            if fault:
                return fault
        missing = [column for column in NEEDED if column not in filled]
        return _("{column} is empty; fill it in").format(column=missing[0]) if missing else ""


def open_roster(path: str | Path) -> Roster:
    """Read the first row of a roster.

    Raises RepairError when the file is not there, is no CSV file, or lacks a column.
    """
    path = Path(path)
    encoding = _encoding(path)
    found = [_headings(path, encoding, delimiter) for delimiter in _DELIMITERS]
    names, units, delimiter = max(
        zip(*zip(*found, strict=True), _DELIMITERS, strict=True),
        key=lambda one: (sum(name in one[0] for name in NEEDED), len(one[0])),
    )
    missing = [column for column in NEEDED if column not in names]
    if missing and len(names) == 1:
        raise RepairError(
            _(
                "{file}: its first row is {text!r}, which is one cell; separate the cells with "
                "commas, semicolons or tabs"
            ).format(file=path.name, text=names[0][:_LONGEST])
        )
    if missing:
        raise RepairError(
            _("{file} has no column {missing}; its first row names {found}; add the column").format(
                file=path.name,
                missing=" and ".join(missing),
                found=gate.listed(map(gate.short, filter(None, names))) or _("none"),
            )
        )
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if twice:
        raise RepairError(
            _("{file} has the column {name} twice; give repeats in one cell, as 34.9 35.0").format(
                file=path.name, name=twice[0]
            )
        )
    return Roster(path, encoding, delimiter, tuple(names), units)


def _cell_fault(column: str, cell: str) -> str:
    if _shown(cell) != cell:
        return _("{column} is {cell!r}, which is not UTF-8; save the roster as CSV UTF-8").format(
            column=column, cell=_shown(cell)[:_LONGEST]
        )
    if any(ord(sign) < 32 and sign not in "\n\r\t" for sign in cell):
        return _("{column} holds characters that are not text; type it again").format(column=column)
    most = _LONGEST if column in PLAIN else _LONGEST_SIZE
    if len(cell) > most:
        return _("{column} is longer than {most} characters; shorten it").format(
            column=gate.short(column), most=most
        )
    if cell.startswith(FORMULA) and not _is_amount(column, cell):
        return _(
            "{column} is {cell!r}, which begins like a spreadsheet's formula; write the text or "
            "the number itself"
        ).format(column=column, cell=cell[:_LONGEST])
    return ""


def _fit(column: str, cell: str) -> str:
    """The cell as it is used: in a name, such as the pupil's, a line break becomes a space."""
    return gate.short(gate.fitted(_shown(cell))) if column in PLAIN else _shown(cell)


def _shown(cell: str) -> str:
    """The cell with a sign in place of each byte that is no UTF-8."""
    return cell.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def _is_amount(column: str, cell: str) -> bool:
    if column in PLAIN:
        return False
    try:
        return bool(readings_in(cell.rstrip("°"), "mm"))
    except RepairError:
        return False


def _encoding(path: Path) -> str:
    try:
        with gate.opened(path) as file:
            begins = file.read(4)
    except FileNotFoundError:
        raise RepairError(
            _("there is no roster at {path}; give a CSV file that exists").format(path=path)
        ) from None
    except OSError as error:
        raise gate.unreadable(path, error) from None
    if not begins:
        raise RepairError(
            _("{file} is empty; its first row has to name the columns").format(file=path.name)
        )
    if begins.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return "utf-8-sig"  # which reads a file without a byte-order mark as well


def _records(path: Path, encoding: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    number = 0
    # A byte that is no UTF-8 is kept, so that only its own row is refused.
    errors = "replace" if encoding == "utf-16" else "surrogateescape"
    try:
        with (
            gate.opened(path) as plain,
            TextIOWrapper(plain, encoding=encoding, errors=errors, newline="") as file,
        ):
            for number, cells in enumerate(csv.reader(file, delimiter=delimiter, strict=True), 1):
                yield number, cells
    except csv.Error as error:
        raise RepairError(
            _("{file}, after row {row}: {reason}; look for a quote that is not closed").format(
                file=path.name, row=number, reason=error
            )
        ) from None
    except OSError as error:
        raise gate.unreadable(path, error) from None


def _headings(path: Path, encoding: str, delimiter: str) -> tuple[list[str], dict[str, str]]:
    first = next((cells for _number, cells in _records(path, encoding, delimiter)), [""])
    names, units = [], {}
    for cell in first:
        match = _WITH_UNIT.fullmatch(cell.strip()[: gate.NAME])
        heading = _shown(match["name"] if match else cell.strip())
        name = re.sub(r"[\s\-.]+", "_", heading).lower()
        name = _ALSO.get(name, meant(name, PLAIN))
        if match and match["unit"].lower() in UNITS:
            units[name] = match["unit"].lower()
        names.append(name)
    while len(names) > 1 and not names[-1]:
        names.pop()
    return names, units
