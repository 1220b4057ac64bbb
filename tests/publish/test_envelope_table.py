from __future__ import annotations

from jointlab.mount.envelope import EnvelopeAxis
from jointlab.mount.setup import Tailstock
from jointlab.publish.envelope_table import envelope_tables, grab_words, speed_words
from jointlab.verdict.operating import OperatingLine, OperatingPoint

JOINT, REACH = EnvelopeAxis.JOINT_DIAMETER, EnvelopeAxis.REACH


def point(size_mm, stands_n, largest_rpm, practice_rpm=900.0):
    return OperatingPoint(size_mm, stands_n, largest_rpm, practice_rpm)


def test_each_size_has_a_table_with_a_pair_of_columns_by_tailstock_and_the_trades_speed():
    joint = tuple(
        OperatingLine(JOINT, tailstock, (point(80.0, 500.0, None), point(100.0, 1299.9, 700.0)))
        for tailstock in (Tailstock.NONE, Tailstock.THROUGHOUT)
    )
    reach = (OperatingLine(REACH, Tailstock.NONE, (point(60.0, 0.0, 3000.0),)),)
    of_joint, of_reach = envelope_tables((*joint, *reach))
    assert len(of_joint.head) == 6
    assert of_joint.head[0] == "joint, mm"
    assert of_joint.rows[1] == ("100", "1290", "700", "1290", "700", "900")
    assert of_reach.rows == (("60", "0", "3000+ *", "900"),)
    assert "* above what the trade turns at" in of_reach.caption


def test_a_speed_above_the_trades_is_marked_and_the_end_of_the_search_told():
    assert speed_words(point(1.0, 1.0, 900.0)) == "900"
    assert speed_words(point(1.0, 1.0, 910.0)) == "910 *"
    assert speed_words(point(1.0, 1.0, 3000.0, practice_rpm=4000.0)) == "3000+"
    assert speed_words(point(1.0, 1.0, None)) == "\N{EN DASH}"


def test_a_grab_is_never_rounded_up_and_an_unknown_one_is_a_dash():
    assert [grab_words(point(1.0, stands_n, None)) for stands_n in (1999.9, 0.0, None)] == ["1990", "0", "\N{EN DASH}"]
