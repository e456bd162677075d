"""How far a printer's sizes come out from what was asked: a small linear-Gaussian model.

A printed size is the size asked for plus a bias plus noise. The bias is a sum of a few causes,
each with its mean and its uncertainty: lines come out wide, round holes and slots close in
further, layers stack high or low, the first layer spreads on the bed, the material shrinks in
proportion. Measuring a few test pieces narrows them all at once, because one cause shows itself
in several features.

The update is Bayes' rule for a linear model with Gaussian noise (closed form; Bishop, "Pattern
Recognition and Machine Learning", section 3.3, from memory).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from workbench import data, gate

#: The causes, in the order of the model's arrays. All in mm but shrinkage, a fraction of the size.
CAUSES = ("line", "hole", "slot", "height", "foot", "shrinkage")

#: What a size can be. Outside and inside sizes that lie level on the bed are "outside", "hole"
#: and "slot"; those that run up through the layers are "height" and "gap".
FEATURES = ("outside", "hole", "slot", "height", "gap")

#: Features that enter their counterpart; the others go round it.
ENTERING = ("outside", "height")

#: Which causes act on each feature, and which way; shrinkage acts on all.
_ACTS: dict[str, dict[str, float]] = {
    "outside": {"line": 1.0},
    "hole": {"line": -1.0, "hole": 1.0},
    "slot": {"line": -1.0, "slot": 1.0},
    "height": {"height": 1.0},
    "gap": {"height": -1.0},
}


def row(feature: str, size: float, at_bed: bool = False) -> np.ndarray:
    """How much each cause adds to a size: a vector (6,), so that bias = row @ causes.

    feature : one of :data:`FEATURES`
    size : asked for, in mm
    at_bed : whether the first layer on the bed is part of what was measured
    """
    gate.choice("feature", feature, FEATURES)
    acts = dict(_ACTS[feature])
    if at_bed and "line" in acts:
        acts["foot"] = acts["line"]
    acts["shrinkage"] = -size
    return np.array([acts.get(cause, 0.0) for cause in CAUSES])


@dataclass(frozen=True, eq=False)
class Bias:
    """What is believed about a printer's causes of bias.

    mean : (6,) in the order of :data:`CAUSES`
    covariance : (6, 6)
    noise : how much one print differs from the next, standard deviation, mm
    noise_spread : standard deviation of the noise's natural logarithm
    """

    mean: np.ndarray
    covariance: np.ndarray
    noise: float
    noise_spread: float

    def __post_init__(self) -> None:
        for array in (self.mean, self.covariance):
            array.setflags(write=False)

    def of(self, feature: str, size: float, at_bed: bool = False) -> tuple[float, float]:
        """Expected bias of a size and its standard deviation, without the noise; mm.

        >>> bias, uncertainty = prior("PLA").of("hole", 5.0)
        >>> round(bias, 2), round(uncertainty, 2)
        (-0.21, 0.16)
        """
        acting = row(feature, size, at_bed)
        return float(acting @ self.mean), math.sqrt(float(acting @ self.covariance @ acting))

    def updated(
        self, rows: np.ndarray, found: Sequence[float] | np.ndarray, variances: np.ndarray
    ) -> Bias:
        """The belief after sizes were measured.

        rows : (n, 6), each from :func:`row`
        found : (n,) measured less asked for, mm
        variances : (n,) of each difference: noise and measuring together, mm²
        """
        spread = rows @ self.covariance @ rows.T + np.diag(variances)
        gain = np.linalg.solve(spread, rows @ self.covariance).T
        mean = self.mean + gain @ (np.asarray(found) - rows @ self.mean)
        return replace(
            self, mean=mean, covariance=_even(self.covariance - gain @ rows @ self.covariance)
        )

    def moved(self, acting: np.ndarray, mean: float, variance: float) -> Bias:
        """The belief once the bias of one feature is known to be ``mean`` with ``variance``.

        acting : (6,) of the feature, from :func:`row`. What is learnt of their sum is shared
        out among the causes as the belief so far has it, which keeps mean and variance exact.
        """
        before = float(acting @ self.covariance @ acting)
        gain = self.covariance @ acting / before
        return replace(
            self,
            mean=self.mean + gain * (mean - float(acting @ self.mean)),
            covariance=_even(self.covariance - np.outer(gain, gain) * (before - variance)),
        )

    def with_noise_from(
        self, rows: np.ndarray, found: Sequence[float] | np.ndarray, measuring: np.ndarray
    ) -> Bias:
        """The same belief about the causes, with the noise that explains measured sizes best.

        ``measuring`` (n,) is the variance of measuring each, mm². The noise's logarithm is
        weighed over a grid by how likely each value makes the measurements.
        """
        expected = priors()["noise"]
        steps = np.linspace(-2.5, 2.5, 31)
        noises = expected["mean"] * np.exp(expected["spread"] * steps)
        away = np.asarray(found) - rows @ self.mean
        shared = rows @ self.covariance @ rows.T
        logs = []
        for step, noise in zip(steps, noises, strict=True):
            spread = shared + np.diag(noise**2 + measuring)
            _sign, size = np.linalg.slogdet(spread)
            logs.append(-0.5 * (step**2 + size + away @ np.linalg.solve(spread, away)))
        weights = np.exp(np.array(logs) - max(logs))
        weights /= weights.sum()
        middle = float(weights @ np.log(noises))
        spread_now = math.sqrt(float(weights @ (np.log(noises) - middle) ** 2))
        return replace(self, noise=math.exp(middle), noise_spread=spread_now)


def prior(material: str) -> Bias:
    """What to expect of any printer with this material, before anything was measured."""
    table = priors()
    shrinkage = table["shrinkage"].get(material, table["shrinkage"]["other"])
    causes = [table[cause] for cause in CAUSES[:-1]] + [shrinkage]
    return Bias(
        np.array([cause["mean"] for cause in causes]),
        np.diag([cause["spread"] ** 2 for cause in causes]),
        table["noise"]["mean"],
        table["noise"]["spread"],
    )


@lru_cache(maxsize=1)
def priors() -> dict[str, Any]:
    """The shipped expectations, ``data/bias.toml``: mean, spread and source of each cause."""
    return tomllib.loads((data.HERE / "bias.toml").read_text(encoding="utf-8"))


def _even(matrix: np.ndarray) -> np.ndarray:
    """The matrix made symmetric again after rounding."""
    return (matrix + matrix.T) / 2
