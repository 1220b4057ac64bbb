"""From pull-apart tests of glue joints to a decision about a woodturning mount.

The names below are the whole public interface. Importing jointlab loads no other package; a name is loaded when it is
first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jointlab.app.notebook import (
        decide,
        fit_combinations,
        mount_demand,
        mount_setup,
        publish_results,
        read_pulls,
        samples_of,
    )
    from jointlab.compare.compare_combinations import compare_combinations
    from jointlab.compare.values import CombinationSample
    from jointlab.errors import AnalysisError, BookError, InputError, JointlabError
    from jointlab.strength.fitting import fit
    from jointlab.strength.sample import StrengthSample
    from jointlab.strength.values import Family
    from jointlab.strength.working import lower_bound

__version__ = "0.1.0"

_HOMES = {
    "AnalysisError": "jointlab.errors",
    "BookError": "jointlab.errors",
    "CombinationSample": "jointlab.compare.values",
    "Family": "jointlab.strength.values",
    "InputError": "jointlab.errors",
    "JointlabError": "jointlab.errors",
    "StrengthSample": "jointlab.strength.sample",
    "compare_combinations": "jointlab.compare.compare_combinations",
    "decide": "jointlab.app.notebook",
    "fit": "jointlab.strength.fitting",
    "fit_combinations": "jointlab.app.notebook",
    "lower_bound": "jointlab.strength.working",
    "mount_demand": "jointlab.app.notebook",
    "mount_setup": "jointlab.app.notebook",
    "publish_results": "jointlab.app.notebook",
    "read_pulls": "jointlab.app.notebook",
    "samples_of": "jointlab.app.notebook",
}

__all__ = [
    "AnalysisError",
    "BookError",
    "CombinationSample",
    "Family",
    "InputError",
    "JointlabError",
    "StrengthSample",
    "__version__",
    "compare_combinations",
    "decide",
    "fit",
    "fit_combinations",
    "lower_bound",
    "mount_demand",
    "mount_setup",
    "publish_results",
    "read_pulls",
    "samples_of",
]


def __getattr__(name: str) -> object:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'jointlab' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
