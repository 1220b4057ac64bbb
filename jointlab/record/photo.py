"""A photo of a break or a mount, as it may be kept: small, and telling nothing but what it shows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Photo:
    """A JPEG picture without location, camera data or other metadata, and its size [px]."""

    jpeg: bytes
    width_px: int
    height_px: int
