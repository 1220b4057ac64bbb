"""The figure of a trend."""

from dataclasses import replace

import pytest

from jointlab.compare.trends import Quantity, Trend, TrendPoint, TrendPull
from jointlab.compare.values import Estimate
from jointlab.publish.drawing import BLUE, GREEN, PLUM, RUST, ImageForm
from jointlab.publish.trend_figure import trend_figure


@pytest.fixture
def trend():
    curve = tuple(TrendPoint(at, Estimate(1.0 + at / 1e3, 0.9, 1.2)) for at in (24.0, 48.0, 168.0))
    return Trend(
        quantity=Quantity.CURE_H,
        per=Quantity.CURE_H.per,
        ratio=Estimate(1.1, 1.0, 1.2),
        slope=Estimate(0.1, 0.0, 0.2),
        p_value=0.05,
        scale=0.2,
        n=3,
        span=(24.0, 168.0),
        curve=curve,
        pulls=(
            TrendPull(24.0, 0.9, 0.9),
            TrendPull(48.0, 1.1, None),
            TrendPull(168.0, 1.0, 1.2),
            TrendPull(90.0, 0.0, 0.2),
        ),
    )


def test_every_kind_of_pull_is_drawn_beside_the_fitted_ratio(trend) -> None:
    drawing = trend_figure(trend)
    assert drawing == trend_figure(trend)
    for colour in (BLUE, RUST, GREEN, PLUM):
        assert colour.encode() in drawing
    exact = trend_figure(replace(trend, pulls=trend.pulls[:1]))
    assert RUST.encode() not in exact
    assert trend_figure(trend, form=ImageForm.PNG).startswith(b"\x89PNG")


def test_a_quantity_by_difference_and_an_open_interval_are_drawn(trend) -> None:
    gap = replace(trend, quantity=Quantity.GAP_MM, per=Quantity.GAP_MM.per, ratio=Estimate(0.9, None, None))
    assert b"<svg" in trend_figure(gap)
    assert Quantity.GAP_MM.words == "gap, mm"
    assert Quantity.VOID_PCT.words == "voids, %"
    assert Quantity.CURE_H.words == "cure time, h"
