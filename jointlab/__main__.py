"""``python -m jointlab`` and the ``jointlab`` command."""

from __future__ import annotations

import sys


def run() -> None:
    """Run the command line and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8")
    from jointlab.app.cli import main

    sys.exit(main())


if __name__ == "__main__":
    run()
