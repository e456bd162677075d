"""Weighted least squares: the corners that fit all readings best, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from workbench.measure.sketches.equations import Equations

#: Readings that the others check less than this are as good as unchecked.
UNCHECKED = 1e-6

#: Most steps towards the best fit, most of them in a row that gain next to nothing, and how
#: many times the sketch's width a corner may wander: beyond, the readings contradict each other.
_ROUNDS, _SLOW, _FAR = 60, 5, 30

#: An unknown that is less sure than this part of the sketch's size is free to move.
_FREE = 0.2


@dataclass(frozen=True, eq=False)
class Adjusted:
    """The unknowns that fit best, with what follows from the slopes there.

    x : (p,) unknowns, as :class:`Equations` orders them
    fitted : (m,) what the readings would be
    misfit : (m,) observed minus fitted; 0 where a statement holds
    active : (m,) which readings were used
    weighted : (m, q) slopes along the q ways the corners can still move, over sigma
    ways : (p, q) those ways, an orthonormal basis
    """

    equations: Equations
    x: np.ndarray
    fitted: np.ndarray
    misfit: np.ndarray
    active: np.ndarray
    weighted: np.ndarray
    ways: np.ndarray

    @cached_property
    def chi_square(self) -> float:
        """Sum of squared misfits over squared uncertainties."""
        used = self.active & ~self.equations.exact
        return float(((self.misfit / self.equations.sigma)[used] ** 2).sum())

    @cached_property
    def spare(self) -> int:
        """How many readings there are more than needed: the degrees of freedom."""
        used = self.active & ~self.equations.exact
        return int(used.sum()) - self.ways.shape[1]

    @cached_property
    def _factor(self) -> np.ndarray:
        """(q, q) upper triangle R of the weighted slopes."""
        used = self.active & ~self.equations.exact
        return np.asarray(np.linalg.qr(self.weighted[used], mode="r"))

    def with_all(self) -> Adjusted:
        """All readings weighed at these corners, so that none left out bends the scores."""
        return replace(self, active=np.ones_like(self.active))

    def widened(self, share: float) -> Adjusted:
        """The same fit of readings that are all less sure by a factor."""
        return replace(
            self, equations=self.equations.widened(share), weighted=self.weighted / share
        )

    def held(self) -> Adjusted:
        """The same without the ways that no reading holds: they are taken to be as they are."""
        free = self.movable
        kept = self.ways - free @ (free.T @ self.ways)
        basis = np.linalg.svd(kept, full_matrices=False)[0][:, : kept.shape[1] - free.shape[1]]
        return replace(self, ways=basis, weighted=self.weighted @ (self.ways.T @ basis))

    @cached_property
    def movable(self) -> np.ndarray:
        """(p, k) ways in which the corners may move though no reading changes; k is 0 if none."""
        q = self.ways.shape[1]
        if q == 0:
            return np.zeros((len(self.x), 0))
        limit = 1.0 / (_FREE * max(self.equations.reach, 1e-9))
        factor = self._factor
        if factor.shape[0] == q and np.abs(np.diag(factor)).min() > limit:
            # No singular value is below this: a quick way to see that all is held.
            weakest = 1.0 / float(np.linalg.norm(np.linalg.inv(factor)))
            if weakest > max(limit, 1e-10 * float(np.linalg.norm(factor))):
                return np.zeros((len(self.x), 0))
        _u, strength, rows = np.linalg.svd(factor, full_matrices=True)
        held = int((strength > max(limit, 1e-10 * (strength[0] if len(strength) else 0))).sum())
        return self.ways @ rows[held:].T

    @cached_property
    def _spread(self) -> np.ndarray:
        """(p, q) whose product with its own transpose is the covariance."""
        return self.ways @ np.linalg.inv(self._factor)

    @cached_property
    def covariance(self) -> np.ndarray:
        """(p, p) covariance of the unknowns, in mm², from the uncertainties of the readings."""
        return self._spread @ self._spread.T

    @cached_property
    def _leverage(self) -> np.ndarray:
        """(m, q) weighted slopes in the measure in which the covariance is a unit matrix."""
        return self.weighted @ np.linalg.inv(self._factor)

    @cached_property
    def redundancy(self) -> np.ndarray:
        """(m,) how much the others check each reading: 0 not at all, 1 fully (local redundancy)."""
        reach = (self._leverage**2).sum(axis=1)
        # One that is left out would have had this, had it been used.
        rest = np.where(self.active, 1.0 - reach, 1.0 / (1.0 + reach))
        rest[self.equations.exact] = 0.0
        return np.clip(rest, 0.0, 1.0)

    @cached_property
    def standardised(self) -> np.ndarray:
        """(m,) misfits over their own standard deviation: of unit variance if all is well."""
        checked = self.redundancy > UNCHECKED
        root = np.sqrt(np.where(checked, self.redundancy, 1.0))
        scaled = self.misfit / self.equations.sigma * np.where(self.active, 1.0 / root, root)
        return np.where(checked, scaled, 0.0)

    def alike(self, i: int) -> np.ndarray:
        """(m,) size of the correlation of reading i's misfit with each other's."""
        shared = -(self._leverage @ self._leverage[i])
        shared[i] += 1.0
        scale = np.sqrt(self.redundancy * self.redundancy[i])
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(scale > UNCHECKED, np.abs(shared) / scale, 0.0)

    @cached_property
    def _shadow(self) -> tuple[np.ndarray, np.ndarray]:
        """(m,) misfits over sigma as the best fit of all has them, and their (m, m) cofactors."""
        shared = np.eye(len(self.misfit)) - self._leverage @ self._leverage.T
        return shared @ (self.misfit / self.equations.sigma), shared

    @cached_property
    def relief(self) -> np.ndarray:
        """(m,) by how much the chi-square of all falls without each reading, by the closed form."""
        rest, shared = self._shadow
        own = np.diag(shared)
        return np.where(own > UNCHECKED, rest**2 / np.maximum(own, UNCHECKED), 0.0)

    @cached_property
    def relief_of_pairs(self) -> np.ndarray:
        """(m, m) the same without each two readings; 0 where the others do not check both."""
        rest, shared = self._shadow
        own = np.diag(shared)
        area = np.outer(own, own) - shared**2
        gain = np.outer(rest**2, own)
        gain = gain + gain.T - 2 * np.outer(rest, rest) * shared
        checked = (area > 1e-3 * np.outer(own, own)) & (np.minimum.outer(own, own) > UNCHECKED)
        return np.where(checked, gain / np.where(checked, area, 1.0), 0.0)

    def spread_of(self, slopes: np.ndarray) -> float:
        """Standard uncertainty of a size with these (p,) slopes."""
        return float(math.sqrt(((slopes @ self._spread) ** 2).sum()))

    def contributions(self, slopes: np.ndarray) -> np.ndarray:
        """(m,) by how much such a size grows when a reading grows by its uncertainty."""
        along = self._leverage @ (self._spread.T @ slopes)
        along[~self.active | self.equations.exact] = 0.0
        return along

    def separation(self, i: int, j: int, slopes: np.ndarray, sigma: float) -> np.ndarray:
        """(c,) how alike the misfits of i and j would be with one more reading.

        slopes : (c, p) of the c readings that might be taken
        sigma : their standard uncertainty
        """
        reach = slopes @ self._spread
        spread = sigma**2 + (reach**2).sum(axis=1)

        def shared(a: int, b: int) -> np.ndarray:
            own = float(a == b) - self._leverage[a] @ self._leverage[b]
            return own + (reach @ self._leverage[a]) * (reach @ self._leverage[b]) / spread

        scale = np.sqrt(np.maximum(shared(i, i) * shared(j, j), 1e-12))
        return np.abs(shared(i, j)) / scale


def adjust(
    equations: Equations, start: np.ndarray | None = None, active: np.ndarray | None = None
) -> Adjusted:
    """Move the corners from ``start`` until the readings fit best.

    Gauss-Newton steps that trust each reading as far as it is linear, then Levenberg's damped
    ones, both with the exact statements held softly; then Gauss-Newton steps within them.

    start : (p,) unknowns; the corners as drawn unless given
    active : (m,) readings to use; all unless given
    """
    x = np.array(equations.start if start is None else start, dtype=float)
    used = np.ones(len(equations.observed), dtype=bool) if active is None else active
    x, fitted, slopes = _settle(equations, x, used)
    bound = used & equations.exact
    ways = np.eye(equations.size)[:, equations.free]
    if bound.any():
        x, fitted, slopes, ways = _within(equations, x, used, bound)
    weighted = (slopes @ ways) / equations.sigma[:, None]
    return Adjusted(equations, x, fitted, equations.misfit(fitted), used, weighted, ways)


def as_drawn(equations: Equations) -> Adjusted:
    """The corners left where they are drawn, to see whether the readings would hold them."""
    used = np.ones(len(equations.observed), dtype=bool)
    fitted, slopes = equations.evaluate(equations.start)
    bound, free = equations.exact, equations.free
    ways = np.eye(equations.size)[:, free]
    if bound.any():
        ways = ways @ _open_ways(slopes[bound][:, free])[1]
    weighted = (slopes @ ways) / equations.sigma[:, None]
    misfit = equations.misfit(fitted)
    return Adjusted(equations, equations.start, fitted, misfit, used, weighted, ways)


def _open_ways(statements: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(f, b) shortest steps that answer b statements, and (f, q) ways that they leave open."""
    left, strength, rows = np.linalg.svd(statements, full_matrices=True)
    held = int((strength > 1e-8 * strength[0]).sum())
    back = rows[:held].T @ (left.T[:held] / strength[:held, None])
    return back, rows[held:].T


def _settle(
    equations: Equations, x: np.ndarray, used: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    free = equations.free
    weights = np.where(used, 1.0 / equations.sigma, 0.0)
    (x, fitted, slopes), near = _approach(equations, x, used)
    damping = 1e-8 if near else 1e-3
    rest = equations.misfit(fitted) * weights
    best = float(rest @ rest)
    tiny = 1e-10 * equations.reach
    slow = 0
    for _round in range(_ROUNDS):
        scaled = slopes[:, free] * weights[:, None]
        normal = scaled.T @ scaled
        pull = scaled.T @ rest
        diagonal = np.diag(normal).copy()
        diagonal += 1e-9 * (diagonal.max() or 1.0)
        moved = False
        while damping < 1e12:
            try:
                step = np.linalg.solve(normal + np.diag(damping * diagonal), pull)
            except np.linalg.LinAlgError:
                damping = max(damping * 8, 1e-9)
                continue
            step = _within_reach(step, equations.reach)
            there = x.copy()
            there[free] += step
            fitted_there, slopes_there = equations.evaluate(there)
            rest_there = equations.misfit(fitted_there) * weights
            worth = float(rest_there @ rest_there)
            if worth <= best:
                moved = True
                break
            damping = max(damping * 8, 1e-9)
        if not moved:
            break
        gain = best - worth
        x, fitted, slopes, rest, best = there, fitted_there, slopes_there, rest_there, worth
        damping *= 0.05
        slow = slow + 1 if gain <= 1e-7 * best else 0
        done = float(np.abs(step).max()) < tiny or (gain <= 1e-12 * best and damping < 1e-6)
        if done or slow > _SLOW or float(np.abs(x).max()) > _FAR * equations.reach:
            break
    return x, fitted, slopes


def _within_reach(step: np.ndarray, reach: float) -> np.ndarray:
    """The step, or as much of it as throws no corner further than the sketch is wide."""
    return step * min(1.0, reach / max(float(np.abs(step).max()), 1e-300))


def _approach(
    equations: Equations, x: np.ndarray, used: np.ndarray
) -> tuple[tuple[np.ndarray, np.ndarray, np.ndarray], bool]:
    """Gauss-Newton steps in which a reading counts less, the less straight it was over the last.

    From a rough drawing the long readings lead then, and the short ones follow: without that,
    corners that are drawn closer together than the drawing is true settle in the wrong order.

    Returns
    met : the best unknowns that were met, what the readings would be there, and their slopes
    near : whether each used reading was straight to within its uncertainty over the last step
    """
    free, sigma = equations.free, equations.sigma
    fitted, slopes = equations.evaluate(x)
    rest = equations.misfit(fitted)
    bend = np.abs(rest)  # no straighter than it is off, as far as is known
    met, least = (x, fitted, slopes), float(((rest / sigma)[used] ** 2).sum())
    for _round in range(_ROUNDS // 5):
        weights = np.where(used, 1.0 / np.hypot(sigma, bend), 0.0)
        scaled = slopes[:, free] * weights[:, None]
        normal = scaled.T @ scaled
        diagonal = np.diag(normal)
        ridge = 1e-6 * diagonal + 1e-9 * (diagonal.max() or 1.0)
        step = np.linalg.solve(normal + np.diag(ridge), scaled.T @ (rest * weights))
        step = _within_reach(step, equations.reach)
        x = x.copy()
        x[free] += step
        foreseen = rest - slopes[:, free] @ step
        fitted, slopes = equations.evaluate(x)
        rest = equations.misfit(fitted)
        bend = np.abs(rest - foreseen)
        worth = float(((rest / sigma)[used] ** 2).sum())
        if worth < least:
            met, least = (x, fitted, slopes), worth
        if (bend <= sigma)[used].all():
            return met, met[0] is x
    return met, False


def _within(
    equations: Equations, x: np.ndarray, used: np.ndarray, bound: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Steps that keep to the exact statements; the ways left open are orthonormal columns."""
    free = equations.free
    soft = used & ~bound
    weights = 1.0 / equations.sigma[soft]
    fitted, slopes = equations.evaluate(x)
    for _round in range(20):
        rest = equations.misfit(fitted)
        answer, open_ways = _open_ways(slopes[bound][:, free])
        back = answer @ rest[bound]
        scaled = (slopes[soft][:, free] @ open_ways) * weights[:, None]
        wanted = (rest[soft] - slopes[soft][:, free] @ back) * weights
        step = back + open_ways @ np.linalg.lstsq(scaled, wanted, rcond=None)[0]
        # Where statements contradict each other, a full step may lead out of all bounds.
        step = _within_reach(step, max(equations.reach, 1.0))
        x = x.copy()
        x[free] += step
        fitted, slopes = equations.evaluate(x)
        if float(np.abs(step).max()) < 1e-11 * max(equations.reach, 1.0):
            break
    ways = np.zeros((equations.size, open_ways.shape[1]))
    ways[free] = open_ways
    return x, fitted, slopes, ways
