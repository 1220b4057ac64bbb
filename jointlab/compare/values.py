"""What the compare room takes and gives: samples by combination, effects as ratios, the comparison as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from jointlab.compare.variance_table import VarianceTable
from jointlab.record.finding import Finding
from jointlab.record.joint import Combination
from jointlab.strength.sample import StrengthSample


class Analysis(StrEnum):
    """How combinations are compared; every one works on the logarithm of strength or on ranks."""

    OWN_SPREADS = "own_spreads"  # each combination keeps its spread; the interval's factor is calibrated by simulation
    BLOCKS = "blocks"  # glue-ups as random blocks, one spread for all
    ONE_SPREAD = "one_spread"  # one spread for all, glue-ups not counted: Tukey-Kramer, Dunnett
    GAMES_HOWELL = "games_howell"  # each combination keeps its spread, studentised range by Welch's degrees of freedom
    RANKS = "ranks"  # Kruskal-Wallis and Dunn
    CENSORED_LOGNORMAL = "censored_lognormal"  # accelerated-failure model, calibrated by simulation
    CENSORED_WEIBULL = "censored_weibull"


class Difference(StrEnum):
    """What the pulls show of one combination against another. None of the words says that two are equal."""

    STRONGER = "shown stronger"
    WEAKER = "shown weaker"
    NOT_SHOWN = "difference not shown"


@dataclass(frozen=True, slots=True)
class CombinationSample:
    """The usable strengths of one combination under one action.

    Glue-ups of the same name in several samples are the same glue-up: they are blocks.
    """

    combination: Combination
    sample: StrengthSample


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with the ends of its simultaneous interval; an end that could not be had is None."""

    value: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True, slots=True)
class Effect:
    """One combination against another.

    Parameters
    ----------
    combination, against
        What is compared with what.
    ratio
        Median strength of ``combination`` / median strength of ``against``; the interval holds for all effects of the
        comparison at once.
    p_value
        Adjusted over all effects of the comparison; None where the analysis gives none.
    shown
        What the pulls show.
    chance_outlasts
        Chance that a joint of ``combination`` is stronger than one of ``against``; None where not computed.
    low_ratio
        Ratio of the lower 5th percentiles; None where not computed.
    """

    combination: Combination
    against: Combination
    ratio: Estimate
    p_value: float | None
    shown: Difference
    chance_outlasts: Estimate | None = None
    low_ratio: Estimate | None = None


@dataclass(frozen=True, slots=True)
class CombinationSummary:
    """One combination as it enters the comparison.

    Parameters
    ----------
    n, n_held, batches
        Usable pulls, those that held, glue-ups.
    median_mpa
        Estimated median strength [MPa].
    log_sd
        Estimated standard deviation of ln strength.
    low_mpa
        Estimated lower 5th percentile [MPa]: an estimate, not a bound to rely on.
    letters
        Two combinations that share a letter are not shown different; it does not make them equal.
    """

    combination: Combination
    n: int
    n_held: int
    batches: int
    median_mpa: float
    log_sd: float
    low_mpa: float
    letters: str


@dataclass(frozen=True, slots=True)
class GroupTest:
    """Outcome of a test over all combinations at once.

    Parameters
    ----------
    name
        In words, such as "Kruskal-Wallis".
    asks
        The question, as a sentence.
    statistic, degrees, p_value
        ``degrees`` of freedom in order, empty where the test has none.
    source
        Key in ``sources``.
    """

    name: str
    asks: str
    statistic: float
    degrees: tuple[float, ...]
    p_value: float
    source: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Which combinations are shown to differ, and by how much.

    Parameters
    ----------
    analysis, reason
        The analysis used, and the sentence saying why it was recommended or that it was asked for.
    control
        The combination all others are compared with; None: every pair.
    confidence
        With which all intervals hold at once.
    summaries
        Strongest first.
    effects
        The family over which multiplicity is controlled.
    table
        Analysis of variance on ln strength; None where it does not apply.
    tests
        Tests over all combinations at once.
    others
        Analyses that could be asked for instead.
    """

    analysis: Analysis
    reason: str
    control: Combination | None
    confidence: float
    summaries: tuple[CombinationSummary, ...]
    effects: tuple[Effect, ...]
    table: VarianceTable | None
    tests: tuple[GroupTest, ...]
    others: tuple[Analysis, ...]
    findings: tuple[Finding, ...] = ()
