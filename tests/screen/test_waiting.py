"""What phrases and keys wait for, and which keys never stay, in sentences."""

from __future__ import annotations

from drillbox.practice.standing import Slipping, Waiting
from drillbox.screen.look import Look
from drillbox.screen.waiting import slipping_lines, waiting_lines

LOOK = Look()


def test_what_waits_for_what() -> None:
    """A line for each want; tempo only where it is one; the key under its printed name."""
    lines = waiting_lines(
        (
            Waiting("phrase", "Four lamps", "both", 8, 0.744),
            Waiting("phrase", "Late kettle", "memory", 1, 1.0),
            Waiting("key", "Gb", "both", 3, 0.7),
        ),
        LOOK,
    )
    assert lines == [
        "Waiting for memory: 'Late kettle' (1 key).",
        "Waiting for tempo and memory: 'Four lamps' (8 keys, at 74% of goal); G♭ (the hardest key,"
        " 3 phrases, at 70% of goal).",
    ]
    assert waiting_lines((), LOOK) == ["Every key that you have started is owned."]


def test_few_phrases_are_named_and_the_rest_counted() -> None:
    """Three over all lines; a want of the others alone has its line, too."""
    waiting = [Waiting("phrase", f"Line {n}", "tempo", 9 - n, 0.5) for n in range(5)]
    waiting += [Waiting("phrase", "Last", "memory", 1, 1.0), Waiting("key", "B", "memory", 2, 1.0)]
    tempo, memory = waiting_lines(tuple(waiting), LOOK)
    assert tempo.endswith("'Line 2' (7 keys, at 50% of goal); and 2 more phrases.")
    assert memory == "Waiting for memory: 1 phrase; B (the hardest key, 2 phrases)."


def test_what_never_stays_is_named_and_what_helps() -> None:
    """Three at most, the days of each; nothing where all stays."""
    one = Slipping("Four lamps", "Gb", 1, 12)
    assert slipping_lines((one,), LOOK) == [
        "Hardly ever clean, so that other keys come first: 'Four lamps' in G♭ (1 of 13 days)."
        " Take such a key apart with its hints, or leave it out for a while: 'drillbox edit' with"
        " --aside."
    ]
    five = (one, *(Slipping(f"Line {number}", "E", 0, 9 - number) for number in range(4)))
    (line,) = slipping_lines(five, LOOK)
    assert (
        "(1 of 13 days); 'Line 0' in E (0 of 9 days); 'Line 1' in E (0 of 8 days); and 2 more."
        in line
    )
    assert slipping_lines((), LOOK) == []
