from __future__ import annotations

import re

from jointlab.publish.cautions import STANDING_CAUTIONS


def test_cautions_cover_start_work_glue_tests_and_deferral() -> None:
    assert len(STANDING_CAUTIONS) == 5
    text = " ".join(sentence for group in STANDING_CAUTIONS for sentence in group.sentences)
    for needed in (
        "face shield",
        "plane of the blank",
        "tailstock",
        "first tick",
        "step sideways",
        "qualified instructor",
    ):
        assert needed in text, needed
    assert not re.search(r"\bsafe", text, flags=re.IGNORECASE)
