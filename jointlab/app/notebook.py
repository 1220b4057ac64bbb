"""The work in a notebook: pandas frames in and out, no shop book needed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.app.answers import pulls_document
from jointlab.book.stored import StoredPull

if TYPE_CHECKING:
    import pandas as pd

    from jointlab.mount.demand import MountDemand
    from jointlab.mount.setup import MountSetup
    from jointlab.strength.sample import StrengthSample
    from jointlab.strength.values import Family
    from jointlab.verdict.values import Verdict

COMBINATION = ["glue", "substrate", "preparation", "action"]
"""Columns of a frame that name a combination and how it was pulled."""


def read_pulls(path: str | Path) -> pd.DataFrame:
    """Pulls of a CSV file as a frame: every column in SI, and bounds on each strength.

    Returns
    -------
    pandas.DataFrame
        A row a pull; the columns of the contract in SI, then ``stress_lower_mpa``, ``stress_upper_mpa`` (missing where
        it held), ``stress_u_mpa`` and ``usable``.

    Raises
    ------
    InputError
        With every problem of the file at once.
    """
    import pandas as pd

    file = workflow.read_file(Path(path))
    reads = [workflow.read_pull(StoredPull(row, 1, pull)) for row, pull in zip(file.rows, file.pulls, strict=True)]
    rows = [part.model_dump() for part in pulls_document(reads).pulls]
    frame = pd.DataFrame(rows).drop(columns=["id", "revision", "stress_mpa", "stress_u_mpa", "findings"])
    frame["stress_lower_mpa"] = [read.stress.lower_mpa for read in reads]
    frame["stress_upper_mpa"] = pd.array([read.stress.upper_mpa for read in reads], dtype="Float64")
    frame["stress_u_mpa"] = [read.stress.u_mpa for read in reads]
    frame["usable"] = [read.stress.carries_information and read.stored.pull.excluded_because is None for read in reads]
    return frame


def samples_of(frame: pd.DataFrame) -> dict[tuple[str, str, str, str], StrengthSample]:
    """Usable strengths of a frame by glue, substrate, preparation and action.

    Parameters
    ----------
    frame
        As ``read_pulls`` gives it, or any part of its rows.

    Examples
    --------
    >>> import jointlab  # doctest: +SKIP - needs a file
    >>> samples = jointlab.samples_of(jointlab.read_pulls("pulls.csv"))  # doctest: +SKIP - needs a file
    """
    import numpy as np

    from jointlab.strength.sample import StrengthSample

    usable = frame[frame["usable"]].assign(preparation=frame["preparation"].fillna(""))
    grouped = usable.groupby(COMBINATION, sort=True)
    number = grouped.ngroup().to_numpy()
    order = np.argsort(number, kind="stable")
    cuts = np.flatnonzero(np.diff(number[order])) + 1
    lower = usable["stress_lower_mpa"].to_numpy(dtype=np.float64)[order]
    upper = usable["stress_upper_mpa"].to_numpy(dtype=np.float64, na_value=np.inf)[order]
    batch = usable["batch"].to_numpy()[order]
    samples = {}
    for key, low, high, names in zip(
        grouped.groups, *(np.split(column, cuts) for column in (lower, upper, batch)), strict=False
    ):
        glue, substrate, preparation, action = (str(word) for word in key)
        known = {name: place for place, name in enumerate(dict.fromkeys(names))}
        sample = StrengthSample.of_intervals(low, high, batch=[known[name] for name in names])
        samples[glue, substrate, preparation, action] = replace(sample, batch_names=tuple(map(str, known)))
    return samples


def fit_combinations(frame: pd.DataFrame, *, family: Family) -> pd.DataFrame:
    """One family fitted to every combination of a frame in one pass.

    Parameters
    ----------
    frame
        As ``read_pulls`` gives it, or any part of its rows that holds each of its combinations whole: parts are fitted
        apart with the same numbers.
    family
        The distribution.

    Returns
    -------
    pandas.DataFrame
        A row a combination and action, sorted so: its names, ``n`` usable pulls, the family's parameters [MPa, or logs
        of MPa], ``log_likelihood``, ``aicc``; missing where there is no fit, and ``ill`` says why.

    Examples
    --------
    >>> import jointlab  # doctest: +SKIP - needs a file
    >>> pulls = jointlab.read_pulls("pulls.csv")  # doctest: +SKIP - needs a file
    >>> jointlab.fit_combinations(pulls, family=jointlab.Family.WEIBULL)  # doctest: +SKIP - needs a file
    """
    import pandas as pd

    from jointlab.strength.fitting import named_parameters
    from jointlab.strength.many_fits import fits

    samples = samples_of(frame)
    names = [name for name, _ in named_parameters(family, 1.0, 1.0)]
    rows = [
        (
            *key,
            sample.n,
            *(dict(found.parameters).get(name) for name in names),
            found.log_likelihood,
            found.aicc,
            found.ill,
        )
        for (key, sample), found in zip(samples.items(), fits(samples.values(), family=family), strict=True)
    ]
    numbers = [*names, "log_likelihood", "aicc"]
    table = pd.DataFrame(rows, columns=[*COMBINATION, "n", *numbers, "ill"])
    return table.astype(
        dict.fromkeys([*COMBINATION, "ill"], object) | {"n": "int64"} | dict.fromkeys(numbers, "float64")
    )


def mount_setup(path: str | Path, *, settings: Iterable[str] = ()) -> MountSetup:
    """The mount a TOML file describes, with ``section.key=value`` settings on top.

    Raises
    ------
    InputError
        With every problem of the file at once.
    """
    return workflow.mount_setup(Path(path), settings)


def mount_demand(setup: MountSetup) -> MountDemand:
    """What the lathe asks of every link of a mount, in every case [N mm, N, MPa]."""
    from jointlab.mount.mount_demand import mount_demand as demand_of

    return demand_of(setup)


def decide(setup: MountSetup, *, pulls: str | Path) -> Verdict:
    """The verdict on a mount from the pulls of a CSV file, those of its combination.

    A file keeps no account of looks: it is judged as the first look at them, without a plan, as a new book would.

    Raises
    ------
    InputError
        With every problem of the file at once.
    """
    file = workflow.read_file(Path(pulls))
    return workflow.decision_among(setup, file.pulls, name=Path(pulls).stem).verdict


def publish_results(pulls: str | Path, directory: str | Path, *, title: str, mounts: Iterable[str | Path] = ()) -> Path:
    """Publish the pulls of a CSV file in an empty folder: page, PDF, figures, data package; gives the page.

    Raises
    ------
    InputError
        The file or a mount has problems, or the folder holds something.
    """
    from jointlab.app import publishing

    file = workflow.read_file(Path(pulls))
    asked = [
        publishing.Asked(
            workflow.decision_among(workflow.mount_setup(Path(mount)), file.pulls, name=Path(mount).stem),
            workflow.content_of(Path(mount)),
        )
        for mount in mounts
    ]
    return publishing.publish_pulls(file.pulls, Path(directory), publishing.Wish(title=title), asked)
