"""Why an orientation is good or bad, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.orientation.way_up import Orientation
from workbench.words import _, area_with_unit, number, setting, with_unit

if TYPE_CHECKING:
    from workbench.checks.subject import Subject


def reasons(subject: Subject, found: Orientation) -> tuple[str, ...]:
    """What speaks for and against an orientation, most telling first."""
    figures = found.figures
    said = []
    if figures.turn is None:
        said.append(_("It does not fit the bed this way up."))
    elif figures.turn:
        said.append(
            _("It fits the bed if you turn it by {turn}°.").format(turn=number(figures.turn, 0))
        )
    if figures.hanging:
        said.append(hangs(subject, found))
        said.append(
            _("Support: {grams} g, about {minutes} min to take off and clean.").format(
                grams=number(max(found.grams, 0.1), 1), minutes=number(figures.cleaning, 0)
            )
        )
    elif figures.touched > 1:
        said.append(
            _("It would need support under about {area}.").format(
                area=area_with_unit(figures.touched, 0)
            )
        )
    else:
        said.append(_("It needs no support."))
    took = _("It prints in about {time}, {count} layers.")
    if figures.count == 1:
        took = _("It prints in about {time}, one layer.")
    said.append(took.format(time=duration(figures.minutes), count=figures.count))
    if found.weakest:
        said.append(_layer_words(found))
    rests = (
        _("It rests on {contact}").format(contact=area_with_unit(figures.contact, 0))
        if figures.contact >= 1
        else _("It hardly touches the bed")
    )
    if figures.brim:
        said.append(
            _("{rests}; a brim of {width} mm is wise: {reason}.").format(
                rests=rests, width=setting(figures.brim.width, 0), reason=figures.brim.reason
            )
        )
    else:
        said.append(_("{rests}.").format(rests=rests))
    if found.stepped > 50:
        said.append(
            _("Layers would show as steps on {area}.").format(area=area_with_unit(found.stepped, 0))
        )
    for step in found.rough_fits:
        said.append(_("Support would touch the {step}, which has to fit.").format(step=step))
    if found.spoilt > 1:
        said.append(
            _("{area} of a side that shows would get marks.").format(
                area=area_with_unit(found.spoilt, 0)
            )
        )
    return tuple(said)


def duration(minutes: float) -> str:
    """Minutes, or hours and minutes, as a person would say them.

    >>> duration(24.6), duration(125)
    ('25 min', '2 h 5 min')
    """
    whole = max(1, round(minutes))
    if whole < 100:
        return _("{minutes} min").format(minutes=whole)
    return _("{hours} h {minutes} min").format(hours=whole // 60, minutes=whole % 60)


def hangs(subject: Subject, found: Orientation) -> str:
    """What would hang in the air and how high, as a sentence about the orientation."""
    worst = found.figures.hanging[0]
    step = step_at(subject, found.down, worst.place)
    below = _("the bed") if worst.over_bed else _("what is below")
    text = {
        "island": _("{name}, {area} of {step} would start in mid-air, {height} above {below}."),
        "bridge": _("{name}, {area} of {step} would span {length}, {height} above {below}."),
        "slope": _("{name}, {area} of {step} would overhang, from {height} above {below}."),
        "ledge": _("{name}, {area} of {step} would hang {height} above {below}."),
    }[worst.kind]
    return text.format(
        name=found.name[:1].upper() + found.name[1:],
        area=area_with_unit(worst.area, 0 if worst.area >= 10 else 1),
        step=_("the {step}").format(step=step) if step else _("the part"),
        length=with_unit(worst.length, 1),
        height=with_unit(worst.clearance, 1),
        below=below,
    )


def _layer_words(found: Orientation) -> str:
    if found.strength > 0.95:
        return _("The layers run along the {step}, where it is loaded.").format(step=found.weakest)
    return _("The load on the {step} pulls across layers: {percent} % of its strength.").format(
        step=found.weakest, percent=number(100 * found.strength, 0)
    )
