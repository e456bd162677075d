"""What the sides of a part are called, laid and standing, in plain words."""

from __future__ import annotations

import math
from operator import mul

from workbench.checks.orientation.print_cost import Figures
from workbench.words import _, number

#: The sides of the bench and where they look.
SIDES = {
    "bottom": (0.0, 0.0, -1.0),
    "top": (0.0, 0.0, 1.0),
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "back": (0.0, 1.0, 0.0),
}

#: A part is flat if it is lower than this share of its least width as seen from above. Our choice.
FLAT = 0.5


def side_of(down: tuple[float, float, float]) -> tuple[str, float]:
    """The side that looks most nearly down, and how far it is off, in degrees.

    >>> side_of((0.0, 1.0, 0.0))
    ('back', 0.0)
    """
    along = {name: sum(map(mul, side, down)) for name, side in SIDES.items()}
    side = max(along, key=along.__getitem__)
    off = math.degrees(math.acos(min(1.0, along[side])))
    return side, off


def lies_flat(found: Figures) -> bool:
    """Whether a part laid so is low for its size on the bed."""
    return found.height < FLAT * found.narrow


def name_of(found: Figures) -> str:
    """A name for an orientation, such as "laid flat on its back"."""
    side, off = side_of(found.down)
    words = _(side, "side")
    if off > 30:
        return _("tilted, its {side} {off}° off the bed").format(side=words, off=number(off, 0))
    if lies_flat(found) and off < 1:
        return _("laid flat on its {side}").format(side=words)
    if side in ("bottom", "top") and off < 1:
        return _("standing on its {side}").format(side=words)
    edge = found.narrow < found.height / 4
    if off < 1:
        return (_("on its {side} edge") if edge else _("on its {side} side")).format(side=words)
    return (_("on its slanting {side} edge") if edge else _("on its slanting {side} side")).format(
        side=words
    )
