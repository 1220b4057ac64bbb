import pytest

from jointlab.errors import InputError
from jointlab.record.amend import amended_pull
from jointlab.record.csv_file import read_csv

TEXT = (
    "batch,specimen,tested_on,glued_on,glue,substrate,action,shape,diameter_mm,load_kgf,arm_mm,outcome\n"
    "A,1,2026-03-14,2026-03-07,white glue,maple,pry,disc,50,12.5,300,broke\n"
)
(PULL,) = read_csv(TEXT.encode(), name="pulls.csv").pulls


def test_only_the_named_columns_change():
    amended = amended_pull(PULL, {"load_lbf": "30"})
    assert amended.loading.load == pytest.approx(30 * 4.4482216152605, rel=1e-15)
    assert amended.loading.arm_mm == 300.0
    assert amended.joint == PULL.joint
    assert dict(amended.entered) == {"diameter_mm": "50", "arm_mm": "300", "load_lbf": "30"}


def test_an_empty_text_clears_a_column():
    noted = amended_pull(PULL, {"notes": "late"})
    assert noted.notes == "late"
    assert amended_pull(noted, {"notes": ""}).notes is None


def test_cure_follows_the_dates_unless_it_was_stated():
    assert amended_pull(PULL, {"glued_on": "2026-03-13"}).conditions.cure_h == 24.0
    stated = amended_pull(PULL, {"cure_d": "5"})
    assert amended_pull(stated, {"glued_on": "2026-03-13"}).conditions.cure_h == 120.0


def test_a_correction_is_checked_like_a_new_pull():
    with pytest.raises(InputError) as caught:
        amended_pull(PULL, {"diameter_mm": "-1", "outcome": "burst"})
    assert {problem.column for problem in caught.value.problems} == {"diameter_mm", "outcome"}


def test_changing_the_action_asks_for_what_the_new_one_needs():
    with pytest.raises(InputError, match="belongs to a pry"):
        amended_pull(PULL, {"action": "pull"})
    assert amended_pull(PULL, {"action": "pull", "arm_mm": ""}).loading.arm_mm is None
