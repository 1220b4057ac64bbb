"""Another tested combination as a way out: tried as it would be applied, so that it holds when it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from jointlab.app.at_hand import combinations_at_hand, pulls_at_hand
from jointlab.app.looking import Seen, look_at
from jointlab.book.book import Book
from jointlab.book.stored import PullSelection, StoredPull
from jointlab.mount.setup import Block, Grain, MountSetup
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.record.vocabulary import Action, SubstrateKind
from jointlab.record.vocabulary import Outcome as PullOutcome
from jointlab.record.woods import wood_named
from jointlab.verdict.assessed import assessed
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS
from jointlab.verdict.sentence import margin_told
from jointlab.verdict.values import Outcome, Verdict, WayOut

if TYPE_CHECKING:
    from jointlab.verdict.evidence import Evidence

    Decided = Callable[[MountSetup, Seen], Verdict]
    Evident = Callable[[MountSetup, Sequence[StoredPull]], Evidence | None]

MOST_OFFERED = 2
"""Of several that pass the best are told (source: judgement)."""

MOST_TRIED = 6
"""Combinations that are tried, those nearest the mount's own first: a book may hold hundreds (source: judgement)."""

NEW_GLUE_UP = "new glue-up"

_GRAIN_OF = {SubstrateKind.SOLID_EDGE: Grain.EDGE, SubstrateKind.SOLID_END: Grain.END}


def other_combinations(book: Book, setup: MountSetup, decided: Decided, evident: Evident) -> tuple[WayOut, ...]:
    """Combinations of this book with which the same mount passes outright, the largest margin first.

    Only those whose pries all broke at a load that was read: bounds of held ones take seconds each. A block of another
    substrate is taken as the pulls state its kind, of the wood its name says; where it says none its screws are not
    rated, and it is not offered.

    Parameters
    ----------
    decided
        The verdict on a mount at the evidence of its combination.
    evident
        What pulls say for a mount, with all of the doubt to spend.
    """
    found = []
    for seen, changed, setting in _tried(book, setup, evident):
        verdict = decided(changed, seen)
        if verdict.verdict is Outcome.PASS and verdict.margin_lower is not None:
            found.append((verdict.margin_lower, _way(changed, verdict, setting)))
    found.sort(key=lambda each: -each[0])
    return tuple(way for _, way in found[:MOST_OFFERED])


def names_a_combination(way: WayOut) -> bool:
    """Whether a way out is another combination."""
    return any(key == "joint.glue" for key, _ in way.setting)


def _way(changed: MountSetup, verdict: Verdict, setting: tuple[tuple[str, float | str], ...]) -> WayOut:
    combination = changed.joint.combination
    margin = margin_told(verdict.margin_lower) if verdict.margin_lower is not None else "-"
    text = f"{combination} in its place, as your own tests have it: the mount then passes with margin {margin}."
    return WayOut(text, setting)


def _tried(
    book: Book, setup: MountSetup, evident: Evident
) -> Iterator[tuple[Seen, MountSetup, tuple[tuple[str, float | str], ...]]]:
    for combination in _nearest(book, setup.joint.combination):
        asked = PullSelection(
            glue=combination.glue, substrate=combination.substrate, preparation=combination.preparation
        )
        pulls = pulls_at_hand(book, asked)
        block = _block_for(setup, combination, pulls) if _enough(pulls) else None
        if block is None:
            continue
        joint = replace(setup.joint, combination=combination, batch=NEW_GLUE_UP)
        changed = replace(setup, joint=joint, block=block)
        if _could_pass(changed, evident(changed, pulls)):
            seen = look_at(book, combination, pulls)
            if not seen.foreign:
                yield seen, changed, _setting(setup, changed)


def _nearest(book: Book, own: Combination) -> list[Combination]:
    """Combinations with pries enough: of the same block first, then of the same glue, then those pulled most."""
    enough = [
        stored
        for stored in combinations_at_hand(book)
        if stored.action is Action.PRY
        and stored.pulls - stored.excluded >= LEAST_PULLS
        and stored.combination.key != own.key
    ]
    enough.sort(
        key=lambda stored: (
            matched(stored.combination.substrate) != matched(own.substrate),
            matched(stored.combination.glue) != matched(own.glue),
            -stored.pulls,
            stored.combination.key,
        )
    )
    return [stored.combination for stored in enough[:MOST_TRIED]]


def _could_pass(setup: MountSetup, evidence: Evidence | None) -> bool:
    """Whether the margin is reached at all, with all of the doubt to spend: most do not, and that is quick to see."""
    margin = None if evidence is None else assessed(setup, evidence).margin_lower
    return margin is not None and margin >= setup.criteria.margin


def _enough(pulls: Sequence[StoredPull]) -> bool:
    pries = [kept.pull for kept in pulls if kept.pull.excluded_because is None and kept.pull.action is Action.PRY]
    if any(pull.outcome is not PullOutcome.BROKE for pull in pries):
        return False
    return len(pries) >= LEAST_PULLS and len({matched(pull.batch) for pull in pries}) >= LEAST_BATCHES


def _block_for(setup: MountSetup, combination: Combination, pulls: Sequence[StoredPull]) -> Block | None:
    if matched(combination.substrate) == matched(setup.joint.combination.substrate):
        return setup.block
    kinds = {kept.pull.joint.substrate_kind for kept in pulls}
    kind = kinds.pop() if len(kinds) == 1 else None
    if kind is None:
        return None
    return replace(setup.block, kind=kind, wood=_wood_in(combination.substrate), grain=_GRAIN_OF.get(kind, Grain.FACE))


def _wood_in(substrate: str) -> str | None:
    """The wood a substrate's name tells, in two words or in one ("hard maple scrap", "ash scrap")."""
    words = matched(substrate).split()
    parts = [" ".join(words[at : at + count]) for count in (2, 1) for at in range(len(words) - count + 1)]
    return next((wood.name for wood in map(wood_named, parts) if wood is not None), None)


def _setting(before: MountSetup, after: MountSetup) -> tuple[tuple[str, float | str], ...]:
    combination, block = after.joint.combination, after.block
    keys: list[tuple[str, float | str]] = [
        ("joint.glue", combination.glue),
        ("joint.substrate", combination.substrate),
        ("joint.preparation", combination.preparation),
        ("joint.batch", NEW_GLUE_UP),
    ]
    if block != before.block:
        keys += [("block.kind", str(block.kind)), ("block.grain", str(block.grain))]
        keys += [("block.wood", block.wood)] if block.wood is not None else []
    return tuple(keys)
