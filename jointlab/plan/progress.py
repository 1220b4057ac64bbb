"""Pulls held against the plan: what is done, what is left, what deviates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from jointlab.plan.values import PlannedSpecimen, TestPlan
from jointlab.record.names import matched
from jointlab.record.pull import Pull


@dataclass(frozen=True, slots=True)
class Deviation:
    """A pull that is not as planned, and in what."""

    batch: str
    specimen: str
    text: str


@dataclass(frozen=True, slots=True)
class PlanProgress:
    """What stands between plan and evidence. ``look_due``: a glue-up is complete, and looks are planned after each."""

    done: int
    left: tuple[PlannedSpecimen, ...]
    deviations: tuple[Deviation, ...]
    complete_glue_ups: int
    looks_due: int


def progress_of(plan: TestPlan, pulls: Iterable[Pull]) -> PlanProgress:
    """Pulls of the plan's glue-ups matched by batch and specimen; pulls of other glue-ups are none of its business."""
    batches = {matched(glue_up.batch) for glue_up in plan.glue_ups}
    own = {(matched(pull.batch), matched(pull.specimen)): pull for pull in pulls if matched(pull.batch) in batches}
    planned = {(matched(one.batch), matched(one.specimen)): one for one in plan.specimens}
    left = tuple(specimen for key, specimen in planned.items() if key not in own)
    waiting = {specimen.batch for specimen in left}
    complete = sum(glue_up.batch not in waiting for glue_up in plan.glue_ups)
    deviations = [deviation for key, pull in own.items() for deviation in _deviations(plan, planned.get(key), pull)]
    return PlanProgress(
        done=len(planned) - len(left),
        left=left,
        deviations=(*deviations, *_order_deviations(plan, own)),
        complete_glue_ups=complete,
        looks_due=complete * plan.planned_looks // len(plan.glue_ups),
    )


def _deviations(plan: TestPlan, planned: PlannedSpecimen | None, pull: Pull) -> Iterator[Deviation]:
    def said(text: str) -> Deviation:
        return Deviation(pull.batch, pull.specimen, text)

    if planned is None:
        yield said("is not in the plan: the plan's chance does not count it")
        return
    if pull.joint.combination.key != planned.combination.key:
        yield said(f"is {pull.joint.combination}, planned was {planned.combination}")
    if pull.action is not plan.method.action:
        yield said(f"was tested by {pull.action}, planned was {plan.method.action}")
    if pull.joint.outline != plan.method.outline:
        yield said("has another outline than planned")
    if pull.excluded_because is not None:
        yield said(f"is excluded: {pull.excluded_because}")


def _order_deviations(plan: TestPlan, own: dict[tuple[str, str], Pull]) -> Iterator[Deviation]:
    """Pulls tested before one that stood earlier in the order, where the times are recorded."""
    for glue_up in plan.glue_ups:
        latest = ""
        for specimen in glue_up.in_test_order():
            pull = own.get((matched(specimen.batch), matched(specimen.specimen)))
            if pull is None or "T" not in pull.tested_on:
                continue
            if pull.tested_on < latest:
                yield Deviation(pull.batch, pull.specimen, "was tested out of the order drawn by lot")
            latest = max(latest, pull.tested_on)
