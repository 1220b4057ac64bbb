"""Laws of the verdict: what may never happen, whatever the mount and the tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from jointlab.mount.document import with_settings
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action, SubstrateKind
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import CombinationStrength, WorkingBound
from jointlab.strength.working import lower_bound
from jointlab.verdict.assessed import assessed, mount_capacity
from jointlab.verdict.decide import decide
from jointlab.verdict.evidence import Evidence, Feed
from jointlab.verdict.stands import stands_n
from jointlab.verdict.values import Outcome
from jointlab.verdict.would_settle import ways_out

deterministic = settings(derandomize=True, max_examples=20, deadline=None)

COMBINATION = Combination("yellow glue", "maple offcut")
DISC_50_MM2 = 1963.4954084936207


@st.composite
def documents(draw):
    """A blank on a disc, with screws, of sizes a shop turns."""
    diameter_mm = draw(st.integers(100, 400))
    length_mm = draw(st.integers(30, 200))
    return {
        "blank": {
            "diameter_mm": float(diameter_mm),
            "length_mm": float(length_mm),
            "density_kg_m3": draw(st.floats(350.0, 900.0)),
            "offset_mm": draw(st.floats(0.0, 10.0)),
        },
        "joint": {
            "glue": "yellow glue",
            "substrate": "maple offcut",
            "shape": "disc",
            "diameter_mm": float(draw(st.integers(50, diameter_mm))),
            "age_h": 200.0,
            "batch": "A",
        },
        "block": {"thickness_mm": 40.0, "wood": "maple, sugar"},
        "screws": {
            "count": draw(st.integers(4, 10)),
            "circle_mm": draw(st.floats(80.0, 200.0)),
            "diameter_mm": 5.5,
            "thread_mm": 35.0,
        },
        "lathe": {
            "rpm": draw(st.floats(300.0, 1500.0)),
            "motor_w": draw(st.floats(250.0, 2200.0)),
            "rotor_kg_m2": draw(st.floats(0.002, 0.06)),
        },
        "criteria": {"catch": draw(st.sampled_from(["light", "firm", "severe"]))},
    }


def evidence_at(bound: WorkingBound, *, n: int = 10, batches: int = 2) -> Evidence:
    names = tuple("ABCDE"[:batches])
    strength = CombinationStrength(COMBINATION, Action.PRY, n, n, 0, n, batches, names, (), (), bound)
    feed = Feed(Action.PRY, strength, n, names, DISC_50_MM2, 200.0, None)
    return Evidence(COMBINATION, feed, None, kinds=(SubstrateKind.SOLID_FACE,))


def simple_evidence(bound_mpa: float, upper_mpa: float | None = None, **parts) -> Evidence:
    return evidence_at(WorkingBound(bound_mpa, upper_mpa, "working 1", 0.95, 0.95), **parts)


bounds = st.floats(0.05, 20.0)


@deterministic
@given(documents(), st.lists(st.floats(1.0, 8.0), min_size=6, max_size=14), st.floats(0.5, 0.94))
def test_more_confidence_never_turns_a_verdict_into_a_pass(document, strengths, confidence):
    sample = StrengthSample.of_values(np.array(strengths), batch=[number % 2 for number in range(len(strengths))])
    setup = setup_of(document)

    def verdict_at(level):
        criteria = replace(setup.criteria, confidence=level)
        bound = lower_bound(sample, coverage=0.95, confidence=level)
        return decide(replace(setup, criteria=criteria), evidence_at(bound, n=len(strengths)))

    less, more = verdict_at(confidence), verdict_at(0.95)
    assert more.margin_lower <= less.margin_lower * (1.0 + 1e-12)
    if less.verdict is not Outcome.PASS:
        assert more.verdict is not Outcome.PASS


@deterministic
@given(documents(), bounds, st.integers(1, 60))
def test_a_larger_joint_never_lowers_the_margin(document, bound_mpa, growth):
    evidence = simple_evidence(bound_mpa)
    small = setup_of(document)
    grown = min(document["joint"]["diameter_mm"] + growth, document["blank"]["diameter_mm"])
    large = setup_of(with_settings(document, [f"joint.diameter_mm={grown}"]))
    assert assessed(large, evidence).margin_lower >= assessed(small, evidence).margin_lower * (1.0 - 1e-9)


@deterministic
@given(documents(), bounds, st.sampled_from(["offset", "reach", "void"]), st.floats(1.01, 2.0))
def test_more_offset_reach_or_void_never_raises_the_margin(document, bound_mpa, what, times):
    evidence = simple_evidence(bound_mpa)
    before = setup_of(with_settings(document, ["work.reach_mm=15"]))
    blank, work, joint = before.blank, before.work, before.joint
    match what:
        case "offset":
            after = replace(before, blank=replace(blank, offset_mm=blank.offset_mm * times))
        case "reach":
            after = replace(before, work=replace(work, reach_mm=work.reach_mm * times))
        case _:
            after = replace(before, joint=replace(joint, void_pct=10.0 * times))
    assert assessed(after, evidence).margin_lower <= assessed(before, evidence).margin_lower * (1.0 + 1e-9)


@deterministic
@given(documents(), bounds, st.floats(1.0, 3.0))
def test_more_strength_never_lowers_margin_nor_the_grab_it_stands(document, bound_mpa, times):
    setup = setup_of(document)
    weak, strong = simple_evidence(bound_mpa), simple_evidence(bound_mpa * times)
    assert assessed(setup, strong).margin_lower >= assessed(setup, weak).margin_lower * (1.0 - 1e-12)
    stood = [stands_n(setup, mount_capacity(setup, evidence)) for evidence in (weak, strong)]
    assert stood[1] >= stood[0] * (1.0 - 1e-6)


@deterministic
@given(documents(), st.floats(1.0, 1e4), st.sampled_from([{"n": 4}, {"batches": 1}, {"n": 1, "batches": 1}]))
def test_few_pulls_or_one_glue_up_never_pass_whatever_their_strength(document, bound_mpa, parts):
    verdict = decide(setup_of(document), simple_evidence(bound_mpa, bound_mpa, **parts))
    assert verdict.verdict is not Outcome.PASS


@deterministic
@given(documents(), st.floats(1.0, 1e4), st.sampled_from(["reused=true", "pilot=false", "count=2"]))
def test_an_unrated_link_never_passes(document, bound_mpa, condition):
    setup = setup_of(with_settings(document, [f"screws.{condition}"]))
    assert decide(setup, simple_evidence(bound_mpa, bound_mpa)).verdict is not Outcome.PASS


@deterministic
@given(documents(), bounds, st.floats(1.0, 3.0), st.floats(1.0, 3.0))
def test_asking_for_more_margin_never_turns_a_verdict_into_a_pass(document, bound_mpa, spread, times):
    setup = setup_of(document)
    evidence = simple_evidence(bound_mpa, bound_mpa * spread)
    harder = replace(setup, criteria=replace(setup.criteria, margin=setup.criteria.margin * times))
    order = [Outcome.FAIL, Outcome.UNDECIDED, Outcome.PASS]
    assert order.index(decide(harder, evidence).verdict) <= order.index(decide(setup, evidence).verdict)


@settings(derandomize=True, max_examples=20, deadline=None)
@given(documents(), st.floats(0.3, 6.0))
def test_a_way_out_holds_exactly_when_it_is_applied(document, bound_mpa):
    evidence = simple_evidence(bound_mpa)
    setup = setup_of(document)
    for way in ways_out(setup, evidence):
        changed = setup_of(with_settings(document, [f"{key}={_toml(value)}" for key, value in way.setting]))
        assert assessed(changed, evidence).margin_lower >= changed.criteria.margin


def _toml(value: float | str) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)
