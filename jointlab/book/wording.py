"""Reasons and names of people: one printable line each."""

from __future__ import annotations

from jointlab.errors import InputError, Problem
from jointlab.record.names import tidied
from jointlab.record.row import NAME_LENGTH


def needed_line(text: str, *, column: str, subject: str) -> str:
    """The line, tidied.

    Raises
    ------
    InputError
        It is blank, too long, or holds control characters.
    """
    clean = tidied(text)
    if not clean:
        raise InputError(Problem("is needed: say why in a few words", column=column), subject=subject)
    return _line(clean, column=column, subject=subject)


def optional_line(text: str | None, *, column: str) -> str | None:
    """The line, tidied; None when it is blank.

    Raises
    ------
    InputError
        It is too long, or holds control characters.
    """
    clean = tidied(text or "")
    return _line(clean, column=column, subject="the entry") if clean else None


def _line(text: str, *, column: str, subject: str) -> str:
    if len(text) > NAME_LENGTH or not text.isprintable():
        allowed = f"one line of at most {NAME_LENGTH} characters"
        raise InputError(Problem(f"must be {allowed}", column=column, value=text, allowed=allowed), subject=subject)
    return text
