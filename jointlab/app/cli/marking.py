"""Progress of anything over a second, on the terminal's error stream only."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

Item = TypeVar("Item")

QUIET_S = 1.0
BETWEEN_LOOKS = 500
"""Items between two looks at the clock; a judgement."""


def marked(items: Sequence[Item], words: str) -> Iterator[Item]:
    """The items one by one; a bar once it has taken a second."""
    started = time.monotonic()
    shown: tuple[Progress, TaskID] | None = None
    try:
        for index, item in enumerate(items):
            if shown is None and sys.stderr.isatty() and time.monotonic() - started > QUIET_S:
                shown = _bar(words, len(items), index)
            yield item
            if shown is not None:
                shown[0].advance(shown[1])
    finally:
        if shown is not None:
            shown[0].stop()


def measured(items: Iterator[Item], words: str, share: Callable[[], float]) -> Iterator[Item]:
    """The items one by one; once it has taken a second, a bar of the share done and the number so far."""
    started = time.monotonic()
    shown: tuple[Progress, TaskID] | None = None
    try:
        for number, item in enumerate(items, start=1):
            if number % BETWEEN_LOOKS == 0 and sys.stderr.isatty() and time.monotonic() - started > QUIET_S:
                shown = shown or _bar(words, 100, 0)
                shown[0].update(shown[1], completed=100.0 * share(), description=f"{words}, {number:,} rows")
            yield item
    finally:
        if shown is not None:
            shown[0].stop()


def _bar(words: str, total: int, done: int) -> tuple[Progress, TaskID]:
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    task = bar.add_task(words, total=total, completed=done)
    bar.start()
    return bar, task


@contextmanager
def busy(words: str) -> Iterator[None]:
    """A sign of life while something without countable steps goes on."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(words):
        yield
