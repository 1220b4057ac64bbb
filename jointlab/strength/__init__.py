"""Stresses to sample, sample to fit, fit to lower bound."""

from jointlab.strength.fitting import fit
from jointlab.strength.sample import StrengthSample
from jointlab.strength.strength_of import combination_strength
from jointlab.strength.values import (
    CombinationStrength,
    Family,
    LowerBound,
    Method,
    StrengthFit,
    WorkingBound,
)
from jointlab.strength.working import lower_bound

__all__ = [
    "CombinationStrength",
    "Family",
    "LowerBound",
    "Method",
    "StrengthFit",
    "StrengthSample",
    "WorkingBound",
    "combination_strength",
    "fit",
    "lower_bound",
]
