"""A photo of a break or a mount, as it may be kept: small, and telling nothing but what it shows."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jointlab.errors import InputError, Problem

if TYPE_CHECKING:
    from PIL.Image import Image

SOURCE = "judgement"

MOST_BYTES = 25_000_000
MOST_PIXELS = 80_000_000
"""What a camera of today may bring; more is refused before it is unpacked (``SOURCE``)."""

LONGEST_SIDE_PX = 2000
QUALITY = 85
"""How a photo is kept: a break is still read on it, and fifty of them still make a small backup (``SOURCE``)."""

_MADE_SMALLER_AT_ONCE = ("RGB", "RGBA", "L", "LA", "CMYK")
"""Ways to store colours in which neighbouring pixels can be averaged; the others are put into one of them first."""

TAKEN = ("JPEG", "PNG", "WEBP")
"""Forms a phone or a camera gives; each is kept as JPEG."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A JPEG picture without location, camera data or other metadata, and its size [px]."""

    jpeg: bytes
    width_px: int
    height_px: int


def cleaned_photo(raw: bytes, *, name: str = "the photo") -> Photo:
    """The picture in these bytes, turned upright, no longer than 2000 pixels, and stripped of all but its pixels.

    Size is checked before anything is unpacked, so that a small file that would unpack to a huge picture is refused.

    Parameters
    ----------
    raw
        Content of a JPEG, PNG or WebP file.
    name
        What the picture is called in messages.

    Raises
    ------
    InputError
        It is no picture of a known form, damaged, or too large.
    """
    if len(raw) > MOST_BYTES:
        raise _refused(name, f"is {len(raw) / 1e6:.0f} MB: at most {MOST_BYTES / 1e6:.0f} MB are taken")
    picture = _opened(raw, name)
    wide, tall = picture.size
    if wide * tall > MOST_PIXELS:
        raise _refused(name, f"has {wide} x {tall} pixels: at most {MOST_PIXELS / 1e6:.0f} million are taken")
    try:
        upright = _upright(picture)
    except Exception as failure:  # a damaged picture can raise nearly anything while it is unpacked
        raise _refused(name, "is damaged: it cannot be unpacked") from failure
    out = io.BytesIO()
    upright.save(out, format="JPEG", quality=QUALITY, optimize=True)
    return Photo(out.getvalue(), *upright.size)


def _opened(raw: bytes, name: str) -> Image:
    from PIL import Image

    try:
        with warnings.catch_warnings():
            # between its own warning and its own refusal the library lets a picture pass: ours refuses below both
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(raw), formats=TAKEN)
    except Image.DecompressionBombError as failure:
        raise _refused(name, f"has too many pixels: at most {MOST_PIXELS / 1e6:.0f} million are taken") from failure
    except Exception as failure:  # what is no picture can raise nearly anything while its head is read
        raise _refused(name, f"is no picture of a known form: {', '.join(TAKEN)}") from failure


def _upright(picture: Image) -> Image:
    from PIL import Image, ImageOps

    picture.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    if picture.mode in _MADE_SMALLER_AT_ONCE:  # before it is copied: a picture near the limit takes 300 MB a copy
        picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    turned = ImageOps.exif_transpose(picture)
    plain = Image.new("RGB", turned.size, "white")
    # only the pixels go across: a copy of the picture would carry its metadata along
    coloured = turned.convert("RGBA")
    plain.paste(coloured, mask=coloured.getchannel("A"))
    plain.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    return plain


def _refused(name: str, message: str) -> InputError:
    return InputError(Problem(message, column="photo", allowed=f"a picture: {', '.join(TAKEN)}"), subject=name)
