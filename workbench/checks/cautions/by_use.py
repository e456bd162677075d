"""Whether to print it at all: what can hurt someone, and what needs a licensed hand.

A stop stays a stop until the user states in ``repair.statements`` why it does not apply; then it
is a warning that carries the statement, and the statement is in the record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace

from workbench import data
from workbench.checks.cautions import uses
from workbench.checks.cautions.by_shape import sharp_places, small
from workbench.checks.report import PRACTICE, Finding, Subject
from workbench.words import _, number

#: How far below the temperature at which it softens a part is trusted, in °C. Our choice.
HEAT_MARGIN = 10.0

#: What a dark part reaches in the sun or in a parked car, in °C. From memory.
SUN = 70.0

#: Words that a statement has at least: enough to say why.
STATEMENT_WORDS = 3


def cautions(subject: Subject) -> Iterator[Finding]:
    """Everything to think of before printing; RepairError where a use is not known."""
    used = {use.word: use for use in uses.read(subject.repair.uses)}
    for rule in (_grave, _heat, _food, _outdoors, small, sharp_places):
        yield from rule(subject, used)


def answered(findings: Iterable[Finding], statements: Mapping[str, str]) -> list[Finding]:
    """Turn each stop that the user answered into a warning that carries the answer.

    An answer of fewer than :data:`STATEMENT_WORDS` words says nothing: the stop stays.
    """
    return [_answer(finding, statements.get(finding.rule)) for finding in findings]


def _answer(finding: Finding, statement: str | None) -> Finding:
    if finding.severity != "stop" or statement is None:
        return finding
    stated = str(statement).strip()
    if len(stated.split()) < STATEMENT_WORDS:
        text = _('The statement "{statement}" says too little: write a sentence on why.').format(
            statement=stated
        )
        return replace(finding, text=f"{finding.text} {text}")
    text = _('Stated: "{statement}"').format(statement=stated)
    return replace(finding, severity="warning", text=f"{finding.text} {text}")


# -- what it is used for ----------------------------------------------------------------------


def _grave(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if not used:
        yield Finding(
            severity="note",
            rule="use",
            where=subject.repair.name,
            text=_(
                "Nothing is said of how it is used, so cautions that depend on it are left out."
            ),
            remedy=_("Say what applies: {known}.").format(
                known=", ".join(_(word, "use") for word in uses.known())
            ),
        )
    dangers: dict[str, Callable[[], tuple[str, str]]] = {
        "mains": lambda: (
            _("Mains voltage: a printed part must not insulate, hold or cover what is live."),
            _(
                "Fit the maker's part, or ask a licensed electrician; the local electrical code decides."
            ),
        ),
        "pressure": lambda: (
            _("Pressure: layers leak and burst without warning, under gas, steam or water."),
            _("Fit a rated part; for gas and boilers ask a licensed fitter. Local codes decide."),
        ),
        "weight": lambda: (
            _(
                "People's weight: a printed part breaks suddenly, and no formula here covers a fall."
            ),
            _("Fit the maker's part or one of metal; ask someone qualified. Local codes decide."),
        ),
    }
    for word, say in dangers.items():
        if word in used:
            text, remedy = say()
            if_not = _('If it does not apply, state why under "{rule}".').format(
                rule=_(word, "rule")
            )
            yield Finding(
                severity="stop",
                rule=word,
                where=subject.repair.name,
                text=text,
                remedy=f"{remedy} {if_not}",
                source=PRACTICE,
            )


def _heat(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "heat" not in used:
        return
    material, amount = subject.material, used["heat"].amount
    limit = material.holds_shape_to - HEAT_MARGIN
    source = f"{material.cite('glass_transition')}; " + (
        material.cite("softens") + "; " if material.softens is not None else ""
    )
    source += _("margin {margin} °C, our choice").format(margin=number(HEAT_MARGIN))
    if amount is None:
        text = _("It gets warm, but not said how warm; {material} is good to {limit} °C.")
        severity, remedy = "warning", _('Say how warm in °C, such as "heat 70".')
    elif amount <= limit:
        text = _("It gets {amount} °C warm; {material} is good to {limit} °C.")
        severity, remedy = "note", ""
    else:
        text = _("It gets {amount} °C warm, and {material} is good to {limit} °C only.")
        severity = "stop" if amount > material.holds_shape_to else "warning"
        remedy = _warmer(amount)
        if severity == "stop":
            text += " " + _("It will lose its shape, and plastic that is hot enough burns.")
    yield Finding(
        severity=severity,
        rule="heat",
        where=subject.repair.name,
        text=text.format(
            amount=number(amount or 0, 0), material=material.name, limit=number(limit, 0)
        ),
        number=amount,
        limit=limit,
        unit="°C",
        remedy=remedy,
        source=source,
    )


def _warmer(amount: float) -> str:
    """Which filaments stand it."""
    good = [
        m.name
        for m in data.materials().values()
        if m.holds_shape_to - HEAT_MARGIN >= amount and m.modulus > 500
    ]
    if not good:
        return _("No filament known here stands that: have it made of metal.")
    return _("Print it in {materials}, away from flame and glowing parts.").format(
        materials=_(" or ").join(good[:3])
    )


def _food(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "food" in used:
        yield Finding(
            severity="warning",
            rule="food",
            where=subject.repair.name,
            text=_(
                "Food touches it: germs settle between layers, and filament and nozzle are seldom made for food."
            ),
            remedy=_(
                "Keep it to dry or wrapped food, or seal it with a coating that is sold for food; not for a baby's bottle or a dishwasher."
            ),
            source=PRACTICE,
        )


def _outdoors(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "outdoors" not in used:
        return
    material = subject.material
    limit = material.holds_shape_to
    if limit < SUN:
        yield Finding(
            severity="warning",
            rule="sun",
            where=subject.repair.name,
            text=_(
                "A dark part in the sun reaches about {sun} °C; {material} softens at {limit} °C."
            ).format(sun=number(SUN), material=material.name, limit=number(limit, 0)),
            number=SUN,
            limit=limit,
            unit="°C",
            remedy=_warmer(SUN),
            source=material.cite("glass_transition")
            + "; "
            + _("{sun} °C from memory").format(sun=number(SUN)),
        )
    yield Finding(
        severity="note" if material.outdoors else "warning",
        rule="outdoors",
        where=subject.repair.name,
        text=_("{material} outdoors: {light}").format(
            material=material.name, light=_(material.light)
        ),
        remedy="" if material.outdoors else _("ASA is made for the outdoors."),
        source=material.source("light"),
    )
