"""A publication of hand-made values: nothing is computed, so that what a page shows can be known beforehand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from jointlab.mount.demand import (
    Actions,
    Case,
    CaseDemand,
    LinkDemand,
    MountDemand,
    ScrewDemand,
    StressDemand,
)
from jointlab.mount.setup import Blank, Block, Criteria, Lathe, MountJoint, MountSetup, Screws, Work
from jointlab.publish.publication import (
    FittedCurve,
    MethodNote,
    PlottedBreak,
    ProbabilityPlot,
    Publication,
    PublishedMount,
    PublishedPull,
)
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, BrokeAt, Outcome
from jointlab.sources import cited
from jointlab.strength.values import CombinationStrength, Family, LowerBound, Method, StrengthFit, WorkingBound
from jointlab.stress.joint_stress import JointStress
from jointlab.verdict.values import (
    Basis,
    Factor,
    LinkVerdict,
    ScrewStrength,
    StressStrength,
    Verdict,
    WayOut,
)
from jointlab.verdict.values import Outcome as Answer

MAPLE = Combination("yellow glue", "maple")
PLY = Combination("yellow glue", "plywood", "sanded")


def pull_of(specimen, *, combination=MAPLE, outcome=Outcome.BROKE, lower, upper, batch="A", **more):
    """A pried disc of 50 mm; the load is only there to be shown."""
    pull = Pull(
        batch=batch,
        specimen=specimen,
        tested_on="2026-01-17",
        joint=Joint(combination, Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=150.0, arm_mm=300.0),
        outcome=outcome,
        broke=Break(broke_at=more.pop("broke_at", BrokeAt.GLUE_LINE)),
        conditions=Conditions(cure_h=168.0),
        excluded_because=more.pop("excluded_because", None),
        notes=more.pop("notes", None),
    )
    return PublishedPull(pull, JointStress(batch, specimen, lower, upper, 0.05), more.pop("findings", ()))


def strength_of(combination, *, bound_mpa, upper_mpa=None, findings=(), n=5, n_held=1):
    """What a combination's pulls say, as given."""
    working = WorkingBound(bound_mpa, upper_mpa, "working 1", 0.95, 0.95)
    return CombinationStrength(
        combination=combination,
        action=Action.PRY,
        n=n,
        n_broke=n - n_held,
        n_held=n_held,
        n_usable=n,
        batches=2,
        batch_names=("A", "B"),
        families=(
            StrengthFit(Family.WEIBULL, (("shape", 6.5), ("scale_mpa", 4.25)), -7.125, 20.5),
            StrengthFit(Family.NORMAL, (), None, None, ill="every break has the same value"),
        ),
        bounds=(
            LowerBound(Method.HANSON_KOOPMANS, None, 0.95, 0.95, 1.875),
            LowerBound(Method.NONCENTRAL_T, Family.NORMAL, 0.95, 0.95, None, "needs every strength to be seen exactly"),
            LowerBound(Method.WORKING, None, 0.95, 0.95, bound_mpa),
        ),
        working_bound=working,
        findings=findings,
    )


def demand_of(factor: float) -> MountDemand:
    """Demand on glue line and screws that grows case by case."""
    sizes = dict(zip(Case, (0.01, 0.02, 0.2, 0.1, 0.4, 0.8), strict=True))
    links = [
        LinkDemand(name, case, demand, demand)
        for name in ("glue_line", "screws")
        for case, size in sizes.items()
        for demand in [
            StressDemand(size * factor, size * factor / 2)
            if name == "glue_line"
            else ScrewDemand(1000 * size * factor, 300 * size * factor)
        ]
    ]
    cases = [
        CaseDemand(case, Actions(0.0, 0.0, 0.0, 0.0), StressDemand(size, size / 2), 600.0, 100.0)
        for case, size in sizes.items()
    ]
    return MountDemand(tuple(cases), tuple(links))


def mount_of(answer=Answer.PASS, *, stands_n=2340.0, name="bowl", relaxed=False) -> PublishedMount:
    """A mount with an answer, both margins, a factor, a reason, a way out and a finding."""
    criteria = Criteria(margin=1.2 if relaxed else 1.5)
    setup = MountSetup(
        blank=Blank(250.0, 80.0, 2.2, 40.0, 5.0),
        joint=MountJoint(MAPLE, Disc(130.0), 168.0),
        block=Block(38.0, wood="sugar maple"),
        lathe=Lathe(600.0, 1100.0, 0.008),
        work=Work(80.0, 62.5),
        screws=Screws(6, 100.0, 5.5, 30.0),
        criteria=criteria,
    )
    glue = LinkVerdict(
        "glue_line", Case.CATCH_SEVERE, StressDemand(0.8, 0.4), StressStrength(1.96, 2.1), 2.25, 2.75, Basis.TESTS
    )
    screws = LinkVerdict(
        "screws", Case.CATCH_SEVERE, ScrewDemand(800.0, 240.0), ScrewStrength(4170.0), 5.21, 5.21, Basis.SOURCE
    )
    verdict = Verdict(
        verdict=answer,
        relaxed=relaxed,
        criteria=criteria,
        confidence_spent=0.05,
        margin_lower=2.25,
        margin_upper=2.75,
        margin_required=criteria.margin,
        governing_link="glue_line",
        governing_case=Case.CATCH_SEVERE,
        stands_n=stands_n,
        links=(glue, screws),
        factors=(Factor("size_tension", 0.682, cited("barrett_1974")[0], "a larger bond"),),
        reasons=("The lower margin reaches what is asked.",),
        would_settle=(WayOut("A joint of 140 mm would settle it.", (("joint.diameter_mm", 140.0),)),),
        scope="For this glue-up.",
        cautions=("Stand clear of the plane.",),
        findings=(Finding(FindingCode.NOT_COMPARED, Severity.NOTE, "Moisture was not compared."),),
        sources=cited("norris"),
    )
    return PublishedMount(name, setup, demand_of(1.0), verdict)


def plot_of() -> ProbabilityPlot:
    """Four positions, one of each kind, and one curve."""
    stress_mpa = np.linspace(0.1, 6.0, 50)
    curve = FittedCurve(Family.WEIBULL, stress_mpa, 1.0 - np.exp(-((stress_mpa / 4.25) ** 6.5)))
    positions = (
        PlottedBreak(0.0, 0.24, 0.1),
        PlottedBreak(3.5, 3.5, 0.3),
        PlottedBreak(3.75, 4.0, 0.5),
        PlottedBreak(5.0, None, None),
    )
    return ProbabilityPlot(MAPLE, Action.PRY, positions, (curve,), WorkingBound(1.5, 3.0, "working 1", 0.95, 0.95))


def publication_of(**changes) -> Publication:
    """Pulls of every kind, two combinations, a mount and a plot."""
    question = Finding(FindingCode.NEAR_CAP, Severity.QUESTION, "Did it hold?")
    blocking = Finding(FindingCode.BATCHES_NOT_COUNTED, Severity.BLOCKING, "Glue-ups are not counted.")
    values = {
        "title": "What holds a bowl",
        "dated_on": "2026-03-01",
        "program_version": "0.1.0",
        "pulls": (
            pull_of("1", lower=3.5, upper=3.5),
            pull_of("2", lower=4.5, upper=4.5, batch="B", findings=(question,)),
            pull_of("3", lower=5.0, upper=None, outcome=Outcome.HELD, broke_at=BrokeAt.BAR),
            pull_of("4", lower=3.75, upper=4.0, outcome=Outcome.STEP, batch="B"),
            pull_of("5", lower=0.0, upper=0.24, outcome=Outcome.HANDLED),
            pull_of("6", lower=2.0, upper=2.0, excluded_because="clamp fell off"),
            pull_of("7", combination=PLY, lower=2.2, upper=2.2),
        ),
        "strengths": (
            strength_of(MAPLE, bound_mpa=1.5, upper_mpa=3.0),
            strength_of(PLY, bound_mpa=None, findings=(blocking,), n=1, n_held=0),
        ),
        "mounts": (mount_of(),),
        "plots": (plot_of(),),
        "methods": (MethodNote("From load to stress", "Force over area.", cited("mechanics")),),
    }
    return Publication(**(values | changes))


@pytest.fixture(scope="session")
def made() -> SimpleNamespace:
    """The makers of hand-made values, for tests that change some of them."""
    return SimpleNamespace(
        MAPLE=MAPLE,
        PLY=PLY,
        demand_of=demand_of,
        mount_of=mount_of,
        plot_of=plot_of,
        publication_of=publication_of,
        pull_of=pull_of,
        strength_of=strength_of,
    )
