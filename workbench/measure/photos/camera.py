"""Where the camera stood above the sheet, and what a part's thickness does to its outline.

A camera that does not stand straight above an edge sees the edge that is nearer to it, the upper
one, further out than it is; edges that face the camera it sees where they stand on the sheet::

            camera
              o .
             /   ` .
            /       ` .
           /    ______  ` .      the upper edge on the right is seen at q, not at p;
          /    |      |    ` .   on the left, were the camera further left, the lower
    -----+-----+------+-------`--- sheet          edge would be seen where it is
       foot           p       q
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from workbench.measure.photos.edges import Arc, Edge, Grain, Line, corners_of
from workbench.measure.photos.least_squares import fitted
from workbench.measure.photos.rectify import STATED_DOUBT, USUAL, USUAL_DOUBT, View, placed

#: Thickness of an ID-1 card (ISO/IEC 7810): so far is its printed side above the table, in mm.
CARD_THICKNESS = 0.76

#: How many parts' edges are left sharp, before a photo tells, and the most by which others' are broken,
#: in mm, of which any less is as likely: drawings leave outer edges to the maker (ISO 13715, from
#: memory), and mouldings are rounded by up to a millimetre. Common practice, no source.
SHARP, MOST_BROKEN = 1 / 3, 1.0

#: By how much an edge is broken where nothing is said or seen of it: the mean of these, and how far
#: they are from it, standard, in mm.
BROKEN = (1 - SHARP) * MOST_BROKEN / 2
BROKEN_DOUBT = math.sqrt((1 - SHARP) * MOST_BROKEN**2 / 3 - BROKEN**2)

#: What is thinner than this, in mm, was cut from sheet: no wall is moulded so thin.
SHEET = 1.0

#: The most of a thin part's break, as shares of its thickness: half, where its upper and lower break
#: meet, and for sheet what cutting rolls an edge over by (VDI 2906, from memory).
MEETING, ROLLED = 1 / 2, 1 / 5

#: By how much a rim that is half upper and half lower edge is no circle: share of its shift.
_NO_CIRCLE = 0.2

#: How far a corner's upright edge may point past the foot, as a sine, and how much longer than
#: its shift it may be.
_ASIDE, _LONGER = 0.4, 2.2

#: The same for one that was seen as an arc, which takes in the rounded corners at both its ends.
_LONGER_ROUND = 3.5


@dataclass(frozen=True, eq=False)
class Camera:
    """Where the camera stood.

    foot : (2,) the place on the sheet's plane that is straight below it, in mm
    height : above that plane, in mm
    doubt : relative standard uncertainty of the height
    """

    foot: np.ndarray
    height: float
    doubt: float

    def shift(self, point: np.ndarray, normal: np.ndarray) -> float:
        """By how much of its height above the sheet an edge is seen too far along its normal."""
        return float((point - self.foot) @ normal) / self.height


@dataclass(frozen=True)
class Thickness:
    """A part's height above and below the plane of known size, in mm.

    upper, lower : of its upper and lower edges; a part beside a card reaches below the card's
    uncertainty : standard, of both
    broken : by how much its edges are broken, upper and lower, and how sure that is
    """

    upper: float
    lower: float = 0.0
    uncertainty: float = 0.02
    broken: float = BROKEN
    broken_doubt: float = BROKEN_DOUBT

    def seen_off(self, share: np.ndarray) -> np.ndarray:
        """By how much edges are seen too far out, in mm, for shares as :meth:`Camera.shift` tells.

        The break takes the edge back: what is widest is not highest.
        """
        broken = min(max(self.broken, 0.0), (self.upper - self.lower) / 2)
        height = np.where(share > 0, self.upper, self.lower)
        return share * height - np.minimum(np.abs(share), 1.0) * broken


def camera_of(view: View, stated: float | None = None) -> Camera:
    """Where the camera stood, from how it saw the plane.

    The first two columns of the homography are the plane's axes as the camera sees them: they
    are square to each other and equally long, which gives the focal length where the camera
    leans; where it looks straight down, the file's or the usual one has to do.

    Parameters
    ----------
    view : of the sheet or the card
    stated : focal length over the picture's diagonal, where the file states it
    """
    if view.pose is not None:
        return _posed_camera(view)
    one, other = view.homography[:, 0], view.homography[:, 1]
    focal, doubt = _focal(one, other, view, stated)
    scale = np.array([1 / focal, 1 / focal, 1.0])
    right, up, place = (scale * column for column in view.homography.T)
    unit = math.sqrt(np.linalg.norm(right) * np.linalg.norm(up))
    turn, _stretch, back = np.linalg.svd(np.column_stack([right, up]) / unit, full_matrices=False)
    axes = turn @ back  # (3, 2): the nearest axes that are square to each other
    out = np.cross(axes[:, 0], axes[:, 1])
    spot = -np.column_stack([axes, out]).T @ place / unit
    return Camera(spot[:2], abs(float(spot[2])), doubt)


def _posed_camera(view: View) -> Camera:
    """Where a camera that was solved from the marks stood."""

    def place(of: View) -> np.ndarray:
        assert of.pose is not None
        turn, spot = placed(of.pose)
        return -turn.T @ spot

    spot = place(view)
    doubt = 0.0
    if view.spread is not None:
        moved = [place(view.moved(step))[2] - spot[2] for step in view.spread.T]
        doubt = float(np.linalg.norm(moved)) / abs(spot[2])
    return Camera(spot[:2], abs(float(spot[2])), doubt)


def _focal(
    one: np.ndarray, other: np.ndarray, view: View, stated: float | None
) -> tuple[float, float]:
    """The focal length in pixels and its relative doubt: what is known of it, by their weights."""
    diagonal = 2 * view.half
    known = math.log((stated or USUAL) * diagonal)
    doubt = STATED_DOUBT if stated else USUAL_DOUBT
    lean = np.array([2 * one[2] * other[2], other[2] ** 2 - one[2] ** 2])
    flat = np.array([-2 * (one[:2] @ other[:2]), one[:2] @ one[:2] - other[:2] @ other[:2]])
    squared = float(lean @ flat) / max(float(lean @ lean), 1e-30)
    if squared <= 0 or view.known is None:
        return math.exp(known), doubt
    # How much nearer one end of the marks is than the other, and how well that is seen.
    reach = np.ptp(view.known, axis=0)
    depth = float(np.hypot(one[2] * reach[0], other[2] * reach[1]))
    spread = max(view.misfit, 0.1) / math.sqrt(view.marks / 4)
    seen = spread / (np.linalg.norm(one[:2]) * float(reach.max()))
    own = 2 * seen / max(depth**2, 1e-12)
    weights = np.array([1 / doubt**2, 1 / own**2])
    logs = np.array([known, math.log(squared) / 2])
    return math.exp(float(weights @ logs / weights.sum())), float(1 / math.sqrt(weights.sum()))


def stood_up(edges: list[Edge], camera: Camera, thickness: Thickness) -> list[Edge]:
    """The edges where they are, not where the camera saw them.

    Parameters
    ----------
    edges : as seen on the plane, counter-clockwise about the part
    """
    seen = edges
    if len(edges) > 3:
        ends = corners_of(edges)
        upright = [_is_upright(edges, ends, k, camera, thickness) for k in range(len(edges))]
        seen = [edge for edge, side in zip(edges, upright, strict=True) if not side]
    return [stood(edge, camera, thickness) for edge in (seen if len(seen) > 2 else edges)]


def bored(
    ring: np.ndarray, camera: Camera, thickness: Thickness, grain: Grain
) -> tuple[np.ndarray, float, float] | None:
    """A round hole through a thick part: middle (2,), diameter and its uncertainty, in mm.

    What is seen through it is what both its rims leave open: two circles, the upper one nearer
    to the camera, which a leaning camera sees apart.

    Parameters
    ----------
    ring : (n, 2) border of what is open, in mm on the plane
    """

    def off(values: np.ndarray, depth: Thickness, height: float) -> np.ndarray:
        centre, radius = values[:2], values[2]
        gaps = []
        for level in (depth.lower + depth.broken, depth.upper - depth.broken):
            larger = height / (height - level)
            middle = camera.foot + (centre - camera.foot) * larger
            gaps.append(np.hypot(*(ring - middle).T) - radius * larger)
        return np.max(gaps, axis=0)

    middle = ring.mean(axis=0)
    lean = (middle - camera.foot) * (thickness.upper + thickness.lower) / 2 / camera.height
    across = np.hypot(*(ring - middle).T)
    start = np.append(middle - lean, across.max())
    fit = fitted(partial(off, depth=thickness, height=camera.height), start)
    rms = float(np.sqrt((fit.left**2).mean()))
    if rms > grain.roundness or fit.x[2] < 0.5:
        return None
    around = 2 * math.pi * fit.x[2]
    free = max(3.0, around / grain.along) / len(ring)
    variance = np.linalg.pinv(fit.slopes.T @ fit.slopes)[2, 2] * rms**2 / free + grain.shift**2
    for depth, height in (
        (replace(thickness, upper=thickness.upper + thickness.uncertainty), camera.height),
        (replace(thickness, broken=thickness.broken + thickness.broken_doubt), camera.height),
        (thickness, camera.height * (1 + camera.doubt)),
    ):
        again = fitted(partial(off, depth=depth, height=height), fit.x).x[2]
        variance += (again - fit.x[2]) ** 2
    return fit.x[:2], 2 * float(fit.x[2]), 2 * math.sqrt(variance)


def stood(edge: Edge, camera: Camera, thickness: Thickness) -> Edge:
    if isinstance(edge, Arc):
        return _round_stood(edge, camera, thickness, outward=1.0 if edge.sweep > 0 else -1.0)
    normal = _out_of(edge)
    share = camera.shift(edge.middle, normal)
    off = float(thickness.seen_off(np.array(share)))
    if edge.top:  # the top's limit is as high as the part, and inside its silhouette
        off += edge.top * (share * thickness.upper - thickness.broken - off)
    return replace(edge, middle=edge.middle - off * normal)


def _round_stood(arc: Arc, camera: Camera, thickness: Thickness, outward: float) -> Arc:
    """An arc, or a whole circle, moved and resized as its points are on average."""
    first = math.atan2(*(arc.start - arc.centre)[::-1])
    turn = first + arc.sweep * np.linspace(0, 1, 61)[:-1]
    rays = np.column_stack([np.cos(turn), np.sin(turn)])
    share = ((arc.centre + arc.radius * rays - camera.foot) * (outward * rays)).sum(
        axis=1
    ) / camera.height
    off = outward * thickness.seen_off(share)
    (x, y, grown), *_rest = np.linalg.lstsq(
        np.column_stack([rays, np.ones(len(rays))]), off, rcond=None
    )
    doubt = _NO_CIRCLE * float(np.ptp(off))
    move = np.array([x, y])
    return replace(
        arc,
        centre=arc.centre - move,
        radius=max(arc.radius - float(grown), 0.1),
        start=arc.start - move,
        end=arc.end - move,
        covariance=arc.covariance + np.eye(3) * doubt**2 / 3,
    )


def _is_upright(
    edges: list[Edge], ends: np.ndarray, k: int, camera: Camera, thickness: Thickness
) -> bool:
    """Whether edge k is a corner's upright edge seen from the side.

    ``ends`` are the (n, 2) corners; edge k runs from corner k-1 to corner k. It stands between a side that faces the camera and one that does not, points at the camera's
    foot, and is about as long as the corner's shift.
    """
    own = edges[k]
    # An arc over a corner is as long as its border, not as its neighbours drawn through.
    a, b = (own.start, own.end) if isinstance(own, Arc) else (ends[k - 1], ends[k])
    before, after = (facing(edges[i % len(edges)], camera) for i in (k - 1, k + 1))
    edge, away = b - a, (a + b) / 2 - camera.foot
    length, far = math.hypot(*edge), math.hypot(*away)
    shift = far * (thickness.upper - thickness.lower) / camera.height
    aside = abs(edge[0] * away[1] - edge[1] * away[0]) / max(length * far, 1e-9)
    longest = _LONGER_ROUND if isinstance(own, Arc) else _LONGER
    return before * after < 0 and aside < _ASIDE and length < longest * shift


def facing(edge: Edge, camera: Camera) -> float:
    """Above 0 where an edge turns away from the camera, below 0 where it faces it."""
    if isinstance(edge, Arc):
        half = (edge.start + edge.end) / 2
        return camera.shift(half, (half - edge.centre) * (1.0 if edge.sweep > 0 else -1.0))
    return camera.shift(edge.middle, _out_of(edge))


def _out_of(edge: Line) -> np.ndarray:
    """(2,) unit vector out of the part, for an outline that runs counter-clockwise."""
    return np.array([edge.along[1], -edge.along[0]])
