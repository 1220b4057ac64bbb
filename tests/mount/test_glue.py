import pytest

from jointlab.mount.glue import bridged_gap_mm, gap_findings
from jointlab.record.finding import FindingCode
from jointlab.record.vocabulary import GlueFamily


@pytest.mark.parametrize(
    ("family", "bridged_mm"),
    [
        (GlueFamily.PVA, 0.15),
        (GlueFamily.POLYURETHANE, 0.15),
        (GlueFamily.CYANOACRYLATE, 0.05),
        (GlueFamily.EPOXY, 1.0),
        (GlueFamily.OTHER, 0.15),
        (None, 0.15),
    ],
)
def test_each_family_bridges_its_gap_and_no_more(family, bridged_mm):
    assert bridged_gap_mm(family) == bridged_mm
    assert list(gap_findings(bridged_mm, glue_family=family)) == []
    (finding,) = gap_findings(bridged_mm * 1.01, glue_family=family)
    assert finding.code is FindingCode.GAP_WIDE


def test_no_family_bridges_a_face_out_of_true_by_a_sixteenth_of_an_inch():
    """Common practice: such a face is not good enough to glue to."""
    for family in GlueFamily:
        assert list(gap_findings(25.4 / 16, glue_family=family))
