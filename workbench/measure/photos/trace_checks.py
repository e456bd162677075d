"""Whether a trace is what was seen: the sides found against the border, and what is said of it."""

from __future__ import annotations

import numpy as np
import shapely

from workbench.errors import RepairError
from workbench.measure.photos.edges import Edge, Line, lengths_of
from workbench.words import _, number

#: A trace whose area is off the border's by more than the first share is noted, by more than the
#: second refused.
NOTED, REFUSED = 0.015, 0.06

#: A border of which more than the share is further than this from every side found, in mm, is noted:
#: less is the upright edge of a corner, seen from the side.
STRAY, STRAY_SHARE = 0.8, 0.05


#: Neighbouring sides that turn by less than this, in degrees, may be one, and a side shorter than
#: this, in mm, none. Common practice, no source.
IN_LINE, TINY = 12.0, 1.0

#: So may one be that is not so many times as long as it is unsure: a coverage factor of 2.
SURE = 2.0


class Unclear(RepairError):
    """A photo that shows no outline to trust; ``picture`` is a PNG of what was seen, or None."""

    def __init__(self, message: str, picture: bytes | None = None) -> None:
        super().__init__(message)
        self.picture = picture


def compared(drawn: np.ndarray, border: np.ndarray, picture: bytes | None) -> list[str]:
    """Notes on sides that do not follow the border.

    Parameters
    ----------
    drawn : (n, 2) the outline of the sides found; border : (m, 2) what was segmented, both in mm

    Raises
    ------
    Unclear
        When their areas have little to do with each other, or the sides cross.
    """
    sides, seen = shapely.Polygon(drawn), shapely.Polygon(border).buffer(0)
    if not sides.is_valid or abs(sides.area / max(seen.area, 1e-9) - 1) > REFUSED:
        raise Unclear(
            _(
                "the sides found do not follow the border of the part; light it evenly from two "
                "sides, lay it on paper of another colour and take the photo from straight above"
            ),
            picture,
        )
    off = shapely.distance(sides.exterior, shapely.points(border))
    share = abs(sides.area / seen.area - 1)
    stray = float((off > STRAY).mean())
    if share <= NOTED and stray <= STRAY_SHARE:
        return []
    return [
        _(
            "{stray} % of the border that was seen is not on the sides found, and the area differs "
            "by {share} %; look at the picture before you trust it"
        ).format(stray=number(100 * stray, 0), share=number(100 * share, 1))
    ]


def odd_sides(edges: list[Edge], uncertainty: np.ndarray) -> list[str]:
    """A note on sides that may be none: tiny ones, and neighbours that are nearly in one line.

    uncertainty : (n,) of the edges' lengths, standard, in mm
    """
    if len(edges) < 3:
        return []
    lengths = lengths_of(edges)
    least = np.maximum(TINY, SURE * uncertainty)
    tiny = sum(isinstance(e, Line) and n < m for e, n, m in zip(edges, lengths, least, strict=True))
    in_line = 0
    for one, other in zip(edges, [*edges[1:], edges[0]], strict=True):
        if isinstance(one, Line) and isinstance(other, Line):
            turn = abs((other.angle - one.angle + np.pi) % (2 * np.pi) - np.pi)
            in_line += bool(turn < np.radians(IN_LINE))
    if not tiny + in_line:
        return []
    return [
        _(
            "{count} of the corners found may not be real: the sides there are tiny or nearly in "
            "one line. Look at the picture, and take the photo in more even light"
        ).format(count=tiny + in_line)
    ]


def picture_of(light: np.ndarray, border: np.ndarray, width: int = 700) -> bytes:
    """A PNG of the straightened picture with the border that was seen drawn into it.

    light : (h, w, 3) linear; border : (n, 2) in its pixels
    """
    import cv2

    scale = min(1.0, width / light.shape[1])
    small = cv2.resize(light, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    levels = np.clip(small, 0, 1) ** (1 / 2.2) * 255
    shown = np.ascontiguousarray(levels.astype(np.uint8)[:, :, ::-1])
    ring = np.round(border * scale).astype(np.int32)
    cv2.polylines(shown, [ring], True, (255, 255, 255), 4, cv2.LINE_AA)
    cv2.polylines(shown, [ring], True, (40, 60, 200), 2, cv2.LINE_AA)
    return bytes(cv2.imencode(".png", shown)[1])
