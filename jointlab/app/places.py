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


def book_stands_at(place: str | Path | None) -> bool:
    """Whether there is a shop book at a path, or a server at a URL to be asked for one; none is made."""
    from jointlab.book.engine import address_of, file_of

    file = file_of(address_of(default_book() if place is None else place))
    return file is None or file.exists()


def demo_files() -> Traversable:
    """Folder of the invented demo pulls and mounts, as they ship."""
    return resources.files("jointlab.app") / "demo_data"
