"""A drawing set into a page: no outside reference, no name twice in the page, colours the page can repaint."""

from __future__ import annotations

import re

from jointlab.publish.drawing import THEMED

_NOT_DRAWING = re.compile(
    r"<\?xml.*?\?>|<!DOCTYPE.*?>|<!--.*?-->|<metadata>.*?</metadata>|<style.*?</style>", re.DOTALL
)
_SIZE = re.compile(r'(<svg\b[^>]*?) height="[^"]*"| width="[^"]*"(?=[^<>]*viewBox)| width="[0-9.]+pt"')
_NAMED = re.compile(r'\bid="([^"]+)"')


def inlined(svg: bytes, *, name: str) -> str:
    """The drawing as an element of a page.

    Parameters
    ----------
    svg
        A drawing of this room, its letters being paths.
    name
        Put before every name within the drawing; unique in the page.
    """
    text = _NOT_DRAWING.sub("", svg.decode("utf-8")).strip()
    opening, rest = text.split(">", 1)
    box = re.search(r'viewBox="[^"]+"', opening)
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {box[0] if box else ""} aria-hidden="true" focusable="false">{rest}'
    )
    text = text.replace("xlink:href=", "href=")
    for found in dict.fromkeys(_NAMED.findall(text)):
        text = text.replace(f'id="{found}"', f'id="{name}-{found}"').replace(f'"#{found}"', f'"#{name}-{found}"')
        text = text.replace(f"url(#{found})", f"url(#{name}-{found})")
    for colour, role in THEMED.items():
        text = text.replace(colour, f"var(--{role})")
    return text
