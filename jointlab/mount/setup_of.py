"""From the document of a mount to the setup, every default resolved."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from jointlab.errors import InputError, Problem
from jointlab.mount.form import (
    ASSUMPTION_LIMITS,
    FACTOR_NAMES,
    NEEDED_SECTIONS,
    SECTIONS,
    BlankForm,
    BlankJointForm,
    BlockForm,
    CriteriaForm,
    HoldForm,
    JointForm,
    LatheForm,
    PeopleForm,
    ScrewsForm,
    SectionForm,
    SupportForm,
    WorkForm,
    section_form,
    unknown_key,
)
from jointlab.mount.rules import broken_rules
from jointlab.mount.setup import (
    Blank,
    BlankJoint,
    BlankState,
    Block,
    Criteria,
    Grain,
    Hold,
    Lathe,
    LatheSize,
    LoadAssumptions,
    MountJoint,
    MountSetup,
    People,
    Screws,
    Support,
    Work,
)
from jointlab.record.joint import Combination, Disc, Outline, Rectangle, Ring
from jointlab.record.names import tidied
from jointlab.record.vocabulary import Shape, SubstrateKind
from jointlab.record.woods import wood_named

SOURCE = "judgement"

OFFSET_MM = {BlankState.TRUED: 1.0, BlankState.SAWN_ROUND: 5.0, BlankState.NATURAL_EDGE: 15.0}
"""Offset of the centre of mass when none was measured (``SOURCE``)."""

ROTOR_KG_M2 = {LatheSize.MINI: 0.002, LatheSize.MIDI: 0.008, LatheSize.FULL: 0.020, LatheSize.HEAVY: 0.060}
"""Inertia of spindle, pulleys and motor at the spindle when it was not given (``SOURCE``)."""

MARGIN = 1.5
CAREFUL_MARGIN = 2.0
CAREFUL_MASS_KG = 10.0
CAREFUL_DIAMETER_MM = 400.0
"""The margin asked by default, and with a learner, bystanders, or a blank above these (``SOURCE``)."""

_GRAIN_OF_KIND = {
    SubstrateKind.SOLID_FACE: Grain.FACE,
    SubstrateKind.SOLID_EDGE: Grain.EDGE,
    SubstrateKind.SOLID_END: Grain.END,
}
_KIND_OF_GRAIN = {grain: kind for kind, grain in _GRAIN_OF_KIND.items()}


def setup_of(document: Mapping[str, object]) -> MountSetup:
    """The mount a document describes, with every default of the contract resolved.

    Parameters
    ----------
    document
        Sections and keys as TOML gives them.

    Raises
    ------
    InputError
        With every key that is unknown, missing or out of its limits, and every rule between keys that is broken.
    """
    forms, rings, problems = _forms_of(document)
    problems.extend(broken_rules(forms, rings))
    if problems:
        raise InputError(problems, subject="the mount")
    return _setup(forms, tuple(ring for ring in rings if ring is not None))


Form = TypeVar("Form", bound=SectionForm)


def _forms_of(
    document: Mapping[str, object],
) -> tuple[dict[str, SectionForm], tuple[BlankJointForm | None, ...], list[Problem]]:
    forms: dict[str, SectionForm] = {}
    problems: list[Problem] = []
    known = tuple(SECTIONS)
    problems.extend(unknown_key(name, name, known, value=document[name]) for name in document if name not in known)
    for name in SECTIONS:
        if name == "blank_joint":
            continue
        if name not in document and name in NEEDED_SECTIONS:
            problems.append(Problem(f"the section [{name}] is needed", column=name))
        elif name in document or name != "screws":
            read = section_form(name, document.get(name, {}))
            if isinstance(read, SectionForm):
                forms[name] = read
            else:
                problems.extend(read)
    rings, wrong_rings = _rings_of(document.get("blank_joint", []))
    return forms, rings, [*problems, *wrong_rings]


def _rings_of(listed: object) -> tuple[tuple[BlankJointForm | None, ...], list[Problem]]:
    if not isinstance(listed, list):
        return (), [Problem("must be given as [[blank_joint]], once for each joint", column="blank_joint")]
    rings: list[BlankJointForm | None] = []
    problems: list[Problem] = []
    for number, keys in enumerate(listed, start=1):
        read = section_form("blank_joint", keys, at=f"blank_joint.{number}")
        rings.append(read if isinstance(read, BlankJointForm) else None)
        if isinstance(read, tuple):
            problems.extend(read)
    return tuple(rings), problems


def _of(forms: Mapping[str, SectionForm], name: str, form: type[Form]) -> Form:
    read = forms[name]
    assert isinstance(read, form)
    return read


def _setup(forms: Mapping[str, SectionForm], rings: tuple[BlankJointForm, ...]) -> MountSetup:
    blank = _blank_of(_of(forms, "blank", BlankForm))
    work, support = _of(forms, "work", WorkForm), _of(forms, "support", SupportForm)
    people = People(**_of(forms, "people", PeopleForm).model_dump())
    return MountSetup(
        blank=blank,
        joint=_joint_of(_of(forms, "joint", JointForm)),
        block=_block_of(_of(forms, "block", BlockForm)),
        lathe=_lathe_of(_of(forms, "lathe", LatheForm)),
        work=Work(
            reach_mm=_or(work.reach_mm, blank.length_mm),
            min_radius_mm=_or(work.min_radius_mm, blank.diameter_mm / 4.0),
            minutes=work.minutes,
        ),
        hold=Hold(**_of(forms, "hold", HoldForm).model_dump()),
        screws=Screws(**_of(forms, "screws", ScrewsForm).model_dump()) if "screws" in forms else None,
        support=Support(support.tailstock, _or(support.tailstock_mm, blank.length_mm)),
        people=people,
        criteria=_criteria_of(_of(forms, "criteria", CriteriaForm), blank, people),
        blank_joints=tuple(
            BlankJoint(
                height_mm=ring.height_mm,
                outer_mm=ring.outer_mm,
                inner_mm=ring.inner_mm,
                combination=Combination(ring.glue, ring.substrate, tidied(ring.preparation)),
            )
            for ring in rings
        ),
        factors=_given(forms["factors"], FACTOR_NAMES),
        assumptions=LoadAssumptions(**dict(_given(forms["factors"], ASSUMPTION_LIMITS))),
    )


def _given(form: SectionForm, names: Iterable[str]) -> tuple[tuple[str, float], ...]:
    given = ((name, getattr(form, name)) for name in names)
    return tuple((name, value) for name, value in given if value is not None)


def _or(given: float | None, default: Any) -> Any:
    return default if given is None else given


def _blank_of(form: BlankForm) -> Blank:
    offset_mm = OFFSET_MM[form.state] if form.offset_mm is None else form.offset_mm
    return Blank(
        diameter_mm=form.diameter_mm,
        length_mm=form.length_mm,
        mass_kg=_mass_kg(form),
        centre_mm=form.length_mm / 2.0 if form.centre_mm is None else form.centre_mm,
        # a class of state cannot put the centre of mass outside a small blank
        offset_mm=min(offset_mm, form.diameter_mm / 2.0),
        state=form.state,
        grain=form.grain,
        moisture_pct=form.moisture_pct,
        wood=form.wood,
    )


def _mass_kg(form: BlankForm) -> float:
    """Mass of a cylinder of the wood's density at 12 % moisture, unless it was weighed."""
    if form.mass_kg is not None:
        return form.mass_kg
    wood = wood_named(form.wood) if form.wood is not None else None
    density_kg_m3 = wood.density_kg_m3 if wood is not None else form.density_kg_m3
    assert density_kg_m3 is not None
    return density_kg_m3 * math.pi * form.diameter_mm**2 / 4.0 * form.length_mm * 1e-9


def _joint_of(form: JointForm) -> MountJoint:
    return MountJoint(
        combination=Combination(form.glue, form.substrate, tidied(form.preparation)),
        outline=_outline_of(form),
        age_h=form.age_h,
        void_pct=form.void_pct,
        void_at_rim=form.void_at_rim,
        surface=form.surface,
        interlayer=form.interlayer,
        gap_mm=form.gap_mm,
        batch=form.batch,
    )


def _outline_of(form: JointForm) -> Outline:
    match form.shape:
        case Shape.DISC:
            return Disc(_or(form.diameter_mm, 0.0))
        case Shape.RING:
            return Ring(_or(form.diameter_mm, 0.0), _or(form.hole_mm, 0.0))
        case Shape.RECTANGLE:
            return Rectangle(_or(form.width_mm, 0.0), _or(form.depth_mm, 0.0))


def _block_of(form: BlockForm) -> Block:
    """A block of named wood is solid, glued by the grain given; a solid kind says its grain."""
    grain = form.grain or (_GRAIN_OF_KIND.get(form.kind, Grain.FACE) if form.kind is not None else Grain.FACE)
    kind = form.kind
    if kind is None and form.wood is not None:
        kind = _KIND_OF_GRAIN[grain]
    return Block(form.thickness_mm, wood=form.wood, kind=kind, grain=grain, moisture_pct=form.moisture_pct)


def _lathe_of(form: LatheForm) -> Lathe:
    rotor_kg_m2 = form.rotor_kg_m2
    if rotor_kg_m2 is None:
        assert form.size is not None
        rotor_kg_m2 = ROTOR_KG_M2[form.size]
    return Lathe(speed_rpm=form.rpm, motor_w=form.motor_w, rotor_kg_m2=rotor_kg_m2, base_rpm=form.base_rpm)


def _criteria_of(form: CriteriaForm, blank: Blank, people: People) -> Criteria:
    heavy = bool(blank.mass_kg > CAREFUL_MASS_KG) or bool(blank.diameter_mm > CAREFUL_DIAMETER_MM)
    default = CAREFUL_MARGIN if people.learner or people.bystanders or heavy else MARGIN
    return Criteria(
        coverage=form.coverage,
        confidence=form.confidence,
        margin=default if form.margin is None else form.margin,
        margin_default=default,
        catch=form.catch,
    )
