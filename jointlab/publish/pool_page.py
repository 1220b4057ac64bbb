"""The page of a pool: what several shops found together, with every decision that was taken on the way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from jointlab.pool.together import FieldCount
from jointlab.pool.values import Gathered, PooledCombination
from jointlab.publish.cautions import STANDING_CAUTIONS
from jointlab.publish.forest_figure import BETWEEN_WORDS, forest_figure
from jointlab.publish.inlined import inlined
from jointlab.publish.page import page_environment
from jointlab.publish.publication import MethodNote
from jointlab.publish.tables import Table
from jointlab.publish.wording import counted, percent, rounded
from jointlab.sources import cited

METHODS = (
    MethodNote(
        "Shops that differ",
        "Each shop has a median of its own, on the logarithm of strength, known with the error of its glue-ups and "
        "joints. The medians are taken to vary about a common one; how much is estimated in three ways, and the "
        "interval allows for how few shops there are.",
        cited("dersimonian_laird", "paule_mandel", "reml", "hartung_knapp", "higgins_i2"),
    ),
    MethodNote(
        "The next joint of a new shop",
        "Draws of what the pulls still allow, each followed by a shop, a glue-up and a joint never seen; how often the "
        "bound holds is simulated in the reports that come with the program.",
        cited("generalised_pivot", "burdick_graybill"),
    ),
)


@dataclass(frozen=True, slots=True)
class PooledPublication:
    """What a page of several shops says; ``caution`` is what a pool can never do."""

    title: str
    dated_on: str
    program_version: str
    gathered: Gathered
    combinations: tuple[PooledCombination, ...]
    field: tuple[FieldCount, ...]
    confidence: float
    caution: str


def pool_page(pooled: PooledPublication) -> str:
    """The pool as one HTML page; asks nothing of a network. The same values give the same page to the byte."""
    template = page_environment().get_template("pool.html.j2")
    return template.render(
        pooled=pooled,
        shops=pooled.gathered.shops,
        pulls=sum(len(shop.pulls) for shop in pooled.gathered.shops),
        rulings=pooled.gathered.rulings,
        answer=pool_answer(pooled),
        combinations=[_part(each, number, pooled.confidence) for number, each in enumerate(pooled.combinations, 1)],
        field=field_table(pooled.field),
        methods=METHODS,
        sources=tuple(dict.fromkeys(source for note in METHODS for source in note.sources)),
        cautions=STANDING_CAUTIONS,
    )


def pool_answer(pooled: PooledPublication) -> str:
    """In one sentence: of the combination most shops pulled, what a new shop's next joint exceeds."""
    first = next((each for each in pooled.combinations if each.pooled is not None), None)
    if first is None or first.pooled is None:
        return "Nothing yet: no combination has pulls of shops enough to show how much shops differ."
    return (
        f"Of {first.combination}, {first.action}, {counted(len(first.pooled.shops), 'shop')} say together that the "
        f"next joint of a shop still to come exceeds {rounded(first.pooled.next_joint_mpa)} MPa, with "
        f"{percent(pooled.confidence)} confidence."
    )


def _part(each: PooledCombination, number: int, confidence: float) -> dict[str, Any]:
    from markupsafe import Markup

    title = f"{each.combination}, {each.action}: {counted(each.pulls, 'pull')} of {counted(len(each.seen), 'shop')}"
    if each.pooled is None:
        return {"title": title, "svg": None, "why_not": each.why_not}
    return {
        "title": title,
        "svg": Markup(inlined(forest_figure(each), name=f"forest{number}")),
        "alt": forest_alt(each),
        "sentences": pool_sentences(each, confidence),
        "shops": shops_table(each),
        "effects": together_table(each),
    }


def forest_alt(each: PooledCombination) -> str:
    """What the forest shows, for one who cannot see it."""
    assert each.pooled is not None
    shops = "; ".join(f"{shop.shop} {rounded(shop.median_mpa)} MPa" for shop in each.pooled.shops)
    together = rounded(math.exp(each.pooled.effects[-1].mean))
    return f"Medians by shop: {shops}; together {together} MPa. The tables below hold the figures."


def pool_sentences(each: PooledCombination, confidence: float) -> tuple[str, ...]:
    """What the numbers allow, and what not."""
    pooled = each.pooled
    assert pooled is not None
    differ = pooled.heterogeneity
    told = [
        f"The next joint of a new shop exceeds {rounded(pooled.next_joint_mpa)} MPa, with {percent(confidence)} "
        "confidence; that is about one joint, not about 95% of them.",
        f"{differ.i2:.0%} of the differences between shops are more than chance (I2; Q {rounded(differ.q)}, "
        f"p {rounded(differ.p_value, digits=2)}; tau {rounded(math.sqrt(pooled.effects[-1].tau2), digits=2)}).",
    ]
    if pooled.left_out:
        told.append(f"Left out, with too few breaks to have a spread of their own: {', '.join(pooled.left_out)}.")
    return tuple(told)


def shops_table(each: PooledCombination) -> Table:
    """What each shop brings, and what the others say without it [MPa]."""
    assert each.pooled is not None
    without = {left.shop: left.median_mpa for left in each.pooled.without}
    rows = tuple(
        (
            shop.shop,
            str(shop.n),
            str(shop.n_broke),
            str(shop.glue_ups),
            rounded(shop.median_mpa),
            rounded(shop.log_sd, digits=2),
            rounded(without.get(shop.shop)),
        )
        for shop in each.pooled.shops
    )
    head = ("shop", "pulls", "broke", "glue-ups", "median, MPa", "spread (ln)", "all others, MPa")
    return Table("Each shop, and all others without it", head, rows, frozenset(range(1, 7)))


def together_table(each: PooledCombination) -> Table:
    """The median of all shops by each estimator [MPa]."""
    assert each.pooled is not None
    rows = tuple(
        (
            BETWEEN_WORDS[effect.between],
            rounded(math.exp(effect.mean)),
            f"{rounded(math.exp(effect.lower))} to {rounded(math.exp(effect.upper))}",
            rounded(effect.tau2),
        )
        for effect in each.pooled.effects
    )
    head = ("estimator", "median, MPa", "interval (Hartung-Knapp)", "tau2")
    return Table("All shops together", head, rows, frozenset({1, 3}))


def field_table(counts: tuple[FieldCount, ...]) -> Table:
    """Mounts by size of blank and heaviest catch, and how they ended."""
    rows = tuple(
        (
            count.size,
            count.worst_catch,
            str(count.mounts),
            ", ".join(f"{end.replace('_', ' ')} {number}" for end, number in count.ends),
        )
        for count in counts
    )
    return Table("Mounts of all shops", ("blank across", "heaviest catch", "mounts", "how they ended"), rows,
                 frozenset({2}))  # fmt: skip
