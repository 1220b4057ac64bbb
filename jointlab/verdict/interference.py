"""Interference: the chance that the joint breaks, given a catch of a class, with what the tests leave uncertain."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from jointlab.mount.demand import Case, StressDemand
from jointlab.mount.mount_demand import demand_at_force
from jointlab.mount.setup import CatchClass, MountSetup
from jointlab.strength import normal
from jointlab.strength.order_statistic import lower_ends
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import CATCH_CASES, GLUE_LINE
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.overlap import CLASS_PERCENTILE, chance_of_interference
from jointlab.verdict.plausible import LEAST_KNOWN, plausible_shops, void_shares_of
from jointlab.verdict.rule import usage
from jointlab.verdict.values import StressStrength

SOURCE = "stress_strength"

FloatArray = npt.NDArray[np.float64]

CATCH_COV = 0.30
"""Coefficient of variation of the force of catches of one class (source: judgement)."""


@dataclass(frozen=True, slots=True)
class Interference:
    """Chance that the glue line breaks, given one catch of a class."""

    catch: CatchClass
    probability: float

    @property
    def told(self) -> str:
        """The chance in powers of ten, "given such a catch"."""
        return f"{power_told(self.probability)}, given one {self.catch} catch"


def power_told(probability: float) -> str:
    """The power of ten a chance does not exceed, one step below it told too: chances this far out are not exact."""
    if probability >= 0.1:
        return f"about {probability:.1g}" if probability < 0.95 else "nearly certain"
    upper = math.ceil(math.log10(probability) - 1e-9) if probability > 0.0 else -12
    return f"between 10^{upper - 1} and 10^{upper}" if upper > -12 else "below 10^-12"


def break_chance(
    setup: MountSetup, evidence: Evidence, *, catch: CatchClass | None = None, catch_cov: float = CATCH_COV
) -> Interference | None:
    """Chance that the glue line breaks, given one catch of a class, whatever the lathe could deliver.

    The strength is that of the next joint of a new glue-up, after the factors, over all shops that could have made the
    pulls: family, spread, mean, unlikeness of glue-ups and, in sheet goods, voids as uncertain as they leave them. Over
    simulated shops it tells more than the true chance on the average, by 1.6 to 3.5 times (the study of the verdict).
    A tested shear is taken to lie as far above its bound as the tension does above its own, as one and the same joint
    is weak in both. The catch: lognormal, its class's force exceeded by one in twenty. Beside the margin, never in its
    place. Sources: stress_strength, judgement.

    None where it cannot be said: fewer than three strengths, one that broke when handled on a rig that says nothing of
    its step, no bounds, or a joint that no tests rate.
    """
    sample, capacity = evidence.tension.sample, mount_capacity(setup, evidence)
    if sample is None or sample.n < LEAST_KNOWN or float(lower_ends(sample).min()) <= 0.0 or not capacity.rated:
        return None
    if not capacity.lower.tension_mpa or not capacity.lower.shear_mpa:
        return None
    chosen = catch or setup.criteria.catch
    log_spread = math.sqrt(math.log1p(catch_cov**2))
    log_centre = math.log(float(setup.assumptions.force_n(chosen))) - normal.quantile(CLASS_PERCENTILE) * log_spread

    def strength_needed_mpa(nodes: FloatArray) -> FloatArray:
        return needed_mpa(setup, evidence, np.exp(log_centre + log_spread * nodes), case=CATCH_CASES[chosen])

    shops = plausible_shops(sample, void_shares=void_shares_of(evidence.kinds))
    return Interference(chosen, chance_of_interference(shops.share_below, strength_needed_mpa))


def needed_mpa(setup: MountSetup, evidence: Evidence, force_n: FloatArray, *, case: Case) -> FloatArray:
    """Tension strength of a coupon [MPa] at which the glue line is just used up by catches of these forces [N].

    Shear goes with tension, in the proportion of their bounds.
    """
    capacity = mount_capacity(setup, evidence)
    tension_mpa, shear_mpa = capacity.lower.tension_mpa, capacity.lower.shear_mpa
    assert tension_mpa is not None
    assert shear_mpa is not None
    unit = StressStrength(1.0, shear_mpa / tension_mpa)
    strength = replace(capacity, lower=unit).glue_line(case)
    demand = next(link for link in demand_at_force(setup, force_n) if link.link == GLUE_LINE).over_points
    assert isinstance(demand, StressDemand)
    used = usage(
        demand.tension_mpa,
        demand.shear_mpa,
        tension_strength_mpa=strength.tension_mpa,
        shear_strength_mpa=strength.shear_mpa,
        interaction=capacity.interaction,
    )
    return np.asarray(np.max(used, axis=0), dtype=np.float64)
