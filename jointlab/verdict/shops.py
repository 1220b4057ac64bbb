"""Simulated shops: true strengths, glue-ups and voids, to see how often the verdict is right."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.values import Family
from jointlab.verdict.overlap import CLASS_PERCENTILE, chance_of_interference
from jointlab.verdict.simulated import working_bounds

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "judgement"

LEAST_STRENGTH = 1e-3
"""Share of the mean below which no sound joint is weaker: distributions with a tail below nothing are cut off there."""

VOID_STRENGTH = 0.45
"""Strength of a voided joint as a share of what it would have held (``SOURCE``)."""

EULER = 0.5772156649015329
NODES = 121


@dataclass(frozen=True, slots=True)
class Truth:
    """How strong a shop's joints truly are; the mean of its sound joints is 1.

    Parameters
    ----------
    family
        Distribution of sound joints within a glue-up.
    cov
        Their coefficient of variation.
    batch_ratio
        Spread of ln strength between glue-ups over ``cov``: each glue-up multiplies its joints.
    void_share
        Share of joints that are voided.
    """

    family: Family
    cov: float
    batch_ratio: float
    void_share: float = 0.0

    @property
    def batch_spread(self) -> float:
        """Standard deviation of the logarithm of a glue-up's multiplier."""
        return self.batch_ratio * self.cov


@dataclass(frozen=True, slots=True)
class Design:
    """How a shop tests: pulls, dealt in turn to its glue-ups, and the limit of its rig.

    ``cap`` is the largest strength the rig reaches, as a share of the mean of sound joints; infinite without a limit.
    ``resolution`` is the step of its reading, likewise; 0: exact.
    """

    pulls: int
    glue_ups: int
    cap: float = math.inf
    resolution: float = 0.0

    @property
    def batch(self) -> IntArray:
        """Glue-up of each pull."""
        return np.arange(self.pulls) % self.glue_ups


@lru_cache(maxsize=64)
def weibull_shape(cov: float) -> float:
    """Shape of a Weibull distribution with this coefficient of variation."""
    low, high = 0.1, 1000.0
    while high - low > 1e-12 * high:
        middle = math.sqrt(low * high)
        log_ratio = math.lgamma(1.0 + 2.0 / middle) - 2.0 * math.lgamma(1.0 + 1.0 / middle)
        low, high = (middle, high) if math.sqrt(math.expm1(log_ratio)) > cov else (low, middle)
    return high


def sound_cdf(truth: Truth, strength: FloatArray) -> FloatArray:
    """Share of sound joints of an average glue-up below a strength."""
    positive = np.maximum(strength, 1e-300)
    match truth.family:
        case Family.NORMAL:
            share = normal.cdf((positive - 1.0) / truth.cov)
        case Family.LOGNORMAL:
            spread = math.sqrt(math.log1p(truth.cov**2))
            share = normal.cdf((np.log(positive) + spread**2 / 2.0) / spread)
        case Family.WEIBULL:
            shape = weibull_shape(truth.cov)
            share = -np.expm1(-((positive * math.gamma(1.0 + 1.0 / shape)) ** shape))
        case Family.GUMBEL_MIN:
            scale = truth.cov * math.sqrt(6.0) / math.pi
            share = -np.expm1(-np.exp(np.minimum((positive - 1.0) / scale - EULER, 700.0)))
    return np.where(strength < LEAST_STRENGTH, 0.0, share)


def sound_strengths(truth: Truth, rng: np.random.Generator, shape: tuple[int, ...]) -> FloatArray:
    """Strengths of sound joints of an average glue-up."""
    match truth.family:
        case Family.NORMAL:
            drawn = 1.0 + truth.cov * rng.standard_normal(shape)
        case Family.LOGNORMAL:
            spread = math.sqrt(math.log1p(truth.cov**2))
            drawn = np.exp(spread * rng.standard_normal(shape) - spread**2 / 2.0)
        case Family.WEIBULL:
            power = 1.0 / weibull_shape(truth.cov)
            drawn = rng.standard_exponential(shape) ** power / math.gamma(1.0 + power)
        case Family.GUMBEL_MIN:
            scale = truth.cov * math.sqrt(6.0) / math.pi
            drawn = 1.0 + scale * (np.log(rng.standard_exponential(shape)) + EULER)
    return np.maximum(drawn, LEAST_STRENGTH)


def shop_strengths(truth: Truth, design: Design, rng: np.random.Generator, shops: int) -> FloatArray:
    """True strengths of every shop's coupons, shape (shops, pulls): glue-ups and voids included."""
    drawn = sound_strengths(truth, rng, (shops, design.pulls))
    voided = rng.random((shops, design.pulls)) < truth.void_share
    glue_ups = np.exp(truth.batch_spread * rng.standard_normal((shops, design.glue_ups)))
    return np.asarray(drawn * np.where(voided, VOID_STRENGTH, 1.0) * glue_ups[:, design.batch], dtype=np.float64)


def joint_cdf(truth: Truth, strength: FloatArray) -> FloatArray:
    """Share of joints of a glue-up not yet seen that are below a strength, voided ones included."""
    nodes, weights = _normal_nodes()
    spread = np.exp(-truth.batch_spread * nodes)
    asked = np.asarray(strength, dtype=np.float64)[..., np.newaxis] * spread
    sound = (sound_cdf(truth, asked) * weights).sum(axis=-1)
    if truth.void_share == 0.0:
        return np.asarray(sound, dtype=np.float64)
    voided = (sound_cdf(truth, asked / VOID_STRENGTH) * weights).sum(axis=-1)
    return np.asarray((1.0 - truth.void_share) * sound + truth.void_share * voided, dtype=np.float64)


@lru_cache(maxsize=1)
def _normal_nodes() -> tuple[FloatArray, FloatArray]:
    nodes = np.linspace(-8.0, 8.0, NODES)
    weights = np.exp(-0.5 * nodes**2)
    return nodes, weights / weights.sum()


@lru_cache(maxsize=1024)
def true_percentile(truth: Truth, coverage: float) -> float:
    """Strength that this share of the shop's joints exceeds, over glue-ups and voids."""
    low, high = 0.0, 10.0
    while high - low > 1e-10:
        middle = (low + high) / 2.0
        below = float(joint_cdf(truth, np.array([middle]))[0])
        low, high = (middle, high) if below < 1.0 - coverage else (low, middle)
    return high


def bounds_over_truth(
    truth: Truth, design: Design, *, shops: int, coverage: float, confidence: float, rng: np.random.Generator
) -> FloatArray:
    """Working bound over true percentile of simulated shops, shape (shops,); 0 where a pull reached the rig's limit.

    Margins are proportional to the bound, so a shop whose true margin is q times the required one gets a lower margin
    that is met exactly when this number is at least 1/q. A shop with a held pull is counted as one without a bound: the
    bound of censored pulls is itself simulated, which many thousand shops cannot afford. It passes less often here.
    """
    seen = shop_strengths(truth, design, rng, shops)
    held = (seen >= design.cap).any(axis=1)
    if design.resolution > 0.0:
        seen = np.maximum(np.round(seen / design.resolution), 1.0) * design.resolution
    bounds = working_bounds(seen, design.batch, coverage=coverage, confidence=confidence)
    return np.where(held, 0.0, bounds / true_percentile(truth, coverage))


def break_chance_at(
    truth: Truth, *, true_margin: float, coverage: float, catch_cov: float, class_mistaken: float = 1.0
) -> float:
    """Chance that the mounted joint breaks in one catch, by integration over joint, glue-up and catch.

    Parameters
    ----------
    true_margin
        True percentile over what the class's force asks, the joint just breaking at 1.
    catch_cov
        Coefficient of variation of the force of catches of the class; its force is exceeded by one in twenty.
    class_mistaken
        Force of the catch that comes over that of the class it was taken for, such as 3 for one step.
    """
    spread = math.sqrt(math.log1p(catch_cov**2))
    centre = math.log(class_mistaken) - normal.quantile(CLASS_PERCENTILE) * spread
    at_class = true_percentile(truth, coverage) / true_margin

    def asked(nodes: FloatArray) -> FloatArray:
        return np.asarray(at_class * np.exp(centre + spread * nodes), dtype=np.float64)

    return chance_of_interference(lambda strength: joint_cdf(truth, strength), asked)
