import io
import stat
import struct
import zipfile

import pytest

from jointlab.app import package_files as reading
from jointlab.app.package_files import package_files
from jointlab.errors import InputError


def zipped(path, files, *, folder=""):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(f"{folder}{name}", content)
    return path


def entry(path, name, content=b"x", **attributes):
    info = zipfile.ZipInfo(name)
    for key, value in attributes.items():
        setattr(info, key, value)
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr(info, content)
    return path


def test_a_folder_and_a_zip_of_it_give_the_same_files(invented, written, tmp_path):
    files = invented("aldermead")
    assert package_files(written("a", files)) == files
    assert package_files(zipped(tmp_path / "a.zip", files)) == files
    assert package_files(zipped(tmp_path / "b.zip", files, folder="a/")) == files


@pytest.mark.parametrize(
    "name", ["../out.csv", "/etc/out.csv", "a/../../out.csv", "a//b.csv", "a\\..\\b", "c:out", "./x"]
)
def test_a_name_that_leads_out_of_the_package_is_refused(tmp_path, name):
    with pytest.raises(InputError, match=r"leads out of the package|no plain name"):
        package_files(entry(tmp_path / "p.zip", name))
    assert [path.name for path in tmp_path.rglob("*")] == ["p.zip"]


def test_a_zip_that_unpacks_to_many_times_its_size_is_refused_unread(tmp_path):
    path = zipped(tmp_path / "bomb.zip", {"pulls.csv": b"0" * 50_000_000})
    assert path.stat().st_size < 100_000
    with pytest.raises(InputError, match="would unpack to more than 200 times its size"):
        package_files(path)


def test_a_zip_that_lies_about_a_size_is_refused(tmp_path):
    path = zipped(tmp_path / "liar.zip", {"pulls.csv": b"0" * 3_000_000})
    content = bytearray(path.read_bytes())
    place = content.index(b"PK\x01\x02")
    content[place + 24 : place + 28] = struct.pack("<I", 100)
    path.write_bytes(bytes(content))
    with pytest.raises(InputError, match=r"not of the size it says|cannot be read"):
        package_files(path)


def test_links_passwords_and_doubled_names_are_refused(tmp_path):
    link = entry(tmp_path / "link.zip", "pulls.csv", external_attr=(stat.S_IFLNK | 0o777) << 16)
    with pytest.raises(InputError, match="no plain file"):
        package_files(link)
    twice = tmp_path / "twice.zip"
    with zipfile.ZipFile(twice, "w") as packed:
        packed.writestr("pulls.csv", b"1")
        with pytest.warns(UserWarning, match="Duplicate name"):
            packed.writestr("pulls.csv", b"2")
    with pytest.raises(InputError, match="there twice"):
        package_files(twice)
    locked = bytearray(entry(tmp_path / "locked.zip", "pulls.csv").read_bytes())
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        locked[locked.index(mark) + place] |= 1
    (tmp_path / "locked.zip").write_bytes(bytes(locked))
    with pytest.raises(InputError, match="locked by a password"):
        package_files(tmp_path / "locked.zip")


def test_a_folder_is_not_followed_out_of_itself(tmp_path):
    (tmp_path / "secret.csv").write_bytes(b"private")
    (tmp_path / "p").mkdir()
    (tmp_path / "p" / "pulls.csv").symlink_to(tmp_path / "secret.csv")
    with pytest.raises(InputError, match="is a link"):
        package_files(tmp_path / "p")


def test_absurd_amounts_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "MOST_FILES", 3)
    monkeypatch.setattr(reading, "MOST_BYTES_OF_ONE", 10)
    monkeypatch.setattr(reading, "MOST_BYTES", 15)
    many = zipped(tmp_path / "many.zip", {f"{number}": b"" for number in range(4)})
    with pytest.raises(InputError, match="more than 3 files"):
        package_files(many)
    with pytest.raises(InputError, match="more than 10 bytes"):
        package_files(zipped(tmp_path / "one.zip", {"a": b"0" * 11}))
    with pytest.raises(InputError, match="holds more than 15 bytes"):
        package_files(zipped(tmp_path / "all.zip", {"a": b"0" * 8, "b": b"0" * 8}))


def test_what_is_no_zip_is_told_so(tmp_path):
    (tmp_path / "p.zip").write_bytes(io.BytesIO(b"hello").getvalue())
    with pytest.raises(InputError, match=r"cannot be read as a \.zip"):
        package_files(tmp_path / "p.zip")
    with pytest.raises(InputError, match="neither a folder nor"):
        package_files(tmp_path / "nothing.zip")
