"""What a page, a PDF, a figure or a data package is made from: finished values, gathered by the caller.

Nothing is computed in this room, and nothing is read from a clock: the date, the program's version and every number
come in as they are to be shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.mount.demand import MountDemand
from jointlab.mount.setup import MountSetup
from jointlab.pool.values import FieldEntry
from jointlab.publish.cautions import STANDING_CAUTIONS, CautionGroup
from jointlab.record.finding import Finding, FindingCode
from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action
from jointlab.sources import Source
from jointlab.strength.band import Band
from jointlab.strength.values import CombinationStrength, Family, WorkingBound
from jointlab.stress.joint_stress import JointStress
from jointlab.verdict.operating import OperatingLine
from jointlab.verdict.values import Verdict

FloatArray = npt.NDArray[np.float64]


NEVER_A_PASS = frozenset({FindingCode.FEW_PULLS, FindingCode.ONE_BATCH})
"""Findings that do not block a bound, but keep a mount from ever passing on it."""


def held_open(findings: Iterable[Finding]) -> bool:
    """Whether a bound with these findings must not be shown as one that can be relied on."""
    return any(finding.blocks or finding.code in NEVER_A_PASS for finding in findings)


@dataclass(frozen=True, slots=True)
class PublishedPull:
    """A pull as it was recorded, with the bounds on its strength and the questions asked of it."""

    pull: Pull
    stress: JointStress
    findings: tuple[Finding, ...] = ()

    @property
    def excluded(self) -> bool:
        """Whether it is shown but not used."""
        return self.pull.excluded_because is not None or not self.stress.carries_information


@dataclass(frozen=True, slots=True)
class PlottedBreak:
    """Where one pull stands on a probability plot: its strength [MPa] and its estimated share of weaker joints.

    ``upper_mpa`` None: it held; ``probability`` None: it held, and is marked on the axis only.
    """

    lower_mpa: float
    upper_mpa: float | None
    probability: float | None


@dataclass(frozen=True, slots=True)
class FittedCurve:
    """A fitted family drawn through a plot: share of weaker joints at each stress [MPa], both of shape (m,)."""

    family: Family
    stress_mpa: FloatArray
    probability: FloatArray


@dataclass(frozen=True, slots=True)
class ProbabilityPlot:
    """Plotting positions and fitted curves of one combination under one action, from the strength room.

    ``findings`` are those of the combination's strength: they may hold its bound open. ``band``: limits of the share of
    weaker joints that hold at every stress at once.
    """

    combination: Combination
    action: Action
    positions: tuple[PlottedBreak, ...]
    curves: tuple[FittedCurve, ...]
    working_bound: WorkingBound | None = None
    findings: tuple[Finding, ...] = ()
    band: Band | None = None


@dataclass(frozen=True, slots=True)
class PublishedMount:
    """A mount that was asked about: what it is, what the lathe asks of it, and the answer.

    ``envelope``: what other sizes would stand, when that was asked too.
    """

    name: str
    setup: MountSetup
    demand: MountDemand
    verdict: Verdict
    envelope: tuple[OperatingLine, ...] = ()


@dataclass(frozen=True, slots=True)
class MethodNote:
    """How a kind of number on the page was got: a title, a sentence or two, and the sources used for it."""

    title: str
    text: str
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True, slots=True)
class Publication:
    """Everything one publication says.

    Parameters
    ----------
    title
        Heading of the page.
    dated_on
        ISO date the caller gives the publication.
    program_version
        Version of jointlab that computed the numbers.
    pulls
        Every pull, the excluded ones too, in the order to be shown.
    strengths
        One entry for each combination and action.
    mounts
        Mounts that were asked about, each with its verdict; may be empty.
    plots, plots_left_out
        Probability plots, may be empty; and how many more there would be.
    methods
        Notes on the methods used; ``methods_used`` makes them.
    question
        What was asked, in the shop's words; None: the page words it from the pulls.
    shop
        Name of the shop, only if the shop wants it known.
    provenance
        Where the pulls come from, such as "Invented for this demonstration."; None: the shop's own bench.
    licence
        Licence of the published data.
    cautions
        Cautions printed at the end.
    pulls_file
        Name of a file beside the page that holds every pull; None when there is none.
    descriptor_file
        Name of the file beside the page that describes the whole package; None when there is none.
    field
        How the shop's mounts of these combinations went, without names.
    photos
        Names of photos the shop chose to show, in the folder beside the page.
    """

    title: str
    dated_on: str
    program_version: str
    pulls: tuple[PublishedPull, ...]
    strengths: tuple[CombinationStrength, ...]
    mounts: tuple[PublishedMount, ...] = ()
    plots: tuple[ProbabilityPlot, ...] = ()
    methods: tuple[MethodNote, ...] = ()
    question: str | None = None
    shop: str | None = None
    provenance: str | None = None
    licence: str = "CC-BY-4.0"
    cautions: tuple[CautionGroup, ...] = STANDING_CAUTIONS
    pulls_file: str | None = None
    descriptor_file: str | None = None
    field: tuple[FieldEntry, ...] = ()
    plots_left_out: int = 0
    photos: tuple[str, ...] = ()

    @property
    def sources(self) -> tuple[Source, ...]:
        """Every source of a method, a factor or a verdict on the page, each once, in the order of use."""
        used = [source for note in self.methods for source in note.sources]
        for mount in self.mounts:
            used.extend(mount.verdict.sources)
            used.extend(factor.source for factor in mount.verdict.factors)
        return tuple(dict.fromkeys(used))
