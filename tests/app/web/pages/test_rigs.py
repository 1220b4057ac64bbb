"""Rigs by form: kept, checked, told when due; what is wrong stays typed beside its field."""

import pytest

from jointlab.app import rigging

SCALE = {
    "name": "hook scale",
    "kind": "scale_in_line",
    "capacity": "50",
    "resolution": "0,1",
    "unit": "kgf",
    "class_pct": "1",
}


@pytest.fixture
def kept(door):
    assert door.post("/rigs/keep", SCALE, follow_redirects=False).status_code == 303
    return door


def test_a_rig_is_kept_and_told_to_be_due_as_long_as_it_was_never_checked(kept):
    text = kept.get("/rigs?kept=hook+scale").text
    assert "hook scale is kept" in text
    assert "cap 490.3 N, resolution 0.9807 N" in text
    assert "<strong>now</strong>" in text
    assert "was never checked against a known mass" in text


def test_a_check_is_kept_and_says_when_the_next_is_due(kept, place):
    fields = {"rig": "hook scale", "known": "20", "shown": "20,1", "unit": "kgf", "date": "2026-03-14"}
    assert kept.post("/rigs/check", fields, follow_redirects=False).headers["location"] == "/rigs?kept=hook+scale"
    check = rigging.kept_rigs(place, today="2026-03-15")[0].stored.rig.last_check
    assert (check.checked_on, round(check.known, 4), round(check.shown, 4)) == ("2026-03-14", 196.133, 197.1137)
    text = kept.get("/rigs").text
    assert "2027-03-14" in text
    assert "checked on 2026-03-14: scale in line" in text  # in its history


def test_what_is_wrong_with_a_check_is_said_beside_its_field_and_stays_typed(kept, place):
    answer = kept.post("/rigs/check", {"rig": "hook scale", "known": "twenty", "shown": "20", "unit": "kgf"})
    assert answer.status_code == 422
    assert 'id="check-1-known" name="known" type="text" value="twenty"' in answer.text
    assert "must be a number" in answer.text
    assert kept.post("/rigs/check", {"rig": "hook scale", "known": "1", "unit": "psi"}).status_code == 422
    assert kept.post("/rigs/check", {"rig": "no such", "known": "1", "shown": "1", "unit": "kgf"}).status_code == 404
    assert rigging.kept_rigs(place, today="2026-03-15")[0].stored.rig.checks == ()


def test_a_known_rig_is_changed_with_a_reason_only(kept, place):
    again = {"name": "hook scale", "capacity": "40", "unit": "kgf"}
    answer = kept.post("/rigs/keep", again)
    assert answer.status_code == 422
    assert "reason" in answer.text
    kept.post("/rigs/keep", again | {"reason": "the old one broke"})
    rig = rigging.kept_rigs(place, today="2026-03-15")[0].stored.rig
    assert round(rig.capacity, 3) == 392.266
    assert rig.class_pct == 1.0
    assert "the old one broke" in kept.get("/rigs").text


def test_a_unit_that_a_kind_does_not_read_is_refused_by_name(door):
    answer = door.post("/rigs/keep", SCALE | {"unit": "psi"})
    assert answer.status_code == 422
    assert "is not a column of a scale_in_line" in answer.text
    assert 'value="hook scale"' in answer.text
