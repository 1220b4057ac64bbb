"""A sheet for the wall of a club: what several shops' joints held, and how their mounts went, near misses first."""

from __future__ import annotations

from collections import Counter

from jointlab.publish.pool_page import PooledPublication, pool_answer
from jointlab.publish.typesetting import Paper, typeset
from jointlab.publish.wall_figure import MOST_COMBINATIONS, ends_by_size, wall_mounts_figure, wall_strengths_figure
from jointlab.publish.wording import counted, listed

NOT_PULLED_APART = "Nobody knows what these joints were loaded with: how they went is no strength."
NO_MOUNTS = "No mounts were told of yet: mounts that went well, and near misses, belong on this sheet."
REMEMBER = (
    "Full face shield, out of the plane of the blank, slowest speed first.",
    "Stop at the first tick, wobble or smell; a gap that can be seen ends the mount.",
    "A near miss that is told spares the next one: write it down.",
)


def wall_sheet(pooled: PooledPublication, *, paper: Paper = Paper.A4) -> bytes:
    """Results and near misses of all shops on one page, as a tagged PDF with vector figures; nobody is named.

    The same values give the same bytes. Source key of the sentences to remember: trade.
    """
    drawings, field = {}, pooled.field
    if pooled.combinations:
        drawings["strengths.svg"] = wall_strengths_figure(pooled.combinations)
    if field:
        drawings["mounts.svg"] = wall_mounts_figure(field)
    left_out = len(pooled.combinations) - MOST_COMBINATIONS
    pulls = sum(len(shop.pulls) for shop in pooled.gathered.shops)
    values = {
        "paper": str(paper),
        "title": "What held, and what did not",
        "told": f"{counted(len(pooled.gathered.shops), 'shop')} \N{MIDDLE DOT} {counted(pulls, 'pull')} \N{MIDDLE DOT} "
        f"{counted(sum(count.mounts for count in field), 'mount')} \N{MIDDLE DOT} {pooled.dated_on}",
        "answer": pool_answer(pooled),
        "strengths_alt": strengths_words(pooled) if pooled.combinations else "",
        "left_out": f"{counted(left_out, 'more combination')} not shown." if left_out > 0 else "",
        "mounts": mounts_words(pooled),
        "mounts_alt": mounts_words(pooled) if field else "",
        "remember": list(REMEMBER),
        "caution": pooled.caution,
        "program": f"jointlab {pooled.program_version}",
    }
    return typeset("wall.typ", values=values, drawings=drawings, dated_on=pooled.dated_on)


def strengths_words(pooled: PooledPublication) -> str:
    """What the drawing of strengths shows, for one who cannot see it; no shop is named."""
    told = [
        f"{each.combination}, {each.action}: {counted(each.pulls, 'pull')} of {counted(len(each.seen), 'shop')}"
        for each in pooled.combinations[:MOST_COMBINATIONS]
    ]
    return f"Strength of every pull by combination. {'; '.join(told)}."


def mounts_words(pooled: PooledPublication) -> str:
    """How the mounts of each size went, in a sentence."""
    if not pooled.field:
        return NO_MOUNTS
    told = [f"Blanks {size}: {listed(_ended(ends))}" for size, ends in ends_by_size(pooled.field)]
    return f"{'. '.join(told)}. {NOT_PULLED_APART}"


def _ended(ends: Counter[str]) -> list[str]:
    return [f"{number} {end.replace('_', ' ')}" for end, number in ends.most_common()]
