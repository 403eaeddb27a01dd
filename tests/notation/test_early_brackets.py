"""First-ending brackets that close before their repeat sign: they last to it.

A first ending is followed by its repeat sign (ABC 2.1, section 4.9; MusicXML 4.0, ``ending``);
a bracket that is drawn shorter still means all the bars up to it (common practice).
"""

from __future__ import annotations

import re

import pytest

from tests.notation.pages import doubts, problems, tune
from tests.notation.scores import harmony, note, read_part


def measure(text: str, index: int) -> str:
    """Return a measure of a picture such as ``[1b]:|``: bracket, letter, its end, repeat."""
    found = re.fullmatch(r"(\|:)?(?:\[(\d))?([a-g])(\])?(:\|)?", text)
    assert found is not None
    begins, bracket, letter, closes, repeat = found.groups()
    left = '<repeat direction="forward"/>' if begins else ""
    if bracket:
        left += f'<ending number="{bracket}" type="start"/>'
    right = '<ending number="1" type="stop"/>' if closes else ""
    if repeat:
        right += '<repeat direction="backward"/>'
    symbol = harmony("C") if index == 0 else ""
    return (
        (f'<barline location="left">{left}</barline>' if left else "")
        + symbol
        + note(f"{letter.upper()}4", 16)
        + (f'<barline location="right">{right}</barline>' if right else "")
    )


@pytest.mark.parametrize(
    ("page", "order", "early"),
    [
        ("a [1b] c:| [2d]", "abcad", True),
        ("|:a b [1c] d:| [2e f]", "abcdabef", True),
        ("a [1b c] d:| [2e] f", "abcdaef", True),
        ("a b [1c] d e:| [2f g]", "abcdeabfg", True),
        ("|:a [1b] c:| [2d] |:e [1f] g:| [2a]", "abcadefgea", True),
        ("a [1b] c:| d", "abcad", True),
        ("|:a [1b] c:| [2d] e:| [3f]", "abcadeaf", True),
        ("a b [1c] d:| [2e] |:f g:|", "abcdabefgfg", True),
        ("a [1b]:| [2c] d", "abacd", False),
        ("a [1b] c d", "abcd", False),
        ("|:a [1b]:| [2c] d:|", "abacdd", False),
    ],
)
def test_an_early_bracket_lasts_to_the_repeat_sign(page: str, order: str, early: bool) -> None:
    """The bars are played as a reader of the page plays them, worked by hand; a guess is told."""
    read = read_part(*(measure(text, index) for index, text in enumerate(page.split())))
    assert read.phrase is not None, problems(read)
    assert "".join(each.pitch.name.letter.lower() for each in read.phrase.line) == order
    assert any("closes before its repeat sign" in each for each in doubts(read)) is early


@pytest.mark.parametrize(
    ("music", "order"),
    [
        ('"C"C8|[1 D8||E8:|[2 F8|]', "CDECF"),
        ('|:"C"C8|D8|[1 E8||F8:|[2 G8|A8|]', "CDEFCDGA"),
        ('"C"C8|[1 D8 |] E8:| F8|', "CDECF"),
    ],
)
def test_an_early_bracket_in_abc_lasts_to_the_repeat_sign(music: str, order: str) -> None:
    """A double bar inside a first ending doesn't end it either."""
    read = tune(music)
    assert read.phrase is not None, problems(read)
    assert "".join(each.pitch.name.letter for each in read.phrase.line) == order
    assert any("closes before its repeat sign" in each for each in doubts(read))
