"""Readings that look wrong by their stress or the rig's limit, and are used as long as nobody corrects them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.pull import Pull
from jointlab.record.questions import questions_of
from jointlab.stress.joint_stress_of import stress_at_mpa

DOUBTING = frozenset({FindingCode.STRESS_HIGH, FindingCode.STRESS_LOW, FindingCode.NEAR_CAP})
"""Questions that ask whether the reading itself is right."""

MOST_NAMED = 5
"""Doubtful pulls named one by one."""


def looks_wrong(pull: Pull) -> bool:
    """Whether one of the questions a pull raises is about the reading itself."""
    asked = questions_of(pull, stress_mpa=stress_at_mpa(pull, load=pull.loading.load))
    return any(question.code in DOUBTING for question in asked)


def doubtful_readings(doubtful: Sequence[Pull], *, of: int) -> Iterator[Finding]:
    """A reading that looks wrong was asked about when recorded; while it is used, whoever relies on it must know.

    Parameters
    ----------
    doubtful
        The pulls whose reading looks wrong; none gives no finding.
    of
        How many pulls are used, these among them.
    """
    if doubtful:
        shown = "; ".join(f"{pull.batch}, {pull.specimen}" for pull in doubtful[:MOST_NAMED])
        more = "; ..." if len(doubtful) > MOST_NAMED else ""
        text = (
            f"{len(doubtful)} of {of} readings look wrong and are used as they stand ({shown}{more}). Correct each, "
            "or exclude it with its cause, if it is wrong: one wild value widens the spread and lowers what the "
            "others say."
        )
        yield Finding(FindingCode.PULLS_QUESTIONED, Severity.QUESTION, text)
