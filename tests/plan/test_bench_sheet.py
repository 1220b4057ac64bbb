"""Bench sheets, and the table that is filled and imported as it is."""

import csv
import io
from dataclasses import replace

from jointlab.plan.bench_sheet import CAUTIONS, bench_sheets, table_to_fill
from jointlab.plan.values import Method
from jointlab.record.csv_file import read_csv
from jointlab.record.joint import Rectangle, Ring
from jointlab.record.vocabulary import Action


def test_a_sheet_a_glue_up_in_the_order_of_testing(plan) -> None:
    sheets = bench_sheets(plan)
    assert [sheet.batch for sheet in sheets] == ["Spring-1", "Spring-2"]
    assert [line.tested_as for line in sheets[0].lines] == list(range(1, len(sheets[0].lines) + 1))
    assert sheets[0].lines[0].code.startswith("Spring-1/")
    assert sheets[0].cautions == CAUTIONS
    assert sheets[1].tested_on == "2026-03-12"


def filled(text: str, **cells: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0])
    writer.writeheader()
    writer.writerows({**row, **cells} for row in rows)
    return out.getvalue()


def test_the_table_filled_in_is_read_as_pulls_of_the_plan(plan) -> None:
    text = filled(table_to_fill(plan), load_n="120.5", outcome="broke", broke_at="glue_line")
    file = read_csv(text.encode(), name="bench.csv")
    assert len(file.pulls) == len(plan.specimens)
    for pull, specimen in zip(file.pulls, plan.specimens, strict=True):
        assert (pull.batch, pull.specimen) == (specimen.batch, specimen.specimen)
        assert pull.joint.combination.key == specimen.combination.key
        assert pull.loading.arm_mm == 300.0
        assert pull.joint.outline == plan.method.outline


def test_twisted_rings_and_rectangles_have_their_columns(plan) -> None:
    ring = replace(plan, method=Method(Action.TWIST, Ring(60.0, 20.0)))
    text = filled(table_to_fill(ring), torque_nm="40", outcome="broke")
    assert read_csv(text.encode(), name="bench.csv").pulls[0].joint.outline == Ring(60.0, 20.0)
    square = replace(plan, method=Method(Action.PULL, Rectangle(25.0, 30.0)))
    text = filled(table_to_fill(square), load_n="900", outcome="held")
    assert read_csv(text.encode(), name="bench.csv").pulls[0].joint.outline == Rectangle(25.0, 30.0)
