from pathlib import Path

import pytest

from jointlab.app.drawing_files import image_form
from jointlab.errors import InputError
from jointlab.publish.drawing import ImageForm


def test_the_name_of_the_file_says_its_form() -> None:
    assert image_form(Path("a.b/power.SVG")) is ImageForm.SVG
    assert image_form(Path("power.png")) is ImageForm.PNG
    with pytest.raises(InputError, match=r"\.svg or \.png"):
        image_form(Path("power.jpg"))
