"""Pulls held against the plan."""

from dataclasses import replace

from jointlab.plan import progress_of
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Loading, Pull
from jointlab.record.vocabulary import Action, Outcome


def pull_of(plan, place: int, *, at: str = "2026-03-09") -> Pull:
    specimen = plan.specimens[place]
    return Pull(
        batch=specimen.batch,
        specimen=specimen.specimen,
        tested_on=at,
        joint=Joint(specimen.combination, plan.method.outline),
        action=plan.method.action,
        loading=Loading(load=100.0, arm_mm=300.0),
        outcome=Outcome.BROKE,
    )


def test_pulls_as_planned_leave_the_rest(plan) -> None:
    got = progress_of(plan, [pull_of(plan, place) for place in (0, 1, 2)])
    assert got.done == 3
    assert len(got.left) == len(plan.specimens) - 3
    assert got.left[0] == plan.specimens[3]
    assert (got.deviations, got.complete_glue_ups, got.looks_due) == ((), 0, 0)


def test_a_complete_glue_up_makes_a_planned_look_due(plan) -> None:
    half = len(plan.glue_ups[0].specimens)
    got = progress_of(plan, [pull_of(plan, place) for place in range(half)])
    assert (got.complete_glue_ups, got.looks_due) == (1, 1)
    whole = progress_of(plan, [pull_of(plan, place) for place in range(len(plan.specimens))])
    assert (whole.left, whole.complete_glue_ups, whole.looks_due) == ((), 2, 2)


def test_what_is_not_as_planned_is_said(plan) -> None:
    swapped = pull_of(plan, 0)
    swapped = replace(swapped, joint=Joint(Combination("hide", "oak"), Disc(40.0)), action=Action.PULL)
    stray = replace(pull_of(plan, 1), specimen="99")
    excluded = replace(pull_of(plan, 2), excluded_because="bar slipped")
    elsewhere = replace(pull_of(plan, 3), batch="Autumn-1")
    texts = [deviation.text for deviation in progress_of(plan, [swapped, stray, excluded, elsewhere]).deviations]
    assert len(texts) == 5
    assert texts[0].startswith("is hide on oak, planned was")
    assert texts[1] == "was tested by pull, planned was pry"
    assert texts[2] == "has another outline than planned"
    assert texts[3].startswith("is not in the plan")
    assert texts[4] == "is excluded: bar slipped"


def test_pulls_out_of_the_order_drawn_by_lot_are_told_where_times_are_known(plan) -> None:
    pulls = [
        pull_of(plan, 0, at="2026-03-09T10:30"),
        pull_of(plan, 1, at="2026-03-09T10:10"),
        pull_of(plan, 2, at="2026-03-09"),
    ]
    (got,) = progress_of(plan, pulls).deviations
    assert (got.specimen, got.text) == (plan.specimens[1].specimen, "was tested out of the order drawn by lot")
