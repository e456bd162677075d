"""The repair in a revision that was exported: its record is read, and held against its checksums."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.recipe.repair import Repair
from workbench.words import _

NAME = "record.json"

#: Version of the record's form; readers refuse a newer one in words.
FORMAT = 1


def read_record(path: str | Path, changed: bool = False) -> Repair:
    """The repair out of a revision's record.

    path : of a record, or of the revision's folder
    changed : read it even where the record or a file beside it was changed afterwards

    Raises RepairError when the record is missing or damaged, or a checksum differs; the message
    names the file.
    """
    row = load(path)
    repair = Repair.from_json(json.dumps(row["repair"]))
    if not changed:
        _refuse_changed(_file(path), row)
    return repair


def load(path: str | Path) -> dict[str, Any]:
    """The whole record as plain data; RepairError says what is missing or damaged."""
    file = _file(path)
    try:
        row = gate.json_file(file)
    except FileNotFoundError:
        raise RepairError(
            _("{path} is not there; choose a folder that holds a {name}").format(
                path=file, name=NAME
            )
        ) from None
    except OSError as error:
        raise gate.unreadable(file, error) from None
    except json.JSONDecodeError as error:
        raise RepairError(
            _("{path} is damaged at line {line}; use another revision").format(
                path=file, line=error.lineno
            )
        ) from None
    except UnicodeDecodeError:
        raise RepairError(
            _("{path} is damaged: it is not text; use another revision").format(path=file)
        ) from None
    if not isinstance(row, dict) or not isinstance(row.get("repair"), dict):
        raise RepairError(
            _("{path} holds no repair; choose the {name} of a revision").format(
                path=file, name=NAME
            )
        )
    form = row.get("record", 0)
    if not isinstance(form, int) or form > FORMAT:
        raise RepairError(
            _("{path} has format {found}, newer than {known}; update workbench").format(
                path=file, found=form, known=FORMAT
            )
        )
    return row


def changed_files(folder: str | Path) -> list[str]:
    """Names of a revision's files that are missing or were changed after it was written."""
    file = _file(folder)
    return _changed(file, load(file))


def checksum(content: bytes) -> str:
    """SHA-256 of the bytes, as hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def _file(path: str | Path) -> Path:
    given = Path(path)
    return given / NAME if given.is_dir() else given


def checksum_of(row: Mapping[str, Any]) -> str:
    text = json.dumps(row, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return checksum(text.encode())


def _refuse_changed(file: Path, row: Mapping[str, Any]) -> None:
    if row.get("repair_sha256") != checksum_of(row["repair"]):
        raise RepairError(
            _(
                "the repair in {path} was changed after it was written: its checksum differs; "
                "use another revision, or export the repair again"
            ).format(path=file)
        )
    differing = _changed(file, row)
    if differing:
        raise RepairError(
            _(
                "{names} beside {path} is missing or was changed after it was written: its "
                "checksum differs; use another revision, or export the repair again"
            ).format(names=gate.listed(differing), path=file)
        )


def _changed(file: Path, row: Mapping[str, Any]) -> list[str]:
    files = row.get("files", {})
    if not isinstance(files, dict):
        return [NAME]
    return [name for name, facts in files.items() if not _as_recorded(file.parent, name, facts)]


def _as_recorded(folder: Path, name: str, facts: Any) -> bool:
    """Whether a file of the revision is as it was; one outside its folder is not even looked at."""
    path = gate.inside(folder, name)
    try:
        found = checksum(gate.content(path, gate.PICTURE))
    except (OSError, RepairError):
        return False
    return isinstance(facts, dict) and found == facts.get("sha256")
