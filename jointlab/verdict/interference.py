"""Interference: the chance that the joint breaks, given a catch of a class, with what the tests leave uncertain."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.mount.demand import Case, StressDemand
from jointlab.mount.mount_demand import demand_at_force
from jointlab.mount.setup import CatchClass, MountSetup
from jointlab.strength import normal
from jointlab.strength.known_ratio import RATIO, centre_and_spread
from jointlab.strength.sample import StrengthSample
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import CATCH_CASES, GLUE_LINE
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.required import unit_evidence
from jointlab.verdict.rule import usage

SOURCE = "stress_strength"

FloatArray = npt.NDArray[np.float64]

CATCH_COV = 0.30
"""Coefficient of variation of the force of catches of one class (source: judgement)."""

CLASS_PERCENTILE = 0.95
"""Share of the catches of a class that stay below its force (source: judgement)."""

NODES = 161
WIDEST = 8.0
"""Trapezoids over the standard normal from -8 to 8: for smooth integrands exact to rounding."""


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


def chance_of_interference(
    strength_cdf: Callable[[FloatArray], FloatArray], load_of_normal: Callable[[FloatArray], FloatArray]
) -> float:
    """Chance that the strength lies below the load, the two being independent: the integral of F(load) over the load.

    Parameters
    ----------
    strength_cdf
        Distribution function of the strength, at loads of shape (k,).
    load_of_normal
        The load as a rising function of a standard normal number, shape (k,).

    Source: stress_strength.
    """
    nodes = np.linspace(-WIDEST, WIDEST, NODES)
    density = np.exp(-0.5 * nodes**2) / math.sqrt(2.0 * math.pi)
    step = float(nodes[1] - nodes[0])
    return float((density * strength_cdf(load_of_normal(nodes))).sum() * step)


def break_chance(
    setup: MountSetup, evidence: Evidence, *, catch: CatchClass | None = None, catch_cov: float = CATCH_COV
) -> Interference | None:
    """Chance that the glue line breaks, given one catch of a class, whatever the lathe could deliver.

    The strength of the next joint of a new glue-up: lognormal, glue-ups as unlike as joints, with centre and spread as
    uncertain as the pulls leave them (t with n - 1 degrees), after the factors. The catch: lognormal, its class's
    force exceeded by one in twenty. Beside the margin, never in its place. Sources: stress_strength, judgement.

    None where it cannot be said: strengths not all seen exactly, or a tested shear.
    """
    sample = evidence.tension.sample
    if sample is None or not sample.complete or sample.n < 3 or evidence.shear is not None:
        return None
    if float(sample.lower_mpa.min()) <= 0.0 or not mount_capacity(setup, evidence).rated:
        return None
    chosen = catch or setup.criteria.catch
    log_spread = math.sqrt(math.log1p(catch_cov**2))
    log_centre = math.log(float(setup.assumptions.force_n(chosen))) - normal.quantile(CLASS_PERCENTILE) * log_spread

    def strength_needed_mpa(nodes: FloatArray) -> FloatArray:
        return needed_mpa(setup, evidence, np.exp(log_centre + log_spread * nodes), case=CATCH_CASES[chosen])

    return Interference(chosen, chance_of_interference(predicted_cdf(sample), strength_needed_mpa))


def needed_mpa(setup: MountSetup, evidence: Evidence, force_n: FloatArray, *, case: Case) -> FloatArray:
    """Tension strength of a coupon [MPa] at which the glue line is just used up by catches of these forces [N]."""
    capacity = mount_capacity(setup, unit_evidence(evidence))
    strength = capacity.glue_line(case)
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


def predicted_cdf(sample: StrengthSample) -> Callable[[FloatArray], FloatArray]:
    """Distribution function of the next joint's strength [MPa], a joint of a glue-up not yet seen.

    ln strength: centre m, spread s within a glue-up and ratio r between them as the working bound takes it; the next
    one deviates by t(n - 1) s sqrt(1 + r^2 + 1/w).
    """
    from scipy.special import stdtr

    centre, spread, total = centre_and_spread(np.log(sample.lower_mpa), sample.batch, ratio=RATIO)
    scale = spread * math.sqrt(1.0 + RATIO**2 + 1.0 / total)

    def cdf(strength_mpa: FloatArray) -> FloatArray:
        with np.errstate(divide="ignore"):
            return np.asarray(stdtr(sample.n - 1, (np.log(strength_mpa) - centre) / scale), dtype=np.float64)

    return cdf
