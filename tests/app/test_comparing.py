import json
from pathlib import Path

import pytest

from jointlab.app.cli import main
from jointlab.app.comparing import compare_document, compare_in
from jointlab.errors import AnalysisError, InputError

DEMO = Path(__file__).parents[2] / "datasets" / "demo"


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    place = str(tmp_path_factory.mktemp("book") / "shop.db")
    assert main(["import", str(DEMO / "pulls.csv"), "--book", place]) == 0
    return place


@pytest.fixture(scope="module")
def compared(book):
    return compare_in(book)


def test_only_actions_with_two_combinations_are_compared(compared):
    assert [one.action for one in compared] == ["pry"]


def test_the_strongest_stands_first_and_board_is_shown_weaker_than_maple(compared):
    (part,) = compare_document(compared).comparisons
    medians = [one.median_mpa for one in part.combinations]
    assert medians == sorted(medians, reverse=True)
    pairs = {(effect.combination, effect.against): effect for effect in part.effects}
    effect = pairs["yellow wood glue on hard maple scrap", "yellow wood glue on MDF"]
    assert effect.shown == "shown stronger"
    assert effect.ratio.lower > 1.0


def test_a_control_is_compared_with_each_other_once(book):
    (one,) = compare_in(book, control="Yellow wood glue on MDF")
    assert len(one.comparison.effects) == len(one.comparison.summaries) - 1
    with pytest.raises(InputError, match="must be one of"):
        compare_in(book, control="glue of old")


def test_an_analysis_can_be_asked_for_by_name(book):
    (one,) = compare_in(book, analysis="censored_weibull")
    assert one.comparison.analysis == "censored_weibull"
    with pytest.raises(InputError, match="censored_weibull"):
        compare_in(book, analysis="guess")


def test_nothing_to_compare_is_said(tmp_path):
    with pytest.raises(AnalysisError, match="nothing to compare"):
        compare_in(tmp_path / "empty.db")


def test_the_command_answers_in_tables_and_in_json(book, capsys):
    assert main(["compare", "--book", book]) == 0
    shown = capsys.readouterr().out
    assert "does not make them equal" in shown
    assert main(["compare", "--book", book, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == 1
    assert told["comparisons"][0]["action"] == "pry"
