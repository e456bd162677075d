"""A drawing of calipers' two scales, to learn reading them from."""

from __future__ import annotations

from workbench.errors import RepairError
from workbench.jupyter.lesson import Shown
from workbench.measure.reading import parse_length
from workbench.words import _, number, setting

#: The lower scale: so many lines over one mm less than as many, as on calipers that read to
#: 0.05 mm. Common practice; the rule is that of every vernier.
LINES = 20
STEP = 1 / LINES

#: Pixels for one mm, what is left free at the sides and above, and the height of a scale.
_MM, _FREE, _HIGH = 20.0, 20.0, 52.0

_ACCENT = "#2f6f73"


def vernier(size: str | float, told: bool = True) -> Shown:
    """The two scales of calipers that are open by ``size``.

    size : 0 to 150 mm; drawn to the nearest 0.05 mm, which is what the lower scale tells
    told : whether the two lines that meet are marked and the size is said below

    Raises RepairError when the size is not a length from 0 to 150 mm.
    """
    wanted = parse_length(size)
    if not 0 <= wanted <= 150:
        raise RepairError(
            _("size is {size} mm; these calipers open from 0 to 150 mm").format(
                size=setting(wanted)
            )
        )
    whole, line = divmod(round(wanted / STEP), LINES)
    shown = whole + line * STEP
    first = whole - whole % 10
    last = whole + LINES + 2

    def at(place: float) -> float:
        return _FREE + (place - first) * _MM

    middle = 24 + _HIGH
    upper = "".join(
        _mark(at(mm), middle, -(30 if mm % 10 == 0 else 22 if mm % 5 == 0 else 15))
        + (_label(at(mm), middle - 34, str(mm)) if mm % 10 == 0 else "")
        for mm in range(first, last + 1)
    )
    places = [shown + index * (1 - STEP) for index in range(LINES + 1)]
    lower = "".join(
        _mark(at(place), middle, 22 if index % 2 == 0 else 14, told and index == line)
        + (_label(at(place), middle + 38, str(index // 2)) if index % 2 == 0 else "")
        for index, place in enumerate(places)
    )
    wide, tall = at(last) + _FREE, middle + _HIGH + 8
    scales = (
        f'<rect x="4" y="12" width="{wide - 8:.1f}" height="{middle - 12:.1f}" '
        'fill="none" stroke="currentColor" stroke-width="0.6"/>'
        f'<rect x="{at(places[0]) - 12:.1f}" y="{middle:.1f}" '
        f'width="{at(places[-1]) - at(places[0]) + 24:.1f}" height="{_HIGH:.1f}" '
        'fill="none" stroke="currentColor" stroke-width="0.6"/>'
    )
    caption = (
        _(
            "{size} mm: the lower 0 is past {whole}, and lower line {line} lines up with a line above"
        ).format(size=setting(shown), whole=whole, line=number(line / 2, 1))
        if told
        else _("What do these calipers show?")
    )
    return Shown(
        f'<figure class="wb-figure"><svg role="img" aria-label="{caption}" '
        f'viewBox="0 0 {wide:.0f} {tall:.0f}" width="{wide:.0f}" height="{tall:.0f}" '
        f'style="max-width: 100%">{scales}{upper}{lower}</svg>'
        f"<figcaption>{caption}</figcaption></figure>",
        caption,
    )


def _mark(x: float, y: float, reach: float, meets: bool = False) -> str:
    """A line of a scale from its edge up (below 0) or down; where two meet it is drawn through."""
    start = y - 15 if meets else y
    style = f'stroke="{_ACCENT}" stroke-width="3"' if meets else 'stroke="currentColor"'
    return f'<line x1="{x:.2f}" y1="{start:.1f}" x2="{x:.2f}" y2="{y + reach:.1f}" {style}/>'


def _label(x: float, y: float, words: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" class="wb-length">{words}</text>'
