import dataclasses

import numpy as np
import pytest

from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup_findings import diameter_speed_in_rpm, setup_findings
from jointlab.mount.setup_of import setup_of
from jointlab.mount.shape import is_one_mount
from jointlab.record.finding import FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily

DOCUMENT = {
    "blank": {"diameter_mm": 250, "length_mm": 80, "mass_kg": 3, "moisture_pct": 9},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
    "block": {"thickness_mm": 38, "wood": "sugar maple", "moisture_pct": 9},
    "hold": {"plate_mm": 100},
    "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 5.0, "thread_mm": 30},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "midi"},
}


def setup_with(**changes):
    made = {section: dict(keys) for section, keys in DOCUMENT.items()}
    for section, keys in changes.items():
        made[section] = made.get(section, {}) | keys
    return setup_of(made)


def severities(setup, **known):
    return {finding.code: finding.severity for finding in setup_findings(setup, **known)}


def test_a_mount_in_order_is_only_told_to_check_the_seat_of_its_plate():
    assert severities(setup_with()) == {FindingCode.PLATE_SEAT: Severity.NOTE}


@pytest.mark.parametrize(
    ("changes", "code", "severity"),
    [
        ({"joint": {"age_h": 23.9}}, FindingCode.JOINT_YOUNG, Severity.BLOCKING),
        ({"joint": {"surface": "waxed"}}, FindingCode.SURFACE_UNRATED, Severity.BLOCKING),
        ({"joint": {"surface": "wet"}}, FindingCode.SURFACE_UNRATED, Severity.BLOCKING),
        ({"joint": {"surface": "oily"}}, FindingCode.SURFACE_UNRATED, Severity.BLOCKING),
        ({"blank": {"moisture_pct": 11.1}}, FindingCode.MOISTURE_APART, Severity.BLOCKING),
        ({"block": {"moisture_pct": 11.1}}, FindingCode.MOISTURE_APART, Severity.BLOCKING),
        ({"block": {"kind": "plywood"}}, FindingCode.BLOCK_LAYERED, Severity.NOTE),
        ({"screws": {"reused": True}}, FindingCode.SCREWS_UNRATED, Severity.BLOCKING),
        ({"screws": {"pilot": False}}, FindingCode.SCREWS_UNRATED, Severity.BLOCKING),
        ({"screws": {"count": 2}}, FindingCode.SCREWS_UNRATED, Severity.BLOCKING),
        ({"joint": {"diameter_mm": 101}}, FindingCode.WOOD_MOVES, Severity.NOTE),
        ({"work": {"minutes": 481}}, FindingCode.LEFT_HANGING, Severity.WARNING),
        ({"joint": {"gap_mm": 0.2}}, FindingCode.GAP_WIDE, Severity.WARNING),
        ({"lathe": {"rpm": 915}}, FindingCode.SPEED_ABOVE_PRACTICE, Severity.WARNING),
        ({"screws": {"thread_mm": 29.9}}, FindingCode.SCREWS_SHALLOW, Severity.WARNING),
        ({"screws": {"thread_mm": 35.5}}, FindingCode.SCREW_TIPS_NEAR, Severity.WARNING),
        ({"hold": {"plate_mm": 80}, "joint": {"diameter_mm": 106}}, FindingCode.PLATE_SMALL, Severity.NOTE),
        ({"support": {"tailstock": "roughing"}}, FindingCode.TAILSTOCK_NOT_COUNTED, Severity.NOTE),
        (
            {"support": {"tailstock": "throughout", "tailstock_mm": 79}},
            FindingCode.TAILSTOCK_NOT_COUNTED,
            Severity.WARNING,
        ),
        ({"blank": {"length_mm": 301}}, FindingCode.REACH_LONG, Severity.NOTE),
    ],
)
def test_what_the_setup_alone_says_is_said(changes, code, severity):
    assert severities(setup_with(**changes))[code] is severity


@pytest.mark.parametrize(
    "changes",
    [
        {"joint": {"age_h": 24}},
        {"joint": {"surface": "sanded"}},
        {"blank": {"moisture_pct": 11.0}},
        {"joint": {"gap_mm": 0.15}},
        {"lathe": {"rpm": 914}},
        {"screws": {"thread_mm": 35.0}},
        {"work": {"minutes": 480}},
        {"support": {"tailstock": "throughout"}},
    ],
)
def test_at_the_limit_nothing_more_is_said(changes):
    assert set(severities(setup_with(**changes))) == {FindingCode.PLATE_SEAT}


def test_the_glue_s_family_decides_what_a_gap_means_and_what_softens_it():
    setup = setup_with(joint={"gap_mm": 0.5})
    assert FindingCode.GAP_WIDE in severities(setup, glue_family=GlueFamily.PVA)
    assert FindingCode.GAP_WIDE not in severities(setup, glue_family=GlueFamily.EPOXY)
    assert severities(setup, glue_family=GlueFamily.PVA)[FindingCode.GLUE_SOFTENS] is Severity.NOTE
    assert FindingCode.GLUE_SOFTENS not in severities(setup, glue_family=GlueFamily.RESORCINOL)


def test_a_plate_held_in_jaws_is_not_told_of_its_seat():
    assert severities(setup_with(hold={"kind": "tenon_in_jaws"})) == {}


def test_diameter_times_rpm_is_the_trade_s_own_measure():
    """Rule of the trade, 6000 to 9000: on 300 mm that is 508 to 762 rpm (printed with four digits)."""
    setup = setup_with(blank={"diameter_mm": 300}, lathe={"rpm": 762.0})
    assert diameter_speed_in_rpm(setup) == pytest.approx(9000.0, rel=1e-4)


def test_every_sentence_ends_and_none_promises_safety():
    everything = setup_with(
        joint={"age_h": 1, "surface": "wet", "gap_mm": 3, "diameter_mm": 200},
        blank={"moisture_pct": 40, "length_mm": 700},
        work={"minutes": 10_000},
        lathe={"rpm": 3000},
        screws={"count": 2, "thread_mm": 10},
        support={"tailstock": "roughing"},
    )
    findings = setup_findings(everything, glue_family=GlueFamily.PVA)
    assert len({finding.code for finding in findings}) == 14
    for finding in findings:
        assert finding.text.endswith(".")
        assert "safe" not in finding.text.lower()


def test_the_demand_carries_the_findings_of_one_mount_and_none_for_many():
    setup = setup_with(joint={"age_h": 1})
    assert FindingCode.JOINT_YOUNG in {finding.code for finding in mount_demand(setup).findings}
    many = dataclasses.replace(setup, lathe=dataclasses.replace(setup.lathe, speed_rpm=np.array([300.0, 600.0])))
    assert not is_one_mount(many)
    assert mount_demand(many).findings == ()


def test_assumptions_set_by_hand_are_told_with_the_range_they_leave():
    (told,) = [
        f
        for f in setup_findings(setup_with(factors={"severe_n": 500, "firm_n": 400}))
        if f.code is FindingCode.ASSUMPTION_CHANGED
    ]
    assert told.severity is Severity.WARNING
    assert "force of a severe catch [N] 500 in place of 3000 (outside 1000 to 5000)" in told.text
    assert "force of a firm catch [N] 400 in place of 1000 (outside 500 to 2000)" in told.text


def test_what_hangs_by_the_bond_of_a_sheet_alone_is_told():
    """38 mm of sheet less 30 mm of thread leave 8 mm; without screws nothing is said of it."""
    layered = setup_with(block={"kind": "plywood"})
    for mount, said in ((layered, True), (dataclasses.replace(layered, screws=None), False)):
        (told,) = [found.text for found in setup_findings(mount) if found.code is FindingCode.BLOCK_LAYERED]
        assert ("The 8 mm between screw tips and glue line" in told) is said
