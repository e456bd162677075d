"""The record of a revision: the repair, what made it, what was found, and a checksum of each file."""

from __future__ import annotations

import json
import platform
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import workbench
from workbench.checks.report import Finding
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.revision import FORMAT, checksum, checksum_of


def record(
    repair: Repair,
    revision: int,
    files: Mapping[str, bytes],
    findings: Iterable[Finding] = (),
    date: datetime | None = None,
    **facts: Any,
) -> str:
    """The record as JSON text.

    repair : what was exported
    revision : its number
    files : content by file name; their lengths and checksums are recorded
    findings : what the checks found
    date : of the revision; now, unless given
    facts : anything else worth keeping, such as volume in mm³
    """
    row = json.loads(repair.to_json())
    return json.dumps(
        {
            "record": FORMAT,
            "name": repair.name,
            "revision": revision,
            "date": (date or datetime.now().astimezone()).isoformat(timespec="seconds"),
            "versions": versions(),
            **facts,
            "findings": [asdict(finding) for finding in findings],
            "files": {
                name: {"bytes": len(content), "sha256": checksum(content)}
                for name, content in sorted(files.items())
            },
            "repair_sha256": checksum_of(row),
            "repair": row,
        },
        indent=2,
        ensure_ascii=False,
    )


def versions() -> dict[str, str]:
    """Versions of what a revision is made with."""
    try:
        kernel = version("build123d")
    except PackageNotFoundError:
        kernel = "?"
    return {
        "workbench": workbench.__version__,
        "build123d": kernel,
        "python": platform.python_version(),
    }
