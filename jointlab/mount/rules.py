"""Rules between the keys of a mount: what cannot be true together is refused, what is merely unwise is a finding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from jointlab.errors import Problem
from jointlab.mount.form import (
    BlankForm,
    BlankJointForm,
    BlockForm,
    HoldForm,
    JointForm,
    LatheForm,
    ScrewsForm,
    SectionForm,
    WorkForm,
)
from jointlab.mount.setup import LoadAssumptions
from jointlab.record.vocabulary import Shape, SubstrateKind
from jointlab.record.woods import wood_problem

MASS_KEYS = ("mass_kg", "density_kg_m3", "wood")

_SIZES = {
    Shape.DISC: ("diameter_mm",),
    Shape.RING: ("diameter_mm", "hole_mm"),
    Shape.RECTANGLE: ("width_mm", "depth_mm"),
}

SOLID_KINDS = frozenset({SubstrateKind.SOLID_FACE, SubstrateKind.SOLID_EDGE, SubstrateKind.SOLID_END})


def broken_rules(
    forms: Mapping[str, SectionForm], blank_joints: tuple[BlankJointForm | None, ...]
) -> Iterator[Problem]:
    """Every broken rule among the sections that could be read.

    Parameters
    ----------
    forms
        Section name to its checked form; a section that could not be read is left out.
    blank_joints
        The joints of the blank in their order; None where one could not be read.
    """
    blank = forms.get("blank")
    if isinstance(blank, BlankForm):
        yield from _blank_rules(blank)
        yield from _within_blank(blank, forms, blank_joints)
    joint, block, lathe = forms.get("joint"), forms.get("block"), forms.get("lathe")
    if isinstance(joint, JointForm):
        yield from _joint_rules(joint)
    if isinstance(block, BlockForm):
        yield from _block_rules(block)
    if isinstance(lathe, LatheForm) and lathe.size is None and lathe.rotor_kg_m2 is None:
        yield Problem("is needed, or rotor_kg_m2 when it was measured", column="lathe.size", allowed="one of the two")
    yield from _screw_rules(forms)
    yield from _catch_rules(forms)
    for number, ring in enumerate(blank_joints, start=1):
        if ring is not None and ring.inner_mm >= ring.outer_mm:
            yield _too_large(
                f"blank_joint.{number}.inner_mm", ring.inner_mm, ring.outer_mm, "its outer_mm", "less than"
            )


def _too_large(column: str, value: float, limit: float, limit_is: str, words: str = "at most") -> Problem:
    allowed = f"{words} {limit:g}"
    return Problem(f"must be {words} {limit_is}, {limit:g}", column=column, value=f"{value:g}", allowed=allowed)


def _blank_rules(blank: BlankForm) -> Iterator[Problem]:
    given = [key for key in MASS_KEYS if getattr(blank, key) is not None]
    if len(given) != 1:
        what = (
            f"give only one; {' and '.join(given)} stand there"
            if given
            else "is needed: mass_kg, density_kg_m3 or wood"
        )
        column = f"blank.{given[1] if given else MASS_KEYS[0]}"
        yield Problem(f"the blank's mass: {what}", column=column, allowed="exactly one of mass_kg, density_kg_m3, wood")
    if blank.wood is not None and (trouble := wood_problem(blank.wood)):
        yield Problem(f"{trouble}; or give density_kg_m3 or mass_kg", column="blank.wood", value=blank.wood)
    if blank.centre_mm is not None and blank.centre_mm > blank.length_mm:
        yield _too_large("blank.centre_mm", blank.centre_mm, blank.length_mm, "the blank's length")
    if blank.offset_mm is not None and blank.offset_mm > blank.diameter_mm / 2.0:
        yield _too_large("blank.offset_mm", blank.offset_mm, blank.diameter_mm / 2.0, "the blank's radius")


def _within_blank(
    blank: BlankForm, forms: Mapping[str, SectionForm], blank_joints: tuple[BlankJointForm | None, ...]
) -> Iterator[Problem]:
    joint, work = forms.get("joint"), forms.get("work")
    if isinstance(joint, JointForm):
        for key in ("diameter_mm", "width_mm", "depth_mm"):
            size = getattr(joint, key)
            if size is not None and size > blank.diameter_mm:
                yield _too_large(f"joint.{key}", size, blank.diameter_mm, "the blank's diameter")
    if isinstance(work, WorkForm):
        if work.reach_mm is not None and work.reach_mm > blank.length_mm:
            yield _too_large("work.reach_mm", work.reach_mm, blank.length_mm, "the blank's length")
        if work.min_radius_mm is not None and work.min_radius_mm > blank.diameter_mm / 2.0:
            yield _too_large("work.min_radius_mm", work.min_radius_mm, blank.diameter_mm / 2.0, "the blank's radius")
    for number, ring in enumerate(blank_joints, start=1):
        if ring is not None and ring.height_mm > blank.length_mm:
            yield _too_large(f"blank_joint.{number}.height_mm", ring.height_mm, blank.length_mm, "the blank's length")
        if ring is not None and ring.outer_mm > blank.diameter_mm:
            yield _too_large(f"blank_joint.{number}.outer_mm", ring.outer_mm, blank.diameter_mm, "the blank's diameter")


def _joint_rules(joint: JointForm) -> Iterator[Problem]:
    needed = _SIZES[joint.shape]
    for key in ("diameter_mm", "hole_mm", "width_mm", "depth_mm"):
        given = getattr(joint, key)
        if key in needed and given is None:
            yield Problem(f"a {joint.shape} needs it", column=f"joint.{key}", allowed=" and ".join(needed))
        if key not in needed and given is not None:
            told = f"does not belong to a {joint.shape}: leave it out"
            yield Problem(told, column=f"joint.{key}", value=f"{given:g}", allowed=" and ".join(needed))
    if joint.shape is Shape.RING and joint.hole_mm and joint.diameter_mm and joint.hole_mm >= joint.diameter_mm:
        yield _too_large("joint.hole_mm", joint.hole_mm, joint.diameter_mm, "the joint's diameter", "less than")


def _block_rules(block: BlockForm) -> Iterator[Problem]:
    if block.wood is not None and (trouble := wood_problem(block.wood)):
        told = f"{trouble}; or leave it out and give kind (the screws are then unrated)"
        yield Problem(told, column="block.wood", value=block.wood)
    if block.grain is None or block.kind not in SOLID_KINDS:
        return
    if block.kind.value != f"solid_{block.grain}":
        told = f"does not go with kind {block.kind}: leave one of them out"
        yield Problem(told, column="block.grain", value=block.grain, allowed=block.kind.removeprefix("solid_"))


def _screw_rules(forms: Mapping[str, SectionForm]) -> Iterator[Problem]:
    screws, block, hold = forms.get("screws"), forms.get("block"), forms.get("hold")
    if not isinstance(screws, ScrewsForm):
        return
    if isinstance(block, BlockForm) and screws.thread_mm > block.thickness_mm:
        yield _too_large("screws.thread_mm", screws.thread_mm, block.thickness_mm, "the block's thickness")
    if isinstance(hold, HoldForm) and hold.plate_mm is not None and screws.circle_mm > hold.plate_mm:
        yield _too_large("screws.circle_mm", screws.circle_mm, hold.plate_mm, "the plate's diameter")


def _catch_rules(forms: Mapping[str, SectionForm]) -> Iterator[Problem]:
    """Light, firm and severe stay in that order, whichever of them is set by hand."""
    if "factors" not in forms:
        return
    usual = LoadAssumptions()
    forces = {key: getattr(forms["factors"], key) or getattr(usual, key) for key in ("light_n", "firm_n", "severe_n")}
    for milder, harder in pairwise(forces):
        if forces[milder] > forces[harder]:
            told = f"must be at least {milder}, {forces[milder]:g}"
            yield Problem(told, column=f"factors.{harder}", value=f"{forces[harder]:g}", allowed=told)
