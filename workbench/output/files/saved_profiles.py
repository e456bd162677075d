"""Keeping what was learnt of a printer in the user's data folder."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from workbench.checks.fit.fit_report import observations
from workbench.checks.fit.printer_profile import Observation, Profile, path_of, profile_of, read
from workbench.checks.subject import Subject
from workbench.output.files.paths import numbered, unwritable, write_over
from workbench.solids.recipe.repair import Repair


def keep(printer: str, material: str, seen: Iterable[Observation]) -> Profile:
    """Add observations to a printer's profile and write it, whole; returns the new profile.

    A damaged file is set aside under a name with "damaged" in it, never overwritten.

    Raises RepairError when the data folder cannot be written to; the old file stays.
    """
    known = profile_of(printer, material).with_observations(seen)
    path = path_of(printer, material)
    _set_aside_if_damaged(path)
    write_over(path, known.to_json().encode())
    return profile_of(printer, material)


def say_of_holes(printer: str, material: str, true: bool) -> Profile:
    """Keep whether holes come out true on a printer, as its owner says; the new profile."""
    return keep(printer, material, profile_of(printer, material).told_of_holes(true).observations)


def keep_trials(repair: Repair) -> Profile:
    """Let the repair's trials count for its printer from now on; returns the new profile."""
    return keep(repair.printer, repair.material, observations(Subject.of(repair)))


def _set_aside_if_damaged(path: Path) -> None:
    if not read(path)[1]:
        return
    for aside in numbered(path.with_name(f"{path.stem}, damaged.json")):
        if not aside.exists():
            try:
                path.rename(aside)
            except OSError as error:
                raise unwritable(path, error) from None
            return
