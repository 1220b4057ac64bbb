"""From pull-apart tests of glue joints to a decision about a woodturning mount."""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"
