"""The chain: each revision carries a digest of itself and of the one before, so that a later change shows.

The digest is SHA-256 over the canonical JSON of the revision's columns after the digest before it. Columns without
a value are left out, so that a column added by a later schema leaves the digests of old revisions standing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

START = "0" * 64
"""What stands before the first revision."""

_CANONICAL = json.JSONEncoder(sort_keys=True, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def digest_of(cells: Mapping[str, object], *, before: str) -> str:
    """Digest of a revision [64 hexadecimal digits].

    Parameters
    ----------
    cells
        Every column of the revision but its digest: text, whole numbers and finite floats.
    before
        Digest of the revision stored before it.
    """
    given = {name: cell for name, cell in cells.items() if cell is not None and name != "digest"}
    return hashlib.sha256(f"{before}\n{_CANONICAL.encode(given)}".encode("ascii")).hexdigest()
