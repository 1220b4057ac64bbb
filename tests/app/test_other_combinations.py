"""Another tested combination as a way out."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest

from jointlab.app import other_combinations, workflow
from jointlab.book.stored import StoredCombination
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.verdict.values import Outcome, WayOut

DEMO = Path("jointlab/app/demo_data")
MDF = DEMO / "mounts" / "bowl_on_mdf.toml"
WIDER = ("joint.diameter_mm=130", "hold.plate_mm=130", "screws.circle_mm=110")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("others") / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    return place


@pytest.fixture
def place(filled: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(filled, tmp_path / "shop.db"))


def offered(decision: workflow.Decision) -> list[WayOut]:
    return [way for way in decision.verdict.would_settle if "as your own tests have it" in way.text]


def applied(way: WayOut) -> list[str]:
    return [f"{key}={value}" for key, value in way.setting]


def test_a_combination_that_passes_is_offered_and_holds_exactly_when_applied(place):
    ways = offered(workflow.decide_mount(place, MDF, WIDER))
    assert ways
    for way in ways:
        then = workflow.decide_mount(place, MDF, [*WIDER, *applied(way)])
        assert then.verdict.verdict is Outcome.PASS
        margin = float(way.text.rsplit("margin ", 1)[1].rstrip("."))
        assert margin <= then.verdict.margin_lower < margin + 0.01


def test_what_holds_no_better_is_not_offered_nor_what_has_too_few_pulls(place):
    assert offered(workflow.decide_mount(place, MDF, ["joint.diameter_mm=60"])) == []
    told = " ".join(way.text for way in offered(workflow.decide_mount(place, MDF, WIDER)))
    assert "hot melt" not in told


def test_a_pass_offers_nothing(place):
    assert workflow.decide_mount(place, DEMO / "mounts" / "bowl_on_maple.toml").verdict.would_settle == ()


def test_of_many_combinations_those_nearest_the_mounts_own_are_tried():
    def stored(glue: str, substrate: str, pulls: int, action: Action = Action.PRY) -> StoredCombination:
        return StoredCombination(Combination(glue, substrate), action, pulls, 0)

    own = Combination("pva", "maple")
    known = [stored(f"glue {n}", f"wood {n}", 40 - n) for n in range(20)]
    known += [stored("pva", "maple", 30), stored("pva", "ash", 6), stored("epoxy", "Maple", 5)]
    known += [stored("hide", "maple", 4), stored("hide", "maple", 40, Action.SHEAR)]
    book = SimpleNamespace(place="nowhere", head=lambda: "", combinations=lambda: tuple(known))
    told = [str(each) for each in other_combinations._nearest(book, own)]
    assert told[:3] == ["epoxy on Maple", "pva on ash", "glue 0 on wood 0"]
    assert len(told) == other_combinations.MOST_TRIED
