"""Which tests and which table belong to a layout."""

import pytest

from jointlab.compare.layout import Layout
from jointlab.compare.overall import factorial_table, factors_of, overall_tests


@pytest.fixture
def crossed(sample_of) -> list:
    days = ["A", "A", "B", "B"]
    return [
        sample_of("maple", [4.0, 4.2, 4.6, 4.9], glue_ups=days),
        sample_of("mdf", [1.0, 1.1, 1.2, 1.3], glue_ups=days),
        sample_of("maple", [5.0, 5.4, 5.9, 6.1], glue_ups=days, glue="epoxy"),
        sample_of("mdf", [1.4, 1.3, 1.6, 1.8], glue_ups=days, glue="epoxy"),
    ]


def test_glue_and_substrate_and_their_interaction_stand_beside_the_glue_ups(crossed) -> None:
    table = factorial_table(Layout.of(crossed), batch_ratio=1.0)
    assert [line.term for line in table.lines] == ["glue", "substrate", "glue x substrate", "glue-up"]
    assert [line.degrees for line in table.lines] == [1, 1, 1, 1]
    assert (table.error_degrees, table.ratio) == (11, None)


def test_glue_ups_of_one_glue_each_are_random_and_the_ratio_is_said(sample_of) -> None:
    parts = [
        sample_of("maple", [4.0, 4.2, 4.6, 4.9], glue_ups=["A", "A", "B", "B"]),
        sample_of("mdf", [1.0, 1.1, 1.2, 1.3], glue_ups=["A", "A", "B", "B"]),
        sample_of("maple", [5.0, 5.4, 5.9, 6.1], glue_ups=["C", "C", "D", "D"], glue="epoxy"),
        sample_of("mdf", [1.4, 1.3, 1.6, 1.8], glue_ups=["C", "C", "D", "D"], glue="epoxy"),
    ]
    layout = Layout.of(parts)
    table, trusting = (factorial_table(layout, batch_ratio=ratio) for ratio in (1.0, 0.0))
    assert table.ratio == 1.0
    assert [line.term for line in table.lines] == ["glue", "substrate", "glue x substrate"]
    assert table.lines[0].f < 0.7 * trusting.lines[0].f  # glues differ between glue-ups
    assert table.lines[1].f > trusting.lines[1].f  # substrates within them


def test_complete_strengths_have_six_tests_and_censored_ones_the_log_rank(crossed, sample_of) -> None:
    names = [test.name for test in overall_tests(Layout.of(crossed))]
    assert names == [
        "one-way F",
        "Welch F",
        "Kruskal-Wallis",
        "Levene (median)",
        "Bartlett",
        "k-sample Anderson-Darling",
    ]
    held = sample_of("oak", [4.0, 5.0], held=[False, True])
    assert [test.name for test in overall_tests(Layout.of([*crossed, held]))] == ["log-rank"]
    assert factorial_table(Layout.of([*crossed, held]), batch_ratio=1.0) is None


def test_only_what_varies_is_a_factor(crossed) -> None:
    assert [factor.name for factor in factors_of(Layout.of(crossed))] == ["glue", "substrate"]
    assert [factor.name for factor in factors_of(Layout.of(crossed[:2]))] == ["substrate"]
