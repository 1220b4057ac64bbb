"""Demand against strength: what each case asks of each link, and what the link is relied on for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jointlab.mount.demand import Case, LinkDemand, ScrewDemand
from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, ImageForm, drawn, inked, quiet_axis
from jointlab.publish.publication import PublishedMount
from jointlab.publish.wording import CASE_WORDS, link_words, rounded
from jointlab.verdict.values import LinkVerdict, ScrewStrength

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_CASE_IN, _TITLE_IN, _AXIS_IN, _FOOT_IN = 0.25, 0.42, 0.52, 0.5


@dataclass(frozen=True, slots=True)
class DemandPanel:
    """One kind of demand on one link: a bar for each case, and the strength relied on in the governing case."""

    title: str
    unit: str
    cases: tuple[tuple[Case, float], ...]
    relied_on: float | None

    @property
    def height_in(self) -> float:
        """Height the panel needs."""
        return _TITLE_IN + _CASE_IN * len(self.cases) + _AXIS_IN


def demand_panels(mount: PublishedMount) -> tuple[DemandPanel, ...]:
    """The panels of the figure, link by link."""
    verdicts = {link.link: link for link in mount.verdict.links}
    links = dict.fromkeys(demand.link for demand in mount.demand.links)
    return tuple(
        panel
        for link in links
        for panel in _panels_of(
            link, [demand for demand in mount.demand.links if demand.link == link], verdicts.get(link)
        )
    )


def _panels_of(link: str, demands: list[LinkDemand], verdict: LinkVerdict | None) -> Iterator[DemandPanel]:
    strength = None if verdict is None else verdict.strength
    if isinstance(demands[0].demand, ScrewDemand):
        relied_on = strength.withdrawal_n if isinstance(strength, ScrewStrength) else None
        yield DemandPanel(f"{link_words(link)}, pulled out", "N a screw", _bars(demands, "withdrawal_n"), relied_on)
        return
    tension = None if strength is None or isinstance(strength, ScrewStrength) else strength.tension_mpa
    shear = None if strength is None or isinstance(strength, ScrewStrength) else strength.shear_mpa
    yield DemandPanel(f"{link_words(link)}, tension", "MPa", _bars(demands, "tension_mpa"), tension)
    yield DemandPanel(f"{link_words(link)}, shear", "MPa", _bars(demands, "shear_mpa"), shear)


def _bars(demands: list[LinkDemand], quantity: str) -> tuple[tuple[Case, float], ...]:
    return tuple((demand.case, float(getattr(demand.demand, quantity))) for demand in demands)


def asked(case: Case, catch: CatchClass) -> bool:
    """Whether the verdict asks this case: every steady one, and the catch of the criteria."""
    return case.steady or case == f"catch_{catch}"


def demand_figure(mount: PublishedMount, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """What the lathe asks of every link of a mount, beside what the link is relied on for, as an image.

    Full bars are the cases the verdict asks, hollow ones are shown only. The strength is that of the governing case.
    """
    panels = demand_panels(mount)
    height_in = sum(panel.height_in for panel in panels) + _FOOT_IN
    with inked(height_in=height_in) as figure:
        top = height_in
        for panel in panels:
            _draw_panel(figure, panel, top / height_in, height_in, mount.setup.criteria.catch)
            top -= panel.height_in
        _draw_legend(figure)
        return drawn(figure, form)


def _draw_panel(figure: Figure, panel: DemandPanel, top: float, height_in: float, catch: CatchClass) -> None:
    bars_in = _CASE_IN * len(panel.cases)
    axes = figure.add_axes((0.235, top - (_TITLE_IN + bars_in) / height_in, 0.735, bars_in / height_in))
    figure.text(0.02, top - 0.12 / height_in, f"{panel.title}, {panel.unit}", va="top", fontweight="bold")
    longest = max([demand for _, demand in panel.cases] + [panel.relied_on or 0.0])
    for place, (case, demand) in enumerate(panel.cases):
        full = asked(case, catch)
        axes.barh(
            -place, demand, height=0.62, color=BLUE if full else PAPER, edgecolor=BLUE if full else MUTED, linewidth=1.0
        )
        axes.text(
            demand + 0.015 * longest, -place, rounded(demand), va="center", fontsize=9.5,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}, zorder=5,
        )  # fmt: skip
        axes.text(
            -0.02, -place, CASE_WORDS[case], transform=axes.get_yaxis_transform(), va="center", ha="right",
            fontsize=9.5,
        )  # fmt: skip
    _draw_relied_on(axes, panel)
    axes.set_ylim(-len(panel.cases) + 0.4, 0.6)
    quiet_axis(axes, label="")
    axes.set_xlim(0.0, 1.16 * longest or 1.0)
    axes.axvline(0.0, color=LINE, linewidth=1.2)


def _draw_relied_on(axes: Axes, panel: DemandPanel) -> None:
    if panel.relied_on is not None:
        axes.axvline(panel.relied_on, color=INK, linewidth=3.0, zorder=4)


def _draw_legend(figure: Figure) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [
        Patch(facecolor=BLUE, edgecolor=BLUE, label="asked"),
        Patch(facecolor=PAPER, edgecolor=MUTED, label="shown only"),
        Line2D([], [], color=INK, linestyle="none", marker="|", markersize=12, markeredgewidth=3.0, label="relied on"),
    ]
    figure.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(0.02, 0.01), ncols=3, borderpad=0.2, borderaxespad=0.0,
        handlelength=1.4, columnspacing=1.4,
    )  # fmt: skip
