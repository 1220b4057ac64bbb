"""Files the user names."""

from __future__ import annotations

import pytest

from jointlab.app.named_files import content_of, text_of, write_bytes, write_text, written_whole
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


def test_a_file_written_bit_by_bit_has_its_name_only_when_it_is_whole(tmp_path):
    file = tmp_path / "pulls.csv"
    file.write_bytes(b"before")
    broken_off = written_whole(file)
    broken_off.__enter__().write(b"half")
    assert broken_off.__exit__(KeyboardInterrupt, KeyboardInterrupt(), None) is False
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("pulls.csv", b"before")]
    with written_whole(file) as out:
        out.write(b"whole")
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("pulls.csv", b"whole")]


def test_a_file_that_cannot_be_written_bit_by_bit_is_told_by_name(tmp_path):
    with pytest.raises(InputError, match="cannot be written"), written_whole(tmp_path / "none" / "pulls.csv"):
        pass
