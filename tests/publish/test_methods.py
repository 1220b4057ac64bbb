from __future__ import annotations

from dataclasses import replace

from jointlab.publish.methods import methods_used
from jointlab.strength.values import Method


def titles(notes) -> list[str]:
    return [note.title for note in notes]


def test_only_methods_that_gave_a_number_are_told(made) -> None:
    notes = methods_used((made.strength_of(made.MAPLE, bound_mpa=1.5),))
    assert titles(notes) == [
        "From load to stress",
        "Joints that did not break cleanly",
        "Fitted shapes",
        "Bound from the smallest and a larger strength",
        "The strength that can be relied on",
    ]


def test_every_note_of_a_number_cites_where_it_comes_from(made) -> None:
    strength = made.strength_of(made.MAPLE, bound_mpa=1.5)
    every = tuple(replace(strength.bounds[0], method=method) for method in Method)
    notes = methods_used((replace(strength, bounds=every),), (made.mount_of(),))
    assert len(notes) == 3 + len(Method) + 2
    assert all(note.sources for note in notes)


def test_demand_and_verdict_are_told_only_where_a_mount_was_decided(made) -> None:
    strengths = (made.strength_of(made.MAPLE, bound_mpa=1.5),)
    assert "What the lathe asks" not in titles(methods_used(strengths))
    assert titles(methods_used(strengths, (made.mount_of(),)))[-2:] == [
        "What the lathe asks",
        "Strength against demand",
    ]


def test_nothing_is_told_of_nothing() -> None:
    assert methods_used(()) == ()
