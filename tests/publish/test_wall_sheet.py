from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from jointlab.pool.together import FieldCount
from jointlab.pool.values import Gathered, GatheredShop, PooledCombination, ShopSeen
from jointlab.publish.pool_page import PooledPublication
from jointlab.publish.typesetting import Paper
from jointlab.publish.wall_sheet import mounts_words, wall_sheet
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action

FIELD = (FieldCount("up to 150 mm", "light", 3, (("finished", 2), ("near_miss", 1))),)


def pool_of(combinations: int = 1, field: tuple[FieldCount, ...] = FIELD) -> PooledPublication:
    seen = (ShopSeen("Thimblewick Turnery", ((3.0, 3.0), (4.0, None))),)
    each = tuple(
        PooledCombination(Combination("hide", f"ash {n}"), Action.PRY, seen, None, "few") for n in range(combinations)
    )
    shops = (GatheredShop("Thimblewick Turnery", ("thimblewick.zip",), ()),)
    return PooledPublication("t", "2026-05-01", "0.1.0", Gathered(shops, ()), each, field, 0.95, "never a pass")


def text_of(pdf: bytes) -> str:
    return " ".join(PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split())


@pytest.mark.parametrize(("paper", "width"), [(Paper.A4, 595.3), (Paper.LETTER, 612.0)])
@pytest.mark.parametrize("combinations", [0, 1, 30])
def test_all_of_it_stands_on_one_sheet(paper, width, combinations) -> None:
    pages = PdfReader(io.BytesIO(wall_sheet(pool_of(combinations), paper=paper))).pages
    assert len(pages) == 1
    assert float(pages[0].mediabox.width) == pytest.approx(width, abs=0.1)


def test_nobody_is_named_and_near_misses_are_told() -> None:
    pdf = wall_sheet(pool_of())
    told = text_of(pdf)
    assert "Thimblewick" not in told
    assert b"humblewick" not in pdf
    assert "Blanks up to 150 mm: 2 finished and 1 near miss" in told
    assert "never a pass" in told
    assert "22 more combinations not shown" in text_of(wall_sheet(pool_of(30)))


def test_without_mounts_the_sheet_asks_for_them() -> None:
    assert mounts_words(pool_of(field=())).startswith("No mounts were told of yet")
    assert "belong on this sheet" in text_of(wall_sheet(pool_of(field=())))


def test_the_same_pool_gives_the_same_bytes() -> None:
    assert wall_sheet(pool_of()) == wall_sheet(pool_of())
