"""Which family the glue is of, as far as pulls and names tell."""

from __future__ import annotations

import re

from jointlab.mount.setup import MountSetup
from jointlab.record.names import matched
from jointlab.record.vocabulary import GlueFamily
from jointlab.verdict.evidence import Evidence

_NAMED = (
    (re.compile(r"\bcyanoacrylate|\bca\b|\bsuper ?glue\b"), GlueFamily.CYANOACRYLATE),
    (re.compile(r"\bhot[ -]?melt\b|\bhot glue\b"), GlueFamily.HOT_MELT),
    (re.compile(r"\btape\b"), GlueFamily.TAPE),
)


def families_of(setup: MountSetup, evidence: Evidence | None) -> tuple[GlueFamily, ...]:
    """Families the pulls state; where they state none, the family the glue's own name gives away, else none.

    A blank cell must not buy milder rules than a filled one: a glue named after hot melt, tape or cyanoacrylate is
    taken for what it is called.
    """
    if evidence is not None and evidence.families:
        return evidence.families
    name = matched(setup.joint.combination.glue)
    return tuple(family for pattern, family in _NAMED if pattern.search(name))
