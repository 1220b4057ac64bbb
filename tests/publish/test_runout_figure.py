from __future__ import annotations

import numpy as np

from jointlab.mount.face_readings import FaceReadings
from jointlab.mount.fit_up import fit_up_of
from jointlab.publish.drawing import ImageForm
from jointlab.publish.runout_figure import runout_figure

TURN = 2.0 * np.pi * np.arange(16) / 16
BEFORE = fit_up_of(FaceReadings.equally_spaced(10.0 + 0.2 * np.cos(TURN - 1.0), radius_mm=60.0))
NOW = fit_up_of(FaceReadings.equally_spaced(10.0 + 0.4 * np.cos(TURN) + 0.05 * np.cos(2 * TURN), radius_mm=60.0))


def test_the_drawing_is_the_same_each_time_and_changes_with_the_readings() -> None:
    drawings = [runout_figure(BEFORE), runout_figure(NOW), runout_figure(NOW, before=BEFORE)]
    assert runout_figure(BEFORE) == drawings[0]
    assert len(set(drawings)) == 3
    assert runout_figure(NOW, form=ImageForm.PNG).startswith(b"\x89PNG")
