"""Which family the glue is of."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.record.joint import Combination
from jointlab.record.vocabulary import GlueFamily
from jointlab.verdict.families import families_of


@pytest.mark.parametrize(
    ("glue", "families"),
    [
        ("thick CA", (GlueFamily.CYANOACRYLATE,)),
        ("Super Glue gel", (GlueFamily.CYANOACRYLATE,)),
        ("Hot-melt sticks", (GlueFamily.HOT_MELT,)),
        ("double-sided tape", (GlueFamily.TAPE,)),
        ("casein", ()),
        ("yellow glue", ()),
    ],
)
def test_a_blank_family_is_read_from_a_name_that_gives_it_away(setup, make_evidence, glue, families):
    named = replace(setup, joint=replace(setup.joint, combination=Combination(glue, "maple offcut")))
    assert families_of(named, make_evidence(families=())) == families
    assert families_of(named, None) == families


def test_what_the_pulls_state_comes_first(setup, make_evidence):
    named = replace(setup, joint=replace(setup.joint, combination=Combination("ca tape", "maple offcut")))
    assert families_of(named, make_evidence(families=(GlueFamily.EPOXY,))) == (GlueFamily.EPOXY,)
