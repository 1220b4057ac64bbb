"""What the strength room gives: fits, bounds, and the whole of what a combination's pulls say."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from jointlab.record.finding import Finding
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action


class Family(StrEnum):
    """Distribution of strength. ``gumbel_min`` is the smallest extreme value distribution."""

    NORMAL = "normal"
    LOGNORMAL = "lognormal"
    WEIBULL = "weibull"
    GUMBEL_MIN = "gumbel_min"


class Method(StrEnum):
    """How a tolerance bound was got."""

    NONCENTRAL_T = "noncentral_t"
    WEIBULL_PIVOT = "weibull_pivot"
    LIKELIHOOD_RATIO = "likelihood_ratio"
    HANSON_KOOPMANS = "hanson_koopmans"
    KNOWN_RATIO = "known_ratio"
    ORDER_STATISTIC = "order_statistic"
    SUCCESS_RUN = "success_run"
    WORKING = "working"


@dataclass(frozen=True, slots=True)
class StrengthFit:
    """A family fitted by maximum likelihood.

    Parameters
    ----------
    family
        The distribution.
    parameters
        Pairs of name and value, named as in the JSON contract (MPa, or logs of MPa).
    log_likelihood
        At the maximum; densities in 1/MPa.
    aicc
        Akaike's criterion corrected for small samples; None when n <= k + 1.
    anderson_darling, p_value
        Goodness of fit; None until computed.
    ill
        Sentence naming why no maximum exists; the parameters are then empty and the likelihood None.
    """

    family: Family
    parameters: tuple[tuple[str, float], ...]
    log_likelihood: float | None
    aicc: float | None
    anderson_darling: float | None = None
    p_value: float | None = None
    ill: str | None = None


@dataclass(frozen=True, slots=True)
class LowerBound:
    """A one-sided lower tolerance bound: ``coverage`` of joints exceed it, said with ``confidence``.

    ``bound_mpa`` None: the method does not apply to these data; ``why_none`` says why. ``monte_carlo_error``: standard
    deviation that a simulation leaves in the bound, as a share of it; None where nothing is simulated.
    """

    method: Method
    family: Family | None
    coverage: float
    confidence: float
    bound_mpa: float | None
    why_none: str | None = None
    monte_carlo_error: float | None = None


@dataclass(frozen=True, slots=True)
class WorkingBound:
    """The bound the verdict uses, and the upper bound beyond which a fail is honest.

    ``method`` carries the rule's name and version, such as "working 3"; ``known_ratio_mpa`` is the part of the rule
    that counts differences between glue-ups, with ``known_ratio_error`` where it is simulated (a share of it).
    ``monte_carlo_error`` is that of the bound itself: None where the part that decides needs no simulation.
    """

    bound_mpa: float | None
    upper_mpa: float | None
    method: str
    coverage: float
    confidence: float
    findings: tuple[Finding, ...] = ()
    known_ratio_mpa: float | None = None
    known_ratio_error: float | None = None
    monte_carlo_error: float | None = None


@dataclass(frozen=True, slots=True)
class CombinationStrength:
    """What the pulls of one combination under one action say.

    ``n`` counts all pulls not excluded; ``n_usable`` those carrying information, which every formula uses.
    """

    combination: Combination
    action: Action
    n: int
    n_broke: int
    n_held: int
    n_usable: int
    batches: int
    batch_names: tuple[str, ...]
    families: tuple[StrengthFit, ...]
    bounds: tuple[LowerBound, ...]
    working_bound: WorkingBound
    findings: tuple[Finding, ...] = ()
