"""A tune's chart with the places where phrases fit, and what fits over all tunes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart, beat_text, place
from drillbox.music.chords import Chord
from drillbox.music.degrees import with_signs
from drillbox.music.fits import Clash, Fit, Time
from drillbox.music.symbols.printed import symbol_text
from drillbox.music.tunes import Tune
from drillbox.output import counted
from drillbox.practice.fits import Row, TuneFits, fit_in_words
from drillbox.practice.serving import Overview
from drillbox.screen import style
from drillbox.screen.line import spoken
from drillbox.screen.look import Hanging, Look, clean, sentence
from drillbox.screen.table import Column, plain_rows, table
from drillbox.screen.tune_list import chart_lines, section_words, tune_heading

MOST_MARKS = 3  # numbers under a chord; of more only the first are set there
MOST_TO_DRILL = 12
LONG_TITLE = 16  # cells in which titles can be told apart


def tune_page(found: TuneFits, tags: Sequence[str], look: Look) -> RenderableType:
    """Show a tune's chart with numbered places, a row for each, and what is bare or to drill."""
    tune = found.tune
    marks = [] if look.plain else place_marks(found.rows, tune.chart)
    return Group(
        *tune_heading(tune, tags, look),
        Text(""),
        *chart_lines(tune, look, marks),
        Text(""),
        *_places(found, look),
        *(Text(line) for line in remark_lines(found, look)),
    )


def _places(found: TuneFits, look: Look) -> Iterator[RenderableType]:
    """Yield the table of places; where it would have no room a few lines for each."""
    rows = list(_rows(found, look))
    if look.plain or _have_room(rows, look):
        if rows:
            yield table(_COLUMNS, rows, look)
        return
    for number, bars, title, key, how, tempo, ready, figures in rows:
        where = f"from {'bars' if ',' in bars else 'bar'} {bars}"
        facts = f"{clean(title, ascii=look.ascii)} in {key}, {where}: {how} at {tempo}; {ready}"
        yield Hanging(f"{number:>2}  ", facts + (f" ({figures})" if figures else ""))


def _have_room(rows: Sequence[tuple[str, ...]], look: Look) -> bool:
    """Return whether the table can say all of its rows; only a long title may be cut."""
    room = 0
    for index, column in enumerate(_COLUMNS):
        most = max(map(cell_len, (column.name, *(row[index] for row in rows))))
        room += (min(most, LONG_TITLE) if column.wide else most) + 2
    return room <= look.width


_COLUMNS = (
    Column("no.", right=True),
    Column("bars"),
    Column("phrase", wide=True),
    Column("key"),
    Column("how"),
    Column("tempo", right=True),
    Column("ready?"),
    Column("chance"),
)


def _rows(found: TuneFits, look: Look) -> Iterator[tuple[str, ...]]:
    for number, row in enumerate(found.rows, start=1):
        yield (
            str(number),
            places_text(row.starts, found.tune.chart),
            row.title,
            row.key.text(ascii=look.ascii),
            fit_in_words(row, ascii=look.ascii),
            str(row.tempo),
            row.ready_in_words,
            row.ready.figures,
        )


def places_text(starts: Sequence[Time], chart: Chart) -> str:
    """Return places as bars: ``4, 8, 16``; one within its bar with the beat, ``3 on 3``."""
    found = []
    for start in starts:
        bar, beat = place(chart.meter, Fraction(start))
        found.append(str(bar) if beat == 1 else f"{bar} on {beat_text(beat)}")
    return ", ".join(found)


def place_marks(rows: Sequence[Row], chart: Chart) -> list[list[str]]:
    """Return for each bar what is set under its chords: the numbers of the places there."""
    under = [["" for _ in bar.spans] for bar in chart.bars]
    for number, row in enumerate(rows, start=1):
        for start in row.starts:
            index, within = divmod(Fraction(start), chart.meter.bar)
            spans = chart.bars[int(index)].spans
            at = max(i for i, span in enumerate(spans) if span.start <= within)
            there = under[int(index)][at].split()
            if len(there) < MOST_MARKS:
                under[int(index)][at] = " ".join([*there, str(number)])
    return under


def remark_lines(found: TuneFits, look: Look) -> list[str]:
    """Say which notes rub, which bars nothing fits, and what is to be drilled."""
    lines = list(_clash_lines(found, look))
    if found.more:
        fit = "fits" if found.more == 1 else "fit"
        lines.append(f"{counted(found.more, 'more phrase')} {fit} at places that have enough.")
    lines += [_bare_line(found)] if found.bare else []
    if found.to_drill:
        lines.append(_drill_line(found, look))
    return [part for line in lines for part in ("", *sentence(line, look))]


def _clash_lines(found: TuneFits, look: Look) -> Iterator[str]:
    """Say for each row that has notes that rub which they are, by degree and place."""
    for number, row in enumerate(found.rows, start=1):
        if row.fit.clashes:
            notes = "; ".join(clash_text(each, row, found.tune, look) for each in row.fit.clashes)
            yield f"{number}: change {notes}."


def clash_text(clash: Clash, row: Row, tune: Tune, look: Look) -> str:
    """Return a note that rubs, over which chord of the tune, and what to make of it.

    As in ``the 5th in its bar 2, beat 1 (a natural 5th over Dø7: make it the ♭5)``.
    """
    bar, beat = place(tune.chart.meter, Fraction(clash.onset))
    was, becomes, better = (
        with_signs(each, ascii=look.ascii) for each in (clash.was, clash.becomes, clash.better)
    )
    here = f"a {_PLAIN[becomes]}" if becomes in _PLAIN else f"the {spoken(becomes)}"
    if chord := _chord_at(tune, row.fit, clash.at):
        here += f" over {symbol_text(chord, ascii=look.ascii)}"
    if better:
        here += f": make it the {spoken(better)}"
    return f"the {spoken(was)} in its bar {bar}, beat {beat_text(beat)} ({here})"


_PLAIN = {"3": "major 3rd", "5": "natural 5th", "7": "major 7th"}


def _chord_at(tune: Tune, fit: Fit, after: Time) -> Chord | None:
    """Return what sounds in a tune so many quarters after a fit begins."""
    first, end = (tune.chart.meter.bar * bar for bar in tune.chorus)
    at = fit.start + after
    if fit.over_seam and at >= end:
        at -= end - first
    found = [span.chord for start, span in tune.chart.spans() if start <= at]
    return found[-1] if found else None


def _bare_line(found: TuneFits) -> str:
    if found.bare == ((0, len(found.tune.chart.bars)),):
        return "None of your phrases fits into this tune."
    named = {(first, end): section_words(found.tune, name) for name, first, end in
             found.bare_sections}  # fmt: skip
    inside = [f"{name} ({_bars_text(*bars)})" for bars, name in named.items()]
    runs = [
        _bars_text(first, end)
        for first, end in found.bare
        if not any(a <= first and end <= b for a, b in named)
    ]
    return f"Nothing fits: {', '.join([*inside, *runs])}."


def _bars_text(first: int, end: int) -> str:
    """Return the bars from one, counted from 0, up to the one after the last: ``bars 5 to 8``."""
    return f"bar {end}" if end == first + 1 else f"bars {first + 1} to {end}"


def _drill_line(found: TuneFits, look: Look) -> str:
    keys = [
        f"{clean(row.title, ascii=look.ascii)} in {row.key.text(ascii=look.ascii)} at {row.tempo}"
        for row in found.to_drill
    ]
    more = len(keys) - MOST_TO_DRILL
    tail = f" and {more} more" if more > 0 else ""
    return f"To drill for it: {'; '.join(keys[:MOST_TO_DRILL])}{tail}."


class Coverage:
    """The tunes and how much of each something fits, row by row as they are looked through."""

    def __init__(self, titles: Sequence[str], look: Look) -> None:
        shown = [clean(each, ascii=look.ascii) for each in (_COVERED[0].name, *titles)]
        room = max(8, look.width - len(_COVERED[1].name) - 2)
        self._wide, self._look = min(room, max(map(cell_len, shown))), look

    def heading(self) -> Text:
        """Return the names of the columns; plain rows have them in each line."""
        return self._line(_COVERED[0].name, _COVERED[1].name, style.QUIET)

    def row(self, title: str, share: float) -> Text:
        """Return the row of a tune."""
        if self._look.plain:
            row = title, f"{share:.0%}"
            return Text(*plain_rows(_COVERED, [row], ascii=self._look.ascii))
        return self._line(title, f"{share:.0%}")

    def _line(self, title: str, share: str, weight: str = "") -> Text:
        cut = clean(title, self._wide, ascii=self._look.ascii)
        gap = " " * (self._wide - cell_len(cut) + 2)
        return Text(f"{cut}{gap}{share:>{len(_COVERED[1].name)}}", weight)


_COVERED = Column("tune", wide=True), Column("bars with a fit", right=True)


def overview_screen(found: Overview, look: Look) -> RenderableType:
    """Show which phrases serve most, which keys the tunes need and which none needs."""
    phrases = [
        (each.title, str(each.tunes), str(each.places),
         " ".join(key.text(ascii=look.ascii) for key in each.keys))
        for each in found.serving
    ]  # fmt: skip
    keys = [
        (each.key.text(ascii=look.ascii), str(each.tunes), str(each.places), str(each.phrases))
        for each in found.needed
        if each.places
    ]
    spare = [each.key.text(ascii=look.ascii) for each in found.needed if not each.places]
    lines = []
    if spare:
        lines.append(f"Keys that no tune needs: {', '.join(spare)}.")
    if found.idle:
        titles = ", ".join(clean(each, ascii=look.ascii) for each in found.idle)
        lines.append(f"Phrases that fit into none of your tunes: {titles}.")
    count = Column("tunes", right=True), Column("places", right=True)
    tables = (
        ((Column("phrase", wide=True, wraps=True), *count, Column("keys", wraps=True)), phrases),
        ((Column("key"), *count, Column("phrases", right=True)), keys),
    )
    drawn = [part for columns, rows in tables if rows
             for part in (table(columns, rows, look), Text(""))]  # fmt: skip
    said = [part for line in lines for part in (*sentence(line, look), "")]
    return Group(*drawn, *(Text(part) for part in said[:-1]))
