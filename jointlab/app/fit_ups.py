"""How true a face is: read from a file, read again after turning, drawn to a file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.mount.face_readings import face_readings_of
from jointlab.mount.fit_up import FitUp, RunoutChange, Stage, fit_up_of, runout_change

if TYPE_CHECKING:
    from jointlab.record.vocabulary import GlueFamily


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """A face as it was first read, and, where it was read again, as it runs now and what changed."""

    first: FitUp
    again: FitUp | None = None
    change: RunoutChange | None = None


def read_face(
    path: Path,
    *,
    after: Path | None = None,
    stage: Stage = Stage.MOUNTING,
    radius_mm: float | None = None,
    blank_diameter_mm: float | None = None,
    glue_family: GlueFamily | None = None,
) -> ReadAgain:
    """How true a face is, from the readings of a file, and how it has changed by those of another.

    Parameters
    ----------
    path
        Readings of the face.
    after
        Readings of the same face on the same mount after ``stage``; None: it was not read again.

    Raises
    ------
    InputError
        A file cannot be read, or its readings have problems.
    """
    return face_of(
        (path.name, workflow.text_of(path)),
        after=None if after is None else (after.name, workflow.text_of(after)),
        stage=stage,
        radius_mm=radius_mm,
        blank_diameter_mm=blank_diameter_mm,
        glue_family=glue_family,
    )


def face_of(
    told: tuple[str, str],
    *,
    after: tuple[str, str] | None = None,
    stage: Stage = Stage.MOUNTING,
    radius_mm: float | None = None,
    blank_diameter_mm: float | None = None,
    glue_family: GlueFamily | None = None,
) -> ReadAgain:
    """How true a face is, from readings as text under the name of their file; see ``read_face``."""

    def read(name: str, text: str) -> FitUp:
        readings = face_readings_of(text, name=name, radius_mm=radius_mm)
        return fit_up_of(readings, blank_diameter_mm=blank_diameter_mm, glue_family=glue_family)

    first = read(*told)
    if after is None:
        return ReadAgain(first)
    again = read(*after)
    return ReadAgain(first, again, runout_change(first, again, stage=stage))


def plot_face(face: ReadAgain, path: Path) -> Path:
    """Draw the readings, the lean through them and what it leaves to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    """
    from jointlab.app.drawing_files import image_form
    from jointlab.publish.runout_figure import runout_figure

    form = image_form(path)
    now, before = (face.first, None) if face.again is None else (face.again, face.first)
    workflow.write_bytes(path, runout_figure(now, before=before, form=form))
    return path
