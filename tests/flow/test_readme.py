"""Every console block of README is run in an empty folder, in order, and gives what stands there."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n(.*?)```", README, flags=re.S)


def steps_of(block):
    """(command, expected lines) for each command; a backslash carries a command on, ``...`` stands for any lines."""
    for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
        lines = part.rstrip("\n").split("\n")
        command = [lines.pop(0)]
        while command[-1].endswith("\\"):
            command.append(lines.pop(0))
        yield "\n".join(command), lines


def matches(expected, printed):
    if not expected:
        return not printed
    if expected[0].strip() == "...":
        return any(matches(expected[1:], printed[skip:]) for skip in range(len(printed) + 1))
    if not printed:
        return False
    begun = expected[0].rstrip().endswith(" ...") and printed[0].startswith(expected[0].rstrip().removesuffix("..."))
    return (begun or printed[0].rstrip() == expected[0].rstrip()) and matches(expected[1:], printed[1:])


@pytest.fixture(scope="module")
def room(tmp_path_factory):
    """An empty folder, and an environment whose PATH leads to the program under test and to no other shop book."""
    folder = tmp_path_factory.mktemp("readme")
    environment = {key: value for key, value in os.environ.items() if not key.startswith("JOINTLAB")}
    environment |= {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "NO_COLOR": "1",
        "COLUMNS": "100",
    }
    environment |= {"XDG_DATA_HOME": str(folder / "data"), "PYTHONUTF8": "1"}
    return folder, environment


def test_readme_has_a_tour():
    assert len(BLOCKS) >= 5


def test_every_console_block_prints_what_readme_says(room):
    folder, environment = room
    for block in BLOCKS:
        for command, expected in steps_of(block):
            done = subprocess.run(
                command, shell=True, cwd=folder, env=environment, text=True, encoding="utf-8", check=False,
                stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            )  # fmt: skip
            printed = done.stdout.rstrip("\n").split("\n") if done.stdout.strip() else []
            assert matches(expected, printed), f"{command}\n--- printed ---\n{done.stdout}"


def test_every_picture_and_file_readme_points_to_exists():
    targets = re.findall(r"\]\((?!https?:|#)([^)]+)\)", README)
    assert targets
    assert [target for target in targets if not (ROOT / target).exists()] == []


def test_the_changelog_is_the_last_section_and_names_the_version():
    import jointlab

    sections = re.findall(r"^## (.+)$", README, flags=re.M)
    assert sections[-1] == "Changelog"
    assert f"### {jointlab.__version__}" in README
