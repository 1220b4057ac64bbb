"""One command at a time is built, and none is told otherwise than by itself."""

import subprocess
import sys

import pytest

from jointlab.app.cli import main
from jointlab.app.cli.application import COMMANDS, ORDER, app, application_for


def _names(application):
    named = [one.name or one.callback.__name__ for one in application.registered_commands]
    return {*named, *(one.name for one in application.registered_groups)}


def test_every_command_stands_in_the_list_with_its_file_and_its_own_words():
    assert application_for(["--nonsense"]) is app
    assert _names(app) == set(ORDER)
    told = {one.name or one.callback.__name__: (one.callback, one.short_help) for one in app.registered_commands}
    for name, (file, short_help) in COMMANDS.items():
        if name in told:
            callback, said = told[name]
            assert (callback.__module__, said) == (f"jointlab.app.cli.{file}", short_help)
        else:
            (group,) = [one for one in app.registered_groups if one.name == name]
            assert group.short_help == short_help


@pytest.mark.parametrize("name", ORDER)
def test_a_command_alone_helps_as_it_does_among_all(name, capsys):
    assert _names(application_for([name])) == {name}
    assert main([name, "--help"]) == 0
    alone = capsys.readouterr().out
    assert application_for(["--nonsense"])(args=[name, "--help"], standalone_mode=False, prog_name="jointlab") == 0
    assert capsys.readouterr().out == alone
    assert alone.startswith(f"Usage: jointlab {name}")


def test_the_list_of_commands_is_the_same_without_reading_them(capsys):
    assert main(["--help"]) == 0
    listed = capsys.readouterr().out
    application_for(["--nonsense"])(args=["--help"], standalone_mode=False, prog_name="jointlab")
    assert capsys.readouterr().out == listed


def test_an_unknown_command_is_answered_with_the_nearest_of_all(capsys):
    assert main(["recrd"]) == 2
    assert "record" in capsys.readouterr().err


def test_help_and_version_load_neither_the_commands_nor_what_they_need():
    watched = (
        "import sys; from jointlab.app.cli import main; main([sys.argv[1]]);"
        "heavy = ('jointlab.app.cli.commands', 'jointlab.book', 'sqlalchemy', 'pydantic');"
        "print([name for name in heavy if name in sys.modules])"
    )
    for flag in ("--help", "--version"):
        run = subprocess.run([sys.executable, "-c", watched, flag], capture_output=True, text=True, check=True)
        assert run.stdout.splitlines()[-1] == "[]"
