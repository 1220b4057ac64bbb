from __future__ import annotations

from dataclasses import replace

from jointlab.publish.drawing import ImageForm
from jointlab.publish.probability_figure import FAMILY_WORDS, probability_figure
from jointlab.publish.publication import PlottedBreak
from jointlab.publish.strengths_figure import MOST_MARKS
from jointlab.strength.values import Family


def test_a_plot_with_every_kind_of_position_is_drawn_the_same_each_time(made) -> None:
    plot = made.plot_of()
    first = probability_figure(plot)
    assert first == probability_figure(plot)
    assert first != probability_figure(replace(plot, positions=plot.positions[:2]))
    assert first != probability_figure(replace(plot, working_bound=None))


def test_every_family_has_a_word_and_can_be_drawn(made) -> None:
    plot = made.plot_of()
    curves = tuple(replace(plot.curves[0], family=family) for family in Family)
    assert set(FAMILY_WORDS) == set(Family)
    assert probability_figure(replace(plot, curves=curves), form=ImageForm.PNG).startswith(b"\x89PNG")


def test_a_plot_without_curves_or_positions_is_still_drawn(made) -> None:
    assert b"<svg" in probability_figure(replace(made.plot_of(), curves=(), positions=(), working_bound=None))


def test_of_very_many_positions_near_ones_are_drawn_as_one_and_the_figure_stays_small(made) -> None:
    many = tuple(PlottedBreak(3.0 + number / MOST_MARKS, 3.0 + number / MOST_MARKS, 0.5) for number in range(2001))
    plot = made.plot_of()
    assert len(probability_figure(replace(plot, positions=many))) < 150_000
    assert len(probability_figure(replace(plot, positions=many[:-1]))) > 150_000
