import numpy as np
import pytest

from jointlab.errors import InputError
from jointlab.mount.face_readings import FaceReadings, face_readings_of, goes_around


def problems_of(text, **known):
    with pytest.raises(InputError) as caught:
        face_readings_of(text, name="face.csv", **known)
    return [(problem.row, problem.column) for problem in caught.value.problems]


def test_angles_radii_and_readings_are_read_in_their_units():
    text = "\ufeffangle_deg,radius_in,reading_in\n0,2,0.001\n90,2,0.002\n\n180,2,-1e-3\n"
    readings = face_readings_of(text, name="face.csv")
    assert readings.angle_rad == pytest.approx([0.0, np.pi / 2, np.pi])
    assert readings.radius_mm == pytest.approx([50.8] * 3)
    assert readings.height_mm == pytest.approx([0.0254, 0.0508, -0.0254])


def test_without_angles_the_rows_are_spaced_equally_and_one_radius_serves_all():
    readings = face_readings_of("thickness_mm\n25.0\n25.1\n25.0\n24.9\n", name="block.csv", radius_mm=60.0)
    assert readings.angle_rad == pytest.approx([0.0, np.pi / 2, np.pi, 1.5 * np.pi])
    assert readings.radius_mm == pytest.approx([60.0] * 4)


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", [(None, None)]),
        ("angle_deg,depth_mm\n0,1\n", [(1, "depth_mm"), (1, "reading_mm"), (1, "radius_mm")]),
        ("reading_mm,thickness_mm,radius_mm\n1,1,1\n", [(1, "thickness_mm")]),
        ("reading_mm,radius_mm\n0.1,50\n0,2,50\n0.3,\nx,-1\n", [(5, "reading_mm"), (4, "radius_mm"), (5, "radius_mm")]),
        ("reading_mm,radius_mm\n0.1,50\n0.2,50\n", [(None, None)]),
        ('reading_mm,radius_mm\n"0.1"x,50\n', [(None, None)]),
        ("angle_deg,reading_mm,radius_mm\n0,0,50\n180,0,50\n0,0,40\n", [(None, "angle_deg")]),
    ],
)
def test_every_problem_of_the_file_is_told_with_its_place(text, places):
    assert problems_of(text) == places


def test_points_on_one_line_fix_no_plane():
    line = FaceReadings(np.array([0.0, 0.0, np.pi]), np.array([10.0, 20.0, 30.0]), np.zeros(3))
    assert not goes_around(line)
    assert goes_around(FaceReadings.equally_spaced([0.0, 0.0, 0.0], radius_mm=10.0))


def test_readings_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        FaceReadings.equally_spaced([0.0, 0.0, 0.0], radius_mm=10.0).height_mm[0] = 1.0
