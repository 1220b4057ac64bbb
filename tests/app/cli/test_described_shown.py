import json

import pytest

from jointlab.app.cli import main

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_kgf,arm_mm,outcome,broke_at"
LOADS = (12.5, 13.1, 11.9, 12.2, 14.0, 13.4, 12.8, 12.0, 13.9, 12.6, 11.2, 14.4)


@pytest.fixture
def filled(tmp_path, capsys):
    rows = [
        f"{'AB'[number % 2]},{number},2026-03-14,white glue,maple,pry,disc,50,{load},300,broke,"
        f"{'glue_line' if number % 3 else 'blank'}"
        for number, load in enumerate(LOADS)
    ]
    file = tmp_path / "pulls.csv"
    file.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    assert main(["import", str(file), "--book", str(tmp_path / "shop.db")]) == 0
    capsys.readouterr()
    return str(tmp_path / "shop.db")


def test_links_are_told_with_their_breaks_and_the_chain_is_held_against_the_joint(filled, capsys):
    assert main(["strength", "--book", filled, "--links"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "glue line: 8 broke; weibull: shape" in told
    assert "blank: 4 broke; weibull: shape" in told
    assert "Put together from its 2 links the chain has its 5th percentile at" in told


def test_families_are_told_with_why_no_threshold_can_be(filled, capsys):
    assert main(["strength", "--book", filled, "--families"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "weibull with a threshold: none, a threshold is described from 20 complete pulls on" in told
    assert "lognormal: log_mean" in told


def test_the_same_numbers_stand_in_the_json_answer_and_only_where_they_are_asked(filled, capsys):
    assert main(["strength", "--book", filled, "--json"]) == 0
    assert set(json.loads(capsys.readouterr().out)) == {"schema", "combinations"}
    assert main(["strength", "--book", filled, "--links", "--json"]) == 0
    described = json.loads(capsys.readouterr().out)["described"][0]
    assert [(link["broke_at"], link["broke"]) for link in described["links"]] == [("glue_line", 8), ("blank", 4)]
    assert described["threshold_weibull"] is None
    assert described["chain_mpa"] == pytest.approx(described["joint_mpa"], rel=0.2)
