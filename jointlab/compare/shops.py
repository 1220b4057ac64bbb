"""Several shops' pulls of one combination together: what they agree on, and what a joint of a further shop holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.random_effects import Between, Heterogeneity, RandomEffects, heterogeneity_of, random_effects
from jointlab.errors import AnalysisError
from jointlab.strength.fitting import fit
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "generalised_pivot"
SOURCE_LEAST = "judgement"

LEAST_SHOPS = 3
"""Fewer shops than this do not show how much shops differ (``SOURCE_LEAST``)."""

LEAST_BREAKS = 3
"""Breaks a shop must bring to have a mean and a spread of its own (``SOURCE_LEAST``)."""

DRAWS = 100_000
SEED = 20_261

EULER = 0.5772156649015329
"""Mean of the largest extreme value (mathematics); the smallest has it with the other sign."""


@dataclass(frozen=True, slots=True)
class ShopSample:
    """The usable strengths of one shop, under whatever name it goes."""

    shop: str
    sample: StrengthSample


@dataclass(frozen=True, slots=True)
class ShopMean:
    """What one shop brings, on the logarithm of strength in MPa.

    Parameters
    ----------
    log_mean, log_sd
        Of its joints; with held or stepped pulls those of the lognormal fit.
    variance
        Of the error of ``log_mean``: glue-ups and joints, with the spreads all shops show together.
    """

    shop: str
    n: int
    n_broke: int
    glue_ups: int
    log_mean: float
    log_sd: float
    variance: float

    @property
    def median_mpa(self) -> float:
        """Median strength of the shop's joints [MPa]."""
        return math.exp(self.log_mean)


@dataclass(frozen=True, slots=True)
class WithoutOne:
    """What all the others say when one shop is left out."""

    shop: str
    median_mpa: float
    tau: float


@dataclass(frozen=True, slots=True)
class PooledShops:
    """Several shops together.

    Parameters
    ----------
    shops
        Each shop's share.
    effects
        The mean of shops by each estimator, on the logarithm of strength.
    heterogeneity
        Whether shops differ by more than chance.
    without
        Influence: the median (REML) with each shop left out.
    next_joint_mpa
        Strength that the next joint of a shop still to come exceeds with ``confidence``; informs a plan or a prior, and
        alone never a pass.
    left_out
        Shops whose pulls say too little, by name.
    """

    shops: tuple[ShopMean, ...]
    effects: tuple[RandomEffects, ...]
    heterogeneity: Heterogeneity
    without: tuple[WithoutOne, ...]
    next_joint_mpa: float
    confidence: float
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spreads:
    """Spreads on the logarithm that shops show together, as variances with their degrees of freedom."""

    joints: float
    joints_freedom: int
    glue_ups: float
    glue_ups_freedom: int
    usual: float


def pool_shops(samples: Sequence[ShopSample], *, confidence: float = 0.95) -> PooledShops:
    """What several shops' pulls of one combination under one action say together.

    Parameters
    ----------
    samples
        One a shop; a shop with fewer than three breaks, or no spread, is left out and named.
    confidence
        Of the intervals (two-sided) and of the bound on the next joint (one-sided).

    Raises
    ------
    AnalysisError
        Fewer than three shops bring enough.
    """
    counted = [each for each in samples if _says_enough(each.sample)]
    left_out = tuple(each.shop for each in samples if not _says_enough(each.sample))
    if len(counted) < LEAST_SHOPS:
        raise AnalysisError(
            f"{len(counted)} shops bring {LEAST_BREAKS} breaks or more that differ; {LEAST_SHOPS} are needed to say "
            "how much shops differ. Look at each shop by itself."
        )
    spreads = spreads_of([each.sample for each in counted])
    shops = tuple(_shop_mean(each, spreads) for each in counted)
    effect, variance = np.array([s.log_mean for s in shops]), np.array([s.variance for s in shops])
    return PooledShops(
        shops=shops,
        effects=tuple(random_effects(effect, variance, between=each, confidence=confidence) for each in Between),
        heterogeneity=heterogeneity_of(effect, variance),
        without=tuple(_without(shops, place) for place in range(len(shops))) if len(shops) > LEAST_SHOPS else (),
        next_joint_mpa=math.exp(next_joint_bound(effect, shops, spreads, confidence=confidence)),
        confidence=confidence,
        left_out=left_out,
    )


def _says_enough(sample: StrengthSample) -> bool:
    broke = ~sample.held & (sample.lower_mpa > 0.0)
    return int(broke.sum()) >= LEAST_BREAKS and np.unique(sample.lower_mpa[broke]).size > 1


def _log_moments(sample: StrengthSample) -> tuple[float, float]:
    """Mean and standard deviation of ln strength; of the lognormal fit where not all broke at a known load."""
    if sample.complete:
        logs = np.log(sample.lower_mpa)
        return float(logs.mean()), float(logs.std(ddof=1))
    fitted = dict(fit(sample, family=Family.LOGNORMAL).parameters)
    if not fitted:
        raise AnalysisError("A shop's pulls have no lognormal fit: look at it by itself.")
    broke = int((~sample.held).sum())
    return fitted["log_mean"], fitted["log_sd"] * math.sqrt(broke / (broke - 1))


def spreads_of(samples: Sequence[StrengthSample]) -> Spreads:
    """Spread of joints within glue-ups and of glue-ups within shops, pooled over shops.

    Glue-ups are told apart in shops whose pulls all broke at a known load; elsewhere their spread counts with the
    joints'. Mean squares of the nested layout (source key ``burdick_graybill``).
    """
    joints = glue_ups = 0.0
    joints_freedom = glue_ups_freedom = 0
    pulls_a_glue_up: list[float] = []
    for sample in samples:
        if not sample.complete:
            broke = int((~sample.held).sum())
            joints += (broke - 1) * _log_moments(sample)[1] ** 2
            joints_freedom += broke - 1
            continue
        logs = np.log(sample.lower_mpa)
        sizes = np.bincount(sample.batch).astype(np.float64)
        means = np.bincount(sample.batch, logs) / sizes
        joints += float(((logs - means[sample.batch]) ** 2).sum())
        joints_freedom += logs.size - sizes.size
        glue_ups += float((sizes * (means - logs.mean()) ** 2).sum())
        glue_ups_freedom += sizes.size - 1
        pulls_a_glue_up += list(sizes) if sizes.size > 1 else []
    usual = len(pulls_a_glue_up) / sum(1.0 / size for size in pulls_a_glue_up) if pulls_a_glue_up else 1.0
    return Spreads(
        joints / max(joints_freedom, 1),
        joints_freedom,
        glue_ups / glue_ups_freedom if glue_ups_freedom else 0.0,
        glue_ups_freedom,
        usual,
    )


def _between_glue_ups(spreads: Spreads) -> float:
    if not spreads.glue_ups_freedom:
        return 0.0
    return max(0.0, (spreads.glue_ups - spreads.joints) / spreads.usual)


def _shop_mean(each: ShopSample, spreads: Spreads) -> ShopMean:
    sample = each.sample
    log_mean, log_sd = _log_moments(sample)
    broke = int((~sample.held).sum())
    variance = spreads.joints / broke + _between_glue_ups(spreads) / sample.batches
    return ShopMean(each.shop, sample.n, broke, sample.batches, log_mean, log_sd, variance)


def _without(shops: Sequence[ShopMean], place: int) -> WithoutOne:
    others = [shop for number, shop in enumerate(shops) if number != place]
    effect, variance = np.array([s.log_mean for s in others]), np.array([s.variance for s in others])
    pooled = random_effects(effect, variance, between=Between.REML)
    return WithoutOne(shops[place].shop, math.exp(pooled.mean), math.sqrt(pooled.tau2))


def next_joint_bound(
    effect: FloatArray, shops: Sequence[ShopMean], spreads: Spreads, *, confidence: float, draws: int = DRAWS
) -> float:
    """Natural logarithm of the strength [MPa] that the next joint of a further shop exceeds with ``confidence``.

    Draws of mean and spreads that agree with the pulls, each followed by a shop, a glue-up and a joint; the joint from
    the normal and from the smallest extreme value, whichever lies lower. Source key ``generalised_pivot``; its real
    coverage is simulated in reports/pool.
    """
    rng = np.random.default_rng([SEED, len(shops), sum(shop.n for shop in shops)])
    freedom = effect.size - 1
    joints = spreads.joints * spreads.joints_freedom / rng.chisquare(spreads.joints_freedom, draws)
    glue_ups = np.zeros(draws)
    if spreads.glue_ups_freedom:
        mean_square = spreads.glue_ups * spreads.glue_ups_freedom / rng.chisquare(spreads.glue_ups_freedom, draws)
        glue_ups = np.maximum(0.0, (mean_square - joints) / spreads.usual)
    of_means = float(effect.var(ddof=1)) * freedom / rng.chisquare(freedom, draws)
    broke = np.array([shop.n_broke for shop in shops], dtype=np.float64)
    counts = np.array([shop.glue_ups for shop in shops], dtype=np.float64)
    error = joints * float((1.0 / broke).mean()) + glue_ups * float((1.0 / counts).mean())
    between = np.maximum(0.0, of_means - error)
    mean = effect.mean() + rng.standard_normal(draws) * np.sqrt(np.maximum(of_means, error) / effect.size)
    middle = mean + rng.standard_normal(draws) * np.sqrt(between + glue_ups)
    normal = rng.standard_normal(draws)
    extreme = (np.log(rng.standard_exponential(draws)) + EULER) * math.sqrt(6.0) / math.pi
    return min(float(np.quantile(middle + np.sqrt(joints) * each, 1.0 - confidence)) for each in (normal, extreme))
