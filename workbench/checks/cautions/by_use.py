"""Whether to print it at all: what can hurt someone, and what needs a licensed hand.

A stop stays a stop until the user states in ``repair.statements`` why it does not apply; then it
is a warning that carries the statement, and the statement is in the record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from workbench import data
from workbench.checks.cautions.by_shape import sharp_places, small
from workbench.checks.fix import Fix
from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.data.danger_words import of_shapes, spotted
from workbench.solids.recipe import uses
from workbench.solids.recipe.repair import WHOSE, Repair
from workbench.words import _, number

#: How far below the temperature at which it softens a part is trusted, in °C. Our choice.
HEAT_MARGIN = 10.0

#: What a dark part reaches in the sun or in a parked car, in °C. From memory.
SUN = 70.0

#: A material this stiff can stand in for another hard one, in MPa. Our choice.
HARD = 500.0


def cautions(subject: Subject) -> Iterator[Finding]:
    """Everything to think of before printing; RepairError where a use is not known."""
    repair = subject.repair
    said = {use.word: use for use in uses.read(repair.uses)}
    named = _named(repair)
    used = {word: uses.Use(word) for word in named} | said
    for rule in (_grave, _heat, _handled, _outdoors, small, sharp_places):
        yield from rule(subject, used)
    if not said:
        yield Finding(
            severity="note",
            asked=True,
            rule="use",
            where=repair.name,
            text=_("How is it used? You have not said, so cautions about use were skipped."),
            remedy=_("Say what applies: {known}.").format(
                known=", ".join(_(word, "use") for word in uses.known())
            ),
        )


def _named(repair: Repair) -> dict[str, str]:
    """The uses that its name and those of its steps tell of, with the words that do.

    Whose part it is says nothing of its use: Koch is a cook and a surname.
    """
    _whose, _stop, name = repair.name.rpartition(WHOSE)
    return spotted(name, *(s.name for s in repair.steps if not of_shapes(s.name)))


# -- what it is used for ----------------------------------------------------------------------


def _dangers() -> dict[str, tuple[str, str]]:
    """What a use is a danger of, and who is to be asked instead."""
    return {
        "mains": (
            _("Mains voltage: a printed part must not insulate, hold or cover anything live."),
            _(
                "Fit the maker's part, or ask a licensed electrician; the local electrical code decides."
            ),
        ),
        "pressure": (
            _("Pressure: under gas, steam or water, layers leak and burst without warning."),
            _("Fit a rated part; for gas and boilers ask a licensed fitter. Local codes decide."),
        ),
        "weight": (
            _(
                "A person's weight: a printed part breaks suddenly, and no formula here covers a "
                "fall."
            ),
            _("Fit the maker's part or one of metal; ask someone qualified. Local codes decide."),
        ),
        "fire": (
            _("Gas and fire: a printed part burns, and once it melts, gas or smoke gets out."),
            _("Fit the maker's part; for gas ask a licensed fitter. Local codes decide."),
        ),
        "vehicle": (
            _("A vehicle or a machine: if a printed part gives way, brakes or guards fail."),
            _("Have a workshop fit the maker's part. The law on vehicles decides."),
        ),
        "medical": (
            _("Health and skin: a print is not a medical device; germs settle between its layers."),
            _("Ask a doctor, a pharmacist or the maker of the device. Local law decides."),
        ),
        "sport": (
            _("Sport: whatever holds or protects somebody must be rated; a print breaks suddenly."),
            _("Buy the rated part. An instructor in that sport, or its standard, decides."),
        ),
    }


def _grave(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    repair = subject.repair
    named = _named(repair)
    said = {use.word for use in uses.read(repair.uses)}
    for word, (text, remedy) in _dangers().items():
        if word not in used:
            continue
        by_name = _('Its name says "{word}". {text}').format(word=named.get(word), text=text)
        yield Finding(
            severity="stop",
            rule=word,
            where=repair.name,
            text=text if word in said else by_name,
            remedy=_('{remedy} If this does not apply, say under "{rule}" what was done.').format(
                remedy=remedy, rule=_(word, "rule")
            ),
            source=PRACTICE,
        )


def _heat(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "heat" not in used:
        return
    material, amount = subject.material, used["heat"].amount
    remedy, fix = "", None
    limit = material.holds_shape_to - HEAT_MARGIN
    source = f"{material.cite('glass_transition')}; " + (
        material.cite("softens") + "; " if material.softens is not None else ""
    )
    source += _("margin {margin} °C, our choice").format(margin=number(HEAT_MARGIN))
    if amount is None:
        text = _("It gets warm, and you have not said how warm; {material} withstands {limit} °C.")
        severity, remedy = "warning", _('Say how warm in °C, such as "heat 70".')
    elif amount <= limit:
        text = _("It gets as warm as {amount} °C; {material} withstands {limit} °C.")
        severity = "note"
    else:
        text = _("It gets as warm as {amount} °C, and {material} withstands only {limit} °C.")
        severity = "stop" if amount > material.holds_shape_to else "warning"
        remedy, fix = _warmer(amount, used)
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
        fix=fix,
        passed=severity == "note",
    )


def _stands(material: data.Material, used: Mapping[str, uses.Use]) -> bool:
    """Whether a hard material stands the warmth and the weather that it is used in."""
    warm = max(used["heat"].amount or 0.0 if "heat" in used else 0.0, 0.0)
    out = "outdoors" in used
    warm = max(warm, SUN) if out else warm
    cool_enough = material.holds_shape_to - HEAT_MARGIN >= warm
    return material.modulus > HARD and cool_enough and (material.outdoors or not out)


def _warmer(amount: float, used: Mapping[str, uses.Use]) -> tuple[str, Fix | None]:
    """Which filaments stand it, and the first as a fix."""
    good = [m.name for m in data.materials().values() if _stands(m, used)]
    if not good:
        return _("No filament listed here stands that: have it made of metal."), None
    text = _(
        "Print it in {materials}, and keep it away from flames and anything that glows."
    ).format(materials=_(" or ").join(good[:3]))
    return text, {"material": good[0]}


def _handled(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    """Who eats off it, plays with it or chews it."""
    told = {
        "food": (
            _(
                "Food touches it: germs settle between layers, and few filaments and nozzles are "
                "made for food."
            ),
            _(
                "Use it only for dry or wrapped food, or seal it with a coating that is sold for "
                "food; not for a baby's bottle or a dishwasher."
            ),
        ),
        "child": (
            _(
                "A child uses it: if it breaks, the pieces are sharp, and small ones can choke "
                "a child."
            ),
            _(
                "Not for children under three, and not for anything that keeps a child from "
                "falling, getting out or getting hurt."
            ),
        ),
        "pet": (
            _("A pet chews it: splinters and swallowed pieces do harm, whatever its size."),
            _("Keep it where no pet can chew it; for chewing, buy a toy made for that."),
        ),
    }
    for word, (text, remedy) in told.items():
        if word in used:
            yield Finding(
                severity="warning",
                rule=word,
                where=subject.repair.name,
                text=text,
                remedy=remedy,
                source=PRACTICE,
            )


def _outdoors(subject: Subject, used: Mapping[str, uses.Use]) -> Iterator[Finding]:
    if "outdoors" not in used:
        return
    material = subject.material
    limit = material.holds_shape_to
    remedy, fix = _warmer(SUN, used)
    of_part = partial(Finding, where=subject.repair.name)
    if limit < SUN:
        yield of_part(
            severity="warning",
            rule="sun",
            text=_(
                "A dark part in the sun reaches about {sun} °C; {material} softens at {limit} °C."
            ).format(sun=number(SUN), material=material.name, limit=number(limit, 0)),
            number=SUN,
            limit=limit,
            unit="°C",
            remedy=remedy,
            fix=fix,
            source=material.cite("glass_transition")
            + "; "
            + _("{sun} °C from memory").format(sun=number(SUN)),
        )
    yield of_part(
        severity="note" if material.outdoors else "warning",
        rule="outdoors",
        text=_("{material} outdoors: {light}").format(
            material=material.name, light=_(material.light)
        ),
        remedy="" if material.outdoors else remedy,
        fix=None if material.outdoors else fix,
        passed=material.outdoors,
        source=material.source("light"),
    )
