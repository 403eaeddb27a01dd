"""What is decided about phrases that come in: key, turnaround, octaves; asked or said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.cli.asking import asking, yes_or_no
from drillbox.cli.context import Asked
from drillbox.cli.from_files import Incoming
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.music.phrases import Phrase
    from drillbox.practice.phrases.intake import Prepared
    from drillbox.practice.settings.preferences import Preferences


def decide_key(options: Asked, phrase: Phrase) -> Phrase:
    """Return a typed phrase, in the minor or major that its chart moves as where that is meant."""
    from drillbox.music.analysis.given_key import moves_as
    from drillbox.screen.look import clean

    other = moves_as(phrase.chart, phrase.key)
    if other is None:
        return phrase
    title = clean(phrase.title, 40, ascii=options.look.ascii)
    given, meant = (key.text(ascii=options.look.ascii) for key in (phrase.key, other))
    said = f"{title} is given in {given} and moves as {meant}"
    if not options.terminal.interactive:
        tell(f"{said} (--key {other.text()}, if that is meant)")
        return phrase
    print(f"{said}.")
    taken = asking(f"Take it as {meant}? y/n", yes_or_no, None, "y")
    return replace(phrase, key=other) if taken else phrase


def decide_breaks(
    options: Asked, preferences: Preferences, prepared: Prepared, wanted: bool | None
) -> Prepared:
    """Return the phrase with octaves broken where its line leaves the range, if that is taken."""
    from drillbox.practice.phrases.octaves import proposed_breaks, with_breaks
    from drillbox.screen.doubts import break_text
    from drillbox.screen.look import clean

    found = proposed_breaks(prepared, preferences) if wanted is not False else ()
    if not found:
        return prepared
    if wanted is None:
        meter, ascii = prepared.phrase.chart.meter, options.look.ascii
        said = f"{clean(prepared.phrase.title, 40, ascii=ascii)} leaves your instrument in "
        said += f"{len(found)} of its keys. The octave could be broken: "
        said += break_text(found, meter, options.look)
        if not options.terminal.interactive:
            tell(f"{said} (--octave-breaks takes it)")
            return prepared
        print(said)
        if not asking("Take it? y/n", yes_or_no, None, "y"):
            return prepared
    return with_breaks(prepared, preferences)


def say_written(preferences: Preferences, came: list[Incoming]) -> None:
    """Say on stderr that phrases were read in the written pitch of the player's instrument."""
    from drillbox.practice.phrases.intake import sounding

    written = [each.phrase for each in came if not each.concert]
    low = [sounding(each, preferences) for each in written]
    if low == written:
        return
    how = f"{written[0].key.text()} is concert {low[0].key.text()}"
    if low[0].key == written[0].key:
        how = "it sounds an octave lower"
    tell(f"Read as written for {preferences.instrument.name}: {how} (--concert declines it)")


def decide_turnarounds(
    options: Asked, preferences: Preferences, phrases: Sequence[Phrase], wanted: bool | None
) -> list[Phrase]:
    """Return the phrases, with the turnarounds proposed for them where those are taken.

    At a terminal that is asked once for all; elsewhere each is named with what declines it.
    """
    from drillbox.practice.phrases.intake import proposed, with_chart

    charts = [proposed(each, preferences) if wanted is not False else None for each in phrases]
    told = {
        number: _told(options, preferences, with_chart(phrases[number], chart))
        for number, chart in enumerate(charts)
        if chart is not None
    }
    if told and wanted is None and options.terminal.interactive:
        for line in told.values():
            print("{} has no turnaround. Proposed: {}".format(*line))
        what = "it" if len(told) == 1 else "them"
        if not asking(f"Take {what}? y/n", yes_or_no, None, "y"):
            return list(phrases)
    else:
        for line in told.values():
            tell("{}: turnaround added, {} (--no-turnaround declines it)".format(*line))
    return [
        each if chart is None else with_chart(each, chart)
        for each, chart in zip(phrases, charts, strict=True)
    ]


def _told(options: Asked, preferences: Preferences, phrase: Phrase) -> tuple[str, str]:
    """Return the title and the chart as the player reads them."""
    from drillbox.music.symbols.printed_chart import chart_text
    from drillbox.practice.phrases.as_read import as_read
    from drillbox.screen.look import clean

    read = as_read(phrase, phrase.key, preferences)
    ascii = options.look.ascii
    return clean(phrase.title, 40, ascii=ascii), chart_text(read.chart, ascii=ascii)
