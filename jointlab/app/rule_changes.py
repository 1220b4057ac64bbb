"""What each version of the working bound's rule changed, so that an older publication can be told why it differs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from jointlab.strength.working import RULE

CHANGES = {
    "working 1": "the first rule",
    "working 2": "differences between glue-ups count in censored samples too, and glue-ups that agree cost less",
    "working 3": "the second largest strength steadies the bound that needs no shape",
}
"""Every version that ever published, oldest first, and what it changed."""


def earlier_rules(strengths: Iterable[Mapping[str, str]]) -> tuple[str, ...]:
    """Rules of these rows of strengths that are earlier versions of today's."""
    found = {row.get("method", "") for row in strengths}
    return tuple(rule for rule in CHANGES if rule in found and rule != RULE)


def reasons_since(rules: Iterable[str]) -> Iterator[str]:
    """Why numbers of these earlier rules differ from today's: every change since, by its version."""
    names = list(CHANGES)
    for rule in rules:
        since = [f"{name}: {CHANGES[name]}" for name in names[names.index(rule) + 1 :]]
        yield f"the bounds were given by rule {rule!r}, today's is {RULE!r}; since then {'; '.join(since)}"
