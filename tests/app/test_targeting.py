"""What a coupon must hold on a rig of the book: its arm, its limit, and what it will show."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from jointlab.app import rigging
from jointlab.app.cli import main
from jointlab.app.targeting import reading_at, target_for, target_on_rig
from jointlab.errors import InputError, UnknownEntryError
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Disc
from jointlab.record.rig import Rig, RigKind, load_at
from jointlab.verdict import target
from jointlab.verdict.target import Coupon

BOWL = Path("jointlab/app/demo_data/mounts/bowl_on_maple.toml")
TODAY = "2026-03-01"
COUPON = Coupon(Disc(50.0), arm_mm=300.0)


@pytest.fixture(autouse=True)
def few_shops(monkeypatch: pytest.MonkeyPatch) -> None:
    """The average needed is not what is tested here."""
    monkeypatch.setattr(target, "SIMULATED_SHOPS", 5)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("rigs") / "shop.db"
    cells = {"capacity_kgf": "25", "resolution_kgf": "0.1"}
    rigging.keep_rig(place, "long bar", {"kind": "bar_and_scale", "arm_mm": "600", **cells}, today=TODAY)
    rigging.keep_rig(place, "lever", {"kind": "lever", "ratio": "4", **cells}, today=TODAY)
    rigging.keep_rig(place, "wrench", {"kind": "torque_wrench", "capacity_nm": "100"}, today=TODAY)
    return place


def test_the_rigs_arm_and_limit_hold_in_place_of_what_is_described(place):
    described = target_for(BOWL, (), COUPON).target
    found = target_on_rig(place, BOWL, (), COUPON, rig="Long Bar", today=TODAY)
    assert found.target.hold_n == pytest.approx(described.hold_n / 2.0)
    assert "at 600 mm" in found.target.sentences[0]
    assert found.target.arm_for_cap_mm is not None
    assert FindingCode.RIG_UNCHECKED in {finding.code for finding in found.findings}
    assert not any("must then show" in sentence for sentence in found.target.sentences)


def test_where_the_rig_shows_another_number_than_the_load_it_is_told(place):
    found = target_on_rig(place, BOWL, (), COUPON, rig="lever", today=TODAY)
    shown_kgf = found.target.hold_n / 4.0 / 9.80665
    told = next(sentence for sentence in found.target.sentences if "must then show" in sentence)
    number = float(told.split("at least ")[1].split(" kgf")[0])
    assert shown_kgf <= number <= 1.01 * shown_kgf


@pytest.mark.parametrize("rig", [Rig("x", RigKind.LEVER, ratio=4.0, tare=12.0, zero=0.5), Rig("y", RigKind.LEVER)])
def test_the_reading_is_the_inverse_of_the_load(rig):
    assert reading_at(rig, load_at(rig, 37.25)) == pytest.approx(37.25)


def test_a_rig_that_twists_and_one_that_is_not_there_are_refused(place):
    with pytest.raises(InputError, match="twists"):
        target_on_rig(place, BOWL, (), COUPON, rig="wrench", today=TODAY)
    with pytest.raises(UnknownEntryError, match="long bar"):
        target_on_rig(place, BOWL, (), COUPON, rig="long bars", today=TODAY)


def test_by_command_flags_still_work_and_a_name_takes_the_books_rig(place, capsys):
    assert main(["target", str(BOWL), "--cap_kgf", "25", "--json"]) == 0
    by_flags = json.loads(capsys.readouterr().out)
    assert main(["target", str(BOWL), "--rig", "long bar", "--book", str(place), "--json"]) == 0
    by_name = json.loads(capsys.readouterr().out)
    assert by_name["hold_n"] == pytest.approx(by_flags["hold_n"] / 2.0)
    assert main(["target", str(BOWL), "--rig", "none such", "--book", str(place)]) == 3
    assert main(["target", str(BOWL), "--rig", "lever", "--book", str(place)]) == 0
    assert "question: lever was never checked" in capsys.readouterr().out
