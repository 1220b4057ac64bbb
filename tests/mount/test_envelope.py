import dataclasses

import numpy as np
import pytest

from jointlab.errors import InputError
from jointlab.mount.demand import Case
from jointlab.mount.envelope import EnvelopeAxis, envelope_of, with_size
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Disc, Rectangle, Ring

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 19},
        "blank_joint": [{"height_mm": 30, "outer_mm": 280, "glue": "PVA", "substrate": "ring"}],
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def tension(demand, link="glue_line", case=Case.CATCH_SEVERE):
    return next(found for found in demand.links if (found.link, found.case) == (link, case)).demand.tension_mpa


def test_each_point_of_an_envelope_is_the_mount_of_that_size_and_speed():
    sizes, speeds = [80.0, 120.0, 160.0], [400.0, 800.0]
    envelope = envelope_of(PLAIN, axis=EnvelopeAxis.JOINT_DIAMETER, sizes_mm=sizes, speeds_rpm=speeds)
    assert [line.tailstock for line in envelope.lines] == [Tailstock.NONE, Tailstock.THROUGHOUT]
    for line in envelope.lines:
        assert tension(line.demand).shape == (3, 2)
        for i, size in enumerate(sizes):
            for j, speed in enumerate(speeds):
                alone = dataclasses.replace(
                    PLAIN,
                    joint=dataclasses.replace(PLAIN.joint, outline=Disc(size)),
                    lathe=dataclasses.replace(PLAIN.lathe, speed_rpm=speed),
                    support=dataclasses.replace(PLAIN.support, tailstock=line.tailstock),
                )
                assert tension(line.demand)[i, j] == pytest.approx(tension(mount_demand(alone)), rel=1e-12)


def test_along_each_size_the_demand_goes_the_way_it_must():
    def along(axis, sizes, link="glue_line"):
        line = envelope_of(PLAIN, axis=axis, sizes_mm=sizes, tailstocks=(Tailstock.NONE,)).lines[0]
        return np.diff(tension(line.demand, link)[:, 0])

    assert np.all(along(EnvelopeAxis.JOINT_DIAMETER, [60, 90, 150, 300]) < 0.0)
    assert np.all(along(EnvelopeAxis.REACH, [0, 30, 60, 100]) > 0.0)
    assert np.all(along(EnvelopeAxis.BLANK_DIAMETER, [250, 400, 600]) > 0.0)
    assert np.all(along(EnvelopeAxis.HOLLOW_DIAMETER, [0, 150, 250, 270], "blank_joint_1") > 0.0)


def test_a_force_set_freely_can_be_asked_over_the_whole_envelope():
    envelope = envelope_of(PLAIN, axis=EnvelopeAxis.REACH, sizes_mm=[20, 60, 100], speeds_rpm=[400, 800])
    forces_n = np.array([[500.0, 600.0], [700.0, 800.0], [900.0, 1000.0]])
    glued = next(link for link in envelope.lines[0].at_force(forces_n) if link.link == "glue_line")
    assert glued.demand.tension_mpa.shape == (3, 2)
    assert glued.demand.tension_mpa[2, 1] > glued.demand.tension_mpa[0, 0]


def test_the_trade_s_speeds_run_along_with_the_blank_s_diameter():
    """Printed for 300 mm: 508.0 to 762.0 rpm."""
    envelope = envelope_of(PLAIN, axis=EnvelopeAxis.BLANK_DIAMETER, sizes_mm=[150, 300, 600])
    low, high = envelope.practice_rpm
    assert (low[1], high[1]) == (pytest.approx(508.0), pytest.approx(762.0))
    assert high == pytest.approx([1524.0, 762.0, 381.0])


@pytest.mark.parametrize(
    ("axis", "size"),
    [
        (EnvelopeAxis.JOINT_DIAMETER, 301.0),
        (EnvelopeAxis.JOINT_DIAMETER, 0.0),
        (EnvelopeAxis.REACH, 101.0),
        (EnvelopeAxis.REACH, -1.0),
        (EnvelopeAxis.BLANK_DIAMETER, 99.0),
        (EnvelopeAxis.HOLLOW_DIAMETER, 280.0),
    ],
)
def test_a_size_the_mount_cannot_have_is_refused(axis, size):
    with pytest.raises(InputError, match="must lie between"):
        envelope_of(PLAIN, axis=axis, sizes_mm=[size])


def test_an_envelope_of_no_size_is_refused():
    with pytest.raises(InputError, match="at least one size"):
        envelope_of(PLAIN, axis=EnvelopeAxis.REACH, sizes_mm=[])


@pytest.mark.parametrize(
    ("outline", "wider"),
    [
        (Disc(100.0), Disc(150.0)),
        (Ring(100.0, 40.0), Ring(150.0, 60.0)),
        (Rectangle(100.0, 60.0), Rectangle(150.0, 90.0)),
    ],
)
def test_a_wider_joint_keeps_its_shape(outline, wider):
    setup = dataclasses.replace(PLAIN, joint=dataclasses.replace(PLAIN.joint, outline=outline))
    assert with_size(setup, axis=EnvelopeAxis.JOINT_DIAMETER, size_mm=150.0).joint.outline == wider


def test_a_wider_blank_keeps_its_density_and_share_of_radius_cut():
    wider = with_size(PLAIN, axis=EnvelopeAxis.BLANK_DIAMETER, size_mm=600.0)
    assert wider.blank.mass_kg == pytest.approx(4.0 * PLAIN.blank.mass_kg)
    assert wider.work.min_radius_mm == pytest.approx(150.0)
