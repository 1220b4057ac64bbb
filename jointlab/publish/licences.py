"""Licences a shop may choose for its data by name; any other is written as it is given."""

from __future__ import annotations

LICENCES = {
    "CC-BY-4.0": ("Creative Commons Attribution 4.0", "https://creativecommons.org/licenses/by/4.0/"),
    "CC0-1.0": ("Creative Commons Zero 1.0", "https://creativecommons.org/publicdomain/zero/1.0/"),
    "ODC-BY-1.0": ("Open Data Commons Attribution 1.0", "https://opendatacommons.org/licenses/by/1-0/"),
}
"""Name, title, address."""


def licence_address(name: str) -> str:
    """Where the licence stands; the name itself when it is none of the known ones."""
    return LICENCES[name][1] if name in LICENCES else name
