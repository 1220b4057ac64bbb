"""From the rooms' values to the JSON documents of the contract."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from jointlab.app.documents import (
    BoundPart,
    CasePart,
    ChangePart,
    CombinationPart,
    CriteriaPart,
    DecideDocument,
    DescribedDocument,
    DescribedPart,
    ErrorDocument,
    ErrorPart,
    FacePart,
    FactorPart,
    FamilyPart,
    FindingPart,
    ForetellingDocument,
    ForetoldPart,
    LinkDemandPart,
    LinkFitPart,
    LinkPart,
    MountDocument,
    ProblemPart,
    PullPart,
    PullsDocument,
    RunoutDocument,
    ScrewPair,
    StrengthDocument,
    StressPair,
    StressPart,
    TargetDocument,
    WayOutPart,
    WorkingBoundPart,
)
from jointlab.errors import InputError, JointlabError
from jointlab.record.finding import Finding
from jointlab.record.row import row_of

if TYPE_CHECKING:
    from jointlab.app.describing import Described
    from jointlab.app.fit_ups import ReadAgain
    from jointlab.app.foretelling import Foretold
    from jointlab.app.workflow import ReadPull
    from jointlab.mount.demand import CaseDemand, MountDemand
    from jointlab.mount.fit_up import FitUp
    from jointlab.strength.values import CombinationStrength, StrengthFit
    from jointlab.verdict.target import Target
    from jointlab.verdict.values import LinkVerdict, Verdict, WayOut


def error_document(error: JointlabError) -> ErrorDocument:
    """What was wrong."""
    problems = error.problems if isinstance(error, InputError) else ()
    parts = tuple(
        ProblemPart(
            row=problem.row,
            column=problem.column,
            value=problem.value,
            allowed=problem.allowed,
            message=problem.message,
        )
        for problem in problems
    )
    return ErrorDocument(error=ErrorPart(kind=error.kind, message=str(error), problems=parts))


def finding_parts(findings: Iterable[Finding]) -> tuple[FindingPart, ...]:
    """Findings as they are shown."""
    return tuple(FindingPart(code=found.code, severity=found.severity, text=found.text) for found in findings)


def pulls_document(pulls: Iterable[ReadPull]) -> PullsDocument:
    """Pulls with every column in SI, and the bounds on their strength."""
    return PullsDocument(pulls=tuple(_pull_part(read) for read in pulls))


def pulls_text(pulls: Iterable[ReadPull]) -> Iterator[str]:
    """The JSON of ``pulls_document`` piece by piece, without ever holding all of them."""
    opening, closing = PullsDocument(pulls=()).model_dump_json().split("[]")
    yield opening + "["
    for number, read in enumerate(pulls):
        yield ("," if number else "") + _pull_part(read).model_dump_json()
    yield "]" + closing


def _pull_part(read: ReadPull) -> Any:
    return PullPart(
        id=read.stored.id,
        revision=read.stored.revision,
        **row_of(read.stored.pull).model_dump(),
        stress_mpa=StressPart(lower=read.stress.lower_mpa, upper=read.stress.upper_mpa),
        stress_u_mpa=read.stress.u_mpa,
        findings=finding_parts(read.findings),
    )


def strength_document(
    strengths: Sequence[CombinationStrength], foretold: Sequence[Foretold] = (), described: Sequence[Described] = ()
) -> StrengthDocument:
    """What each combination's pulls say, and what they foretell and describe where that was asked."""
    combinations = tuple(_combination_part(strength) for strength in strengths)
    if described:
        return DescribedDocument(
            combinations=combinations,
            foretold=tuple(_foretold_part(told) for told in foretold),
            described=tuple(_described_part(told) for told in described),
        )
    if not foretold:
        return StrengthDocument(combinations=combinations)
    return ForetellingDocument(combinations=combinations, foretold=tuple(_foretold_part(told) for told in foretold))


def _described_part(told: Described) -> DescribedPart:
    threshold, chain = told.threshold, told.chain
    return DescribedPart(
        glue=told.combination.glue,
        substrate=told.combination.substrate,
        preparation=told.combination.preparation,
        action=told.action,
        threshold_weibull=None
        if isinstance(threshold, str)
        else {
            "threshold_mpa": threshold.threshold_mpa,
            "shape": threshold.shape,
            "scale_mpa": threshold.scale_mpa,
        },
        links=tuple(
            LinkFitPart(broke_at=link.broke_at, broke=link.broke, parameters=dict(link.fit.parameters))
            for link in (chain.links if chain else ())
        ),
        chain_mpa=chain.chain_mpa if chain else None,
        joint_mpa=chain.joint_mpa if chain else None,
    )


def _foretold_part(told: Foretold) -> ForetoldPart:
    chance, shares = told.prediction, told.glue_ups
    return ForetoldPart(
        glue=told.combination.glue,
        substrate=told.combination.substrate,
        preparation=told.combination.preparation,
        action=told.action,
        stress_mpa=told.stress_mpa,
        next=told.following,
        next_holds=chance.next_holds if chance else None,
        all_hold=chance.all_hold if chance else None,
        within_sd=shares.within if shares else None,
        between_sd=shares.between if shares else None,
        ratio=shares.ratio.value if shares else None,
        ratio_low=shares.ratio.low if shares else None,
        ratio_high=shares.ratio.high if shares else None,
        bound_now_mpa=shares.bound_now_mpa if shares else None,
        bound_with_one_more_glue_up_mpa=shares.bound_with_one_more_mpa if shares else None,
    )


def _combination_part(strength: CombinationStrength) -> CombinationPart:
    working = strength.working_bound
    return CombinationPart(
        glue=strength.combination.glue,
        substrate=strength.combination.substrate,
        preparation=strength.combination.preparation,
        action=strength.action,
        n=strength.n,
        n_broke=strength.n_broke,
        n_held=strength.n_held,
        batches=strength.batches,
        families=tuple(_family_part(fit) for fit in strength.families),
        bounds=tuple(
            BoundPart(
                method=bound.method,
                family=bound.family,
                coverage=bound.coverage,
                confidence=bound.confidence,
                bound_mpa=bound.bound_mpa,
            )
            for bound in strength.bounds
        ),
        working_bound=WorkingBoundPart(
            bound_mpa=working.bound_mpa,
            upper_mpa=working.upper_mpa,
            method=working.method,
            coverage=working.coverage,
            confidence=working.confidence,
        ),
        findings=finding_parts((*strength.findings, *working.findings)),
    )


def _family_part(fit: StrengthFit) -> FamilyPart:
    return FamilyPart(
        family=fit.family,
        parameters=dict(fit.parameters),
        log_likelihood=fit.log_likelihood,
        aicc=fit.aicc,
        anderson_darling=fit.anderson_darling,
        p_value=fit.p_value,
    )


def mount_document(demand: MountDemand) -> MountDocument:
    """What the lathe asks of every link in every case."""
    return MountDocument(
        cases=tuple(_case_part(case) for case in demand.cases),
        links=tuple(LinkDemandPart(link=link.link, case=link.case, demand=_pair(link.demand)) for link in demand.links),
        findings=finding_parts(demand.findings),
    )


def _case_part(case: CaseDemand) -> CasePart:
    actions, stress = case.actions, case.stress
    return CasePart(
        case=case.case,
        moment_nmm=float(actions.moment_nmm),
        shear_n=float(actions.shear_n),
        torque_nmm=float(actions.torque_nmm),
        axial_n=float(actions.axial_n),
        tension_mpa=float(stress.tension_mpa),
        shear_mpa=float(stress.shear_mpa),
    )


def _pair(values: Any) -> StressPair | ScrewPair:
    if hasattr(values, "withdrawal_n"):
        return ScrewPair(withdrawal_n=_number(values.withdrawal_n), shear_n=_number(values.shear_n))
    return StressPair(tension_mpa=_number(values.tension_mpa), shear_mpa=_number(values.shear_mpa))


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def runout_document(face: ReadAgain) -> RunoutDocument:
    """How true a face is, and how it has changed."""
    change = face.change
    return RunoutDocument(
        **dict(_face_part(face.first)),
        again=None if face.again is None else _face_part(face.again),
        change=None
        if change is None
        else ChangePart(
            stage=change.stage,
            grown_mm=change.grown_mm,
            moved_mm=change.moved_mm,
            limit_mm=change.limit_mm,
            findings=finding_parts(change.findings),
        ),
    )


def _face_part(fit: FitUp) -> FacePart:
    return FacePart(
        readings=len(fit.readings.height_mm),
        tilt_mm=fit.tilt_mm,
        warp_mm=fit.warp_mm,
        runout_mm=fit.runout_mm,
        wobble_mm=fit.wobble_mm,
        high_at_deg=math.degrees(fit.high_at_rad),
        findings=finding_parts(fit.findings),
    )


def target_document(target: Target) -> TargetDocument:
    """What a coupon must hold."""
    return TargetDocument(
        required_mpa=target.required_mpa,
        hold_n=target.hold_n,
        average_n=target.average_n if math.isfinite(target.average_n) else None,
        coverage_shown=target.coverage_shown,
        run_needed=target.run_needed,
        arm_for_cap_mm=target.arm_for_cap_mm,
        sentences=target.sentences,
    )


def decide_document(verdict: Verdict) -> DecideDocument:
    """The answer and everything it rests on."""
    criteria = verdict.criteria
    return DecideDocument(
        verdict=verdict.verdict,
        relaxed=verdict.relaxed,
        criteria=CriteriaPart(
            coverage=criteria.coverage,
            confidence=criteria.confidence,
            confidence_spent=verdict.confidence_spent,
            margin=criteria.margin,
            catch=criteria.catch,
        ),
        margin_lower=verdict.margin_lower,
        margin_upper=verdict.margin_upper,
        margin_required=verdict.margin_required,
        governing_link=verdict.governing_link,
        governing_case=verdict.governing_case,
        stands_n=verdict.stands_n,
        links=tuple(_link_part(link) for link in verdict.links),
        factors=tuple(
            FactorPart(name=factor.name, value=factor.value, source=factor.source.text) for factor in verdict.factors
        ),
        reasons=verdict.reasons,
        would_settle=tuple(WayOutPart(text=way.text, set=settings_of(way)) for way in verdict.would_settle),
        scope=verdict.scope,
        cautions=verdict.cautions,
        findings=finding_parts(verdict.findings),
    )


def settings_of(way: WayOut) -> tuple[str, ...]:
    """What ``--set`` takes to try a way out."""
    return tuple(f"{key}={value}" for key, value in way.setting)


def _link_part(link: LinkVerdict) -> LinkPart:
    return LinkPart(
        link=link.link,
        case=link.case,
        demand=_pair(link.demand),
        strength=_pair(link.strength),
        margin_lower=link.margin_lower,
        margin_upper=link.margin_upper,
        basis=link.basis,
    )
