"""The stated rules, one by one."""

from jointlab.compare.layout import Layout
from jointlab.compare.recommended import RULES, applicable_to, recommended_for
from jointlab.compare.values import Analysis


def test_each_rule_in_its_turn(sample_of) -> None:
    own = [sample_of("maple", [1.0, 2.0]), sample_of("mdf", [1.0, 2.0])]
    shared = [sample_of(name, [1.0, 2.0], glue_ups=["A", "B"]) for name in ("maple", "mdf")]
    held = [own[0], sample_of("oak", [1.0, 2.0], held=[False, True])]
    assert recommended_for(Layout.of(held)).analysis is Analysis.CENSORED_LOGNORMAL
    assert recommended_for(Layout.of(shared)).analysis is Analysis.BLOCKS
    assert recommended_for(Layout.of(own)).analysis is Analysis.OWN_SPREADS
    assert [rule[0] for rule in RULES] == ["1", "2", "3"]
    assert "1 of 4 strengths" in recommended_for(Layout.of(held)).reason


def test_glue_ups_that_do_not_connect_all_are_said_to_carry_an_assumption(sample_of) -> None:
    apart = [
        sample_of("maple", [1.0, 2.0], glue_ups=["A", "B"]),
        sample_of("mdf", [1.0, 2.0], glue_ups=["A", "B"]),
        sample_of("mdf", [1.0, 2.0], glue_ups=["C", "D"], glue="epoxy"),
    ]
    assert "carry the spread assumed" in recommended_for(Layout.of(apart)).reason
    assert "cancels" in recommended_for(Layout.of(apart[:2])).reason


def test_censored_strengths_leave_two_analyses(sample_of) -> None:
    held = Layout.of([sample_of("maple", [1.0, 2.0], held=[False, True]), sample_of("mdf", [1.0, 2.0])])
    assert applicable_to(held) == (Analysis.CENSORED_LOGNORMAL, Analysis.CENSORED_WEIBULL)
    assert len(applicable_to(Layout.of([sample_of("maple", [1.0, 2.0])]))) == len(Analysis)
