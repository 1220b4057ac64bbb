"""The command line, in workflow order."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any

from jointlab.errors import InputError, JointlabError, Problem

LEADING = ("--book", "--by")

READER_GONE = 141
"""Exit code when the reader of the output went away: 128 and the number of SIGPIPE, as a shell shows it."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; gives its exit code.

    0 done; 2 the input can be corrected; 3 the book said no; 4 no honest number exists; 1 a bug. ``decide``: 0 pass,
    10 fail, 11 undecided. 141 when the reader of the output went away (``| head``), as other programs end then: never
    0, which ``decide`` says for a pass.
    """
    from jointlab.app.cli.application import application_for

    words = reordered(list(sys.argv[1:] if arguments is None else arguments))
    as_json = "--json" in words
    try:
        _refuse_no_text(words)
        code: Any = application_for(words)(args=words, standalone_mode=False, prog_name="jointlab")
        sys.stdout.flush()
    except JointlabError as error:
        return _told(error, as_json=as_json)
    except KeyboardInterrupt:
        print("stopped; nothing half-done was kept", file=sys.stderr)
        return 130
    except BrokenPipeError:
        _close_quietly()
        return READER_GONE
    except SystemExit as ended:
        # typer meets the broken pipe first and ends with 1, which would say "a bug"
        if isinstance(ended.__context__, BrokenPipeError):
            return READER_GONE
        raise
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        return _usage_told(error, as_json=as_json)
    return code if isinstance(code, int) else 0


def reordered(words: list[str]) -> list[str]:
    """The words with ``--book``, ``--by`` and ``--json`` behind the command, where they stood before it."""
    leading: list[str] = []
    rest = list(words)
    while rest:
        if rest[0] == "--json" or rest[0].startswith(tuple(f"{flag}=" for flag in LEADING)):
            leading.append(rest.pop(0))
        elif rest[0] in LEADING and len(rest) > 1:
            leading.extend((rest.pop(0), rest.pop(0)))
        else:
            break
    return rest + leading if rest else words


def _refuse_no_text(words: Sequence[str]) -> None:
    """Refuse what no file, book or page can hold: half characters, as a name in another encoding leaves them, and NUL.

    Raises
    ------
    InputError
        With a problem for each such word.
    """
    problems = [
        Problem(
            f"{ascii(word)[:80]} is no UTF-8 text: write it anew, and rename a file of such a name", value=ascii(word)
        )
        for word in words
        if "\x00" in word or any("\ud800" <= letter <= "\udfff" for letter in word)
    ]
    if problems:
        raise InputError(problems, subject="the command")


def _told(error: JointlabError, *, as_json: bool) -> int:
    if as_json:
        from jointlab.app.answers import error_document

        print(error_document(error).model_dump_json(), flush=True)
    else:
        print(f"jointlab: {error}", file=sys.stderr)
    return error.exit_code


def _usage_told(error: Any, *, as_json: bool) -> int:
    if as_json:
        told = {"kind": "usage", "message": error.format_message(), "problems": []}
        print(json.dumps({"schema": 1, "error": told}, ensure_ascii=False), flush=True)
    else:
        error.show()
    return 2


def _close_quietly() -> None:
    """Leave without a second complaint when the reader of our output has gone."""
    import os

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
