import pytest

from jointlab.record.woods import WOODS, nearest_woods, wood_named, wood_problem, woods_named
from jointlab.sources import SOURCES


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("walnut", "black walnut"),
        ("Walnut, black", "black walnut"),
        ("HARD MAPLE", "sugar maple"),
        ("soft maple", "red maple"),
        ("red oak", "northern red oak"),
        ("yellow poplar", "yellow-poplar"),
        ("tulipwood", "yellow-poplar"),
        ("douglas fir", "Douglas-fir, coast"),
        ("white pine", "eastern white pine"),
    ],
)
def test_a_wood_is_found_by_its_words_in_any_order_and_case(written, name):
    found = wood_named(written)
    assert found is not None
    assert found.name == name


def test_a_name_of_several_woods_is_none_of_them():
    assert wood_named("maple") is None
    assert len(woods_named("maple")) == 4
    assert "say which of" in (wood_problem("maple") or "")


def test_a_name_that_is_not_in_the_table_is_answered_with_the_nearest():
    assert nearest_woods("chery") == ("black cherry",) or "black cherry" in nearest_woods("black chery")
    assert "nearest" in (wood_problem("black chery") or "")


def test_a_name_like_none_is_answered_with_the_whole_table():
    assert "it has sugar maple" in (wood_problem("qqqqq") or "")
    assert woods_named("  ") == ()


def test_every_row_names_its_source_and_stands_dry_above_green_in_shear():
    for wood in WOODS:
        assert wood.source in SOURCES
        assert wood.shear_mpa > wood.green_shear_mpa
        assert 0.3 < wood.specific_gravity < 0.75
        assert (wood.tension_mpa is None) == (wood.green_tension_mpa is None)
