from jointlab.mount.sensitivity import swings_of
from jointlab.mount.setup_of import setup_of
from jointlab.publish.drawing import ImageForm
from jointlab.publish.swings_figure import swings_figure

MOUNT = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616},
    "joint": {"glue": "g", "substrate": "s", "shape": "disc", "diameter_mm": 150, "age_h": 168},
    "block": {"thickness_mm": 38},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
}


def test_the_widest_swing_stands_on_top_and_the_drawing_repeats_to_the_byte():
    swings = swings_of(setup_of(MOUNT))
    assert [swing.width for swing in swings] == sorted((swing.width for swing in swings), reverse=True)
    image = swings_figure(swings, label="tension, MPa")
    assert image.startswith(b"<?xml")
    assert image == swings_figure(swings, label="tension, MPa")
    assert swings_figure(swings, label="tension, MPa", form=ImageForm.PNG).startswith(b"\x89PNG")
