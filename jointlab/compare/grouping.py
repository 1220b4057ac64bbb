"""A compact grouping: combinations sharing a letter are not shown different. It never says that they are equal."""

from __future__ import annotations

from collections.abc import Collection, Sequence

Pair = tuple[int, int]

_ALPHABET = "abcdefghijklmnopqrstuvwxyz"

MEANING = (
    "Combinations without a common letter are shown different. A common letter says only that these pulls do not show "
    "a difference, not that there is none."
)


def letters_of(order: Sequence[int], different: Collection[Pair]) -> tuple[str, ...]:
    """Letters of each combination, by index; one letter for each largest set in which no two are shown different.

    Parameters
    ----------
    order
        Indices, strongest first: the first letters go to the strongest.
    different
        Pairs shown different, in either order.

    Examples
    --------
    >>> letters_of([0, 1, 2], [(0, 2)])
    ('a', 'ab', 'b')
    """
    apart = {frozenset(pair) for pair in different}
    near = {i: {j for j in order if j != i and frozenset((i, j)) not in apart} for i in order}
    sets: list[frozenset[int]] = []
    _largest_sets(frozenset(), set(order), set(), near, sets)
    place = {index: rank for rank, index in enumerate(order)}
    sets.sort(key=lambda members: sorted(place[index] for index in members))
    names = [_name(number) for number in range(len(sets))]
    return tuple(
        "".join(name for name, members in zip(names, sets, strict=True) if index in members)
        for index in range(len(order))
    )


def _largest_sets(
    taken: frozenset[int], open_: set[int], done: set[int], near: dict[int, set[int]], sets: list[frozenset[int]]
) -> None:
    """Every largest set of mutually near members (Bron and Kerbosch, with a pivot)."""
    if not open_ and not done:
        sets.append(taken)
        return
    pivot = max(open_ | done, key=lambda index: len(near[index] & open_))
    for index in sorted(open_ - near[pivot]):
        _largest_sets(taken | {index}, open_ & near[index], done & near[index], near, sets)
        open_ = open_ - {index}
        done = done | {index}


def _name(number: int) -> str:
    letter = _ALPHABET[number % len(_ALPHABET)]
    return letter if number < len(_ALPHABET) else f"{letter}{number // len(_ALPHABET)}"
