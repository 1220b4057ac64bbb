"""The form of a figure, from the name of the file it goes to."""

from __future__ import annotations

from pathlib import Path

from jointlab.errors import InputError, Problem
from jointlab.publish.drawing import ImageForm


def image_form(path: Path) -> ImageForm:
    """SVG or PNG, as the name ends.

    Raises
    ------
    InputError
        It ends in something else.
    """
    forms = {f".{form}": form for form in ImageForm}
    form = forms.get(path.suffix.lower())
    if form is None:
        problem = Problem(f"must end in {' or '.join(forms)}", column="--plot", value=str(path))
        raise InputError(problem, subject="the command")
    return form
