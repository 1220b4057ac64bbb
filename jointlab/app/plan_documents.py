"""A plan as a document: what ``plan --json`` prints, and what the shop book keeps and gives back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from jointlab.app.answers import finding_parts
from jointlab.app.documents import Answer, Document, FindingPart
from jointlab.errors import BookError
from jointlab.plan.progress import PlanProgress
from jointlab.plan.values import (
    GlueUp,
    Method,
    PlannedSpecimen,
    PowerPoint,
    RigFit,
    SeeDifference,
    ShowStrength,
    TestPlan,
    Wish,
)
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Outline, Rectangle, Ring
from jointlab.record.vocabulary import Action, Shape


class PlannedCombination(Document):
    """A combination under the action it is to be tested by."""

    glue: str
    substrate: str
    preparation: str
    action: Action


class WishPart(Document):
    """What is to be shown, and what is supposed: ``required_mpa`` of a strength, or ``ratio`` of a difference."""

    required_mpa: float | None
    ratio: float | None
    expected_mpa: float
    log_sd: float
    coverage: float | None
    confidence: float
    chance: float


class MethodPart(Document):
    """How specimens are loaded."""

    action: Action
    shape: Shape
    diameter_mm: float | None
    hole_mm: float | None
    width_mm: float | None
    depth_mm: float | None
    arm_mm: float | None


class LoadsPart(Document):
    """Loads to be expected [N, or N m for a twist], and how they lie in the rig's range."""

    low: float
    expected: float
    high: float
    capacity: float | None
    share_low: float | None
    share_expected: float | None
    share_high: float | None
    suits: bool | None
    better_mm: float | None


class SpecimenPart(Document):
    """One joint to be made; ``combination`` is its place among the plan's, from 0."""

    specimen: str
    combination: int
    glued_as: int
    tested_as: int


class GlueUpPart(Document):
    """One glue-up: its dates and specimens."""

    batch: str
    glued_on: str
    tested_on: str
    specimens: tuple[SpecimenPart, ...]


class ChancePart(Document):
    """Chance of success with so many specimens of each combination."""

    specimens: int
    chance: float


class LeftPart(Document):
    """A specimen still to be pulled."""

    batch: str
    specimen: str
    combination: int


class DeviationPart(Document):
    """A pull that is not as planned, and in what."""

    batch: str
    specimen: str
    text: str


class ProgressPart(Document):
    """What stands between the plan and its evidence."""

    done: int
    left: tuple[LeftPart, ...]
    deviations: tuple[DeviationPart, ...]
    complete_glue_ups: int
    looks_due: int


class PlanDocument(Answer):
    """A plan. ``looks`` are planned, each with its share of the doubt; ``progress`` is None in what the book keeps."""

    name: str
    wish: WishPart
    combinations: tuple[PlannedCombination, ...]
    control: int | None
    method: MethodPart
    rig: str | None
    loads: LoadsPart
    cure_h: float
    specimens_each: int
    glue_ups: tuple[GlueUpPart, ...]
    looks: int
    look_shares: tuple[float, ...]
    confidence_at_look: float
    chance: float
    curve: tuple[ChancePart, ...]
    findings: tuple[FindingPart, ...]
    progress: ProgressPart | None = None


class PlanLine(Document):
    """A kept plan in a list."""

    name: str
    kept_on: str
    combinations: tuple[PlannedCombination, ...]
    specimens: int
    done: int
    looks: int
    looks_due: int


class PlansDocument(Answer):
    """Answer of ``plan list``."""

    plans: tuple[PlanLine, ...]


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan of the book: since when, which revision, and what stands between it and its evidence."""

    plan: TestPlan
    revision: int
    kept_on: str
    progress: PlanProgress


def plan_document(plan: TestPlan, progress: PlanProgress | None = None) -> PlanDocument:
    """A plan as it is printed and kept."""
    places = {combination.key: place for place, combination in enumerate(plan.combinations)}
    share = (1.0 - plan.wish.confidence) / plan.planned_looks
    return PlanDocument(
        name=plan.name,
        wish=_wish_part(plan.wish),
        combinations=planned_combinations(plan),
        control=None if plan.control is None else places[plan.control.key],
        method=_method_part(plan.method),
        rig=plan.rig,
        loads=_loads_part(plan.rig_fit),
        cure_h=plan.cure_h,
        specimens_each=plan.specimens_each,
        glue_ups=tuple(_glue_up_part(glue_up, places) for glue_up in plan.glue_ups),
        looks=plan.planned_looks,
        look_shares=(share,) * plan.planned_looks,
        confidence_at_look=plan.confidence_at_look,
        chance=plan.chance,
        curve=tuple(ChancePart(specimens=point.specimens, chance=point.chance) for point in plan.curve),
        findings=finding_parts(plan.findings),
        progress=None if progress is None else progress_part(progress, places),
    )


def plans_document(kept: Iterable[KeptPlan]) -> PlansDocument:
    """Kept plans as a list."""
    return PlansDocument(
        plans=tuple(
            PlanLine(
                name=one.plan.name,
                kept_on=one.kept_on,
                combinations=planned_combinations(one.plan),
                specimens=len(one.plan.specimens),
                done=one.progress.done,
                looks=one.plan.planned_looks,
                looks_due=one.progress.looks_due,
            )
            for one in kept
        )
    )


def planned_combinations(plan: TestPlan) -> tuple[PlannedCombination, ...]:
    """The combinations of a plan with their action."""
    return tuple(
        PlannedCombination(
            glue=one.glue, substrate=one.substrate, preparation=one.preparation, action=plan.method.action
        )
        for one in plan.combinations
    )


def progress_part(progress: PlanProgress, places: Mapping[tuple[str, str, str], int]) -> ProgressPart:
    """Progress as it is printed."""
    return ProgressPart(
        done=progress.done,
        left=tuple(
            LeftPart(batch=one.batch, specimen=one.specimen, combination=places[one.combination.key])
            for one in progress.left
        ),
        deviations=tuple(
            DeviationPart(batch=one.batch, specimen=one.specimen, text=one.text) for one in progress.deviations
        ),
        complete_glue_ups=progress.complete_glue_ups,
        looks_due=progress.looks_due,
    )


def _wish_part(wish: Wish) -> WishPart:
    return WishPart(
        required_mpa=wish.required_mpa if isinstance(wish, ShowStrength) else None,
        ratio=wish.ratio if isinstance(wish, SeeDifference) else None,
        expected_mpa=wish.expected_mpa,
        log_sd=wish.log_sd,
        coverage=wish.coverage if isinstance(wish, ShowStrength) else None,
        confidence=wish.confidence,
        chance=wish.chance,
    )


def _method_part(method: Method) -> MethodPart:
    outline = method.outline
    return MethodPart(
        action=method.action,
        shape=outline.shape,
        diameter_mm=None if isinstance(outline, Rectangle) else outline.diameter_mm,
        hole_mm=outline.hole_mm if isinstance(outline, Ring) else None,
        width_mm=outline.width_mm if isinstance(outline, Rectangle) else None,
        depth_mm=outline.depth_mm if isinstance(outline, Rectangle) else None,
        arm_mm=method.arm_mm,
    )


def _loads_part(fit: RigFit) -> LoadsPart:
    return LoadsPart(
        low=fit.load_low,
        expected=fit.load_expected,
        high=fit.load_high,
        capacity=fit.capacity,
        share_low=fit.share_low,
        share_expected=fit.share_expected,
        share_high=fit.share_high,
        suits=fit.suits,
        better_mm=fit.better_mm,
    )


def _glue_up_part(glue_up: GlueUp, places: Mapping[tuple[str, str, str], int]) -> GlueUpPart:
    return GlueUpPart(
        batch=glue_up.batch,
        glued_on=glue_up.glued_on,
        tested_on=glue_up.tested_on,
        specimens=tuple(
            SpecimenPart(
                specimen=one.specimen,
                combination=places[one.combination.key],
                glued_as=one.glued_as,
                tested_as=one.tested_as,
            )
            for one in glue_up.specimens
        ),
    )


def plan_of(document: Mapping[str, object]) -> TestPlan:
    """The plan a document of the book describes.

    Raises
    ------
    BookError
        The document is no plan of this schema.
    """
    try:
        kept = PlanDocument.model_validate(document)
    except ValidationError as error:
        told = f"A plan in the book cannot be read by this version of jointlab: {error.errors()[0]['msg']}."
        raise BookError(told) from None
    combinations = tuple(Combination(one.glue, one.substrate, one.preparation) for one in kept.combinations)
    return TestPlan(
        name=kept.name,
        wish=_wish_of(kept.wish),
        combinations=combinations,
        control=None if kept.control is None else combinations[kept.control],
        method=Method(kept.method.action, _outline_of(kept.method), kept.method.arm_mm),
        rig=kept.rig,
        rig_fit=_rig_fit_of(kept.loads),
        cure_h=kept.cure_h,
        specimens_each=kept.specimens_each,
        glue_ups=tuple(_glue_ups_of(kept.glue_ups, combinations)),
        planned_looks=kept.looks,
        confidence_at_look=kept.confidence_at_look,
        chance=kept.chance,
        curve=tuple(PowerPoint(point.specimens, point.chance) for point in kept.curve),
        findings=tuple(Finding(FindingCode(one.code), Severity(one.severity), one.text) for one in kept.findings),
    )


def _wish_of(part: WishPart) -> Wish:
    if part.ratio is not None:
        return SeeDifference(part.ratio, part.expected_mpa, part.log_sd, part.confidence, part.chance)
    return ShowStrength(
        part.required_mpa or 0.0,
        part.expected_mpa,
        part.log_sd,
        coverage=part.coverage or 0.0,
        confidence=part.confidence,
        chance=part.chance,
    )


def _outline_of(part: MethodPart) -> Outline:
    match part.shape:
        case Shape.DISC:
            return Disc(part.diameter_mm or 0.0)
        case Shape.RING:
            return Ring(part.diameter_mm or 0.0, part.hole_mm or 0.0)
        case Shape.RECTANGLE:
            return Rectangle(part.width_mm or 0.0, part.depth_mm or 0.0)


def _rig_fit_of(part: LoadsPart) -> RigFit:
    return RigFit(
        load_low=part.low,
        load_expected=part.expected,
        load_high=part.high,
        capacity=part.capacity,
        share_low=part.share_low,
        share_expected=part.share_expected,
        share_high=part.share_high,
        suits=part.suits,
        better_mm=part.better_mm,
    )


def _glue_ups_of(parts: Iterable[GlueUpPart], combinations: tuple[Combination, ...]) -> Iterable[GlueUp]:
    for part in parts:
        specimens = tuple(
            PlannedSpecimen(part.batch, one.specimen, combinations[one.combination], one.glued_as, one.tested_as)
            for one in part.specimens
        )
        yield GlueUp(part.batch, part.glued_on, part.tested_on, specimens)
