"""Predicted against happened as a drawing: every end has its row, every mount its mark."""

from __future__ import annotations

from dataclasses import replace

from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import ImageForm
from jointlab.publish.happened_figure import happened_figure
from jointlab.verdict.field_record import End, Ended, Event, FieldRecord, Predicted, Removal
from jointlab.verdict.values import Outcome

SAID = Predicted(Outcome.PASS, "pass: margin met", 2.1, 1.5, 2070.0, CatchClass.SEVERE, 1e-4)
RECORD = FieldRecord("bowl", "white glue on maple", SAID, "2026-03-01T10:00:00")


def ended(end: End, **changes: object) -> FieldRecord:
    return replace(RECORD, ended=Ended("2026-03-03T10:00:00", end, Removal.PARTED), predicted=replace(SAID, **changes))


def drawn_text(records: list[FieldRecord]) -> str:
    return happened_figure(records).decode("utf-8")


def test_every_way_to_end_has_a_row_and_every_verdict_a_shape():
    told = drawn_text([ended(End.FINISHED), ended(End.LET_GO, verdict=Outcome.FAIL, margin_lower=0.4), RECORD])
    for word in ("finished", "on the lathe", "off, uneasy", "near miss", "joint opened", "let go"):
        assert word in told
    assert "met a catch" in told


def test_a_mount_without_a_margin_is_left_out_and_one_more_with_a_margin_is_one_mark_more():
    marks = [drawn_text(records).count("<use ") for records in ([RECORD], [RECORD, ended(End.FINISHED)])]
    unknown = drawn_text([RECORD, ended(End.FINISHED, margin_lower=None)]).count("<use ")
    assert marks[1] == marks[0] + 1
    assert unknown == marks[0]


def test_a_catch_rings_the_mark():
    caught = replace(RECORD, events=(Event("2026-03-02", catches=((CatchClass.FIRM, 1),)),))
    assert drawn_text([caught]).count("<use ") == drawn_text([RECORD]).count("<use ") + 1


def test_it_is_drawn_as_a_bitmap_too():
    assert happened_figure([RECORD], form=ImageForm.PNG).startswith(b"\x89PNG")
