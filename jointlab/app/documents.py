"""The JSON documents of the contract, schema 1: SI names, absent is null, never left out."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, create_model

from jointlab.record.row import PullRow


class Document(BaseModel):
    """A part of a document: closed, and free of NaN and infinity."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True, serialize_by_alias=True)


class Answer(Document):
    """What a command prints under ``--json``."""

    schema_: Literal[1] = Field(default=1, alias="schema")


class FindingPart(Document):
    """One thing to know."""

    code: str
    severity: str
    text: str


class ProblemPart(Document):
    """One cell, field or key that cannot be used."""

    row: int | None
    column: str | None
    value: str | None
    allowed: str | None
    message: str


class ErrorPart(Document):
    """Why nothing was done."""

    kind: str
    message: str
    problems: tuple[ProblemPart, ...]


class StressPart(Document):
    """Bounds on a strength [MPa]: equal when exact, no upper end when it held."""

    lower: float
    upper: float | None


def _pull_part() -> Any:
    """The model of one pull: the contract's columns in SI between its number and its stress."""
    columns: dict[str, Any] = {name: (field.annotation, ...) for name, field in PullRow.model_fields.items()}
    around: dict[str, Any] = {"id": (int, ...), "revision": (int, ...)}
    behind: dict[str, Any] = {
        "stress_mpa": (StressPart, ...),
        "stress_u_mpa": (float, ...),
        "findings": (tuple[FindingPart, ...], ...),
    }
    return create_model("PullPart", __base__=Document, **{**around, **columns, **behind})


PullPart = _pull_part()


class FamilyPart(Document):
    """A fitted family."""

    family: str
    parameters: dict[str, float]
    log_likelihood: float | None
    aicc: float | None
    anderson_darling: float | None
    p_value: float | None


class BoundPart(Document):
    """A lower tolerance bound by one method."""

    method: str
    family: str | None
    coverage: float
    confidence: float
    bound_mpa: float | None


class WorkingBoundPart(Document):
    """The bound verdicts use."""

    bound_mpa: float | None
    upper_mpa: float | None
    method: str
    coverage: float
    confidence: float


class ForetoldPart(Document):
    """What is foretold of the next joints of one combination; null where its pulls cannot say."""

    glue: str
    substrate: str
    preparation: str
    action: str
    stress_mpa: float
    next: int
    next_holds: float | None
    all_hold: float | None
    within_sd: float | None
    between_sd: float | None
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    bound_now_mpa: float | None
    bound_with_one_more_glue_up_mpa: float | None


class LinkFitPart(Document):
    """One link of a joint, the joints that let go elsewhere taken as held; ``broke_at`` null: not noted."""

    broke_at: str | None
    broke: int
    parameters: dict[str, float]


class DescribedPart(Document):
    """A threshold and the links of one combination, for description only; null where the pulls cannot tell."""

    glue: str
    substrate: str
    preparation: str
    action: str
    threshold_weibull: dict[str, float] | None
    links: tuple[LinkFitPart, ...]
    chain_mpa: float | None
    joint_mpa: float | None


class CombinationPart(Document):
    """What the pulls of one combination under one action say."""

    glue: str
    substrate: str
    preparation: str
    action: str
    n: int
    n_broke: int
    n_held: int
    batches: int
    families: tuple[FamilyPart, ...]
    bounds: tuple[BoundPart, ...]
    working_bound: WorkingBoundPart
    findings: tuple[FindingPart, ...]


class CasePart(Document):
    """A load case at its worst point."""

    case: str
    moment_nmm: float
    shear_n: float
    torque_nmm: float
    axial_n: float
    tension_mpa: float
    shear_mpa: float


class StressPair(Document):
    """Tension and shear [MPa]."""

    tension_mpa: float | None
    shear_mpa: float | None


class ScrewPair(Document):
    """Withdrawal and shear of the most loaded screw [N]."""

    withdrawal_n: float | None
    shear_n: float | None


class LinkDemandPart(Document):
    """What a case asks of a link."""

    link: str
    case: str
    demand: StressPair | ScrewPair


class CriteriaPart(Document):
    """What the verdict asks."""

    coverage: float
    confidence: float
    confidence_spent: float
    margin: float
    catch: str


class LinkPart(Document):
    """A link at its governing case."""

    link: str
    case: str
    demand: StressPair | ScrewPair
    strength: StressPair | ScrewPair
    margin_lower: float | None
    margin_upper: float | None
    basis: str


class FactorPart(Document):
    """A factor from test to service."""

    name: str
    value: float
    source: str


class PullsDocument(Answer):
    """Answer of ``pulls``."""

    pulls: tuple[Any, ...]


class StrengthDocument(Answer):
    """Answer of ``strength``."""

    combinations: tuple[CombinationPart, ...]


class ForetellingDocument(StrengthDocument):
    """Answer of ``strength --stress``."""

    foretold: tuple[ForetoldPart, ...]


class DescribedDocument(ForetellingDocument):
    """Answer of ``strength --families`` and ``strength --links``: ``foretold`` is empty where it was not asked."""

    described: tuple[DescribedPart, ...]


class MountDocument(Answer):
    """Answer of ``mount``."""

    cases: tuple[CasePart, ...]
    links: tuple[LinkDemandPart, ...]
    findings: tuple[FindingPart, ...]


class WayOutPart(Document):
    """Something that would settle the question; ``set`` holds what ``--set`` takes to try it."""

    text: str
    set: tuple[str, ...]


class DecideDocument(Answer):
    """Answer of ``decide``."""

    verdict: str
    relaxed: bool
    criteria: CriteriaPart
    margin_lower: float | None
    margin_upper: float | None
    margin_required: float
    governing_link: str | None
    governing_case: str | None
    stands_n: float | None
    links: tuple[LinkPart, ...]
    factors: tuple[FactorPart, ...]
    reasons: tuple[str, ...]
    would_settle: tuple[WayOutPart, ...]
    scope: str
    cautions: tuple[str, ...]
    findings: tuple[FindingPart, ...]


class FacePart(Document):
    """A face as it was read."""

    readings: int
    tilt_mm: float
    warp_mm: float
    runout_mm: float
    wobble_mm: float | None
    high_at_deg: float
    findings: tuple[FindingPart, ...]


class ChangePart(Document):
    """How a face has changed, and from what change on it is told."""

    stage: str
    grown_mm: float
    moved_mm: float
    limit_mm: float
    findings: tuple[FindingPart, ...]


class RunoutDocument(FacePart, Answer):
    """Answer of ``runout``: the face, and where it was read again, as it runs now and what changed."""

    again: FacePart | None
    change: ChangePart | None


class TargetDocument(Answer):
    """Answer of ``target``."""

    required_mpa: float
    hold_n: float
    average_n: float | None
    coverage_shown: float
    run_needed: int
    arm_for_cap_mm: float | None
    sentences: tuple[str, ...]


class ImportDocument(Answer):
    """Answer of ``import``."""

    stored: int
    skipped: int


class PreviewDocument(Answer):
    """Answer of ``import --preview``: pulls that could come in, and those that the book has."""

    could_come_in: int
    skipped: int


class PublishDocument(Answer):
    """Answer of ``publish``."""

    page: str


class PublicationCheckDocument(Answer):
    """Answer of ``publish --check``."""

    sound: bool
    differences: tuple[str, ...]
    changed: tuple[str, ...]
    remarks: tuple[str, ...]


class ErrorDocument(Answer):
    """Answer of any command that could not do what was asked."""

    error: ErrorPart
