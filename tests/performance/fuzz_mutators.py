"""How files are spoiled for fuzzing: by their structure, so that what is spoiled lies deeper than the first byte."""

from __future__ import annotations

import hashlib
import io
import json
import random
import re
import struct
import zipfile
import zlib

HOSTILE = (
    "", " ", "nan", "inf", "-inf", "1e400", "-0", "0", "-1", "1e-300", "9" * 400, "1,5", "1_000", "1.2.3",
    "0x10", "٣", "½", "2026-02-30", "0001-01-01", "9999-12-31T23:59", "2026-03-14T10:00+14:00", "=1+1", "'=1",
    "''x", '"', '""', "a\nb", "\r", "\x00", "\x1f", "\x7f", "\u202e", "\ufeff", "\u2028", "\ud7ff",
    "\U0010ffff", "e\u0301", "ﬀ", "ı", "x" * 300, "x" * 5000, "pry", "pull", "twist", "step", "held", "handled",
    "disc", "ring", "rectangle", "true", "null", "[]", "{}", "<!--", "&lt;", "1e7", "10000000.1", "10000",
    "100", "99.999", "250", "1970-01-01", "load_n", "held_n", "reading_n", "rig", "mdf", "osb",
)  # fmt: skip
ENCODINGS = ("utf-16", "utf-8-sig", "latin-1", "utf-32", "cp037", "utf-7")


def _text_of(data: bytes) -> str:
    return data.decode("utf-8", errors="replace")


def spoiled_table(data: bytes, chance: random.Random) -> bytes:
    """A table with cells, rows, columns, quotation or encoding changed."""
    text = _text_of(data)
    parted = ";" if ";" in text.split("\n", 1)[0] else ","
    rows = [row.split(parted) for row in text.split("\n")]
    for _ in range(chance.choice((1, 1, 2, 4))):
        row = chance.randrange(len(rows))
        column = chance.randrange(max(len(rows[row]), 1))
        match chance.randrange(10):
            case 0 | 1 | 2 | 3:
                rows[row][column : column + 1] = [chance.choice(HOSTILE)]
            case 4:
                rows.insert(row, list(rows[chance.randrange(len(rows))]))
            case 5 if len(rows) > 1:
                del rows[row]
            case 6:
                for each in rows:
                    each[column : column + 1] = []
            case 7:
                for each in rows:
                    each.insert(column, chance.choice(HOSTILE))
            case 8:
                rows[row][column : column + 1] = [f'"{(rows[row] or [""])[0]}"']
            case _:
                other = chance.randrange(max(len(rows[row]), 1))
                rows[row][column : column + 1] = rows[row][other : other + 1]
    if chance.random() < 0.02:
        parted = chance.choice((",", ";", "\t"))
    out = "\n".join(parted.join(row) for row in rows)
    return _encoded(out, chance)


def _encoded(text: str, chance: random.Random) -> bytes:
    if chance.random() < 0.03:
        text = text.replace("\n", chance.choice(("\r\n", "\r", "\n\n")))
    if chance.random() < 0.03:
        return text.encode(chance.choice(ENCODINGS), errors="replace")
    return text.encode("utf-8", errors="replace")


def spoiled_text(data: bytes, chance: random.Random) -> bytes:
    """A text whose words, numbers and lines are changed: TOML, JSON, XML."""
    text = _text_of(data)
    for _ in range(chance.choice((1, 1, 2, 4))):
        tokens = list(re.finditer(r"[A-Za-z_]+|[0-9.eE+-]+|\"[^\"]*\"|[^\sA-Za-z0-9]", text))
        lines = text.split("\n")
        kind = chance.randrange(10)
        if kind < 6 and tokens:
            one = chance.choice(tokens)
            other = chance.choice(tokens).group() if chance.random() < 0.4 else chance.choice(HOSTILE)
            text = text[: one.start()] + other + text[one.end() :]
        elif kind == 6:
            lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
            text = "\n".join(lines)
        elif kind == 7 and len(lines) > 1:
            del lines[chance.randrange(len(lines))]
            text = "\n".join(lines)
        elif kind == 8:
            deep = chance.choice((3, 60, 2000))
            text = text.replace(chance.choice(("=", ":", "<", "[")), chance.choice(("[", "{", "=[", "<v>")) * deep, 1)
        elif tokens:
            one = chance.choice(tokens)
            text = text[: one.end()] + chance.choice("[]{}=\"'\\#,.:<>&") + text[one.end() :]
    return _encoded(text[:60_000], chance)


def members_of(data: bytes) -> dict[str, bytes]:
    """Files of an archive; none where it is none."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return {name: packed.read(name) for name in packed.namelist()[:50]}
    except Exception:
        return {}


def packed_of(members: dict[str, bytes], chance: random.Random) -> bytes:
    """The files as an archive again."""
    out = io.BytesIO()
    form = zipfile.ZIP_DEFLATED if chance.random() < 0.3 else zipfile.ZIP_STORED
    with zipfile.ZipFile(out, "w", form) as packed:
        for name, content in members.items():
            packed.writestr(zipfile.ZipInfo(name[:60_000] or "x"), content)
    return out.getvalue()


def _spoiled_member(members: dict[str, bytes], chance: random.Random) -> None:
    name = chance.choice(sorted(members))
    match chance.randrange(12):
        case 0:
            del members[name]
        case 1:
            members[chance.choice((*members, "x", "../x", "/x", "a/b/c", "\u202e", "x" * 300))] = members[name]
        case 2:
            members[name] = bytes(chance.randrange(256) for _ in range(chance.randrange(64)))
        case 3:
            members[name] = members[name][: chance.randrange(len(members[name]) + 1)]
        case _ if name.endswith(".csv"):
            members[name] = spoiled_table(members[name], chance)
        case _:
            members[name] = spoiled_text(members[name], chance)


def spoiled_workbook(data: bytes, chance: random.Random) -> bytes:
    """A workbook with a part of it spoiled, mostly its sheet."""
    members = members_of(data)
    if not members:
        return data
    sheets = [name for name in members if "sheet" in name.lower()]
    if sheets and chance.random() < 0.6:
        name = chance.choice(sheets)
        text = _text_of(members[name])
        cells = list(re.finditer(r'(?<=<v>)[^<]*|(?<=<t>)[^<]*|(?<= r=")[^"]*|(?<= t=")[^"]*', text))
        for _ in range(chance.choice((1, 1, 3))):
            if cells:
                one = chance.choice(cells)
                value = chance.choice(
                    (*HOSTILE, "1048577", "999999999", "XFE1", "A0", "s", "n", "b", "d", "e", "str", "inlineStr")
                )
                shown = value.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
                text = text[: one.start()] + shown + text[one.end() :]
                cells = list(re.finditer(r'(?<=<v>)[^<]*|(?<=<t>)[^<]*|(?<= r=")[^"]*|(?<= t=")[^"]*', text))
        members[name] = text.encode("utf-8", errors="replace")
    else:
        _spoiled_member(members, chance)
    return packed_of(members, chance) if members else b""


def spoiled_package(data: bytes, chance: random.Random) -> bytes:
    """A data package with a file spoiled, its descriptor mostly set right for it, so that it is read further."""
    members = members_of(data)
    if not members:
        return data
    for _ in range(chance.choice((1, 1, 2))):
        if members:
            _spoiled_member(members, chance)
    if chance.random() < 0.75:
        _sealed(members)
    return packed_of(members, chance) if members else b""


def _sealed(members: dict[str, bytes]) -> None:
    try:
        described = json.loads(members["datapackage.json"])
        for resource in described["resources"]:
            content = members[resource["path"]]
            resource["bytes"], resource["hash"] = len(content), f"sha256:{hashlib.sha256(content).hexdigest()}"
        members["datapackage.json"] = json.dumps(described).encode()
    except (KeyError, ValueError, TypeError, RecursionError):
        return


def spoiled_picture(data: bytes, chance: random.Random) -> bytes:
    """A picture with its sizes, parts, length or bytes changed; the sums of PNG parts set right again."""
    raw = bytearray(data)
    if len(raw) < 8:
        return bytes(raw)
    side = chance.choice((0, 1, 2, 255, 8000, 9000, 60_000, 65_535, 2**31 - 1, 2**32 - 1))
    head, frame = raw.find(b"IHDR"), max(raw.find(b"\xff\xc0"), raw.find(b"\xff\xc2"))
    match chance.randrange(8):
        case 0 if head > 0:
            raw[head + 4 : head + 8] = struct.pack(">I", side)
        case 1 if head > 0:
            raw[head + 4 : head + 12] = struct.pack(">II", side, chance.choice((1, side)))
        case 2 if frame > 0:
            raw[frame + 5 : frame + 9] = struct.pack(">HH", side % 65_536, chance.choice((1, 8, 9000, 65_535)))
        case 3:
            del raw[chance.randrange(len(raw)) :]
        case 4:
            start = chance.randrange(len(raw))
            part = raw[start : start + chance.randrange(64)]
            raw[chance.randrange(len(raw)) : 0] = part
        case 5:
            start = chance.randrange(len(raw))
            del raw[start : start + chance.randrange(64)]
        case _:
            for _ in range(chance.choice((1, 2, 8))):
                raw[chance.randrange(len(raw))] = chance.choice((0, 1, 127, 128, 255, chance.randrange(256)))
    if head > 0 and chance.random() < 0.8:
        _summed(raw)
    return bytes(raw)


def _summed(raw: bytearray) -> None:
    """Set the check sums of PNG parts right."""
    at = 8
    while at + 12 <= len(raw):
        (length,) = struct.unpack(">I", raw[at : at + 4])
        end = at + 8 + length
        if end + 4 > len(raw):
            return
        raw[end : end + 4] = struct.pack(">I", zlib.crc32(raw[at + 4 : end]))
        at = end + 4
