"""What all shops say together of each combination, and how their mounts went."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jointlab.compare.shops import ShopSample, pool_shops
from jointlab.errors import AnalysisError
from jointlab.pool.values import FieldEntry, GatheredShop, PooledCombination, ShopSeen
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of

SOURCE = "judgement"

SIZE_CLASSES_MM = (150.0, 250.0, 350.0)
"""Blanks are told apart as up to the first of these across, up to the next, and over the last (``SOURCE``)."""


def pooled_combinations(shops: Sequence[GatheredShop], *, confidence: float = 0.95) -> tuple[PooledCombination, ...]:
    """Each combination under each action over all shops that pulled it, the most shops first.

    Parameters
    ----------
    confidence
        Of the intervals (two-sided) and of the bound on the next joint of a new shop (one-sided).
    """
    groups: dict[tuple[tuple[str, str, str], Action], dict[str, list[JointStress]]] = {}
    spelled: dict[tuple[str, str, str], Combination] = {}
    for shop in shops:
        for pull, stress in zip(shop.pulls, shop.stresses or map(joint_stress_of, shop.pulls), strict=True):
            if pull.excluded_because is None:
                combination = pull.joint.combination
                spelled.setdefault(combination.key, combination)
                groups.setdefault((combination.key, pull.action), {}).setdefault(shop.name, []).append(stress)
    pooled = [_pooled(spelled[key], action, by_shop, confidence) for (key, action), by_shop in sorted(groups.items())]
    return tuple(sorted(pooled, key=lambda each: -len(each.seen)))


def _pooled(
    combination: Combination, action: Action, by_shop: dict[str, list[JointStress]], confidence: float
) -> PooledCombination:
    samples = [ShopSample(name, StrengthSample.of_stresses(stresses)) for name, stresses in by_shop.items()]
    seen = tuple(_seen(each) for each in samples)
    try:
        found = pool_shops([each for each in samples if each.sample.n], confidence=confidence)
    except AnalysisError as failure:
        return PooledCombination(combination, action, seen, None, str(failure))
    return PooledCombination(combination, action, seen, found)


def _seen(each: ShopSample) -> ShopSeen:
    bounds = zip(each.sample.lower_mpa.tolist(), each.sample.upper_mpa.tolist(), strict=True)
    return ShopSeen(each.shop, tuple((lower, None if math.isinf(upper) else upper) for lower, upper in bounds))


@dataclass(frozen=True, slots=True)
class FieldCount:
    """How mounts of one size of blank and one heaviest catch ended, over all shops, without names.

    ``ends``: how it ended and how often, the most frequent first.
    """

    size: str
    worst_catch: str
    mounts: int
    ends: tuple[tuple[str, int], ...]


def field_counts(entries: Iterable[FieldEntry]) -> tuple[FieldCount, ...]:
    """Mounts by size of blank and by the heaviest catch they met, and how they ended."""
    groups: dict[tuple[int, str], Counter[str]] = {}
    for entry in entries:
        key = (sum(entry.diameter_mm > limit for limit in SIZE_CLASSES_MM), entry.worst_catch or "none")
        groups.setdefault(key, Counter())[entry.end or "in use"] += 1
    return tuple(
        FieldCount(_size_words(size), catch, ends.total(), tuple(sorted(ends.items(), key=lambda each: -each[1])))
        for (size, catch), ends in sorted(groups.items())
    )


def _size_words(size: int) -> str:
    if size == len(SIZE_CLASSES_MM):
        return f"over {SIZE_CLASSES_MM[-1]:g} mm"
    return f"up to {SIZE_CLASSES_MM[size]:g} mm"
