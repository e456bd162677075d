"""Every word that the picture says in the browser."""

from __future__ import annotations

from typing import Any

from workbench import units
from workbench.words import _, unit_sign


def words() -> dict[str, Any]:
    """Words by what they stand for, in the user's language, and how lengths are written."""
    return {
        "views": {
            "corner": [_("Corner"), _("Look from the front left corner, from above. Key 0")],
            "front": [_("Front"), _("Look from the front. Key 1")],
            "right": [_("Right"), _("Look from the right. Key 2")],
            "back": [_("Back"), _("Look from the back. Key 3")],
            "left": [_("Left"), _("Look from the left. Key 4")],
            "top": [_("Top"), _("Look from above. Key 5")],
            "bottom": [_("Bottom"), _("Look from below. Key 6")],
        },
        "look": _("Look from"),
        "fit": [_("Whole part"), _("Show all of the part. Key F")],
        "near": [_("Nearer"), _("Bring the part nearer. Key +")],
        "far": [_("Farther"), _("Move the part away. Key −")],
        "dimensions": [_("Dimensions"), _("Show the sizes of the chosen step. Key D")],
        "apart": [_("Pieces apart"), _("Show each step by itself, moved away from the others")],
        "laid": [
            _("On the bed"),
            _("Lay the part on the bed as it is printed: brim, and posts under overhangs. Key B"),
        ],
        "section": [_("Section"), _("Cut the part open in the picture. Key S")],
        "across": {
            "name": _("Cut square to"),
            "options": [_("left to right"), _("front to back"), _("up and down")],
            "place": _("Where the part is cut"),
            "over": [_("Other side"), _("Show the other half of the part")],
        },
        "measure": [
            _("Calipers"),
            _("Measure between two places of the part: corners, edges or faces. Key M"),
        ],
        "pick": [
            _("Pick a corner, an edge or a face."),
            _("Pick a second one, to measure between them."),
        ],
        "readings": {
            "outside": _("outside"),
            "inside": _("inside"),
            "depth": _("depth"),
            "outside diameter": _("outside diameter"),
            "inside diameter": _("inside diameter"),
            "between the centres": _("between the centres"),
            "to the centre": _("to the centre"),
            "straight across": _("straight across"),
            "angle": _("angle"),
        },
        "fits": {
            "name": _("Slot or shaft that it fits"),
            "options": [_("Fit: hidden"), _("Fit: true gap"), _("Fit: gap ten times")],
        },
        "picture": _("Picture of the part"),
        "keys": _(
            "Arrow keys turn the part, with Shift they move it; plus and minus bring it nearer or "
            "move it away; F shows all of it; 0 to 6 choose the view. While measuring, Enter picks what "
            "lies in the middle."
        ),
        "still": _("The live picture cannot be shown here, so this is a still one."),
        "why": {
            "webgl": _("This browser draws nothing in three dimensions: WebGL is switched off."),
            "lost": _("The browser has stopped drawing; click the button to go on."),
            "many": _("The part has too many triangles to turn in a browser."),
            "bundle": _("The live picture's script is missing: install workbench again."),
        },
        "again": _("Show the live picture"),
        "unit": unit_sign(),
        "mm": units.chosen().mm,
        "places": 2 if units.chosen() is units.MM else 3,
    }
