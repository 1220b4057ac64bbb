"""Each rule by which a break becomes bounds, by name. Censoring rules: common practice of the trade, no source."""

import dataclasses

import pytest

from jointlab.record.bounds import LoadBounds, load_bounds
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Loading, Pull
from jointlab.record.vocabulary import Action, BrokeAt, Outcome

OUTSIDE = [BrokeAt.SCREWS, BrokeAt.JAWS, BrokeAt.BAR, BrokeAt.RIG]
INSIDE = [None, BrokeAt.GLUE_LINE, BrokeAt.SUBSTRATE, BrokeAt.BLANK, BrokeAt.PAPER]


def pull(outcome, broke_at=None, held=None):
    return Pull(
        batch="A",
        specimen="1",
        tested_on="2026-03-14",
        joint=Joint(Combination("white glue", "maple"), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=100.0, held=held, arm_mm=300.0),
        outcome=outcome,
        broke=Break(broke_at=broke_at),
    )


def test_every_place_is_either_inside_or_outside_the_joint():
    assert {*OUTSIDE, *INSIDE} - {None} == set(BrokeAt)


@pytest.mark.parametrize("place", INSIDE)
def test_a_break_in_any_link_of_the_joint_is_exact(place):
    assert load_bounds(pull(Outcome.BROKE, place)) == LoadBounds(100.0, 100.0)


@pytest.mark.parametrize("place", OUTSIDE)
def test_a_break_outside_the_joint_means_it_held(place):
    assert load_bounds(pull(Outcome.BROKE, place)) == LoadBounds(100.0, None)


@pytest.mark.parametrize("place", [*INSIDE, *OUTSIDE])
def test_held_is_more_than_its_load(place):
    assert load_bounds(pull(Outcome.HELD, place)) == LoadBounds(100.0, None)


@pytest.mark.parametrize("place", INSIDE)
def test_a_step_lies_between_held_and_load(place):
    assert load_bounds(pull(Outcome.STEP, place, held=80.0)) == LoadBounds(80.0, 100.0)


@pytest.mark.parametrize("place", OUTSIDE)
def test_a_step_that_ends_outside_the_joint_held_its_last_step(place):
    assert load_bounds(pull(Outcome.STEP, place, held=80.0)) == LoadBounds(80.0, None)


@pytest.mark.parametrize("place", INSIDE)
def test_handled_lies_below_its_load(place):
    assert load_bounds(pull(Outcome.HANDLED, place)) == LoadBounds(0.0, 100.0)


@pytest.mark.parametrize("place", OUTSIDE)
def test_handled_outside_the_joint_carries_no_information(place):
    bounds = load_bounds(pull(Outcome.HANDLED, place))
    assert bounds == LoadBounds(0.0, None, carries_information=False)


def test_an_excluded_pull_keeps_its_bounds():
    excluded = dataclasses.replace(pull(Outcome.BROKE), excluded_because="wrong glue")
    assert load_bounds(excluded) == LoadBounds(100.0, 100.0)
