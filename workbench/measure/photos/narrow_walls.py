"""A wall of the top's own colour that faces the camera, seen so narrow that its limits blur into one::

    top   | wall | paper     the light turns most steeply beside the silhouette: further out where
    ______|      |  ,---     the wall is the darkest of the three, as a pale part's is
          '~~~~~~|-'

How wide wall and break are seen follows from thickness and lean, and the blur of one step from the
sheet's marks; an edge that is sharper or softer than one step tells how dark they are, as far as it does.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np

from workbench.measure.photos.camera import Camera, Thickness, facing
from workbench.measure.photos.edges import Edge, Line, corners_of, further_out
from workbench.measure.photos.pale_breaks import SHAPED
from workbench.measure.photos.straightened import OPEN_BLUR, SURE, Straightened

#: Light of what is of the top's colour, as a share of the top's: a wall sees half of the sky, and a lamp
#: beside it lights it by as much more. Any between is as likely. Common practice, no source.
LIGHT = (0.5, 1.5)

#: Steps further from the silhouette than so many deviations of the blur leave it where it is.
BLEND = 4.0

#: A wall as wide as the blur, and off the top's light by this share of the edge's step, moves the edge by
#: as much of the blur; less is stated of every edge (``trace.EDGE_SHARE``).
LITTLE = 0.05

#: Places that are tried to either side, in deviations of the blur, and how finely.
TRIED, FINE = 2.0, 0.1

#: How many breaks, and shades of wall and break, are tried, and which blurs, in deviations.
BREAKS, SHADES, BLURS = 15, 31, math.sqrt(3) * np.array([-1.0, 0.0, 1.0])


def at_the_silhouette(
    edges: list[Edge], picture: Straightened, camera: Camera, depth: Thickness, sharp: float
) -> list[Edge]:
    """The edges, those with a narrow wall moved from where light turns most steeply to the silhouette.

    Those of dark parts, of which no shade matters, are left, and all where no marks tell the blur.

    Parameters
    ----------
    edges : on the plane, counter-clockwise
    depth : with what is known of the break; sharp : how likely there is none
    """
    if picture.marks is None or len(edges) < 3:
        return edges
    blur, own = picture.marks
    unsure = math.hypot(own, OPEN_BLUR * blur)
    blurs = [max(blur + off * unsure, blur / 2) for off in BLURS]
    tall, off = depth.upper - depth.lower, 2 * depth.broken_doubt
    breaks = np.linspace(max(depth.broken - off, 0), min(depth.broken + off, tall / 2), BREAKS)
    weight = np.exp(-0.5 * ((breaks - depth.broken) / depth.broken_doubt) ** 2)
    weight *= (1 - sharp) / weight.sum()
    weight[0] += sharp
    weight = np.outer(weight, np.exp(-0.5 * np.square(BLURS))).ravel()
    ends, found, reach = corners_of(edges), list(edges), BLEND * blur
    for k, edge in enumerate(edges):
        lean = -facing(edge, camera)
        if not isinstance(edge, Line) or not 0 < lean < 1 or lean * tall > reach:
            continue
        # Inwards from the silhouette: where wall and break, and break and top, meet.
        walls, tops = lean * (tall - 2 * breaks), lean * tall + breaks * (1 - lean)
        out = np.arange(-tops.max() - reach, reach, 0.5 * picture.pixel)
        clear = min(tops.max() + reach, math.dist(ends[k - 1], ends[k]) / 3)
        seen = picture.across(ends[k - 1], ends[k], -out, clear)
        if seen is None:
            continue
        top = seen[out < -tops.max() - reach / 2].mean(axis=0)
        step = np.linalg.norm(seen[out > reach / 2].mean(axis=0) - top)
        share = np.ptp(LIGHT) / 2 * np.linalg.norm(top) / step
        if share < LITTLE:
            continue
        places = np.arange(-TRIED, TRIED + FINE / 2, FINE) * blur
        squares = np.array(
            [
                _squares(out, seen, top, places, inner, one)
                for inner, one in product(zip(walls, tops, strict=True), blurs)
            ]
        )
        free = np.ptp(out) / (2 * blur) * 3  # neighbouring places share the blur
        noise = squares.min() + (SHAPED * step) ** 2 / 9  # a half rectangular width, three colours
        likely = np.exp(-0.5 * free * (squares - squares.min()) / noise).sum(axis=(2, 3))
        likely = weight @ likely
        likely /= likely.sum()
        mean = float(likely @ places)
        doubt = math.sqrt(float(likely @ (places - mean) ** 2))
        if abs(mean) > share * tops.max() + LITTLE * blur + SURE * doubt:
            continue  # no wall of the top's colour draws an edge so far
        variance = edge.covariance.copy()
        variance[0, 0] += doubt**2
        found[k] = replace(further_out(edge, mean), covariance=variance)
    return found


def _squares(
    out: np.ndarray,
    seen: np.ndarray,
    top: np.ndarray,
    places: np.ndarray,
    inner: tuple[float, float],
    blur: float,
) -> np.ndarray:
    """(p, s, s) mean squares that a silhouette at each place, with each shade of wall and break, leaves.

    out : (m,) mm out of the edge; seen : (m, 3) light there; top : (3,) that of the top
    inner : how far inside the silhouette wall and break, and break and top, meet
    """
    from workbench.measure.chances import ndtr

    shade = np.linspace(*LIGHT, SHADES) - 1
    wall, rim = shade[:, None], shade[None, :]
    squares = []
    for place in places:
        at = (out - place) / blur
        # A soft shadow on the paper beside the part.
        terms = np.column_stack([np.ones_like(out), ndtr(at), np.clip(out - place, 0, None)])
        near, far = (ndtr(at + off / blur) for off in inner)
        both = np.hstack([seen, np.outer(near, top), np.outer(far - near, top)])
        left = both - terms @ np.linalg.lstsq(terms, both, rcond=None)[0]
        plain, a, b = np.hsplit(left, 3)
        squares.append(
            ((plain**2).mean() + wall**2 * (a**2).mean() + rim**2 * (b**2).mean())
            - 2
            * (wall * (plain * a).mean() + rim * (plain * b).mean() - wall * rim * (a * b).mean())
        )
    return np.array(squares, dtype=np.float32)
