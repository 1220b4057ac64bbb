"""The chance a plan succeeds, by the number of specimens, with the plan's own marked."""

from __future__ import annotations

from jointlab.plan.values import SeeDifference, TestPlan
from jointlab.publish.drawing import BLUE, INK, MUTED, PAPER, RUST, ImageForm, drawn, inked
from jointlab.publish.wording import rounded

_HEIGHT_IN = 3.6
_TOP = 1.04
_CLIMB = 0.25  # a curve that starts so far below leaves room above its left end, another below its right end


def power_figure(plan: TestPlan, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Chance of success against specimens of each combination, should what was supposed be true, as an image.

    The dashed line is the chance asked for, the large mark is the plan.
    """
    import seaborn as sns

    specimens = [point.specimens for point in plan.curve]
    with inked(height_in=_HEIGHT_IN) as figure:
        axes = figure.add_axes((0.15, 0.17, 0.81, 0.66))
        sns.lineplot(
            x=specimens, y=[point.chance for point in plan.curve], ax=axes, color=BLUE, linewidth=2.2, marker="o",
            markersize=5, markeredgecolor=PAPER,
        )  # fmt: skip
        axes.axhline(plan.wish.chance, color=MUTED, linewidth=1.2, linestyle=(0, (4.0, 3.0)))
        climbing = plan.curve[0].chance < plan.wish.chance - _CLIMB
        axes.text(
            specimens[0 if climbing else -1], plan.wish.chance + (0.015 if climbing else -0.02),
            f"asked for: {plan.wish.chance:.0%}", ha="left" if climbing else "right",
            va="bottom" if climbing else "top", color=MUTED, fontsize=9.5,
        )  # fmt: skip
        axes.plot([plan.specimens_each], [plan.chance], "D", color=RUST, markersize=11, markeredgecolor=INK, zorder=5)
        axes.annotate(
            f"the plan: {plan.specimens_each} each, {plan.chance:.0%}", (plan.specimens_each, plan.chance),
            xytext=(0.97, 0.06), textcoords="axes fraction", ha="right", va="bottom", fontweight="bold", fontsize=10.0,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 2.0},
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 1.0, "shrinkB": 7.0}, zorder=4,
        )  # fmt: skip
        axes.set_ylim(0.0, _TOP)
        axes.set_yticks([0.0, 0.2, 0.4, 0.6, 0.8, 1.0], ["0", "20 %", "40 %", "60 %", "80 %", "100 %"])
        axes.set_xlabel(f"specimens of each combination, in {len(plan.glue_ups)} glue-ups")
        axes.set_ylabel("")
        axes.grid(axis="both")
        axes.tick_params(axis="both", length=3)
        figure.text(0.03, 0.98, _asked(plan), ha="left", va="top", fontsize=10.5, fontweight="bold", linespacing=1.35)
        return drawn(figure, form)


def _asked(plan: TestPlan) -> str:
    wish = plan.wish
    if isinstance(wish, SeeDifference):
        return f"Chance to see a difference of {wish.ratio - 1.0:.0%}\nif joints spread by {wish.log_sd:.0%}"
    return (
        f"Chance to show {rounded(wish.required_mpa)} MPa if the median\n"
        f"is {rounded(wish.expected_mpa)} MPa and joints spread by {wish.log_sd:.0%}"
    )
