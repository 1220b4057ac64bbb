import pytest

from jointlab.app.cli.flags import cells_of, coupon_of, selection_of, share_of
from jointlab.errors import InputError
from jointlab.record.vocabulary import Action


def test_flags_become_columns():
    assert cells_of(["--batch", "A", "--load_kgf=12.5", "--arm-mm", "300"]) == {
        "batch": "A",
        "load_kgf": "12.5",
        "arm_mm": "300",
    }


def test_a_value_may_be_empty_or_negative():
    assert cells_of(["--notes=", "--air_c", "-5"]) == {"notes": "", "air_c": "-5"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["12.5"], "stands alone"),
        (["--batch"], "needs a value"),
        (["--batch", "--specimen", "1"], "needs a value"),
        (["--batch", "A", "--batch", "B"], "given twice"),
    ],
)
def test_flags_that_cannot_be_read_are_told(words, told):
    with pytest.raises(InputError, match=told):
        cells_of(words)


def test_filters_select_by_action_word():
    assert selection_of("pva", None, None, "pry").action is Action.PRY
    with pytest.raises(InputError, match="pull, pry, shear, twist"):
        selection_of(None, None, None, "tug")


@pytest.mark.parametrize("value", [0.0, 1.0, -0.1, 95.0, float("nan")])
def test_a_share_lies_between_nothing_and_all(value):
    with pytest.raises(InputError, match=r"from 0\.01 to 0\.9999"):
        share_of("--confidence", value)


def test_a_coupon_is_refused_with_every_problem_at_once():
    with pytest.raises(InputError) as caught:
        coupon_of(-3.0, "saw", 0.0, 6, 2, float("inf"))
    columns = {problem.column for problem in caught.value.problems}
    assert columns == {"--diameter_mm", "--arm_mm", "--cap_kgf", "--action"}
    assert coupon_of(50.0, "pull", 300.0, 6, 2, None).arm_mm is None
