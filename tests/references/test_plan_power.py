"""Plans against worked numbers: detectable differences, success runs of factors."""

import pytest

from jointlab.plan.power import detectable_difference_sd


@pytest.mark.parametrize(
    ("n", "percent"),
    [(5, (30, 40, 51)), (6, (27, 36, 45)), (8, (23, 30, 38)), (10, (20, 27, 33))],
)
def test_detectable_differences_agree_with_the_table_of_the_t_test(n: int, percent: tuple[int, int, int]) -> None:
    # Computed table, whole percent of the mean at spreads of 15, 20 and 25 %: two-sided 5 %, chance 80 %.
    got = [100 * spread * detectable_difference_sd(n=n) for spread in (0.15, 0.20, 0.25)]
    assert got == pytest.approx(percent, abs=0.51)


def test_the_textbook_case_of_sixteen_each_sees_one_standard_deviation() -> None:
    # J. Cohen, Statistical Power Analysis (1988), Table 2.3.5: d 1.00, two-sided .05, power .80: n 17 (recalled).
    assert detectable_difference_sd(n=17) < 1.0 < detectable_difference_sd(n=16)
