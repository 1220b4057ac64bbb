from __future__ import annotations

import pytest

from jointlab.mount.envelope import EnvelopeAxis
from jointlab.mount.setup import Tailstock
from jointlab.publish.drawing import ImageForm
from jointlab.publish.envelope_figure import envelope_figure
from jointlab.verdict.operating import OperatingLine, OperatingPoint


def line_of(
    axis: EnvelopeAxis, tailstock: Tailstock, *points: tuple[float, float | None, float | None]
) -> OperatingLine:
    return OperatingLine(axis, tailstock, tuple(OperatingPoint(*point, practice_rpm=900.0) for point in points))


JOINT = EnvelopeAxis.JOINT_DIAMETER
ALONE = line_of(JOINT, Tailstock.NONE, (80.0, 500.0, None), (100.0, 1200.0, 700.0))
HELD = line_of(JOINT, Tailstock.THROUGHOUT, (80.0, 1500.0, 900.0), (100.0, 2900.0, 1500.0))
UNKNOWN = line_of(EnvelopeAxis.REACH, Tailstock.NONE, (20.0, None, None), (80.0, None, None))


def test_the_drawing_is_the_same_each_time_and_changes_with_the_envelope(made) -> None:
    setup = made.mount_of().setup
    drawings = [envelope_figure(setup, lines) for lines in ([ALONE], [ALONE, HELD], [ALONE, HELD, UNKNOWN])]
    assert envelope_figure(setup, [ALONE]) == drawings[0]
    assert len(set(drawings)) == 3
    assert envelope_figure(setup, [UNKNOWN], form=ImageForm.PNG).startswith(b"\x89PNG")


def test_an_envelope_without_a_line_is_not_drawn(made) -> None:
    with pytest.raises(ValueError, match="one line"):
        envelope_figure(made.mount_of().setup, [])
