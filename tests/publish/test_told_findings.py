from __future__ import annotations

from dataclasses import replace

from jointlab.publish.told_findings import MOST_NAMED, told_findings
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination

ONE = Finding(FindingCode.ONE_BATCH, Severity.WARNING, "One glue-up.")
VOIDS = Finding(FindingCode.COUPONS_MISS_VOIDS, Severity.NOTE, "Look for voids.")
OPEN = Finding(FindingCode.HELD_MOSTLY, Severity.BLOCKING, "Most held.")


def strengths_with(made, findings_of_each):
    strengths = [
        made.strength_of(Combination("glue", f"wood {n}"), bound_mpa=1.0) for n in range(len(findings_of_each))
    ]
    return tuple(replace(each, findings=found) for each, found in zip(strengths, findings_of_each, strict=True))


def test_what_all_combinations_have_in_common_is_said_once(made) -> None:
    (told,) = told_findings(strengths_with(made, [(ONE,)] * 42))
    assert (told.about, told.text) == ("All 42 combinations", "One glue-up.")


def test_what_keeps_a_mount_from_passing_comes_first_and_says_that_it_is_open(made) -> None:
    told = told_findings(strengths_with(made, [(VOIDS,), (VOIDS, OPEN), (ONE,)]))
    assert [each.text for each in told] == ["Open: Most held.", "One glue-up.", "Look for voids."]
    assert [each.about for each in told] == [
        "glue on wood 1, pry", "glue on wood 2, pry", "glue on wood 0, pry; glue on wood 1, pry"
    ]  # fmt: skip


def test_of_most_combinations_those_that_it_does_not_concern_are_named(made) -> None:
    (told,) = told_findings(strengths_with(made, [(ONE,)] * 5 + [()]))
    assert told.about == "All combinations but glue on wood 5, pry"


def test_of_very_many_some_are_named_and_the_others_counted(made) -> None:
    (told,) = told_findings(strengths_with(made, [(ONE,)] * (MOST_NAMED + 2) + [()] * 20))
    assert told.about.startswith("glue on wood 0, pry; glue on wood 1, pry; ")
    assert told.about.endswith("glue on wood 11, pry; and 2 more combinations")


def test_a_single_combination_is_named(made) -> None:
    (told,) = told_findings(strengths_with(made, [(ONE,)]))
    assert told.about == "glue on wood 0, pry"
