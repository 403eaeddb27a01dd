"""Which keyboard is read, lines as presses without a terminal, and the line prompt."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable

import pytest

from drillbox.errors import BadInput, Interrupted
from drillbox.terminal.about import Terminal
from drillbox.terminal.keyboards import LineKeys, ask, open_keys
from drillbox.terminal.presses import END, INTERRUPT


def read_all(text: str, told: list[str] | None = None) -> list[str]:
    names = []
    tell = None if told is None else told.append
    with LineKeys(io.StringIO(text), tell=tell) as keys:
        while (press := keys.read_key(0.5)) != END:
            names.append(press.name)
    return names


def test_a_line_is_one_press() -> None:
    """Proves letters, rating words in any case, and the named keys."""
    text = "l\nrough\n  CLEAN \nfluent and proud\ns\nspace\nF\n"
    assert read_all(text) == ["l", "r", "c", "f", "s", "space", "F"]


def test_a_word_that_is_no_key_rates_nothing() -> None:
    """Proves that a slip of the pen isn't taken for its first letter, and is named."""
    keys = LineKeys(io.StringIO("f\nlots\n"))
    keys.read_key()
    press = keys.read_key()
    assert press.name == "unknown"
    assert press.reason == "line 2: 'lots'"


def test_an_empty_line_is_said_and_ignored() -> None:
    """Proves that the press after it is not lost and the line's number is right."""
    told: list[str] = []
    assert read_all("l\n\n  \nf", told) == ["l", "f"]
    assert told == [f"drillbox: Line {number} is empty; it rates nothing." for number in (2, 3)]
    assert read_all("\nf\n") == ["f"]


def test_the_end_of_input_stays_the_end() -> None:
    """Proves that reading past the end is END each time."""
    keys = LineKeys(io.StringIO(""))
    assert [keys.read_key(), keys.read_key()] == [END, END]


class Broken(io.StringIO):
    """A stream whose next line is an exception."""

    def __init__(self, error: BaseException) -> None:
        super().__init__()
        self.error = error

    def readline(self, size: int = -1) -> str:  # type: ignore[override] # a test double
        raise self.error


def test_ctrl_c_and_bytes_that_are_no_text() -> None:
    """Proves that neither escapes as an exception."""
    assert LineKeys(Broken(KeyboardInterrupt())).read_key() == INTERRUPT
    stream = io.TextIOWrapper(io.BytesIO(b"\xff\xfe\n"), encoding="utf-8")
    press = LineKeys(stream).read_key()
    assert press == END
    assert press.reason == "Line 1 of the input isn't text."


def answering(result: str | BaseException, shown: list[str]) -> Callable[[str], str]:
    def answer(prompt: str) -> str:
        shown.append(prompt)
        if isinstance(result, BaseException):
            raise result
        return result

    return answer


def test_ask_returns_the_answer_or_the_default(monkeypatch: pytest.MonkeyPatch) -> None:
    """Proves stripping, the default, and that the default is shown."""
    shown: list[str] = []
    monkeypatch.setattr("builtins.input", answering("  132 ", shown))
    assert ask("Tempo", "120") == "132"
    monkeypatch.setattr("builtins.input", answering("  ", shown))
    assert ask("Tempo", "120") == "120"
    assert ask("Title") == ""
    assert shown == ["Tempo [120]: ", "Tempo [120]: ", "Title: "]


@pytest.mark.parametrize("error", [EOFError(), KeyboardInterrupt()])
def test_ask_broken_off(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Proves that Ctrl-C and the end of input are the same clean failure."""
    monkeypatch.setattr("builtins.input", answering(error, []))
    with pytest.raises(Interrupted, match="Stopped") as caught:
        ask("Title")
    assert caught.value.exit_code == 130


def test_ask_refuses_bytes_that_are_no_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """Proves that a wrong encoding is a player's error, not a trace."""
    error = UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid start byte")
    monkeypatch.setattr("builtins.input", answering(error, []))
    with pytest.raises(BadInput, match="isn't text"):
        ask("Title")


def terminal(*, interactive: bool) -> Terminal:
    return Terminal(80, 24, interactive, True, True, False)


def test_lines_without_a_terminal() -> None:
    """Proves that a pipe is read line by line."""
    assert isinstance(open_keys(terminal(interactive=False)), LineKeys)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has its own keyboard")
def test_single_keys_on_a_terminal() -> None:
    """Proves that a terminal is read key by key."""
    from drillbox.terminal.posix import Keyboard

    assert isinstance(open_keys(terminal(interactive=True), alternate=True), Keyboard)
