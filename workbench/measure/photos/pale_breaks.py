"""A part whose broken edges have a shade of their own: what was traced may be its top's limit, all
round, and its silhouette a weaker step further out::

    top   | break | wall | paper     brightness across a side that faces the camera, seen at s
    ______|       |      |           times its height T: the break e is s T + e (1 - s) inside
          '~~~~~~~|      |           the silhouette, and e (1 + s) wide
      traced      '~~~~~~|
                         '-------    a side that turns away shows e (1 - s) of the break, no wall

One break and one blur must explain all sides, so that few that show it tell it for all.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from workbench.measure.photos.broken_edge import PLACED, ROUND, TRIED
from workbench.measure.photos.camera import SHARP, Camera, Thickness, facing, stood
from workbench.measure.photos.edges import SHORTEST, TURN, Arc, Edge, Line, corners_of, further_out
from workbench.measure.photos.straightened import Straightened

#: Blurs that are tried where no marks tell it, as shares of the border's own, which is too wide where
#: it was two steps.
BLURS = (0.45, 0.6, 0.8, 1.0)

#: How well a step is as the model has it, as a share of its height: what is moved by a twentieth of its
#: blur, as an edge may be (``trace.EDGE_SHARE``), is off by that of a Gaussian's height.
SHAPED = 0.05 / math.sqrt(2 * math.pi)

#: How far the first step may be from what was traced, and how finely places are tried, in deviations
#: of the blur; and at how many places between the top's limit and the silhouette.
BESIDE, FINE, BETWEEN = 1.0, 0.25, 5

#: At such odds a silhouette further out than what was traced is one. A break counts as seen when it
#: is so many times as large as it is unsure: a coverage factor of 2.
ODDS, SURE = 20.0, 2.0

#: A break that moved nothing of what was traced is known by its own shade alone; it counts as seen when
#: it is so many times as large as it is unsure: a limit of detection (IUPAC, from memory).
DETECTED = 3.0

#: Sections of a side that are looked at apart, to see whether what was traced slants.
SECTIONS = 4

#: Sides steeper to the camera than this share are left out.
STEEP = 0.95


@dataclass(frozen=True, eq=False)
class _Side:
    """What a side's profile says of breaks tried (t), places of the first step (x) and blurs (b).

    index : of the edge; share : as :func:`facing` tells it
    squares : (b, t, x) chi-square; places : (t, x) mm out of what was traced
    traced : (t, x) whether the silhouette was traced
    surer : by how much larger the chi-squares of where steps are than those of whether there are any
    parts : sections of it, as their middle's mm along the edge from its own, and their profile
    """

    index: int
    share: float
    squares: np.ndarray
    places: np.ndarray
    traced: np.ndarray
    surer: float
    parts: list[tuple[float, np.ndarray, np.ndarray]]


def at_the_top(
    edges: list[Edge],
    picture: Straightened,
    camera: Camera,
    depth: Thickness,
    sharp: float = SHARP,
) -> tuple[list[Edge], Thickness] | None:
    """The edges with how much of each is the top's limit, and the break; None where none shows so.

    Where the break shows but what was traced may be the silhouette, these are the edges as they were.

    Parameters
    ----------
    edges : on the plane, counter-clockwise
    depth : with what is known of the break beforehand; sharp : how likely there is none
    """
    spread = picture.spread
    tried = np.append(0.0, TRIED[1::2][(depth.upper - depth.lower) / 2 >= TRIED[1::2]])
    if len(edges) < 3 or tried[-1] < spread:
        return None
    ends = corners_of(edges)
    sides = []
    for k, edge in enumerate(edges):
        share = facing(edge, camera)
        if isinstance(edge, Line) and abs(share) < STEEP:
            wide = _wide(share, depth, tried)
            seen = partial(_profile, picture, wide)
            profile = seen(ends[k - 1], ends[k])
            if profile is None:
                continue
            clear = _clear(wide, spread, math.dist(ends[k - 1], ends[k]))
            parts = _in_parts(seen, edge, ends[k - 1], ends[k], clear)
            squares = _squares(*profile, share, wide, tried, spread, _blurs(picture))
            sides.append(_Side(k, share, *squares, parts))
    if not sides:
        return None
    gain, weight = _weighed(sides, tried, camera, depth, sharp)
    lit = int(weight.sum(axis=1).argmax())
    likely = weight.sum(axis=0)
    mean = float(likely @ tried)
    own = math.sqrt(float(likely @ (tried - mean) ** 2))
    if mean < SURE * own:
        return None
    known = depth.broken_doubt
    depth = replace(depth, broken=mean, broken_doubt=max(own, 0.02))
    blur = _blurs(picture)[lit]
    placed, doubts = _placed(edges, sides, lit, tried, likely, camera, depth, spread, blur)
    # Where a part and its break are of one shade, any place between both limits would do.
    nothing_known = mean / math.sqrt(12)
    if gain < 2 * math.log(ODDS) and max(doubts) > nothing_known / 2:
        if mean < DETECTED * own:
            return None
        doubt = math.hypot(depth.broken_doubt, ROUND * mean)
        return edges, replace(depth, broken_doubt=min(doubt, known))
    # Given the break, its steps are where they fit.
    sides = [replace(side, squares=side.surer * side.squares) for side in sides]
    placed, _doubts = _placed(edges, sides, lit, tried, likely, camera, depth, spread, blur)
    return _joined(placed, ends, camera, depth, spread), depth


def _blurs(picture: Straightened) -> np.ndarray:
    """Deviations of the blur that are tried, in mm."""
    if picture.marks is None:
        return np.array(BLURS) * picture.spread
    blur, doubt = picture.marks
    return blur + doubt * np.array([-1.0, 0.0, 1.0])


def _wide(share: float, depth: Thickness, broken: np.ndarray) -> np.ndarray:
    """How far the silhouette is out of the top's limit, in mm, for breaks."""
    return max(-share, 0.0) * (depth.upper - depth.lower) + broken * max(1 - abs(share), 0.0)


def _clear(wide: np.ndarray, spread: float, length: float) -> float:
    """Mm at both ends of a side in which its neighbours may show."""
    return min(float(np.median(wide)) + 3 * spread, length / 3)


def _profile(
    picture: Straightened,
    wide: np.ndarray,
    a: np.ndarray,
    b: np.ndarray,
    clear: float | None = None,
) -> tuple[np.ndarray, np.ndarray] | None:
    """(m,) mm out of the side a b and (m, 3) light there, as a share of the whole step."""
    spread = picture.spread
    if clear is None:
        clear = _clear(wide, spread, math.dist(a, b))
    inward = float(np.ptp(wide)) + 4 * spread
    out = np.arange(-inward, wide[-1] + 5 * spread, 0.5 * picture.pixel)
    seen = picture.across(a, b, -out, clear)
    if seen is None:
        return None
    whole = float(np.linalg.norm(seen[-3:].mean(axis=0) - seen[:3].mean(axis=0)))
    return (out, seen / whole) if whole > 1e-6 else None


def _in_parts(
    seen: Callable[..., tuple[np.ndarray, np.ndarray] | None],
    edge: Line,
    a: np.ndarray,
    b: np.ndarray,
    clear: float,
) -> list[tuple[float, np.ndarray, np.ndarray]]:
    """The side's sections, as :class:`_Side` has them; ``seen`` tells a profile between two points."""
    share = clear / math.dist(a, b)
    found = []
    for low, high in itertools.pairwise(np.linspace(share, 1 - share, SECTIONS + 1)):
        c, d = a + low * (b - a), a + high * (b - a)
        profile = seen(c, d, 0.0)
        if profile is not None:
            found.append((float(((c + d) / 2 - edge.middle) @ edge.along), *profile))
    return found


def _squares(
    out: np.ndarray,
    seen: np.ndarray,
    share: float,
    wide: np.ndarray,
    tried: np.ndarray,
    spread: float,
    blurs: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """Chi-squares, places, whether the silhouette was traced and ``surer``, as :class:`_Side` has them."""
    from workbench.measure.chances import ndtr

    near = np.arange(-BESIDE, BESIDE + FINE / 2, FINE) * spread
    inner = -wide[:, None] * np.linspace(0, 1, BETWEEN)
    places = (inner[:, :, None] + near).reshape(len(tried), -1)
    further = places + wide[:, None]
    steps = [places, further]
    if share < 0:
        steps.append(places + tried[:, None] * (1 - share))
    free = np.ptp(out) / (2 * spread) * 3  # neighbouring places share the blur
    squares, fine = [], out.astype(np.float32)
    for blur in blurs:
        terms = [np.ones((*places.shape, len(out)))]
        # Half as fine numbers take half the time, and are off by less than a camera's levels.
        terms += [
            ndtr((fine - at[:, :, None].astype(fine.dtype)) / fine.dtype.type(blur)) for at in steps
        ]
        # A soft shadow on the paper beside the part.
        terms.append(np.clip(out - further[:, :, None], 0, None))
        design = np.stack(terms, axis=-1)
        turned = np.swapaxes(design, 2, 3)
        # Steps are no higher than from black to white, as far as the profile does not say.
        ridge = len(out) * SHAPED**2 / free * np.diag([0.0] + [1.0] * (len(terms) - 1))
        right = turned @ seen
        solved = np.linalg.solve(turned @ design + ridge, right)
        left = (seen**2).sum() - (solved * right).sum(axis=(2, 3))
        squares.append(np.maximum(left, 0) / seen.size)
    chi = np.array(squares) * free / SHAPED**2
    # A profile that no step explains well says less.
    best = float(chi.min())
    # Other things look like a break, so that is for whether there is one. Where its steps are goes by what
    # the best leave and SHAPED as half a rectangular width (JCGM 100:2008, 4.3.7), by their squares.
    surer = (1 + best) / (1 / 3 + best / free)
    return (chi - best) / (1 + best), places, np.abs(further) < 1.1 * FINE * spread, surer


def _weighed(
    sides: list[_Side], tried: np.ndarray, camera: Camera, depth: Thickness, sharp: float
) -> tuple[float, np.ndarray]:
    """By how much what was traced is worse as the silhouette, and (b, t) how likely the breaks are."""
    logs = np.zeros((len(sides[0].squares), len(tried)))
    as_traced, either = np.zeros_like(logs), np.zeros_like(logs)
    for side in sides:
        best = side.squares.min(axis=2)
        either += best
        as_traced += np.where(side.traced, side.squares, np.inf).min(axis=2)
        off = PLACED
        if side.share < 0:
            height = depth.upper - depth.lower
            unsure = math.hypot(depth.uncertainty, height * camera.doubt)
            off = math.hypot(PLACED, side.share * unsure)
        off /= 1 - abs(side.share)
        kernel = np.exp(-0.5 * ((tried[:, None] - tried) / off) ** 2)
        logs += np.log(np.exp(-0.5 * best) @ kernel / kernel.sum(axis=1) + 1e-12)
    prior = np.exp(-0.5 * ((tried - depth.broken) / depth.broken_doubt) ** 2)
    prior *= (1 - sharp) / prior.sum()
    prior[0] += sharp
    weight = np.exp(logs - logs.max()) * prior
    return float(as_traced.min() - either.min()), weight / weight.sum()


def _placed(
    edges: list[Edge],
    sides: list[_Side],
    lit: int,
    tried: np.ndarray,
    likely: np.ndarray,
    camera: Camera,
    depth: Thickness,
    spread: float,
    blur: float,
) -> tuple[list[Edge], list[float]]:
    """The edges with how much of each is the top's limit, and how sure the places of those seen are."""
    found: list[Edge] = []
    for edge in edges:
        # One that was not looked at is anywhere between both limits.
        half = float(_wide(facing(edge, camera), depth, np.array(depth.broken))) / 2
        doubt = edge.covariance.copy()
        doubt[-1 if isinstance(edge, Arc) else 0, -1 if isinstance(edge, Arc) else 0] += half**2 / 3
        if isinstance(edge, Arc):
            found.append(replace(further_out(edge, half), covariance=doubt))
        else:
            found.append(replace(edge, covariance=doubt, top=0.5))
    doubts = []
    for side in sides:
        edge = edges[side.index]
        assert isinstance(edge, Line)
        squares = side.squares[lit]
        near = np.exp(-0.5 * (squares - squares.min(axis=1, keepdims=True)))
        near /= near.sum(axis=1, keepdims=True)
        inner = (near * side.places).sum(axis=1)  # the top's limit for each break
        variance = float(likely @ (near * (side.places - inner[:, None]) ** 2).sum(axis=1))
        first, off = float(likely @ inner), tried - depth.broken
        slope = float(likely @ (off * (inner - first))) / max(float(likely @ off**2), 1e-12)
        # What stays where it is when the break changes is what was traced.
        part = float(np.clip(1 + slope / (1 - abs(side.share)), 0, 1))
        wide = float(_wide(side.share, depth, np.array(depth.broken)))
        doubt = edge.covariance.copy()
        doubt[0, 0] += variance
        doubts.append(math.sqrt(variance))
        middle = edge.middle + (first + (1 - part) * wide) * _out_of(edge)
        line = replace(edge, middle=middle, covariance=doubt, top=part)
        found[side.index] = _straightened(line, side, first, depth, spread, blur)
    return found, doubts


def _straightened(
    line: Line, side: _Side, first: float, depth: Thickness, spread: float, blur: float
) -> Line:
    """The line turned and moved to where its sections have the first step, which is else at ``first``."""
    broken = np.array([depth.broken])
    wide = _wide(side.share, depth, broken)
    spots = []
    for along, out, seen in side.parts:
        squares, places, *_rest = _squares(
            out, seen, side.share, wide, broken, spread, np.array([blur])
        )
        near = np.exp(-0.5 * squares[0, 0])
        near /= near.sum()
        at = float(near @ places[0])
        spots.append((along, at, math.sqrt(float(near @ (places[0] - at) ** 2)) + PLACED))
    if len(spots) < SECTIONS:
        return line
    x, y, unsure = np.array(spots).T
    (turn, shift), covariance = np.polyfit(x, y - first, 1, w=1 / unsure, cov="unscaled")
    left = (y - first - turn * x - shift) / unsure
    misfit = float((left**2).sum()) / (SECTIONS - 2)
    covariance = covariance * max(1.0, misfit)
    if abs(turn) < SURE * math.sqrt(covariance[0, 0]):
        if misfit < 1:
            return line
        turn = shift = 0.0  # sections that lie in no line tell no more than how unsure that is
    doubt = line.covariance + np.diag([covariance[1, 1], covariance[0, 0]])
    return replace(
        line,
        middle=line.middle + shift * _out_of(line),
        angle=line.angle - math.atan(turn),
        covariance=doubt,
    )


def _joined(
    edges: list[Edge], ends: np.ndarray, camera: Camera, depth: Thickness, spread: float
) -> list[Edge]:
    """The edges without the jumps of the border between one limit and the other.

    edges : placed; ends : (n, 2) the corners of what was traced
    """
    short = 2 * max(SHORTEST, 6 * spread)
    left = [(edge, ends[k - 1], ends[k]) for k, edge in enumerate(edges)]

    def inside(spot: np.ndarray, edge: Edge) -> float:
        if not isinstance(edge, Line):
            return math.inf
        wide = float(_wide(facing(edge, camera), depth, np.array(depth.broken)))
        return float((edge.middle - spot) @ _out_of(edge)) - (1 - edge.top) * wide

    k = 0
    while k < len(left) and len(left) > 3:
        _edge, a, b = left[k]
        beside = (left[k - 1][0], left[(k + 1) % len(left)][0])
        # A corner that is cut is further inside of both its neighbours.
        if math.dist(a, b) < short and min(inside((a + b) / 2, e) for e in beside) < 2 * spread:
            left.pop(k)
            k = max(k - 1, 0)
        else:
            k += 1
    k = 0
    while k < len(left) and len(left) > 3:
        one, other = left[k - 1], left[k]
        if _are_one(one[0], other[0], camera, depth):
            longer = max(one, other, key=lambda piece: math.dist(*piece[1:]))
            left[k - 1] = (longer[0], one[1], other[2])
            left.pop(k)
        else:
            k += 1
    return [edge for edge, _a, _b in left]


def _are_one(a: Edge, b: Edge, camera: Camera, depth: Thickness) -> bool:
    """Whether two pieces are of one straight side, once they are where they stand."""
    if not (isinstance(a, Line) and isinstance(b, Line)):
        return False
    turn = (b.angle - a.angle + math.pi) % (2 * math.pi) - math.pi
    one, other = stood(a, camera, depth), stood(b, camera, depth)
    long, near = (one, other) if a.covariance[1, 1] < b.covariance[1, 1] else (other, one)
    assert isinstance(long, Line) and isinstance(near, Line)
    apart = abs(float((near.middle - long.middle) @ _out_of(long)))
    sure = SURE * math.sqrt(a.covariance[0, 0] + b.covariance[0, 0])
    return abs(turn) < math.radians(12) and apart < max(TURN, sure)


def _out_of(edge: Line) -> np.ndarray:
    return np.array([edge.along[1], -edge.along[0]])
