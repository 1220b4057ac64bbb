import io

import pytest

from jointlab.app.cli import marking
from jointlab.app.cli.marking import busy, marked


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_every_item_comes_through_in_order_without_a_terminal(capsys):
    assert list(marked([3, 1, 2], "things")) == [3, 1, 2]
    with busy("working"):
        pass
    assert capsys.readouterr() == ("", "")


def test_a_bar_is_shown_on_a_terminal_once_it_takes_long(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setattr(marking, "QUIET_S", -1.0)
    assert list(marked([3, 1, 2], "combinations")) == [3, 1, 2]
    assert "combinations" in terminal.getvalue()


def test_an_item_that_fails_takes_the_bar_down_with_it(monkeypatch):
    monkeypatch.setattr("sys.stderr", Terminal())
    monkeypatch.setattr(marking, "QUIET_S", -1.0)
    steps = marked([1, 2], "combinations")
    next(steps)
    with pytest.raises(RuntimeError, match="stop"):
        steps.throw(RuntimeError("stop"))


def test_a_sign_of_life_is_shown_on_a_terminal(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    with busy("drawing the page"):
        pass
    assert "drawing the page" in terminal.getvalue()


def test_a_file_being_stored_shows_the_share_read_and_its_rows(monkeypatch):
    monkeypatch.setattr(marking, "QUIET_S", -1.0)
    monkeypatch.setattr(marking, "BETWEEN_LOOKS", 2)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    shown = []

    class Bar:
        def update(self, task, *, completed, description):
            shown.append((task, completed, description))

        def stop(self):
            shown.append("stopped")

    monkeypatch.setattr(marking, "_bar", lambda words, total, done: (Bar(), f"{words} of {total - done}"))
    assert list(marking.measured(iter(range(5)), "storing x", lambda: 0.25)) == [0, 1, 2, 3, 4]
    assert shown == [
        ("storing x of 100", 25.0, "storing x, 2 rows"),
        ("storing x of 100", 25.0, "storing x, 4 rows"),
        "stopped",
    ]
