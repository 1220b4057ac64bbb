"""Whatever stands in a mount's document, its settings or a file of readings: it is read, or refused with reasons."""

import copy

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from jointlab.errors import InputError
from jointlab.mount.document import document_of, with_settings
from jointlab.mount.face_readings import FaceReadings, face_readings_of
from jointlab.mount.fit_up import fit_up_of
from jointlab.mount.form import SECTIONS
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_of import setup_of

WHOLE = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "mass_kg": 4.0},
    "blank_joint": [{"height_mm": 20, "outer_mm": 200, "inner_mm": 100, "glue": "PVA", "substrate": "ring"}],
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
    "block": {"thickness_mm": 30, "wood": "cherry"},
    "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 20},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
}


def read_or_refused(read):
    """What was read, or the refusal."""
    try:
        return read()
    except InputError as refusal:
        return refusal


LAW = settings(max_examples=150, derandomize=True, deadline=None)
scalars = (
    st.floats(allow_nan=True, allow_infinity=True)
    | st.integers(-(10**20), 10**20)
    | st.booleans()
    | st.sampled_from(["", "disc", "ring", "none", "maple", "face", "end", "wet", "paper", "full", "light", "plywood"])
    | st.text(max_size=8)
    | st.none()
    | st.lists(st.integers(), max_size=2)
    | st.dictionaries(st.text(max_size=3), st.integers(), max_size=2)
)
keys = st.sampled_from([(name, key) for name, form in SECTIONS.items() for key in form.model_fields]) | st.tuples(
    st.sampled_from([*SECTIONS, "factors", "else"]), st.text(min_size=1, max_size=12)
)


@LAW
@given(st.lists(st.tuples(keys, scalars), min_size=1, max_size=4), st.lists(st.sampled_from(list(WHOLE)), max_size=1))
def test_a_document_with_anything_in_it_is_read_or_refused_and_what_is_read_can_be_computed(changes, dropped):
    document = copy.deepcopy(WHOLE)
    for name in dropped:
        del document[name]
    for (section, key), value in changes:
        place = document.setdefault(section, {})
        place = place[0] if isinstance(place, list) else place
        place[key] = value
    setup = read_or_refused(lambda: setup_of(document))
    if isinstance(setup, InputError):
        assert setup.problems
        assert all(problem.column and problem.message for problem in setup.problems)
        return
    assert isinstance(setup, MountSetup)
    for case in mount_demand(setup).cases:
        assert np.isfinite(case.stress.tension_mpa)
        assert case.stress.shear_mpa >= 0.0


@LAW
@given(
    st.lists(st.text(max_size=20) | st.builds("{}.{}={}".format, st.text(max_size=5), st.text(max_size=5), st.text()))
)
def test_any_setting_is_applied_or_refused(given_settings):
    changed = read_or_refused(lambda: with_settings(WHOLE, given_settings))
    assert changed.problems if isinstance(changed, InputError) else set(WHOLE) <= set(changed)


@LAW
@given(st.text(max_size=60) | st.text(alphabet='[]={}".\n0123456789ab_', max_size=60))
def test_any_text_is_toml_or_refused_with_its_line(text):
    document = read_or_refused(lambda: document_of(text, name="mount.toml"))
    assert document.problems[0].row if isinstance(document, InputError) else isinstance(document, dict)


@LAW
@given(st.text(alphabet='reading_mmangle_deg,radius\n"0123456789.-e', max_size=80))
def test_any_file_of_readings_is_read_or_refused(text):
    readings = read_or_refused(lambda: face_readings_of(text, name="face.csv", radius_mm=50.0))
    assert readings.problems if isinstance(readings, InputError) else np.isfinite(fit_up_of(readings).warp_mm)


@LAW
@given(
    st.lists(st.floats(-2, 2), min_size=3, max_size=24),
    st.floats(-0.01, 0.01),
    st.floats(-0.01, 0.01),
    st.floats(-5, 5),
)
def test_warp_is_the_same_however_the_face_leans(heights, along, across, up):
    flat = FaceReadings.equally_spaced(heights, radius_mm=50.0)
    x, y = 50 * np.cos(flat.angle_rad), 50 * np.sin(flat.angle_rad)
    leaning = FaceReadings(flat.angle_rad, flat.radius_mm, flat.height_mm + along * x + across * y + up)
    one, other = fit_up_of(flat), fit_up_of(leaning)
    assert np.isclose(one.warp_mm, other.warp_mm, atol=1e-9)
    assert one.runout_mm <= one.warp_mm + one.tilt_mm + 1e-9
