"""Files the user names."""

from __future__ import annotations

import pytest

from jointlab.app.named_files import content_of, text_of, write_bytes, write_text
from jointlab.errors import InputError


def test_what_is_written_is_read_back_and_a_byte_order_mark_is_passed_over(tmp_path):
    file = tmp_path / "mount.toml"
    write_text(file, "a = 1\r\n")
    assert text_of(file) == "a = 1\r\n"
    write_bytes(file, b"\xef\xbb\xbfa = 1")
    assert (text_of(file), content_of(file)[:3]) == ("a = 1", b"\xef\xbb\xbf")


def test_what_cannot_be_read_or_written_is_told_by_name(tmp_path):
    with pytest.raises(InputError, match=r"nothing\.csv"):
        content_of(tmp_path / "nothing.csv")
    with pytest.raises(InputError, match="cannot be written"):
        write_text(tmp_path / "no" / "such.csv", "x")
    file = tmp_path / "latin.toml"
    file.write_bytes("gl\u00fc".encode("latin-1"))
    with pytest.raises(InputError, match="UTF-8"):
        text_of(file)
