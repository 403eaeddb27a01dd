"""Charts as typed: ``Cm7 F7 | Bbmaj7 (G7)``, read into bars and printed back.

``|`` stands between bars (also at either end, doubled, or at the break of a line). Symbols
and slashes share a bar equally. ``/`` holds the chord before it, at the start of a bar that
of the bar before; ``%`` alone repeats the bar before; ``N.C.`` isn't a chord; parentheses after
a space mark the turnaround, the last chord or chords of the chart.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from drillbox.errors import BadInput
from drillbox.music.charts import MOST_BARS, Bar, Chart, Meter, Span, turnaround_at_end
from drillbox.music.chords import Chord
from drillbox.music.symbols.parsing import SymbolError, parse_symbol, reading
from drillbox.music.symbols.printed import chart_text, grouped
from drillbox.output import counted

__all__ = ["MOST_BARS", "ChartError", "chart_text", "parse_chart", "parse_meter", "readings"]

_MOST_CHARACTERS = 20_000
# A word that no symbol begins with: it goes on with the one before it.
_CONTINUES = re.compile(
    r"\s+((?i:maj|ma|min|mi|m|dim|aug|sus|add|alt|dom|half|omit|no\d)|[0-9Δ∆△▵°º˚øØ⌀])"
)
_BAR_LINE = re.compile(r"\[?\|\|?\]?")
_REPEAT = re.compile(r"\[?\|{1,2}:|::?\|{1,2}[:\]]?|::")

Problem = tuple[int, int, str]


class ChartError(BadInput):
    """A typed chart that can't be read; ``problems`` holds (line, column, text), from 1."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        line, column, text = self.problems[0]
        more = len(self.problems) - 1
        super().__init__(
            f"Line {line}, column {column}: {text}",
            f"And {counted(more, 'more problem')} after it." if more else "",
        )


@dataclass(frozen=True, slots=True)
class _Token:
    text: str
    line: int
    column: int

    def problem(self, text: str) -> Problem:
        return (self.line, self.column, text)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A symbol, slash or percent sign, with whether parentheses stand round it."""

    token: _Token
    turnaround: bool


def parse_meter(text: str) -> Meter:
    """Read a meter such as ``4/4`` or ``6/8`` (``C`` and ``C|`` too); raise BadInput if none."""
    words = {"C": "4/4", "C|": "2/2"}.get(text.strip(), text.strip())
    match = re.fullmatch(r"([1-9][0-9]?) ?/ ?(1|2|4|8|16|32)", words)
    if not match or int(match[1]) > 32:
        shown = text if len(text) <= 20 else f"{text[:20]}..."
        raise BadInput(f"{shown!r} isn't a meter", "Write it as 4/4, 3/4 or 6/8.")
    return Meter(int(match[1]), int(match[2]))


def parse_chart(text: str, meter: Meter, *, finer: bool = False, most: int = MOST_BARS) -> Chart:
    """Read a typed chart in a meter.

    The number of symbols and slashes in a bar must divide its beats; with ``finer`` any
    number is read, as ``chart_text`` prints chords that change off the beat. ``most`` is the
    number of bars that a chart may have. Raise ChartError with every problem found.
    """
    if len(text) > _MOST_CHARACTERS:
        raise ChartError([(1, 1, f"the chart is longer than {_MOST_CHARACTERS} characters")])
    problems: list[Problem] = []
    bars: list[Bar] = []
    tokens = list(_tokens(text))
    for number, cells in enumerate(_measures(tokens, problems), start=1):
        if number > most:
            problems.append(cells[0].token.problem(f"a chart has at most {most} bars"))
            break
        bars.append(_bar(cells, bars[-1] if bars else None, meter, finer, problems))
    if not problems:
        problems.extend(_turnaround_problems(bars, tokens))
    if problems:
        raise ChartError(problems)
    return Chart(meter, tuple(bars))


def readings(text: str) -> tuple[str, ...]:
    """Return how symbols of a typed chart are read that others may mean otherwise."""
    told = (reading(token.text) for token in _tokens(text))
    return tuple(dict.fromkeys(each for each in told if each))


def _tokens(text: str) -> Iterator[_Token]:
    for number, line in enumerate(text.splitlines(), start=1):
        at = 0
        while at < len(line):
            if line[at].isspace():
                at += 1
                continue
            end = _symbol_end(line, at, _token_end(line, at))
            yield _Token(line[at:end], number, at + 1)
            at = end


def _token_end(line: str, at: int) -> int:
    """Return where the token ends; parentheses that follow a symbol belong to it."""
    if bar_line := _REPEAT.match(line, at) or _BAR_LINE.match(line, at):
        return bar_line.end()
    if line[at] in "()%" or re.match(r"/+(?=[\s|()/]|$)", line[at:]):
        return at + 1
    depth, end = 0, at
    while end < len(line) and line[end] != "|" and (depth or not line[end].isspace()):
        if (line[end] == ")" and not depth) or _REPEAT.match(line, end):
            break
        depth = max(0, depth + {"(": 1, "[": 1, ")": -1, "]": -1}.get(line[end], 0))
        end += 1
    # C/// is a symbol and three slashes, however close they stand; C/ lacks its bass.
    bare = line[at:end].rstrip("/")
    return end if len(bare) + 1 == end - at else at + len(bare)


def _symbol_end(line: str, at: int, end: int) -> int:
    """Return where a symbol ends that has blanks in it, as ``Db Maj7`` or ``C half-dim``."""
    while rest := _CONTINUES.match(line, end):
        further = _token_end(line, rest.start(1))
        if line[at] not in "ABCDEFG" or not _reads(line[at:further]):
            break
        end = further
    return end


def _reads(text: str) -> bool:
    try:
        parse_symbol(text)
    except SymbolError:
        return False
    return True


def _measures(tokens: list[_Token], problems: list[Problem]) -> list[list[_Cell]]:
    """Part the tokens at the bar lines, into cells that know whether they are in parentheses."""
    measures: list[list[_Cell]] = [[]]
    group: _Token | None = None
    line_before: _Token | None = None
    repeat = next((token for token in tokens if _REPEAT.fullmatch(token.text)), None)
    if repeat:
        problems.append(repeat.problem("repeat signs aren't read; write the bars out, and % for a "
                                       "bar like the one before it"))  # fmt: skip
    for before, token in zip([None, *tokens], tokens, strict=False):
        repeats = _REPEAT.fullmatch(token.text)
        if repeats or _BAR_LINE.fullmatch(token.text):
            if measures[-1]:
                measures.append([])
            elif not repeats and line_before and line_before.line == token.line:
                problems.append(token.problem("the bar before this bar line is empty; write % to "
                                              "repeat a bar or N.C. for no chord"))  # fmt: skip
            line_before = token
        elif token.text in ("(", ")"):
            group = _group(token, before, group, problems)
        else:
            measures[-1].append(_Cell(token, group is not None))
    if group:
        problems.append(group.problem("this parenthesis isn't closed"))
    return measures if measures[-1] else measures[:-1]


def _group(
    token: _Token, before: _Token | None, group: _Token | None, problems: list[Problem]
) -> _Token | None:
    """Return the parenthesis that is open after this one."""
    opening = token.text == "("
    if opening == (group is not None):
        wrong = "parentheses don't nest" if opening else "this parenthesis closes nothing"
        problems.append(token.problem(wrong))
    elif not opening and before is group:
        problems.append(token.problem("the parentheses are empty; write the turnaround in them"))
    return token if opening else None


def _bar(
    cells: list[_Cell], last: Bar | None, meter: Meter, finer: bool, problems: list[Problem]
) -> Bar:
    """Return the bar; where something is wrong note it and return what can be made of it."""
    texts = [cell.token.text for cell in cells]
    if "%" in texts:
        if len(cells) > 1 or cells[0].turnaround:
            problems.append(cells[0].token.problem("% repeats a whole bar and stands alone in it"))
        elif last is None:
            problems.append(cells[0].token.problem("there is no bar before this one to repeat"))
        return last or Bar(())
    share, known = meter.bar / len(cells), len(problems)
    spans: list[Span] = []
    for index, cell in enumerate(cells):
        held = spans[-1] if spans else last.spans[-1] if last and last.spans else None
        if cell.token.text != "/":
            spans.append(Span(index * share, share, _chord(cell, problems), cell.turnaround))
        elif held is None:
            problems.append(cell.token.problem("/ holds a chord, and there is none before it"))
        elif spans and cell.turnaround <= held.turnaround:
            spans[-1] = Span(held.start, held.length + share, held.chord, held.turnaround)
        else:
            turnaround = cell.turnaround or held.turnaround
            spans.append(Span(index * share, share, held.chord, turnaround))
    if meter.beats % len(cells) and not finer and len(problems) == known:
        problems.append(cells[0].token.problem(_uneven(cells, meter)))
    return Bar(tuple(spans))


def _chord(cell: _Cell, problems: list[Problem]) -> Chord | None:
    try:
        return parse_symbol(cell.token.text, cell.token.column)
    except SymbolError as error:
        problems.append((cell.token.line, error.column, _unread(cell, error)))
        return None


def _unread(cell: _Cell, error: SymbolError) -> str:
    """Return what is wrong with a symbol in its place on the page, and what to write."""
    text = cell.token.text
    if cell.turnaround and text[0] in "b#♭♯123456789+-":
        return f"alterations stand close to their symbol, as in C7({text})"
    joined = re.fullmatch(r"(.+)\(([A-G].*)\)", text)
    if joined and _reads(joined[1]) and _reads(joined[2]):
        return f"put a space before the turnaround: {joined[1]} ({joined[2]})"
    if text.endswith("/"):
        return f"{error.line()}; a / that holds a beat stands apart from its symbol"
    return error.line()


def _uneven(cells: list[_Cell], meter: Meter) -> str:
    counts = [n for n in range(1, meter.beats + 1) if meter.beats % n == 0]
    listed = " or ".join(filter(None, [", ".join(map(str, counts[:-1])), str(counts[-1])]))
    few = cells[: meter.beats]
    share, over = divmod(next(n for n in counts if n >= len(few)), len(few))
    texts = [
        (text, cell.turnaround)
        for at, cell in enumerate(few)
        for text in (cell.token.text, *["/"] * (share + (at < over) - 1))
    ]
    beats = counted(meter.beats, "beat")
    return (
        f"{len(cells)} symbols and slashes can't share the {beats} of a bar equally; "
        f"write {listed} of them, such as {grouped(texts)}"
    )


def _turnaround_problems(bars: list[Bar], tokens: list[_Token]) -> Iterator[Problem]:
    if not bars:
        yield (1, 1, "there are no chords; write them such as Dm7 G7 | Cmaj7")
        return
    spans = [span for bar in bars for span in bar.spans]
    marked = [span for span in spans if span.turnaround]
    if turnaround_at_end(spans) == len(marked):
        return
    opening = next(token for token in tokens if token.text == "(")
    if len(marked) == len(spans):
        yield opening.problem("the whole chart is in parentheses; only its turnaround should be")
    elif any(span.chord is None for span in marked):
        yield opening.problem("a turnaround is a chord, not N.C.")
    else:
        yield opening.problem("the turnaround in parentheses must be the last of the chart")
