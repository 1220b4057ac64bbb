"""The forest of a combination: the pulls of each shop, what they say together, and what a new shop may get."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from jointlab.compare.random_effects import Between
from jointlab.compare.shops import PooledShops, ShopMean
from jointlab.pool.values import PooledCombination
from jointlab.publish.drawing import (
    BLUE,
    GREEN,
    HANDLED,
    HELD,
    INK,
    MUTED,
    PAPER,
    RELIED_ON,
    STEP,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
    lines_of,
    quiet_axis,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SOURCE = "judgement"

SHOP = Mark("median of a shop, with its own error", "s", BLUE, BLUE, 2.0, "-")
PULL = Mark("one pull, where it broke", "|", MUTED, MUTED, 1.6)
TOGETHER = Mark("median of shops together", "D", GREEN, GREEN, 2.4, "-")
NEXT = Mark("the next joint of a new shop exceeds this", "|", INK, INK, 3.0, RELIED_ON.dashes)

MOST_SHOPS = 40
"""Shops a figure bears; the others stand in the table, which the figure says (``SOURCE``)."""

BETWEEN_WORDS = {
    Between.DERSIMONIAN_LAIRD: "together (DerSimonian-Laird)",
    Between.PAULE_MANDEL: "together (Paule-Mandel)",
    Between.REML: "together (REML)",
}

ERRORS_EACH_WAY = 1.96
"""Half the width of a shop's bar in standard errors: the normal 95 % (mathematics)."""

_ROW_IN, _FOOT_IN, _KEY_IN, _LETTERS = 0.42, 0.62, 0.2, 44


def forest_figure(each: PooledCombination, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Strengths [MPa] of one combination by shop and together, as an image.

    Parameters
    ----------
    each
        A combination that was pooled.
    form
        SVG with letters as paths, or PNG; the same values give the same bytes.
    """
    pooled = each.pooled
    assert pooled is not None
    shops = pooled.shops[:MOST_SHOPS]
    drawn_pulls = {pull_mark(bounds) for seen in each.seen for bounds in seen.bounds_mpa}
    kinds = [SHOP, *(mark for mark in (PULL, STEP, HELD, HANDLED) if mark in drawn_pulls), TOGETHER, NEXT]
    rows = len(shops) + len(pooled.effects)
    height_in = _ROW_IN * (rows + 0.5)
    foot_in = _FOOT_IN + _KEY_IN * (len(kinds) + 1)
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.04, share, 0.92, 1.0 - share))
        quiet_axis(axes, label="strength at the glue line, MPa")
        for place, shop in enumerate(shops):
            at = rows - place - 0.3
            _write(axes, f"{shop.shop}: {shop.n} pulls", at)
            _draw_shop(axes, each, shop, at - 0.35)
        _draw_together(axes, pooled, rows - len(shops))
        axes.axvline(pooled.next_joint_mpa, color=NEXT.colour, linewidth=NEXT.stroke, zorder=1)
        axes.set_ylim(0.0, rows + 0.5)
        axes.set_xlim(0.0, 1.08 * _furthest_mpa(each, pooled))
        left_out = len(pooled.shops) - len(shops)
        key_of_marks(figure, kinds, title=f"{left_out} more shops stand in the table" if left_out else None)
        return drawn(figure, form)


def shop_interval_mpa(shop: ShopMean) -> tuple[float, float]:
    """Median of a shop's joints give or take its own error, as drawn [MPa]."""
    half = ERRORS_EACH_WAY * math.sqrt(shop.variance)
    return math.exp(shop.log_mean - half), math.exp(shop.log_mean + half)


def pull_mark(bounds_mpa: tuple[float, float | None]) -> Mark:
    """How a pull with these bounds [MPa] is drawn."""
    lower, upper = bounds_mpa
    if upper is None:
        return HELD
    if lower == upper:
        return PULL
    return HANDLED if lower == 0.0 else STEP


def drawn_at_mpa(bounds_mpa: tuple[float, float | None]) -> float:
    """Where a pull with these bounds is drawn [MPa]."""
    lower, upper = bounds_mpa
    return lower if upper is None else upper if lower == 0.0 else (lower + upper) / 2.0


def _furthest_mpa(each: PooledCombination, pooled: PooledShops) -> float:
    pulls = [drawn_at_mpa(bounds) for seen in each.seen for bounds in seen.bounds_mpa]
    return max([*pulls, *(shop_interval_mpa(shop)[1] for shop in pooled.shops)])


def _write(axes: Axes, text: str, at: float) -> None:
    words = lines_of(text, letters=_LETTERS, lines=1)
    behind = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}
    axes.text(0.0, at, words, transform=axes.get_yaxis_transform(), va="center", fontsize=9.0, bbox=behind)


def _draw_shop(axes: Axes, each: PooledCombination, shop: ShopMean, at: float) -> None:
    seen = next((seen.bounds_mpa for seen in each.seen if seen.shop == shop.shop), ())
    for mark in (PULL, STEP, HELD, HANDLED):
        places = [drawn_at_mpa(bounds) for bounds in seen if pull_mark(bounds) is mark]
        shape = "|" if mark is STEP else mark.shape
        axes.plot(places, [at] * len(places), linestyle="", marker=shape, markersize=7, color=mark.colour,
                  markerfacecolor=mark.face, markeredgewidth=1.4, zorder=2)  # fmt: skip
    axes.plot(shop_interval_mpa(shop), [at, at], color=SHOP.colour, linewidth=SHOP.stroke, zorder=3)
    axes.plot([shop.median_mpa], [at], marker=SHOP.shape, markersize=6, color=SHOP.colour, zorder=4)


def _draw_together(axes: Axes, pooled: PooledShops, rows: int) -> None:
    axes.axhline(rows + 0.05, color=MUTED, linewidth=0.8)
    for place, effect in enumerate(pooled.effects):
        at = rows - place - 0.3
        _write(axes, BETWEEN_WORDS[effect.between], at)
        ends = [math.exp(effect.lower), math.exp(effect.upper)]
        axes.plot(ends, [at - 0.35] * 2, color=TOGETHER.colour, linewidth=TOGETHER.stroke, zorder=3)
        axes.plot([math.exp(effect.mean)], [at - 0.35], marker=TOGETHER.shape, markersize=7, color=TOGETHER.colour,
                  zorder=4)  # fmt: skip
