"""Everything jointlab raises on purpose.

JointlabError                      exit  HTTP
├── InputError                       2    422   the user can correct it; carries every problem found
├── BookError                        3    409   the shop book says no
│   └── UnknownEntryError            3    404   no such entry
└── AnalysisError                    4    422   no honest number exists

Anything else that escapes is a bug (exit 1, HTTP 500). "Not enough evidence" is a verdict
with reasons, not an error.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar


class JointlabError(Exception):
    """Raised on purpose: its message says what was asked, what is there, what is allowed and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(_showable(message))

    exit_code: ClassVar[int] = 1
    http_status: ClassVar[int] = 500
    kind: ClassVar[str] = "error"


def _showable(text: str) -> str:
    """The text as every door can write it: halves of characters, which JSON and file names may hold, as numbers."""
    return text if text.isascii() else text.encode("utf-8", errors="backslashreplace").decode("utf-8")


SHOWN_LENGTH = 60
"""Longest value shown in a message; a pasted page stays readable."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One cell, field or key that cannot be used as it is.

    Parameters
    ----------
    message
        The sentence for the user.
    row
        Row of the spreadsheet, the header being 1; None where there are no rows.
    column
        Column, field or dotted key as the user wrote it.
    value
        What stands there, as text.
    allowed
        What may stand there.
    """

    message: str
    row: int | None = None
    column: str | None = None
    value: str | None = None
    allowed: str | None = None

    def __post_init__(self) -> None:
        """Keep what every door can write."""
        for name in ("message", "column", "value", "allowed"):
            text = getattr(self, name)
            if text is not None:
                object.__setattr__(self, name, _showable(text))

    def __str__(self) -> str:
        place = ", ".join(part for part in (f"row {self.row}" if self.row else "", self.column or "") if part)
        shown = f" = {_shortened(self.value)!r}" if self.value is not None and self.column else ""
        return f"{place}{shown}: {self.message}" if place else self.message


def _shortened(text: str) -> str:
    return text if len(text) <= SHOWN_LENGTH else f"{text[: SHOWN_LENGTH - 1]}…"


class InputError(JointlabError):
    """The user can correct it: every problem of the input at once."""

    exit_code = 2
    http_status = 422
    kind = "input"

    def __init__(self, problems: Problem | Iterable[Problem], *, subject: str = "the input") -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        self.subject = subject
        count = len(self.problems)
        head = f"{subject}: {count} problem{'s' if count != 1 else ''}; nothing was stored"
        super().__init__("\n".join([head, *(f"  {problem}" for problem in self.problems)]))


class BookError(JointlabError):
    """The shop book says no; what is in it is as it was."""

    exit_code = 3
    http_status = 409
    kind = "book"


class UnknownEntryError(BookError):
    """No entry of that name or number is in the shop book."""

    http_status = 404

    def __init__(self, *, what: str, asked: str, nearest: Iterable[str] = ()) -> None:
        close = list(nearest)
        hint = f" Nearest: {', '.join(close)}." if close else ""
        super().__init__(f"There is no {what} {asked} in the shop book.{hint}")


class AnalysisError(JointlabError):
    """No honest number exists for what was asked."""

    exit_code = 4
    http_status = 422
    kind = "analysis"
