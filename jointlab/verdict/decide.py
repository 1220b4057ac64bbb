"""The decision: capacity against demand, with everything it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jointlab.errors import InputError, Problem
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.screws import screw_withdrawal_n
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_findings import setup_findings
from jointlab.record.finding import Finding
from jointlab.sources import Source, cited
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import Assessment, assess
from jointlab.verdict.blank_joints import blank_joint_factors, blank_joint_findings, blank_joint_ways
from jointlab.verdict.blocking import evidence_findings, mount_findings, no_pulls, proof_first
from jointlab.verdict.capacity import Capacity
from jointlab.verdict.chance import pull_ways
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS, SHEAR_SHARE_PANEL, Evidence
from jointlab.verdict.factors import changed_loads
from jointlab.verdict.families import families_of
from jointlab.verdict.rule import Interaction, outcome_of
from jointlab.verdict.spending import Look, look_findings
from jointlab.verdict.stands import stands_n
from jointlab.verdict.substrate import kinds_of, shear_share_of
from jointlab.verdict.values import Outcome, Verdict, WayOut
from jointlab.verdict.wording import cautions_of, no_way_reasons, proof_reasons, reasons_of, relaxed_reasons, scope_of
from jointlab.verdict.would_settle import twist_way, ways_out

LEVEL_TOLERANCE = 1e-9


def decide(
    setup: MountSetup,
    evidence: Evidence | None,
    *,
    confidence_spent: float | None = None,
    look: Look | None = None,
    nearest: Sequence[str] = (),
    proofed: float | None = None,
) -> Verdict:
    """Whether the mount may be turned under the stated criteria: pass, fail or undecided, with reasons.

    Parameters
    ----------
    setup
        The mount.
    evidence
        What the shop's own pulls of its combination say, bounded at ``1 - confidence_spent``; None: there is none.
    confidence_spent
        Share of 1 - confidence that this look uses; when None, that of ``look``, or all of it without one.
    look
        Which look at the evidence this is, as the shop book has it; None: it is not kept account of.
    nearest
        Names of combinations near the one asked, shown when there is no evidence.
    proofed
        Times the named catch at which this very mount was proof-loaded and held; None: it was not.

    Returns
    -------
    Verdict
        With the margin of every link, the factors, reasons, what would settle it, scope, cautions and findings.

    Raises
    ------
    InputError
        The evidence was bounded at another coverage or confidence than this look asks.
    """
    spent = _spent(setup, confidence_spent, look)
    _check_level(setup, evidence, spent)
    demand = mount_demand(setup)
    capacity = mount_capacity(setup, evidence)
    assessment = assess(demand.links, setup=setup, capacity=capacity)
    of_look = (
        look_findings(look, confidence=setup.criteria.confidence) if look is not None and evidence is not None else ()
    )
    findings = _each_once([*_findings(setup, evidence, capacity, nearest, proofed), *of_look])
    outcome = outcome_of(
        margin_lower=assessment.margin_lower,
        margin_upper=assessment.margin_upper,
        required=setup.criteria.margin,
        pulls=evidence.n_usable if evidence else 0,
        batches=evidence.n_batches if evidence else 0,
        all_rated=assessment.all_rated,
        blocked=any(finding.blocks for finding in findings),
    )
    if outcome is Outcome.PASS and evidence is not None:
        findings = (*proof_first(setup, evidence, proofed=proofed), *findings)
    ways = _ways(outcome, setup, evidence, assessment, look)
    return Verdict(
        verdict=outcome,
        relaxed=bool(setup.criteria.relaxed),
        criteria=setup.criteria,
        confidence_spent=spent,
        margin_lower=assessment.margin_lower,
        margin_upper=assessment.margin_upper,
        margin_required=setup.criteria.margin,
        governing_link=assessment.governing.link if assessment.governing else None,
        governing_case=assessment.governing.case if assessment.governing else None,
        stands_n=stands_n(setup, capacity),
        links=assessment.links,
        factors=(
            *(capacity.factors.table if capacity.factors else ()),
            *blank_joint_factors(setup, evidence),
            *changed_loads(setup),
        ),
        reasons=(
            *relaxed_reasons(setup, outcome),
            *reasons_of(outcome, assessment, evidence, required=setup.criteria.margin, findings=findings),
            *proof_reasons(setup, proofed),
            *no_way_reasons(outcome, ways),
        ),
        would_settle=ways,
        scope=scope_of(setup),
        cautions=cautions_of(setup, evidence),
        findings=findings,
        sources=_sources(setup, evidence, capacity),
    )


def _spent(setup: MountSetup, confidence_spent: float | None, look: Look | None) -> float:
    if confidence_spent is not None:
        return confidence_spent
    confidence = setup.criteria.confidence
    return 1.0 - confidence if look is None else look.spent(confidence)


def _check_level(setup: MountSetup, evidence: Evidence | None, spent: float) -> None:
    problems = []
    known = (evidence, *evidence.blank_joints) if evidence else ()
    for feed in [feed for each in known if each is not None for feed in each.feeds]:
        bound = feed.strength.working_bound
        asked = {"coverage": setup.criteria.coverage, "confidence": 1.0 - spent}
        for name, level in asked.items():
            given = bound.coverage if name == "coverage" else bound.confidence
            if abs(given - level) > LEVEL_TOLERANCE:
                told = f"the {feed.action} strength was bounded at {name} {given:g}: bound it at {level:g}"
                problems.append(Problem(told, column=f"criteria.{name}", value=f"{level:g}", allowed=f"{given:g}"))
    if problems:
        raise InputError(problems, subject="the evidence")


def _findings(
    setup: MountSetup,
    evidence: Evidence | None,
    capacity: Capacity,
    nearest: Sequence[str],
    proofed: float | None,
) -> tuple[Finding, ...]:
    families = families_of(setup, evidence)
    of_setup = setup_findings(setup, glue_family=families[0] if len(families) == 1 else None)
    found = [*of_setup, *mount_findings(setup)]
    if evidence is None:
        return _each_once([no_pulls(setup, nearest), *found])
    found += [*evidence_findings(setup, evidence, proofed=proofed), *evidence.findings]
    found += blank_joint_findings(setup, evidence)
    found += capacity.factors.findings if capacity.factors else ()
    found += [finding for feed in evidence.feeds for finding in feed.strength.findings]
    return _each_once(found)


def _each_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Blocking ones first; a milder finding of the same code that only repeats a blocking one is left out."""
    ordered = sorted(dict.fromkeys(findings), key=lambda finding: not finding.blocks)
    blocking = {finding.code for finding in ordered if finding.blocks}
    return tuple(finding for finding in ordered if finding.blocks or finding.code not in blocking)


def _ways(
    outcome: Outcome, setup: MountSetup, evidence: Evidence | None, assessment: Assessment, look: Look | None
) -> tuple[WayOut, ...]:
    if outcome is Outcome.PASS:
        return ()
    if evidence is None:
        return (WayOut(f"Test {setup.joint.combination}: five pries or more, in two glue-ups or more."),)
    ways = [*_more_tests(evidence), *blank_joint_ways(setup, evidence)]
    if assessment.margin_lower is not None:
        twist = twist_way(setup, evidence)
        ways += [*ways_out(setup, evidence), *([twist] if twist else [])]
        if assessment.margin_lower < setup.criteria.margin:
            spent_next = 1.0 - setup.criteria.confidence if look is None else look.spent_next(setup.criteria.confidence)
            # more pulls are another look: their chance is that of its own share, and there is none when none is left
            ways += () if spent_next is None else pull_ways(setup, evidence, confidence=1.0 - spent_next)
    return tuple(ways)


def _more_tests(evidence: Evidence) -> Iterable[WayOut]:
    missing = LEAST_PULLS - evidence.n_usable
    if missing > 0:
        yield WayOut(f"At least {missing} more usable pulls: a pass needs {LEAST_PULLS}.")
    if evidence.n_batches < LEAST_BATCHES:
        yield WayOut(f"Pulls from another glue-up: a pass needs {LEAST_BATCHES}.")


def _sources(setup: MountSetup, evidence: Evidence | None, capacity: Capacity) -> tuple[Source, ...]:
    keys = ["mechanics", "judgement", "trade"]
    if evidence is not None and capacity.factors is not None:
        keys += [factor.source.key for factor in capacity.factors.table]
        if capacity.interaction is Interaction.QUADRATIC:
            keys.append("norris")
        if evidence.shear is None:
            panel = shear_share_of(kinds_of(setup, evidence)) == SHEAR_SHARE_PANEL
            keys.append("gougeon_laminate" if panel else "rolling_shear")
    keys += screw_withdrawal_n(setup).sources
    return cited(*keys)
