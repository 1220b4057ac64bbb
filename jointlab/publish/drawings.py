"""The drawings of a publication, each drawn once: page, PDF and figures beside them show the same bytes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from jointlab.publish.demand_figure import demand_figure
from jointlab.publish.envelope_figure import envelope_figure
from jointlab.publish.grab_figure import grab_figure
from jointlab.publish.mount_figure import mount_figure
from jointlab.publish.probability_figure import probability_figure
from jointlab.publish.publication import Publication
from jointlab.publish.strengths_figure import strengths_figure


@dataclass(frozen=True, slots=True)
class Drawings:
    """SVG of a publication's figures, drawn when first asked for and then kept; mounts and plots count from 0."""

    publication: Publication
    _kept: dict[tuple[str, int], bytes] = field(default_factory=dict)

    def _once(self, kind: str, number: int, draw: Callable[[], bytes]) -> bytes:
        if (kind, number) not in self._kept:
            self._kept[kind, number] = draw()
        return self._kept[kind, number]

    def strengths(self) -> bytes:
        """Every pull by combination."""
        whole = self.publication
        return self._once("strengths", 0, lambda: strengths_figure(whole.pulls, whole.strengths))

    def plot(self, number: int) -> bytes:
        """A probability plot."""
        return self._once("plot", number, lambda: probability_figure(self.publication.plots[number]))

    def grab(self, number: int) -> bytes:
        """The grab a mount stands."""
        return self._once("grab", number, lambda: grab_figure(self.publication.mounts[number]))

    def section(self, number: int) -> bytes:
        """The section through a mount."""
        mount = self.publication.mounts[number]
        governing = mount.verdict.governing_link
        return self._once("section", number, lambda: mount_figure(mount.setup, governing_link=governing))

    def demand(self, number: int) -> bytes | None:
        """What is asked of each link of a mount; None where nothing is."""
        mount = self.publication.mounts[number]
        return self._once("demand", number, lambda: demand_figure(mount)) if mount.demand.links else None

    def envelope(self, number: int) -> bytes | None:
        """What other sizes of a mount would stand; None where that was not asked."""
        mount = self.publication.mounts[number]
        if not mount.envelope:
            return None
        return self._once("envelope", number, lambda: envelope_figure(mount.setup, mount.envelope))
