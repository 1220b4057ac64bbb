"""What a mount of other sizes would be asked, and the mount drawn to scale: both before any test."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow

if TYPE_CHECKING:
    from jointlab.mount.envelope import Envelope
    from jointlab.mount.setup import MountSetup


def asked_around(setup: MountSetup) -> tuple[Envelope, ...]:
    """What the lathe asks as the joint, the reach or the blank varies, without and with the tailstock."""
    from jointlab.mount.envelope import EnvelopeAxis, envelope_of
    from jointlab.verdict.operating import usual_sizes_mm

    axes = map(EnvelopeAxis, workflow.ENVELOPE_AXES)
    return tuple(envelope_of(setup, axis=axis, sizes_mm=usual_sizes_mm(setup, axis)) for axis in axes)


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
