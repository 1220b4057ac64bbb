"""Joints inside a glued-up blank, each rated by tests of its own combination where there are enough of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from jointlab.mount.setup import BlankGrain, BlankJoint, Block, MountJoint, MountSetup
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Disc, Outline, Ring
from jointlab.verdict.blocking import evidence_findings
from jointlab.verdict.capacity import Capacity, capacity_of
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS, Evidence
from jointlab.verdict.factors import factors_of
from jointlab.verdict.sentence import glue_ups_told
from jointlab.verdict.values import Factor, WayOut

SOURCE = "judgement"


def as_mount(setup: MountSetup, joint: BlankJoint) -> MountSetup:
    """The mount as one of its blank's joints sees it, for the factors between that joint's tests and itself.

    Blank wood stands on both of its sides, it has what the hollowing leaves of its outline, and it counts as old as the
    mount's own glue line: a blank is glued up before it is glued to its block. Factors set by hand are about the glue
    line and do not reach it (``SOURCE``).
    """
    return replace(
        setup,
        blank=replace(setup.blank, grain=BlankGrain.SEGMENTED),
        joint=MountJoint(joint.combination, _outline(joint), age_h=setup.joint.age_h),
        block=Block(setup.block.thickness_mm, moisture_pct=setup.blank.moisture_pct),
        blank_joints=(),
        factors=(),
    )


def _outline(joint: BlankJoint) -> Outline:
    outer_mm, inner_mm = float(joint.outer_mm), float(joint.inner_mm)
    return Ring(outer_mm, inner_mm) if inner_mm > 0.0 else Disc(outer_mm)


def _with_tests(setup: MountSetup, evidence: Evidence | None) -> Iterator[tuple[int, BlankJoint, Evidence | None]]:
    """Each joint of the blank with its number and what the pulls of its combination say."""
    known = evidence.blank_joints if evidence is not None and evidence.blank_joints else (None,)
    listed = known if len(known) == len(setup.blank_joints) else (None,) * len(setup.blank_joints)
    for number, (joint, own) in enumerate(zip(setup.blank_joints, listed, strict=True), start=1):
        yield number, joint, own


def _enough(own: Evidence | None) -> bool:
    return own is not None and own.n_usable >= LEAST_PULLS and own.n_batches >= LEAST_BATCHES


def blank_joint_capacities(setup: MountSetup, evidence: Evidence | None) -> tuple[Capacity | None, ...]:
    """What each joint of the blank can be relied on for, in their order; None for one that too few tests speak for."""
    return tuple(
        capacity_of(as_mount(setup, joint), own, screw_withdrawal_n=None) if _enough(own) else None
        for _, joint, own in _with_tests(setup, evidence)
    )


def blank_joint_factors(setup: MountSetup, evidence: Evidence | None) -> Iterator[Factor]:
    """The factors of each rated joint of the blank, named ``blank_joint_1.size_tension`` and so on."""
    for number, capacity in enumerate(blank_joint_capacities(setup, evidence), start=1):
        if capacity is not None and capacity.factors is not None:
            for factor in capacity.factors.table:
                yield replace(factor, name=f"blank_joint_{number}.{factor.name}")


def blank_joint_ways(setup: MountSetup, evidence: Evidence) -> Iterator[WayOut]:
    """The tests that would rate each joint of the blank that is not rated."""
    for number, joint, own in _with_tests(setup, evidence):
        if not _enough(own):
            text = (
                f"Tests of {joint.combination}, the joint {number} inside the blank: {LEAST_PULLS} pries or more, in "
                f"{LEAST_BATCHES} glue-ups or more, rate it."
            )
            yield WayOut(text)


def blank_joint_findings(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    """Why a joint of the blank is not rated; what to know of the tests that rate one."""
    for number, joint, own in _with_tests(setup, evidence):
        name = f"Joint {number} inside the blank ({joint.combination})"
        if own is None:
            text = f"{name}: no usable pull in tension of its combination, so nothing rates it."
            yield Finding(FindingCode.LINK_UNRATED, Severity.BLOCKING, text)
        elif not _enough(own):
            text = (
                f"{name}: {own.n_usable} usable pulls in {glue_ups_told(own.n_batches)}; it is rated from "
                f"{LEAST_PULLS} in {LEAST_BATCHES} on."
            )
            yield Finding(FindingCode.LINK_UNRATED, Severity.BLOCKING, text)
        else:
            for finding in _of_tests(as_mount(setup, joint), own):
                yield replace(finding, text=f"{name}: {finding.text}")


def _of_tests(inner: MountSetup, own: Evidence) -> Iterator[Finding]:
    yield from evidence_findings(inner, own)
    yield from own.findings
    yield from factors_of(inner, own).findings
    for feed in own.feeds:
        yield from feed.strength.findings
