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


def test_the_document_carries_tests_variance_and_homogeneity(compared):
    (part,) = compare_document(compared).comparisons
    assert part.variance is None  # some held
    assert part.breaks is None
    assert part.trend is None
    assert part.homogeneity.batch_share.glue_ups > 5
    assert 0.0 <= part.homogeneity.batch_share.share.value < 1.0
    assert [test.name for test in part.homogeneity.spreads] == ["Levene, Brown-Forsythe", "Bartlett"] or (
        len(part.homogeneity.spreads) == 2
    )
    assert "censored_weibull" in part.others


def test_breaks_are_shown_when_asked_for(book, tmp_path, capsys):
    figure = tmp_path / "breaks.svg"
    assert main(["compare", "--book", book, "--breaks", "--plot", str(figure)]) == 0
    shown = capsys.readouterr().out
    assert "Where joints broke" in shown
    assert "no proxy" in shown
    assert figure.read_bytes().count(b"<svg") == 1
    assert main(["compare", "--book", book, "--breaks", "--json"]) == 0
    breaks = json.loads(capsys.readouterr().out)["comparisons"][0]["breaks"]
    maple = next(one for one in breaks["combinations"] if one["combination"] == "yellow wood glue on hard maple scrap")
    assert sum(place["n"] for place in maple["places"]) + maple["unsaid"] + maple["outside"] == maple["n"] == 12
    assert breaks["test"]["p_value"] < 0.01


def test_the_chance_to_outlast_is_shown_when_asked_for(book, capsys):
    assert main(["compare", "--book", book, "--outlast"]) == 0
    shown = capsys.readouterr().out
    assert "outlasts one of the other" in shown
    assert " to 100 %" in shown
    assert main(["compare", "--book", book, "--json"]) == 0
    effects = json.loads(capsys.readouterr().out)["comparisons"][0]["effects"]
    against = next(one for one in effects if "maple" in one["combination"] and one["against"].endswith("MDF"))
    chance, low = against["chance_outlasts"], against["low_ratio"]
    assert 0.5 < chance["lower"] < chance["value"] < chance["upper"] <= 1.0
    assert 1.0 < low["lower"] < low["value"] < low["upper"]


def test_homogeneity_and_drift_of_a_control_are_shown_when_asked_for(book, capsys):
    words = ["compare", "--book", book, "--homogeneity", "--control", "yellow wood glue on hard maple scrap"]
    assert main(words) == 0
    shown = capsys.readouterr().out
    assert "Of one piece?" in shown
    assert "Glue-ups make" in shown


def test_a_trend_is_shown_with_its_interval_or_why_there_is_none(tmp_path, capsys):
    place = str(tmp_path / "cure.db")
    header = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,arm_mm,outcome,cure_h"
    rows = []
    for wood, level in (("maple", 2.0), ("mdf", 1.0)):
        for size in (40, 60):
            for hours, wobble in ((24, 0.97), (48, 1.04), (96, 0.99), (168, 1.02), (336, 0.98)):
                load = 100 * level * (hours / 24) ** 0.2 * (size / 50) ** 3 * wobble
                rows.append(f"B{len(rows)},1,2026-03-14,pva,{wood},pry,disc,{size},{load:.1f},300,broke,{hours}")
    (tmp_path / "cure.csv").write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    assert main(["import", str(tmp_path / "cure.csv"), "--book", place]) == 0
    capsys.readouterr()
    figure = tmp_path / "trend.png"
    assert main(["compare", "--book", place, "--trend", "cure_h", "--plot", str(figure), "--json"]) == 0
    trend = json.loads(capsys.readouterr().out)["comparisons"][0]["trend"]
    assert trend["ratio"]["lower"] < 2.0**0.2 < trend["ratio"]["upper"]
    assert trend["size_exponent"] is None
    assert figure.read_bytes().startswith(b"\x89PNG")
    assert main(["compare", "--book", place, "--trend", "area_mm2"]) == 0
    assert "Size exponent" in capsys.readouterr().out
    assert main(["compare", "--book", place, "--trend", "gap_mm"]) == 0
    assert "No trend: No usable pull states gap_mm" in capsys.readouterr().out
    assert main(["compare", "--book", place, "--trend", "gap_mm", "--plot", str(figure)]) == 4
    assert main(["compare", "--book", place, "--trend", "colour"]) == 2
    assert main(["compare", "--book", place, "--interaction"]) == 0
    assert "Variance of ln strength" in capsys.readouterr().out


def test_glue_by_substrate_is_drawn_where_there_are_two_of_both(book, tmp_path, capsys):
    figure = tmp_path / "effects.png"
    assert main(["compare", "--book", book, "--plot", str(figure)]) == 0
    assert figure.read_bytes().startswith(b"\x89PNG")
    assert main(["compare", "--book", book, "--interaction", "--plot", str(tmp_path / "grid.png")]) == 0
    assert (tmp_path / "grid.png").read_bytes() != figure.read_bytes()
    assert main(["compare", "--book", book, "--plot", str(tmp_path / "effects.jpg")]) == 2


@pytest.fixture
def looked_at(tmp_path, capsys):
    """A book with a plan of two looks, the first glue-up pulled: epoxy half as strong again."""
    place, table = str(tmp_path / "plan.db"), tmp_path / "fill.csv"
    words = ["plan", "--combination", "pva on maple", "--combination", "epoxy on maple", "--each", "6", "--looks", "2"]
    words += ["--expected_mpa", "3", "--glued_from", "2026-12-01", "--name", "Spring", "--book", place]
    assert main([*words, "--control", "pva on maple", "--table", str(table)]) == 0
    header, *lines = table.read_text(encoding="utf-8").splitlines()
    columns = header.split(",")
    filled = []
    for number, line in enumerate(line for line in lines if line.startswith("Spring-1,")):
        cells = line.split(",")
        load = (150 if cells[columns.index("glue")] == "epoxy" else 100) + 3 * (number % 4)
        cells[columns.index("load_n")], cells[columns.index("outcome")] = str(load), "broke"
        filled.append(",".join(cells))
    table.write_text("\n".join([header, *filled]) + "\n", encoding="utf-8")
    assert main(["import", str(table), "--book", place]) == 0
    capsys.readouterr()
    return place


def test_a_planned_look_is_taken_at_its_share_of_the_doubt(looked_at, capsys):
    assert main(["compare", "--plan", "spring", "--book", looked_at, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["look"] == {
        "plan": "Spring", "look": 1, "looks": 2, "confidence_at_look": pytest.approx(0.975), "due": True
    }  # fmt: skip
    (part,) = told["comparisons"]
    assert part["confidence"] == pytest.approx(0.975)
    assert part["control"] == "pva on maple"
    (effect,) = part["effects"]
    assert (effect["combination"], effect["shown"]) == ("epoxy on maple", "shown stronger")
    alone = compare_in(looked_at, control="pva on maple")[0].comparison.effects[0].ratio
    assert effect["ratio"]["lower"] < alone.lower
    assert main(["compare", "--plan", "spring", "--book", looked_at]) == 0
    assert "Look 1 of 2 of the plan Spring" in capsys.readouterr().out
    assert main(["compare", "--plan", "spring", "--confidence", "0.9", "--book", looked_at]) == 2
    assert main(["compare", "--plan", "summer", "--book", looked_at]) == 3


def test_a_look_before_its_glue_up_is_whole_is_told(looked_at, capsys):
    assert main(["pulls", "--book", looked_at, "--json"]) == 0
    first = json.loads(capsys.readouterr().out)["pulls"][0]["id"]
    words = ["pulls", "correct", str(first), "--reason", "typed wrong", "--specimen", "99", "--book", looked_at]
    assert main(words) == 0
    capsys.readouterr()
    assert main(["compare", "--plan", "spring", "--book", looked_at]) == 0
    assert "No look is due yet" in capsys.readouterr().out
