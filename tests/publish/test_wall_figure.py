from __future__ import annotations

from collections import Counter

from jointlab.pool.together import FieldCount
from jointlab.pool.values import PooledCombination, ShopSeen
from jointlab.publish.drawing import ImageForm
from jointlab.publish.wall_figure import ENDS, ends_by_size, wall_mounts_figure, wall_strengths_figure
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.verdict.field_record import End

FIELD = (
    FieldCount("up to 150 mm", "light", 3, (("finished", 2), ("near_miss", 1))),
    FieldCount("up to 150 mm", "severe", 2, (("let_go", 1), ("in use", 1))),
    FieldCount("over 350 mm", "none", 200, (("finished", 200),)),
)
SEEN = PooledCombination(
    Combination("hide", "ash"),
    Action.PRY,
    (ShopSeen("Named Shop", ((3.0, 3.0), (4.0, None), (2.0, 2.5))),),
    None,
    "few",
)


def test_mounts_of_a_size_are_counted_over_all_catches() -> None:
    assert ends_by_size(FIELD) == (
        ("up to 150 mm", Counter(finished=2, near_miss=1, let_go=1) + Counter({"in use": 1})),
        ("over 350 mm", Counter(finished=200)),
    )


def test_every_way_a_mount_can_end_has_a_mark_of_its_own() -> None:
    assert set(ENDS) == {"in use", *(str(end) for end in End)}
    assert len({(mark.shape, mark.face, mark.colour) for mark in ENDS.values()}) == len(ENDS)


def test_the_same_values_give_the_same_drawings() -> None:
    assert wall_mounts_figure(FIELD) == wall_mounts_figure(FIELD)
    assert wall_strengths_figure((SEEN,)) == wall_strengths_figure((SEEN,))
    assert wall_strengths_figure((SEEN,), form=ImageForm.PNG).startswith(b"\x89PNG")


def test_very_many_pulls_are_thinned_not_drawn_one_by_one() -> None:
    many = PooledCombination(
        SEEN.combination,
        SEEN.action,
        (ShopSeen("a", tuple((n / 1e4, n / 1e4) for n in range(1, 20_001))),),
        None,
        "few",
    )
    assert len(wall_strengths_figure((many,))) < 200_000
