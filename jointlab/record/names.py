"""Names as shops write them, and as jointlab matches them."""

from __future__ import annotations

import unicodedata
from functools import lru_cache


def tidied(name: str) -> str:
    """The name in Unicode form NFC, trimmed, with inner spaces collapsed: how it is kept and shown."""
    return " ".join(unicodedata.normalize("NFC", name).split())


@lru_cache(maxsize=65_536)
def matched(name: str) -> str:
    """The name as two names are compared: tidied, without case.

    Folding case can undo the composed form (Turkish dotted I, Greek iota subscript), hence NFC once more.
    """
    return unicodedata.normalize("NFC", tidied(name).casefold())
