"""What is known of one printer with one material: everything that was measured and tried on it.

A profile keeps the observations, not the conclusions: the belief about the printer is worked out
from them afresh, so that a wrong reading can be taken out again. It lives in the user's data
folder as JSON; nothing is written from here.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np

from workbench import data, gate
from workbench.checks.fit.bias import CAUSES, FEATURES, Bias, prior, row
from workbench.checks.fit.fits import PRINTED, Belief, Mating, Tried
from workbench.errors import RepairError
from workbench.solids.recipe.service import FITS, OUTCOMES
from workbench.words import _, with_unit

#: Version of the file's form.
FORMAT = 1

#: A printed size further than this from what was asked is a slip of the pen, not a bias; mm,
#: and as a fraction of the size. Our choice.
FARTHEST, FARTHEST_SHARE = 1.0, 0.05

#: The hole that is asked about, in mm: a drill of that size tells. Our choice.
ASKED_HOLE = 6.0


@dataclass(frozen=True)
class Observation:
    """One printed size: what was asked for, what was measured, and how it went in place.

    feature : "outside", "hole", "slot", "height" or "gap"
    size : asked for, mm
    measured : the printed size, mm, or None
    at_bed : whether the first layer on the bed is part of it
    kind, mating, mating_uncertainty, outcome : how it went against which counterpart, or None
    origin : where it comes from, such as "tray divider/foot.thickness/2"
    date : when, as YYYY-MM-DD
    """

    feature: str
    size: float
    measured: float | None = None
    at_bed: bool = False
    kind: str | None = None
    mating: float | None = None
    mating_uncertainty: float = 0.0
    outcome: str | None = None
    origin: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        if self.feature not in FEATURES:
            row(self.feature, 1.0)
        _positive("size", self.size)
        if self.measured is not None:
            near(self.size, self.measured, self.origin)
        if self.outcome is None:
            if self.measured is None:
                raise RepairError(
                    _(
                        "{where}: nothing was measured or tried; give a size in mm or an outcome"
                    ).format(where=self.origin or self.feature)
                )
            return
        if self.outcome not in OUTCOMES or self.kind not in FITS or self.mating is None:
            raise RepairError(
                _(
                    "{where}: outcome {outcome!r} of fit {kind!r} against {mating!r} mm; give one of {known}"
                ).format(
                    where=self.origin or self.feature,
                    outcome=self.outcome,
                    kind=self.kind,
                    mating=self.mating,
                    known=", ".join(OUTCOMES),
                )
            )
        _positive("mating", self.mating)

    @property
    def group(self) -> str:
        """Observations against one counterpart share it: the origin without its last part."""
        return self.origin.rpartition("/")[0]


@dataclass(frozen=True)
class Profile:
    """A printer and a material with their observations.

    observations : the user's own
    shared : those of a shared folder, which is only read
    problem : what was wrong with a file, in a sentence, or empty
    """

    printer: str = "generic 220"
    material: str = "PLA"
    observations: tuple[Observation, ...] = ()
    shared: tuple[Observation, ...] = ()
    problem: str = field(default="", compare=False)

    @property
    def known(self) -> tuple[Observation, ...]:
        """Everything that counts: what is shared, then the user's own."""
        return (*self.shared, *self.observations)

    @property
    def bias(self) -> Bias:
        """What is believed of the printer after all that was measured and tried."""
        return _believed(self.material, self.known)

    def with_observations(self, more: Iterable[Observation]) -> Profile:
        """A profile that knows ``more``; what is known from the same origin is replaced."""
        listed = tuple(more)
        origins = {seen.origin for seen in listed if seen.origin}
        kept = (seen for seen in self.observations if seen.origin not in origins)
        return replace(self, observations=(*kept, *listed))

    @property
    def knows_holes(self) -> bool:
        """Whether anything was measured, tried or said of this printer's holes."""
        return any(seen.feature == "hole" for seen in self.known)

    def told_of_holes(self, true: bool) -> Profile:
        """A profile that was told, once, whether holes come out true on this printer.

        true : a hole of :data:`ASKED_HOLE` comes out as it was asked, as on a printer that is set
            up for it; else it comes out as small as usual
        """
        usual, _spread = prior(self.material).of("hole", ASKED_HOLE)
        found = ASKED_HOLE + (0.0 if true else round(usual, 2))
        said = Observation("hole", ASKED_HOLE, found, origin="said/holes")
        return self.with_observations([said])

    def without(self, group: str) -> Profile:
        """A profile that does not know what was seen against one counterpart."""
        kept = tuple(seen for seen in self.observations if seen.group != group)
        return replace(self, observations=kept)

    def told(self, feature: str, size: float, at_bed: bool = False) -> str:
        """What is believed of a feature at a size in mm, in words."""
        mean, spread = self.bias.of(feature, size, at_bed)
        sentence = {
            "outside": _("outside sizes come out {by} {way}, give or take {spread} ({why})"),
            "hole": _("holes come out {by} {way}, give or take {spread} ({why})"),
            "slot": _("slots come out {by} {way}, give or take {spread} ({why})"),
            "height": _("heights come out {by} {way}, give or take {spread} ({why})"),
            "gap": _("gaps between layers come out {by} {way}, give or take {spread} ({why})"),
        }[feature]
        return sentence.format(
            by=with_unit(abs(mean)),
            way=_("too large") if mean >= 0 else _("too small"),
            spread=with_unit(spread),
            why=self._grounds(),
        )

    def _grounds(self) -> str:
        measured = sum(seen.measured is not None for seen in self.known)
        tried = sum(seen.outcome is not None for seen in self.known)
        if not measured and not tried:
            return _("a guess: nothing has been measured on this printer yet")
        return _("from {measured} prints measured and {tried} tried").format(
            measured=measured, tried=tried
        )

    def to_json(self) -> str:
        """The profile as JSON text."""
        rows = [asdict(seen) for seen in self.observations]
        return json.dumps(
            {
                "format": FORMAT,
                "printer": self.printer,
                "material": self.material,
                "observations": rows,
            },
            indent=1,
            ensure_ascii=False,
        )


@lru_cache(maxsize=64)
def _believed(material: str, seen: tuple[Observation, ...]) -> Bias:
    """The belief after observations.

    Sizes only measured are taken together, in closed form; prints that were tried then, one
    counterpart at a time, by matching mean and variance.
    """
    believed = prior(material)
    measured = [each for each in seen if each.measured is not None]
    if measured:
        believed = believed.with_noise_from(*_differences(measured))
    rows, found, measuring = _differences([each for each in measured if each.outcome is None])
    if len(found):
        believed = believed.updated(rows, found, measuring + believed.noise**2)
    for group in _against_one_counterpart(seen):
        believed = _with_outcomes(believed, group)
    return believed


def near(size: float, measured: float, where: str = "") -> float:
    """``measured`` in mm, or RepairError where no printer is so far from the size asked for."""
    _positive("measured", measured)
    if abs(measured - size) > max(FARTHEST, FARTHEST_SHARE * size):
        raise RepairError(
            _(
                "{where}: measured {measured} where {size} was asked for; measure again, in mm"
            ).format(where=where or _("print"), measured=with_unit(measured), size=with_unit(size))
        )
    return measured


def path_of(printer: str, material: str) -> Path:
    """Where the user's profile of a printer and a material is kept."""
    return _path_in(data.folder(), printer, material)


def profile_of(printer: str, material: str) -> Profile:
    """What is known of a printer with a material: what the user's data folders hold, or nothing.

    A damaged file is never an error: what can be read of it counts, and ``problem`` says in a
    sentence what could not be.
    """
    own, *shared = (read(_path_in(place, printer, material)) for place in data.folders())
    problems = [problem for _seen, problem in (own, *shared) if problem]
    others = tuple(seen for listed, _problem in shared for seen in listed)
    return Profile(printer, material, own[0], others, ". ".join(problems))


def _path_in(place: Path, printer: str, material: str) -> Path:
    name = quote(f"{printer}, {material}", safe=" ,")
    return place / "profiles" / f"{name}.json"


def read(path: Path) -> tuple[tuple[Observation, ...], str]:
    """What a profile's file holds, and in a sentence what of it cannot be read, or nothing."""
    try:
        return _parse(gate.text(path), path)
    except FileNotFoundError:
        return (), ""
    except (OSError, UnicodeDecodeError, RepairError) as error:
        return (), _unread(path, str(error))


def _parse(text: str, path: Path) -> tuple[tuple[Observation, ...], str]:
    try:
        stored = gate.json_in(text, path.name)
        rows = stored["observations"]
        if not isinstance(rows, list):
            raise TypeError(_("observations are not a list"))
        if stored.get("format", 0) > FORMAT:
            raise ValueError(_("it was written by a newer workbench"))
    except (ValueError, KeyError, TypeError) as error:
        return (), _unread(path, str(error))
    read: list[Observation] = []
    problem = ""
    for count, each in enumerate(rows, start=1):
        try:
            read.append(_observation(each))
        except (RepairError, TypeError) as error:
            problem = problem or _(
                "{path}: observation {count} cannot be used ({reason}); the others count"
            ).format(path=path, count=count, reason=error)
    return tuple(read), problem


def _observation(stored: Any) -> Observation:
    if not isinstance(stored, dict):
        raise TypeError(_("not a row of values"))
    known = {f.name for f in fields(Observation)}
    return Observation(**{key: value for key, value in stored.items() if key in known})


def _unread(path: Path, reason: str) -> str:
    return _(
        "{path} cannot be read ({reason}); it is left as it is, and what is in it does not count"
    ).format(path=path, reason=reason)


def _against_one_counterpart(seen: Iterable[Observation]) -> Iterator[list[Observation]]:
    groups: dict[tuple, list[Observation]] = {}
    for count, each in enumerate(seen):
        if each.outcome is not None:
            key = (each.group or count, each.feature, each.kind, each.mating, each.at_bed)
            groups.setdefault(key, []).append(each)
    yield from groups.values()


def _differences(measured: list[Observation]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows (n, 6), measured less asked for (n,) in mm, and variances of measuring (n,) in mm²."""
    rows = np.array([row(seen.feature, seen.size, seen.at_bed) for seen in measured])
    found = np.array([seen.measured - seen.size for seen in measured if seen.measured is not None])
    return rows.reshape(-1, len(CAUSES)), found, np.full(len(measured), PRINTED**2)


def _with_outcomes(believed: Bias, group: list[Observation]) -> Bias:
    """The belief after prints were tried against one counterpart."""
    first = group[0]
    mating = Mating(first.mating or first.size, first.mating_uncertainty)
    belief = Belief(first.kind or FITS[0], mating, first.feature, believed, first.at_bed)
    for each in group:
        belief.learn(Tried(each.size, each.outcome, each.measured))
    acting = row(first.feature, mating.size, first.at_bed)
    return believed.moved(acting, *belief.printer_bias())


def _positive(name: str, value: Any) -> None:
    if (
        isinstance(value, bool)
        or not isinstance(value, (int, float))
        or not (math.isfinite(value) and value > 0)
    ):
        raise RepairError(
            _("{name} is {value!r} mm; give a number above 0").format(name=name, value=value)
        )
