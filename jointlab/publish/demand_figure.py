"""Demand against strength: what each case asks of each link, and what the link is relied on for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from jointlab.mount.demand import Case, LinkDemand, ScrewDemand
from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, ImageForm, drawn, inked, lines_of, quiet_axis
from jointlab.publish.publication import PublishedMount
from jointlab.publish.wording import CASE_WORDS, link_words, listed, rounded
from jointlab.verdict.values import LinkVerdict, ScrewStrength

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_CASE_IN, _TITLE_IN, _AXIS_IN, _LINE_IN, _FOOT_IN = 0.25, 0.42, 0.5, 0.18, 0.42


@dataclass(frozen=True, slots=True)
class DemandPanel:
    """One kind of demand on one link: a bar for each case, and the strength relied on in the governing case."""

    kind: str
    unit: str
    cases: tuple[tuple[Case, float], ...]
    relied_on: float | None
    links: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What is asked of which links, in lines that fit."""
        return lines_of(f"{listed(list(self.links))}: {self.kind}, {self.unit}", letters=37)

    @property
    def title_in(self) -> float:
        """Height the title needs."""
        return _TITLE_IN + _LINE_IN * self.title.count("\n")

    @property
    def height_in(self) -> float:
        """Height the panel needs."""
        return _TITLE_IN + _LINE_IN * self.title.count("\n") + _CASE_IN * len(self.cases) + _AXIS_IN


def demand_panels(mount: PublishedMount) -> tuple[DemandPanel, ...]:
    """The panels of the figure; links that are asked the same and carry the same share one."""
    verdicts = {link.link: link for link in mount.verdict.links}
    shared: dict[DemandPanel, list[str]] = {}
    for link in dict.fromkeys(demand.link for demand in mount.demand.links):
        demands = [demand for demand in mount.demand.links if demand.link == link]
        for panel in _panels_of(demands, verdicts.get(link)):
            shared.setdefault(panel, []).append(link_words(link))
    return tuple(replace(panel, links=tuple(links)) for panel, links in shared.items())


def _panels_of(demands: list[LinkDemand], verdict: LinkVerdict | None) -> Iterator[DemandPanel]:
    strength = None if verdict is None else verdict.strength
    if isinstance(demands[0].demand, ScrewDemand):
        relied_on = strength.withdrawal_n if isinstance(strength, ScrewStrength) else None
        yield DemandPanel("pulled out", "N a screw", _bars(demands, "withdrawal_n"), relied_on)
        return
    tension = None if strength is None or isinstance(strength, ScrewStrength) else strength.tension_mpa
    shear = None if strength is None or isinstance(strength, ScrewStrength) else strength.shear_mpa
    yield DemandPanel("tension", "MPa", _bars(demands, "tension_mpa"), tension)
    yield DemandPanel("shear", "MPa", _bars(demands, "shear_mpa"), shear)


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
    axes = figure.add_axes((0.26, top - (panel.title_in + bars_in) / height_in, 0.71, bars_in / height_in))
    figure.text(0.02, top - 0.12 / height_in, panel.title, va="top", fontweight="bold")
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
