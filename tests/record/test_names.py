import pytest

from jointlab.record.names import matched, tidied


@pytest.mark.parametrize(
    ("written", "shown"), [("  hard   maple ", "hard maple"), ("cafe\u0301", "caf\u00e9"), ("a\tb", "a b"), ("", "")]
)
def test_a_name_is_kept_composed_trimmed_and_with_single_spaces(written, shown):
    assert tidied(written) == shown


@pytest.mark.parametrize(("one", "other"), [("PVA", "pva"), ("Straße", "STRASSE"), ("Café", "CAFE\u0301")])
def test_names_match_without_case(one, other):
    assert matched(one) == matched(other)
