"""Putting packages together: which come from one shop, which pulls are the same, which names mean the same."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from jointlab.errors import InputError, Problem
from jointlab.pool.values import Contribution, Gathered, GatheredShop, Ruling, RulingKind
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.record.pull import Pull
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of

SOURCE = "judgement"

LOOKS_ALIKE = 0.8
"""Names more alike than this are told as left apart, 1 being the same (``SOURCE``)."""

MOST_NAMES_COMPARED = 400
"""More different names than this are not held against each other (``SOURCE``)."""

PullKey = tuple[str, str]


def gathered(contributions: Sequence[Contribution], *, same: Mapping[str, str] | None = None) -> Gathered:
    """Packages as shops, each pull once.

    Parameters
    ----------
    contributions
        In any order; the later date counts where two packages of a shop tell a pull differently.
    same
        Names to be taken for another: what a package says -> what is meant.

    Raises
    ------
    InputError
        No package, or one brings no pulls.
    """
    if not contributions:
        raise InputError(Problem("no package was named: folders or .zip files that publish wrote"), subject="pool")
    told = sorted(contributions, key=lambda each: (each.dated_on, each.name))
    rulings: list[Ruling] = []
    told, renamed = _named_alike(told, dict(same or {}))
    rulings += renamed
    shops = []
    for number, members in enumerate(_by_shop(told, rulings), start=1):
        shops.append(_shop_of(members, number, rulings))
    rulings += _units(shops)
    rulings += _left_apart(shops)
    return Gathered(tuple(shops), tuple(rulings))


def _by_shop(told: Sequence[Contribution], rulings: list[Ruling]) -> list[list[Contribution]]:
    """Packages of one book, of one name, or with a pull in common come from one shop."""
    parent = list(range(len(told)))

    def root(place: int) -> int:
        while parent[place] != place:
            place = parent[place]
        return place

    first: dict[tuple[str, str], int] = {}
    known: dict[object, list[tuple[Pull, int]]] = {}
    for place, each in enumerate(told):
        marks: list[tuple[int, str]] = []
        if each.shop is not None:
            marks.append((first.setdefault(("shop", matched(each.shop)), place), "the same shop's name"))
        if each.book is not None:
            marks.append((first.setdefault(("book", each.book), place), "the same book"))
        marks += [(_first_with(pull, known, place), "the same pulls") for pull in each.pulls]
        for other, why in marks:
            if root(other) != root(place):
                rulings.append(
                    Ruling(RulingKind.SHOP, f"{told[other].name} and {each.name} are taken for one shop: {why}.")
                )
                parent[root(place)] = root(other)
    groups: dict[int, list[Contribution]] = {}
    for place, each in enumerate(told):
        groups.setdefault(root(place), []).append(each)
    return list(groups.values())


def _first_with(pull: Pull, known: dict[object, list[tuple[Pull, int]]], place: int) -> int:
    """Place of the first package with this pull; it is ``place`` itself where nobody told it before.

    Of very many pulls only those are held against each other that a few of their values leave to be the same.
    """
    alike = known.setdefault((pull.batch, pull.specimen, pull.tested_on, pull.loading.load), [])
    before = next((other for said, other in alike if _content(said) == _content(pull)), None)
    if before is None:
        alike.append((pull, place))
    return place if before is None else before


def _content(pull: Pull) -> Pull:
    """What makes a pull the same in two packages: everything but notes, the unit it was entered in, an exclusion."""
    return replace(pull, notes=None, entered=(), excluded_because=None)


def _shop_of(members: Sequence[Contribution], number: int, rulings: list[Ruling]) -> GatheredShop:
    name = next((each.shop for each in members if each.shop is not None), f"shop {number}")
    kept: dict[PullKey, tuple[Pull, JointStress, str]] = {}
    repeated: Counter[tuple[str, str]] = Counter()
    for each in members:
        for pull, stress in zip(each.pulls, each.stresses or map(joint_stress_of, each.pulls), strict=True):
            key = (matched(pull.batch), matched(pull.specimen))
            if key in kept:
                before, _, where = kept[key]
                if _content(before) == _content(pull):
                    repeated[where, each.name] += 1
                else:
                    text = f"{name}: {pull.batch}, {pull.specimen} reads otherwise in {each.name} than in {where}"
                    rulings.append(Ruling(RulingKind.REVISED, f"{text}: the later package counts."))
            kept[key] = (pull, stress, each.name)
    for (where, again), count in repeated.items():
        text = f"{count} pulls of {again} are in {where} already: counted once."
        rulings.append(Ruling(RulingKind.DUPLICATE, text))
    newest = members[-1]
    pulls = tuple(pull for pull, _, _ in kept.values())
    stresses = tuple(stress for _, stress, _ in kept.values())
    return GatheredShop(name, tuple(each.name for each in members), pulls, newest.field, stresses)


def _named_alike(told: Sequence[Contribution], same: Mapping[str, str]) -> tuple[list[Contribution], list[Ruling]]:
    """Names that match without case are spelled as they came first; those given as the same are made so."""
    meant = {matched(name): target for name, target in same.items()}
    spelled: dict[str, str] = {}
    changed: Counter[tuple[str, str]] = Counter()

    def name_of(name: str) -> str:
        target = meant.get(matched(name), name)
        shown = spelled.setdefault(matched(target), target)
        if shown != name:
            changed[name, shown] += 1
        return shown

    renamed = []
    for each in told:
        pulls = tuple(_with_names(pull, name_of) for pull in each.pulls)
        renamed.append(replace(each, pulls=pulls))
    rulings = [
        Ruling(RulingKind.NAME, f"{name!r} is taken for {shown!r} ({count} pulls).")
        for (name, shown), count in changed.items()
    ]
    return renamed, rulings


def _with_names(pull: Pull, name_of: object) -> Pull:
    assert callable(name_of)
    combination = pull.joint.combination
    named = Combination(
        name_of(combination.glue),
        name_of(combination.substrate),
        name_of(combination.preparation) if combination.preparation else "",
    )
    return pull if named == combination else replace(pull, joint=replace(pull.joint, combination=named))


def _units(shops: Sequence[GatheredShop]) -> Iterator[Ruling]:
    for shop in shops:
        titles = sorted({title for pull in shop.pulls for title, _ in pull.entered})
        other = [title for title in titles if not title.endswith(("_mm", "_n", "_nm", "_h", "_pct", "_c", "_g_m2"))]
        if other:
            yield Ruling(RulingKind.UNIT, f"{shop.name} entered {', '.join(other)}: read in N, mm, h.")


def _left_apart(shops: Sequence[GatheredShop]) -> Iterator[Ruling]:
    for field in ("glue", "substrate", "preparation"):
        names = sorted({getattr(pull.joint.combination, field) for shop in shops for pull in shop.pulls} - {""})
        if len(names) > MOST_NAMES_COMPARED:
            continue
        for one, other in combinations(names, 2):
            if difflib.SequenceMatcher(None, matched(one), matched(other)).ratio() > LOOKS_ALIKE:
                text = (
                    f'{field} {one!r} and {other!r} look alike and are left apart; --same "{one}={other}" joins them.'
                )
                yield Ruling(RulingKind.LEFT_APART, text)
