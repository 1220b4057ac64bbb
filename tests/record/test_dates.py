import pytest

from jointlab.record.dates import hours_between, iso_text


@pytest.mark.parametrize(
    "text", ["2026-03-14", "2026-03-14T16:20", "2026-03-14 16:20:05", "2026-03-14T16:20:05.5+02:00"]
)
def test_iso_dates_are_kept_as_written(text):
    assert iso_text(text) == text


@pytest.mark.parametrize(
    "text", ["14.3.2026", "2026-3-14", "2026-02-30", "20260314", "1773446400", "2026-03-14T25:00", "today"]
)
def test_anything_else_is_refused(text):
    with pytest.raises(ValueError, match=r"ISO date|day|hour"):
        iso_text(text)


def test_hours_run_from_midnight_to_midnight():
    assert hours_between("2026-03-07", "2026-03-14") == 168.0
    assert hours_between("2026-03-14T08:00", "2026-03-14T16:30") == 8.5


def test_no_hours_are_told_between_a_zoned_and_an_unzoned_moment():
    assert hours_between("2026-03-07", "2026-03-14T00:00+01:00") is None
