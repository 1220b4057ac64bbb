"""A progress bar for anything over a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")

QUIET_S = 1.0


def marked(items: Sequence[Item], words: str) -> Iterator[Item]:
    """The items one by one; a bar on the terminal's error stream once it has taken a second."""
    started = time.monotonic()
    bar = None
    try:
        for index, item in enumerate(items):
            if bar is None and sys.stderr.isatty() and time.monotonic() - started > QUIET_S:
                bar, task = _bar(words, len(items), index)
            yield item
            if bar is not None:
                bar.advance(task)
    finally:
        if bar is not None:
            bar.stop()


def _bar(words: str, total: int, done: int):  # type: ignore[no-untyped-def]  # rich is imported only when it is shown
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    task = bar.add_task(words, total=total, completed=done)
    bar.start()
    return bar, task
