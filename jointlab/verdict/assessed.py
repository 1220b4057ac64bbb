"""Demand against capacity for one mount: what the verdict, and every search for a better mount, goes by."""

from __future__ import annotations

from dataclasses import replace

from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.screws import screw_withdrawal_n
from jointlab.mount.setup import MountSetup
from jointlab.verdict.assessment import Assessment, assess, judged_cases
from jointlab.verdict.blank_joints import blank_joint_capacities
from jointlab.verdict.capacity import Capacity, capacity_of
from jointlab.verdict.evidence import Evidence


def mount_capacity(setup: MountSetup, evidence: Evidence | None) -> Capacity:
    """Capacity of the mount's links: the tests' strength after the factors, the screws' from its source."""
    withdrawal_n = screw_withdrawal_n(setup).withdrawal_n
    capacity = capacity_of(setup, evidence, screw_withdrawal_n=None if withdrawal_n is None else float(withdrawal_n))
    return replace(capacity, blank_joints=blank_joint_capacities(setup, evidence)) if setup.blank_joints else capacity


def assessed(setup: MountSetup, evidence: Evidence | None) -> Assessment:
    """Margins of every link of the mount on this evidence."""
    demand = mount_demand(setup, only=judged_cases(setup.criteria))
    return assess(demand.links, setup=setup, capacity=mount_capacity(setup, evidence))
