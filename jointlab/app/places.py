"""Where things are: the shop book of this user, and the demo's files in the package."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

BOOK_NAME = "shop-book.db"


def default_book() -> Path:
    """The shop book in the user's data folder; the folder is made, the book itself is not."""
    from platformdirs import user_data_path

    return user_data_path("jointlab", appauthor=False, ensure_exists=True) / BOOK_NAME


def demo_files() -> Traversable:
    """Folder of the invented demo pulls and mounts, as they ship."""
    return resources.files("jointlab.app") / "demo_data"
