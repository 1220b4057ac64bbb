"""``python -m jointlab`` and the ``jointlab`` command."""

from __future__ import annotations

import gc
import os
import sys

GARBAGE_THRESHOLD = 50_000
"""Objects between two sweeps: the many that an import makes are not worth a sweep each time."""


def run() -> None:
    """Run the command line and leave with its exit code."""
    gc.set_threshold(GARBAGE_THRESHOLD)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # there are none, and looking takes 30 ms
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # names of files may hold what is no text: shown as a number, never a reason to fail
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    from jointlab.app.cli import main

    sys.exit(main())


if __name__ == "__main__":
    run()
