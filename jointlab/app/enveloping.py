"""Around a mount: what other sizes would be asked and would stand, the mount to scale."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow

if TYPE_CHECKING:
    from jointlab.mount.envelope import Envelope
    from jointlab.mount.setup import MountSetup
    from jointlab.verdict.operating import OperatingLine

ENVELOPE_AXES = ("joint_diameter_mm", "reach_mm", "blank_diameter_mm")


def asked_around(setup: MountSetup) -> tuple[Envelope, ...]:
    """What the lathe asks as the joint, the reach or the blank varies, without and with the tailstock."""
    from jointlab.mount.envelope import EnvelopeAxis, envelope_of
    from jointlab.verdict.operating import usual_sizes_mm

    axes = map(EnvelopeAxis, ENVELOPE_AXES)
    return tuple(envelope_of(setup, axis=axis, sizes_mm=usual_sizes_mm(setup, axis)) for axis in axes)


def envelope_around(decision: workflow.Decision) -> tuple[OperatingLine, ...]:
    """Grab stood and largest speed around a mount: by joint, reach and blank, without and with the tailstock."""
    from jointlab.mount.envelope import EnvelopeAxis
    from jointlab.verdict.operating import operating_envelope, usual_sizes_mm

    lines: list[OperatingLine] = []
    for axis in map(EnvelopeAxis, ENVELOPE_AXES):
        sizes = usual_sizes_mm(decision.setup, axis)
        lines.extend(operating_envelope(decision.setup, decision.evidence, axis=axis, sizes_mm=sizes))
    return tuple(lines)


def plot_section(setup: MountSetup, path: Path) -> Path:
    """Draw the section through a mount to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    """
    from jointlab.app.drawing_files import image_form
    from jointlab.publish.mount_figure import mount_figure

    form = image_form(path)
    workflow.write_bytes(path, mount_figure(setup, form=form))
    return path
