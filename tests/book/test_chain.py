"""The digest that links revisions."""

from __future__ import annotations

import hashlib

import pytest

from jointlab.book.chain import START, digest_of


def test_the_digest_is_sha256_of_the_digest_before_and_the_sorted_json():
    text = '{"a":1.5,"b":"\\u00e9"}'
    expected = hashlib.sha256(f"{'0' * 64}\n{text}".encode("ascii")).hexdigest()
    assert digest_of({"b": "é", "a": 1.5}, before=START) == expected


def test_columns_without_a_value_and_the_digest_itself_are_left_out():
    cells = {"a": 1.5, "later_column": None, "digest": "f" * 64}
    assert digest_of(cells, before=START) == digest_of({"a": 1.5}, before=START)


def test_each_digest_depends_on_the_one_before():
    assert digest_of({"a": 1}, before=START) != digest_of({"a": 1}, before="1" * 64)


def test_numbers_that_json_cannot_say_are_refused():
    with pytest.raises(ValueError, match="JSON"):
        digest_of({"a": float("nan")}, before=START)
