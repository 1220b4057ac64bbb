"""ISO dates and date-times as they are written at the bench."""

from __future__ import annotations

import re
from datetime import datetime

_ISO = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?(Z|[+-]\d{2}:\d{2})?)?", re.ASCII)


def iso_text(text: str) -> str:
    """The text itself when it is an ISO 8601 date or date-time.

    Raises
    ------
    ValueError
        It is not one, or no such day exists.
    """
    if not _ISO.fullmatch(text):
        raise ValueError("must be an ISO date such as 2026-03-14, or a date-time such as 2026-03-14T16:20")
    moment_of(text)
    return text


def not_iso(text: str) -> str | None:
    """What is wrong with a text that is no ISO 8601 date or date-time; None where it is one."""
    try:
        iso_text(text)
    except ValueError as failure:
        return str(failure)
    return None


def moment_of(text: str) -> datetime:
    """Moment the text names; a date is its midnight. Without a zone it stays without one.

    Raises
    ------
    ValueError
        No such day or time exists.
    """
    return datetime.fromisoformat(text)


def hours_between(earlier: str, later: str) -> float | None:
    """Hours from one moment to another [h]; None when only one of them names its zone."""
    start, end = moment_of(earlier), moment_of(later)
    if (start.tzinfo is None) != (end.tzinfo is None):
        return None
    return (end - start).total_seconds() / 3600.0
