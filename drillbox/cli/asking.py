"""A phrase that comes in: what is missing is asked for, what is open asked or said."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from drillbox.cli.context import Asked, waiting
from drillbox.errors import BadInput
from drillbox.output import broken, columns, some, tell

if TYPE_CHECKING:
    from drillbox.music.charts import Chart
    from drillbox.music.moving.instruments import Breaks
    from drillbox.music.phrases import Phrase
    from drillbox.practice.preferences import Preferences
    from drillbox.tick import Tick

T = TypeVar("T")
_USUAL_METER = "4/4"


@dataclass(frozen=True, slots=True)
class Typed:
    """What stood on the command line about a phrase or a tune; None where nothing did."""

    title: str | None
    key: str | None
    tempo: str | None
    meter: str | None
    chart: str | None
    double_time: bool = False

    @property
    def missing(self) -> list[str]:
        """Return what can't be left out and wasn't given."""
        return [n for n in ("title", "key", "tempo", "chart") if getattr(self, n) is None]

    @property
    def in_meter(self) -> str:
        """Return the meter, the usual one where none was given."""
        return _USUAL_METER if self.meter is None else self.meter


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of a file is to be read, as given on the command line; None where it wasn't."""

    typed: Typed
    part: str | None
    tune: str | None
    bars: str | None
    keep_good: bool

    @property
    def of_a_file(self) -> list[str]:
        """Return the options that were given and that only a file can have."""
        given = {
            "--part": self.part,
            "--tune": self.tune,
            "--bars": self.bars,
            "--keep-good": self.keep_good or None,
        }
        return [name for name, value in given.items() if value is not None]


def from_typing(options: Asked, typed: Typed) -> Phrase:
    """Return the phrase that was typed, asking for what is missing where there is a terminal."""
    from drillbox.practice.adding import typed_phrase

    if typed.chart is not None:
        say_readings(typed.chart)
    if not typed.missing:
        return typed_phrase(
            title=typed.title or "",
            key=typed.key or "",
            tempo=typed.tempo or "",
            chart=typed.chart or "",
            meter=typed.in_meter,
            double_time=typed.double_time,
        )
    if not options.terminal.interactive:
        wanted = ", ".join(f"--{name}" for name in typed.missing)
        raise BadInput(f"A phrase needs {wanted}", "Add all four, or name a file.")
    return step_by_step(typed)


def check_given(typed: Typed) -> None:
    """Raise BadInput for what was given and can't be used, before the rest is asked for."""
    from drillbox.music.keys import parse_key
    from drillbox.music.phrases import check_tempo, check_title
    from drillbox.music.symbols.typed import parse_chart, parse_meter
    from drillbox.practice.adding import check_chords

    meter = parse_meter(typed.in_meter)
    for given, read in (
        (typed.title, check_title),
        (typed.key, parse_key),
        (typed.tempo, check_tempo),
        (typed.chart, lambda text: check_chords(parse_chart(text, meter))),
    ):
        if given is not None:
            read(given)


def step_by_step(typed: Typed) -> Phrase:
    """Ask for each missing thing until it is right; raise Interrupted if the player leaves."""
    from drillbox.music.keys import parse_key
    from drillbox.music.phrases import Phrase, check_tempo, check_title
    from drillbox.music.symbols.typed import parse_chart, parse_meter
    from drillbox.practice.adding import check_chords

    alone = typed.chart is None
    title = ask_until_right("Title", check_title, typed.title)
    key = ask_until_right("Written key (Bb, F#, Cm)", parse_key, typed.key)
    tempo = ask_until_right("Goal tempo, quarter notes a minute", check_tempo, typed.tempo)
    given = typed.meter if alone else typed.in_meter
    meter = ask_until_right("Meter", parse_meter, given, default=_USUAL_METER)

    def read_chart(text: str) -> Chart:
        chart = parse_chart(text, meter)
        check_chords(chart)
        if alone:
            say_readings(text)
        return chart

    chart = ask_until_right("Chart, as in  Dm7 G7 | Cmaj7 (A7)", read_chart, typed.chart)
    double = typed.double_time or (
        alone and ask_until_right("Double time? y/n", yes_or_no, None, "n")
    )
    return Phrase(title, key, tempo, chart, double_time=double)


def say_readings(chart: str) -> None:
    """Say on stderr how symbols of a typed chart are read that others may mean otherwise."""
    from drillbox.music.symbols.typed import readings

    for told in readings(chart):
        tell(told)


def say_mode(options: Asked, key: str) -> None:
    """Say on stderr that a typed key is read as minor, where it is called Aeolian."""
    from drillbox.music.keys import parse_key

    if "aeo" in key.casefold():
        meant = parse_key(key).text(ascii=options.look.ascii)
        tell(f"{key} is read as {meant}: scales and hints are those of minor")


def ask_until_right(
    prompt: str, read: Callable[[str], T], given: str | None, default: str = ""
) -> T:
    """Return what ``read`` makes of the given text, or of the first answer that it takes."""
    from drillbox.terminal.keyboards import ask

    while True:
        try:
            return read(given if given is not None else ask(last_line(prompt), default))
        except BadInput as problem:
            if given is not None:
                raise
            tell(f"  {problem.line()}")


def last_line(prompt: str) -> str:
    """Return the last line of a prompt as a terminal has room for it; those before are printed."""
    above, _, last = broken(prompt, columns(sys.stdout) - len(" [y]: ")).rpartition("\n")
    if above:
        print(above)
    return last


def yes_or_no(text: str) -> bool:
    """Read y or n; raise BadInput for anything else."""
    answer = text.strip().casefold()
    if answer in {"y", "yes"}:
        return True
    if answer in {"n", "no"}:
        return False
    raise BadInput(f"{text!r} is neither y nor n", "Press y or n, then Enter.")


def agrees_to_delete(options: Asked, title: str, yes: bool, more: str = "") -> bool:
    """Return whether the player wants it deleted; ``more`` stands behind the question's title."""
    question = f"Delete {options.cleaned(title)}{more}?"
    return agrees(options, question, f"Deleting {title!r}", yes=yes)


def agrees(options: Asked, question: str, doing: str, *, yes: bool) -> bool:
    """Return whether the player says yes; without a terminal only --yes does.

    ``doing`` names what is asked about, as in: Deleting 'Late kettle'.
    """
    if yes:
        return True
    if not options.terminal.interactive:
        raise BadInput(f"{doing} needs a yes", "Add --yes.")
    return ask_until_right(f"{question} y/n", yes_or_no, None, "n")


def decide_key(options: Asked, phrase: Phrase) -> Phrase:
    """Return a typed phrase, in the minor or major that its chart moves as where that is meant."""
    from drillbox.music.analysis.functions import key_it_moves_as
    from drillbox.music.moving.transposition import under_key
    from drillbox.screen.look import clean

    other = key_it_moves_as(phrase.chart, phrase.key)
    if other is None:
        return phrase
    title = clean(phrase.title, 40, ascii=options.look.ascii)
    given, meant = (key.text(ascii=options.look.ascii) for key in (phrase.key, other))
    said = f"You said {given}, but the chords of '{title}' are in {meant}"
    if not options.terminal.interactive:
        tell(f"{said} (--key {other.text()}, if that is meant)")
        return phrase
    options.say(f"{said}.")
    taken = ask_until_right(f"Take it as {meant}? y/n", yes_or_no, None, "y")
    return under_key(phrase, other) if taken else phrase


class Asking:
    """What the player is told and asked while phrases come in, on a terminal or in a pipe.

    ``turnaround`` and ``breaks`` are what was said about them beforehand, None for nothing.
    """

    def __init__(
        self,
        options: Asked,
        preferences: Preferences,
        *,
        turnaround: bool | None,
        breaks: bool | None,
    ) -> None:
        self._options, self._preferences = options, preferences
        self._turnaround, self._breaks = turnaround, breaks

    def taken_as_written(self, written: Phrase, sounding: Phrase) -> None:
        """Say on stderr that phrases were read in the written pitch of the instrument."""
        ascii = self._options.look.ascii
        how = f"{written.key.text(ascii=ascii)} is concert {sounding.key.text(ascii=ascii)}"
        if sounding.key == written.key:
            how = "it sounds an octave lower"
        name = self._preferences.instrument.name
        tell(f"Read as written for {name}: {how} (--concert declines it)")

    def skipped(self, title: str) -> None:
        """Say on stderr that a phrase is left out."""
        tell(f"{self._clean(title)}: there is a phrase of this title already; this one is skipped")

    def turnarounds(self, read: Sequence[Phrase]) -> bool:
        """Ask once for all at a terminal; elsewhere say in one line what declines them."""
        if self._turnaround is False:
            return False
        lines = [(self._clean(each.title), self._chart(each)) for each in read]
        if self._turnaround is None and self._options.terminal.interactive:
            for title, chart in lines:
                self._options.say(f"{title} has no turnaround. Proposed: {chart}")
            what = "it" if len(lines) == 1 else "them"
            return ask_until_right(f"Take {what}? y/n", yes_or_no, None, "y")
        if lines:
            tell(
                f"{_added(lines)} (--no-turnaround declines {'it' if len(lines) == 1 else 'them'})"
            )
        return True

    def no_room(self, titles: Sequence[str]) -> None:
        """Say on stderr, in one line for all, whose line leaves no room for a turnaround."""
        if self._turnaround is not False:
            names = some([self._clean(each) for each in titles])
            tell(f"{names}: no turnaround added, the line plays on where it would stand")

    def octave_breaks(self, phrase: Phrase, found: Breaks) -> bool:
        """Ask at a terminal; elsewhere decline, and say what takes them.

        Nothing is asked or said where none is needed; what was said beforehand holds there, too.
        """
        if self._breaks is not None or not found:
            return bool(self._breaks)
        from drillbox.screen.lead_sheet import break_text

        said = f"{self._clean(phrase.title)} leaves your instrument in {len(found)} of its keys. "
        said += "The octave could be broken: "
        said += break_text(found, phrase.chart.meter, self._options.look)
        if not self._options.terminal.interactive:
            tell(f"{said} (--octave-breaks takes it)")
            return False
        self._options.say(said)
        return ask_until_right("Take it? y/n", yes_or_no, None, "y")

    def carrying(self) -> AbstractContextManager[Tick]:
        """Show how far phrases were carried through their keys."""
        return waiting("Carrying through twelve keys")

    def _clean(self, title: str) -> str:
        from drillbox.screen.look import clean

        return clean(title, 40, ascii=self._options.look.ascii)

    def _chart(self, phrase: Phrase) -> str:
        from drillbox.music.symbols.printed import chart_text

        return chart_text(phrase.chart, ascii=self._options.look.ascii)


def _added(lines: Sequence[tuple[str, str]]) -> str:
    """Say to which phrases, by title and chart, a turnaround was added."""
    if len(lines) == 1:
        title, chart = lines[0]
        return f"{title}: turnaround added, {chart}"
    return f"Turnarounds added to {some([title for title, _ in lines])}"
