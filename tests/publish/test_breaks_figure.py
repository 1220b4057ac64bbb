"""The figure of breaks."""

from jointlab.compare.breaks import BreakShares
from jointlab.publish.breaks_figure import breaks_figure
from jointlab.publish.drawing import BLUE, GREEN, PLUM, ImageForm
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import BrokeAt


def shares(name, counts, *, unsaid=0, outside=0):
    n = sum(number for _, number in counts) + unsaid + outside
    return BreakShares(Combination("pva", name), n, counts, unsaid, outside, None, None, None)


MAPLE = shares("maple", ((BrokeAt.GLUE_LINE, 6), (BrokeAt.SUBSTRATE, 3)), unsaid=1)
MDF = shares("mdf", ((BrokeAt.SUBSTRATE, 8),), outside=2)


def test_every_place_has_its_colour_and_hatching_and_the_bytes_are_the_same() -> None:
    drawing = breaks_figure([MAPLE, MDF])
    assert drawing == breaks_figure([MAPLE, MDF])
    assert BLUE.encode() in drawing
    assert GREEN.encode() in drawing
    assert PLUM.encode() not in drawing
    assert b"<pattern" in drawing
    assert breaks_figure([MAPLE], form=ImageForm.PNG).startswith(b"\x89PNG")


def test_other_numbers_make_another_figure() -> None:
    assert breaks_figure([MAPLE]) != breaks_figure([shares("maple", ((BrokeAt.GLUE_LINE, 10),))])
