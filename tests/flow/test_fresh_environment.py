"""README's two commands in an empty folder, from a copy of the checkout: run in CI."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def command_in_readme(mark):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    block = re.search(rf"<!-- {mark} -->\s*```\w*\n(.*?)```", text, flags=re.S)
    assert block is not None, f"README has no {mark}"
    return block.group(1).strip()


@pytest.mark.fresh
def test_the_first_command_of_readme_sets_up_and_runs_the_main_job(tmp_path):
    checkout = tmp_path / "checkout"
    kept = ("README.md", "DEVELOPERS.md", "pyproject.toml", "jointlab", "datasets")
    for name in kept:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, checkout / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            checkout.mkdir(exist_ok=True)
            shutil.copy(source, checkout / name)
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("JOINTLAB", "VIRTUAL_ENV"))}
    done = subprocess.run(
        command_in_readme("main command"), shell=True, cwd=checkout, env=environment, capture_output=True, text=True,
        encoding="utf-8", check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    assert "bowl_on_maple: PASS" in done.stdout
    assert (checkout / "jointlab-demo" / "page" / "index.html").stat().st_size > 50_000


def test_readme_states_both_commands():
    assert command_in_readme("main command").startswith("python3 -m venv .venv && .venv/bin/pip install .")
    assert "pytest" in command_in_readme("test command")
