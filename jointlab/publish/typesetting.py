"""From a template and values to a PDF: no font, package or file is sought outside.

The same values give the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from enum import StrEnum
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

STANDARD: Literal["ua-1"] = "ua-1"
"""PDF/UA-1: tagged, with a title, a language and a description of every figure."""


class Paper(StrEnum):
    """Size of the sheet, by the name the typesetter knows."""

    A4 = "a4"
    LETTER = "us-letter"


def typeset(template: str, *, values: Mapping[str, Any], drawings: Mapping[str, bytes], dated_on: str) -> bytes:
    """PDF of a template of this room.

    Parameters
    ----------
    template
        File of the template.
    values
        What the template shows; reaches it as JSON, so that no text can act as markup.
    drawings
        SVG by file name.
    dated_on
        ISO date that the file carries; it has no other clock.
    """
    import matplotlib as mpl
    import typst

    day = datetime.combine(date.fromisoformat(dated_on[:10]), datetime.min.time(), tzinfo=UTC)
    inputs = {name: drawing.decode("utf-8") for name, drawing in drawings.items()}
    return typst.compile(
        (files("jointlab.publish") / "templates" / template).read_bytes(),
        format="pdf",
        font_paths=typst.Fonts(
            include_system_fonts=False,
            include_embedded_fonts=True,
            font_paths=[Path(mpl.get_data_path()) / "fonts" / "ttf"],
        ),
        sys_inputs=inputs | {"values": json.dumps(values, ensure_ascii=False)},
        pdf_standards=[STANDARD],
        timestamp=int(day.timestamp()),
    )
