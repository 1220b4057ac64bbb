from __future__ import annotations

from jointlab.publish.drawings import Drawings


def test_a_drawing_is_made_once_and_then_kept(made) -> None:
    drawings = Drawings(made.publication_of())
    first = drawings.strengths()
    assert drawings.strengths() is first
    assert drawings.plot(0) is drawings.plot(0)
    assert drawings.section(0) is drawings.section(0)
    assert len({first, drawings.plot(0), drawings.section(0), drawings.grab(0), drawings.demand(0)}) == 5


def test_what_was_not_asked_is_not_drawn(made) -> None:
    assert Drawings(made.publication_of()).envelope(0) is None
