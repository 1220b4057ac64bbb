import pytest

from jointlab.errors import InputError
from jointlab.mount.document import document_of, toml_text, with_settings


def test_toml_becomes_sections_and_keys_and_a_byte_order_mark_is_passed_over():
    assert document_of("\ufeff[lathe]\nrpm = 600\n", name="bowl.toml") == {"lathe": {"rpm": 600}}


def test_text_that_is_not_toml_is_refused_with_its_line():
    with pytest.raises(InputError) as caught:
        document_of("[lathe]\nrpm = 600\nmotor_w = fast\n", name="bowl.toml")
    (problem,) = caught.value.problems
    assert problem.row == 3
    assert "line 3" in problem.message
    assert "motor_w = fast" in problem.message
    assert str(caught.value).startswith("bowl.toml: 1 problem")


def test_text_that_ends_too_early_is_refused_at_its_end():
    with pytest.raises(InputError, match="line 2, the end"):
        document_of('[lathe]\nsize = """full', name="bowl.toml")


def test_settings_change_a_copy():
    before = {"lathe": {"rpm": 600}, "blank_joint": [{"inner_mm": 40.0}]}
    after = with_settings(
        before,
        [
            "lathe.rpm=400",
            "joint.glue = yellow PVA",
            'joint.batch="12"',
            "people.learner=true",
            "blank.mass_kg=4.5",
            "blank_joint.1.inner_mm=60",
        ],
    )
    assert after["lathe"] == {"rpm": 400}
    assert after["joint"] == {"glue": "yellow PVA", "batch": "12"}
    assert after["people"] == {"learner": True}
    assert after["blank"] == {"mass_kg": 4.5}
    assert after["blank_joint"] == [{"inner_mm": 60}]
    assert before == {"lathe": {"rpm": 600}, "blank_joint": [{"inner_mm": 40.0}]}


@pytest.mark.parametrize(
    "setting", ["rpm=400", "lathe.rpm", "lathe.rpm.x=3", ".rpm=3", "blank_joint.inner_mm=3", "blank_joint.2.inner_mm=3"]
)
def test_a_setting_of_no_known_form_is_refused(setting):
    with pytest.raises(InputError) as caught:
        with_settings({"lathe": {}, "blank_joint": [{}]}, [setting, "lathe.rpm=3", setting])
    assert len(caught.value.problems) == 2


def test_a_setting_cannot_smuggle_in_other_keys():
    changed = with_settings({}, ["lathe.rpm=3\nmotor_w=4"])
    assert changed == {"lathe": {"rpm": "3\nmotor_w=4"}}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x = " + "[" * 5_000, "nested too deeply"),
        ("x = {" + "a={" * 3_000, "nested too deeply"),
        ("x" + ".x" * 3_000 + " = 1", "nested too deeply"),
        ("x = " + "9" * 5_000, "thousands of digits"),
    ],
)
def test_what_is_nested_or_counted_without_end_is_refused(text, told):
    with pytest.raises(InputError, match=told):
        document_of(text, name="mount.toml")


@pytest.mark.parametrize("value", ["[" * 5_000, "9" * 5_000, "{" + "a.".join([""] * 3_000) + "a = 1}"])
def test_a_setting_nested_or_counted_without_end_is_taken_as_a_word(value):
    assert with_settings({}, [f"lathe.rpm={value}"])["lathe"]["rpm"] == value


def test_a_joint_of_the_blank_counted_without_end_is_refused():
    with pytest.raises(InputError, match="is not a joint of the blank"):
        with_settings({"blank_joint": [{}]}, [f"blank_joint.{'9' * 5_000}.glue=pva"])


def test_a_document_written_out_reads_back_and_comments_are_no_part_of_it():
    text = (
        '[blank] # for Aunt Ada\ndiameter_mm = 250\nwood = "sugar \\"hard\\" maple \\u007f"\n'
        "[joint]\nvoid_at_rim = true\nvoid_pct = 1.5\n[factors]\nglue_line.size_tension = 0.5\n"
        "[[blank_joint]]\nheight_mm = 3\n[[blank_joint]]\nheight_mm = 4e1\n"
    )
    document = document_of(text, name="mount.toml")
    written = toml_text(document)
    assert "Ada" not in written
    assert document_of(written, name="again") == document
    assert toml_text(document_of(written, name="again")) == written
