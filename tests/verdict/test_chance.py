"""What more pulls may bring."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import lower_bound
from jointlab.verdict.assessed import assessed
from jointlab.verdict.chance import more_pulls, needed_bound_mpa, pull_ways, settling_chances
from jointlab.verdict.decide import decide

BATCH = [0, 1] * 3


def evidence_on(make_evidence, strengths):
    sample = StrengthSample.of_values(strengths, batch=[number % 2 for number in range(len(strengths))])
    bound = lower_bound(sample)
    evidence = make_evidence(bound.bound_mpa, bound.upper_mpa, n=len(strengths))
    return replace(evidence, tension=replace(evidence.tension, sample=sample))


SIX = [4.1, 4.6, 3.6, 5.3, 4.9, 4.4]


def test_the_needed_bound_just_meets_the_margin(setup, make_evidence):
    for shear in (None, (1.5, 3.0)):
        needed = needed_bound_mpa(setup, make_evidence(1.0, 6.0, shear=shear))
        assert assessed(setup, make_evidence(needed, 9.0, shear=shear)).margin_lower >= 1.5
        assert assessed(setup, make_evidence(needed * 0.9999, 9.0, shear=shear)).margin_lower < 1.5


def test_no_bound_is_enough_when_screws_or_a_tested_shear_miss(setup, make_evidence):
    few = replace(setup, screws=replace(setup.screws, count=3))
    assert needed_bound_mpa(few, make_evidence(1.0, 6.0)) is None
    assert needed_bound_mpa(setup, make_evidence(1.0, 6.0, shear=(0.05, 0.1))) is None
    assert needed_bound_mpa(setup, make_evidence(None, None)) is None


def test_more_pulls_have_more_chance_and_the_chance_is_the_same_each_time(setup, make_evidence):
    evidence = evidence_on(make_evidence, SIX)
    few, more, most = (found.chance for found in more_pulls(setup, evidence))
    assert 0.2 < few < more < most < 1.0
    assert [found.chance for found in more_pulls(setup, evidence)] == [few, more, most]


def test_a_stronger_glue_has_more_chance(setup, make_evidence):
    weak = more_pulls(setup, evidence_on(make_evidence, [0.7 * value for value in SIX]))
    strong = more_pulls(setup, evidence_on(make_evidence, SIX))
    assert all(low.chance < high.chance for low, high in zip(weak, strong, strict=True))


def test_chances_are_offered_as_ways_out_of_an_undecided_mount(setup, make_evidence):
    evidence = evidence_on(make_evidence, SIX)
    texts = [way.text for way in pull_ways(setup, evidence)]
    assert any(text.startswith("10 more pry tests from 2 new glue-ups") for text in texts)
    told = [way.text for way in decide(setup, evidence).would_settle]
    assert set(texts) <= set(told)


def held_at(cap):
    """Six pulls on a rig whose limit some of them reached."""
    lower = [min(value, cap) for value in SIX]
    upper = [value if value < cap else np.inf for value in SIX]
    return StrengthSample.of_intervals(lower, upper, batch=BATCH)


def test_nothing_is_promised_without_the_strengths_themselves(setup, make_evidence):
    assert more_pulls(setup, make_evidence(1.0, 6.0)) == ()
    evidence = evidence_on(make_evidence, SIX)
    two = StrengthSample.of_values(SIX[:2], batch=[0, 1])
    broke_when_handled = StrengthSample.of_intervals([0.0, *SIX[1:]], SIX, batch=BATCH)
    for sample in (two, broke_when_handled):
        assert more_pulls(setup, replace(evidence, tension=replace(evidence.tension, sample=sample))) == ()


def test_pulls_that_held_or_were_read_in_steps_have_their_chances_too(setup, make_evidence):
    evidence = evidence_on(make_evidence, SIX)

    def chances(sample):
        feed = replace(evidence.tension, sample=sample)
        return [more.chance for more in more_pulls(setup, replace(evidence, tension=feed))]

    seen, held = chances(evidence.tension.sample), chances(held_at(4.8))
    stepped = chances(
        StrengthSample.of_intervals([4.0, 4.5, 3.5, 5.0, 4.5, 4.0], [4.5, 5.0, 4.0, 5.5, 5.0, 4.5], batch=BATCH)
    )
    assert 0.02 < held[0] < held[1] < seen[1]
    assert 0.02 < stepped[1] < seen[1]
    # a limit that no joint comes near, and steps too fine to matter, change next to nothing
    fine = StrengthSample.of_intervals([value - 1e-3 for value in SIX], [value + 1e-3 for value in SIX], batch=BATCH)
    assert chances(fine) == pytest.approx(seen, abs=0.05)


def test_no_pull_lifts_the_bound_above_the_weakest_joint_seen():
    sample = StrengthSample.of_values(SIX, batch=BATCH)
    level = {"coverage": 0.95, "confidence": 0.95, "void_shares": (0.0,)}
    assert {more.chance for more in settling_chances(sample, needed_mpa=3.61, **level)} == {0.0}
    assert settling_chances(sample, needed_mpa=1.0, **level)[1].chance > 0.9


def test_voids_that_sheet_goods_may_hide_make_a_smaller_chance():
    sample = StrengthSample.of_values(SIX, batch=BATCH)
    solid, sheet = (
        settling_chances(sample, needed_mpa=1.7, coverage=0.95, confidence=0.95, void_shares=shares)
        for shares in ((0.0,), (0.0, 0.1))
    )
    assert all(low.chance < high.chance for low, high in zip(sheet, solid, strict=True))


def test_where_the_pulls_cannot_tell_more_tests_are_offered_without_a_chance(setup, make_evidence):
    evidence = evidence_on(make_evidence, SIX)
    handled = StrengthSample.of_intervals([0.0, *SIX[1:]], SIX, batch=BATCH)
    (way,) = pull_ways(setup, replace(evidence, tension=replace(evidence.tension, sample=handled)))
    assert "how likely cannot be said of these pulls" in way.text
    ruled_out = replace(make_evidence(0.1, 0.2).tension, sample=handled)
    assert list(pull_ways(setup, replace(evidence, tension=ruled_out))) == []


def test_next_to_no_chance_is_told_as_that(setup, make_evidence):
    weak = evidence_on(make_evidence, [0.2 * value for value in SIX])
    open_above = replace(
        weak.tension.strength, working_bound=replace(weak.tension.strength.working_bound, upper_mpa=None)
    )
    (way,) = pull_ways(setup, replace(weak, tension=replace(weak.tension, strength=open_above)))
    assert way.text.startswith("Up to 20 more pry tests settle it with a chance of less than 1 %")
