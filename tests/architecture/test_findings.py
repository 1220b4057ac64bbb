"""The closed list of findings: documented code by code, each given somewhere, each with a test that gives it.

``python tests/architecture/test_findings.py`` writes the list of DEVELOPERS.md anew from the codes.
"""

from __future__ import annotations

import re
from pathlib import Path

from jointlab.record.finding import FindingCode

ROOT = Path(__file__).parents[2]
LISTED = ROOT / "jointlab" / "record" / "finding.py"
GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- findings -->", "<!-- end of findings -->"

AWAITED: set[FindingCode] = set()
"""Codes of the contract that nothing gives yet."""


def table() -> str:
    """The list as DEVELOPERS.md holds it: each code, the room it belongs to, and when it is given."""
    rows, room = ["| code | about | when it is given |", "| --- | --- | --- |"], ""
    body = LISTED.read_text(encoding="utf-8").split("class FindingCode")[1].split("@dataclass")[0]
    for line in body.splitlines():
        if heading := re.fullmatch(r"    # ([\w-]+): .*", line):
            room = heading[1]
        elif code := re.fullmatch(r'    \w+ = "(\w+)"  # (.+)', line):
            rows.append(f"| `{code[1]}` | {room} | {code[2]} |")
    return "\n".join(rows)


def sources_of(folder: str, *, but: Path) -> str:
    files = [file for file in sorted((ROOT / folder).rglob("*.py")) if file != but]
    return "\n".join(file.read_text(encoding="utf-8") for file in files)


def named_in(text: str) -> set[FindingCode]:
    words = set(re.findall(r"FindingCode\.([A-Z_]+)\b", text)) | {word.upper() for word in re.findall(r'"(\w+)"', text)}
    return {code for code in FindingCode if code.name in words}


def test_every_code_stands_in_the_guide_with_when_it_is_given():
    text = table()
    assert re.findall(r"^\| `(\w+)`", text, flags=re.MULTILINE) == [str(code) for code in FindingCode]
    told = GUIDE.read_text(encoding="utf-8").split(BEGIN)[1].split(END)[0].strip()
    assert told == text, "run: python tests/architecture/test_findings.py"


def test_every_code_is_given_somewhere():
    given = {code for code in FindingCode if f"FindingCode.{code.name}" in sources_of("jointlab", but=LISTED)}
    assert set(FindingCode) - given <= AWAITED


def test_every_code_has_a_test_that_names_it():
    assert set(FindingCode) - named_in(sources_of("tests", but=Path(__file__))) <= AWAITED


def test_what_no_strength_buys_a_pass_from_is_marked_as_such():
    tested = (ROOT / "tests" / "verdict" / "test_blocking.py").read_text(encoding="utf-8")
    never = named_in(tested.split("NEVER = {")[1].split("def ")[0])
    marked = set(re.findall(r"^\| `(\w+)` \| .*never a pass", table(), flags=re.MULTILINE))
    assert len(never) > 10
    assert never <= marked


if __name__ == "__main__":
    before, rest = GUIDE.read_text(encoding="utf-8").split(BEGIN)
    GUIDE.write_text(f"{before}{BEGIN}\n{table()}\n{END}{rest.split(END)[1]}", encoding="utf-8")
