"""Figures and files as answers."""

from __future__ import annotations

from collections.abc import Callable

from starlette.responses import Response

from jointlab.app.web.desk import DRAWING

SVG_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""A drawing carries its own styles and asks for nothing."""


def svg(draw: Callable[[], bytes]) -> Response:
    """A figure, drawn now."""
    with DRAWING:
        content = draw()
    return Response(content, media_type="image/svg+xml", headers={"content-security-policy": SVG_POLICY})


def download(content: bytes | str, *, kind: str, name: str) -> Response:
    """A file to be kept under a name of ours."""
    bare = "".join(letter if letter.isascii() and (letter.isalnum() or letter in "-_.") else "_" for letter in name)
    headers = {"content-disposition": f'attachment; filename="{bare}"'}
    return Response(content, media_type=kind, headers=headers)
