"""Letters: a common letter where no difference is shown, none where one is."""

from itertools import combinations

import numpy as np

from jointlab.compare.grouping import MEANING, letters_of


def test_a_chain_of_small_steps_shares_letters_along_the_way() -> None:
    assert letters_of([0, 1, 2, 3], [(0, 2), (0, 3), (1, 3)]) == ("a", "ab", "bc", "c")


def test_all_unshown_share_one_letter_and_all_shown_share_none() -> None:
    assert letters_of([0, 1, 2], []) == ("a", "a", "a")
    assert letters_of([2, 1, 0], [(0, 1), (1, 2), (0, 2)]) == ("c", "b", "a")


def test_letters_say_exactly_what_is_shown_for_any_pattern() -> None:
    rng = np.random.default_rng(6)
    for _ in range(30):
        pairs = list(combinations(range(7), 2))
        different = {pair for pair in pairs if rng.random() < 0.4}
        letters = letters_of(list(range(7)), different)
        for one, other in pairs:
            shared = set(letters[one]) & set(letters[other])
            assert bool(shared) == ((one, other) not in different)


def test_the_meaning_never_says_that_combinations_are_equal() -> None:
    assert "not that there is none" in MEANING
    assert "equal" not in MEANING
