"""Shops that could have made the pulls at hand: what is not known of their joints, weighed by what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np

from jointlab.record.vocabulary import SubstrateKind
from jointlab.strength.sample import FloatArray, StrengthSample
from jointlab.strength.values import Family
from jointlab.verdict.evidence import SOLID_KINDS
from jointlab.verdict.shops import VOID_STRENGTH, Design, Truth, shop_strengths, sound_cdf

SOURCE = "judgement"

SPREADS = tuple(float(round(spread, 4)) for spread in np.geomspace(0.05, 0.50, 11))
"""Coefficients of variation that joints of one glue-up are thought to have (``SOURCE``)."""

USUAL_SPREAD, SPREAD_OF_SPREADS = 0.20, 0.27
"""Median and standard deviation of the logarithm of those: nineteen in twenty from 12 to 34 % (``SOURCE``)."""

RATIOS = (0.0, 0.5, 1.0)
"""How unlike glue-ups are thought to be, as a share of that spread; none is likelier than another (``SOURCE``)."""

VOID_SHARES = (0.0, 0.1)
"""Voided joints among those of sheet goods; neither share is likelier than the other (``SOURCE``)."""

LEAST_KNOWN = 3
"""Pulls below which nothing is foretold (``SOURCE``)."""

NEGLIGIBLE = 1e-7
"""Chance of a distribution below which it is left out of account."""

READ_TO = 0.005
"""Half of the width of a strength that was read: no rig tells it better (``SOURCE``)."""

PLACES = np.linspace(-6.0, 8.0, 94)
"""Where the mean of an average glue-up may lie: ln strength from the middle of what was seen, in spreads."""

LOGS = np.linspace(np.log(0.01), np.log(20.0), 3801)
"""Logarithms of strength over mean at which the share of weaker joints is tabled."""


@dataclass(frozen=True, slots=True)
class PlausibleShops:
    """What the shop's joints may truly be, and how likely after the pulls that were seen.

    Parameters
    ----------
    truths
        Distributions of its joints.
    chance
        Shape (truths, places): that the joints are so, and their mean there; together 1.
    middle
        Logarithm of the strength [MPa] from which the places are counted.
    """

    truths: tuple[Truth, ...]
    chance: FloatArray
    middle: float

    def new_strengths(self, design: Design, *, futures: int, rng: np.random.Generator) -> FloatArray:
        """Strengths [MPa] of pulls from glue-ups still to be made, shape (futures, pulls)."""
        drawn = rng.choice(self.chance.size, size=futures, p=self.chance.ravel())
        place = PLACES[drawn % PLACES.size] + (PLACES[1] - PLACES[0]) * (rng.random(futures) - 0.5)
        which = drawn // PLACES.size
        strengths = np.empty((futures, design.pulls))
        for index in np.unique(which):
            rows, truth = np.flatnonzero(which == index), self.truths[index]
            centre = self.middle + truth.cov * place[rows, None]
            strengths[rows] = np.exp(centre) * shop_strengths(truth, design, rng, rows.size)
        return strengths

    def share_below(self, strength_mpa: FloatArray) -> FloatArray:
        """Share of joints of glue-ups still to be made that lie below a strength [MPa], shape (k,)."""
        glue_ups: dict[Truth, FloatArray] = {}
        for truth, chance in zip(self.truths, self.chance, strict=True):
            alike = replace(truth, batch_ratio=0.0)
            glue_ups[alike] = glue_ups.get(alike, 0.0) + _blur(truth.batch_ratio) @ chance
        with np.errstate(divide="ignore"):
            log = np.log(np.asarray(strength_mpa, dtype=np.float64))[:, None]
        below = np.zeros(len(log))
        for truth, chance in glue_ups.items():
            if chance.sum() > NEGLIGIBLE:
                mean = self.middle + truth.cov * PLACES
                below += np.interp(log - mean, LOGS, _shares_below(truth)) @ chance
        return below


def void_shares_of(kinds: Sequence[SubstrateKind]) -> tuple[float, ...]:
    """Shares of voided joints thought possible: none in solid wood, some in sheets and where the kind is not said."""
    return VOID_SHARES[:1] if kinds and set(kinds) <= SOLID_KINDS else VOID_SHARES


def plausible_shops(sample: StrengthSample, *, void_shares: Sequence[float]) -> PlausibleShops:
    """Every distribution thought of, weighed by the chance that it gives such pulls, held and stepped ones included.

    Families, ratios of glue-ups and void shares are equally likely before any pull, spreads as ``USUAL_SPREAD`` and
    ``SPREAD_OF_SPREADS`` say, and nothing is known of the mean. Each glue-up's own mean is integrated out.
    """
    seen = (each.tobytes() for each in (sample.lower_mpa, sample.upper_mpa, sample.batch))
    return _weighed(*seen, tuple(void_shares))


@lru_cache(maxsize=32)
def _weighed(lower_mpa: bytes, upper_mpa: bytes, batch: bytes, void_shares: tuple[float, ...]) -> PlausibleShops:
    """Kept once computed: another size or speed of a mount asks for the shops behind the same pulls."""
    sample = StrengthSample.of_intervals(
        np.frombuffer(lower_mpa), np.frombuffer(upper_mpa), batch=np.frombuffer(batch, dtype=np.int64)
    )
    ends = np.concatenate([sample.lower_mpa, sample.upper_mpa])
    middle = float(np.median(np.log(ends[(ends > 0.0) & np.isfinite(ends)])))
    truths: list[Truth] = []
    logs: list[FloatArray] = []
    for family, cov, voids in product(Family, SPREADS, void_shares):
        alike = Truth(family, cov, 0.0, voids)
        glue_ups = _of_glue_ups(sample, alike, middle)
        top = glue_ups.max(axis=1, keepdims=True)
        for ratio in RATIOS:
            with np.errstate(divide="ignore"):
                blurred = np.log(np.exp(glue_ups - top) @ _blur(ratio)) + top
            truths.append(replace(alike, batch_ratio=ratio))
            # places are counted in spreads, and the mean is as likely in each part of a logarithm
            logs.append(blurred.sum(axis=0) + np.log(cov) - 0.5 * (np.log(cov / USUAL_SPREAD) / SPREAD_OF_SPREADS) ** 2)
    table = np.array(logs)
    chance = np.exp(table - table.max())
    chance /= chance.sum()
    chance.setflags(write=False)
    return PlausibleShops(tuple(truths), chance, middle)


def _of_glue_ups(sample: StrengthSample, truth: Truth, middle: float) -> FloatArray:
    """Logarithm of the chance of each glue-up's pulls, its mean being at each place; shape (glue-ups, places)."""
    mean = middle + truth.cov * PLACES
    width = np.where(sample.exact, READ_TO, 0.0)
    with np.errstate(divide="ignore"):
        lower = np.log(sample.lower_mpa) - width
    upper = np.log(sample.upper_mpa) + width
    below = _shares_below(truth)
    chance = np.interp(upper[:, None] - mean, LOGS, below) - np.interp(lower[:, None] - mean, LOGS, below)
    log = np.log(np.maximum(chance, 1e-300))
    return np.array([log[sample.batch == number].sum(axis=0) for number in range(sample.batches)])


@lru_cache(maxsize=256)
def _shares_below(truth: Truth) -> FloatArray:
    """Share of a glue-up's joints below each strength of ``LOGS``, its sound ones having the mean 1."""
    strength = np.exp(LOGS)
    sound = sound_cdf(truth, strength)
    voided = sound_cdf(truth, strength / VOID_STRENGTH) if truth.void_share else sound
    below = (1.0 - truth.void_share) * sound + truth.void_share * voided
    below[0], below[-1] = 0.0, 1.0
    below.setflags(write=False)
    return np.asarray(below, dtype=np.float64)


@lru_cache(maxsize=8)
def _blur(ratio: float) -> FloatArray:
    """Chance that a glue-up lies at one place when the average one lies at another, shape (glue-up's, average's)."""
    if ratio == 0.0:
        return np.eye(PLACES.size)
    apart = (PLACES[:, None] - PLACES) / ratio
    weight = np.exp(-0.5 * apart**2)
    return np.asarray(weight / weight.sum(axis=0))
