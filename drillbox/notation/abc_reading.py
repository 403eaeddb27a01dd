"""Reads ABC 2.1 with a reader of our own.

music21's ABC reader tells neither line nor column, drops chord strings that it can't parse
and all but the first of a note, and loses accidentals over ties: none of that may happen to
a player's phrase. The standard's music code is small, so it is read here; music21 is the
second reader in the tests.

The player's marks: an accent (``!accent!``, ``!>!``, ``!emphasis!`` or ``L``) makes a note a
target; a chord string in parentheses, ``"(G7)"``, is the turnaround; ``R:double time`` says
what it says. A string that begins with ``^ _ < > @`` is a remark. Repeats are written out.
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.notation.abc_header import Header, chosen_voice
from drillbox.notation.abc_measures import MeasureBuilder
from drillbox.notation.abc_music import MusicReader
from drillbox.notation.assembly import (
    TAKE_BARS,
    Page,
    build_chart,
    build_line,
    check_title,
    keys_of,
    lay_out,
    long_brackets,
    whole_tempo,
)
from drillbox.notation.repeats import play_order, without_pickup
from drillbox.notation.result import Given, Limits, Problem, Reading, Tune
from drillbox.notation.sheet import Findings, Place
from drillbox.tick import Tick, silent

Line = tuple[int, str]
_BOMS = {
    codecs.BOM_UTF8: "utf-8",
    codecs.BOM_UTF16_LE: "utf-16-le",
    codecs.BOM_UTF16_BE: "utf-16-be",
}
_CHARSET = re.compile(rb"^(?:%%|I:)\s*abc-charset\s+([\w-]+)", re.MULTILINE)
_FILE_FIELDS = re.compile(r"[ILMmQRU]:|%%")


@dataclass(frozen=True, slots=True)
class Source:
    """The lines of one tune with their numbers in the file, comments and text blocks left out.

    ``defaults`` are the fields of the file's header; ``stray`` is where music seems to stand
    behind the empty line that ends the tune.
    """

    lines: tuple[Line, ...]
    defaults: tuple[Line, ...]
    stray: int | None = None


def decoded_text(data: bytes) -> tuple[str, str]:
    """Return the text of an ABC file and, where its encoding had to be guessed, a doubt.

    UTF-8 is the standard's default (ABC 2.1, section 2.1); a byte order mark or an
    ``abc-charset`` line says otherwise, and text that isn't UTF-8 is taken for Latin-1.
    """
    for mark, encoding in _BOMS.items():
        if data.startswith(mark):
            return _strict(data[len(mark) :], encoding), ""
    if b"\0" in data:
        raise BadInput("this isn't a text file", "Use an ABC or MusicXML file.")
    declared = _CHARSET.search(data)
    if declared:
        return _strict(data, declared[1].decode("ascii"), declared[0]), ""
    try:
        return data.decode("utf-8"), ""
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        doubt = f"line {line} is not UTF-8; the file is read as Latin-1"
        return data.decode("latin-1"), doubt


def _strict(data: bytes, encoding: str, named_by: bytes = b"") -> str:
    """Decode a file; the line that named the encoding has to read in it as it does in ASCII."""
    try:
        if named_by.decode(encoding) != named_by.decode("ascii"):
            raise UnicodeError(f"{encoding} isn't an encoding of text like this")
        return data.decode(encoding)
    except (UnicodeError, LookupError) as wrong:
        raise BadInput(
            f"the text is not in the encoding that the file names, {encoding}",
            "Save the file as UTF-8.",
        ) from wrong


def split_tunes(text: str) -> tuple[Source, ...]:
    """Split a file into its tunes: each from ``X:`` to the next empty line (ABC 2.1, 2.2).

    A file without ``X:`` but with a ``K:`` field is one tune.
    """
    lines = _music_lines(text)
    starts = [i for i, (_, line) in enumerate(lines) if line.startswith("X:")]
    if not starts:
        if not any(line.startswith("K:") for _, line in lines):
            return ()
        return (_source(lines, ()),)
    before = tuple(line for line in lines[: starts[0]] if _FILE_FIELDS.match(line[1]))
    ends = [*starts[1:], len(lines)]
    return tuple(_source(lines[start:end], before) for start, end in zip(starts, ends, strict=True))


def _source(lines: list[Line], defaults: tuple[Line, ...]) -> Source:
    begun = next((i for i, (_, line) in enumerate(lines) if line.strip()), 0)
    end = next((i for i in range(begun, len(lines)) if not lines[i][1].strip()), len(lines))
    stray = next((number for number, line in lines[end:] if "|" in line), None)
    return Source(tuple(lines[begun:end]), defaults, stray)


def _music_lines(text: str) -> list[Line]:
    """Return the numbered lines without comments and ``%%begintext`` blocks.

    A line that holds nothing but a comment goes altogether: it ends no tune.
    """
    kept: list[Line] = []
    block = ""
    for number, raw in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        directive = re.match(r"%%\s*(begin|end)(\w+)", raw)
        if block:
            block = "" if directive and directive.groups() == ("end", block) else block
        elif directive and directive[1] == "begin":
            block = directive[2]
        elif raw.startswith("%%"):
            kept.append((number, raw))
        elif not raw.lstrip().startswith("%"):
            kept.append((number, re.sub(r"(?<!\\)%.*", "", raw).rstrip()))
    return kept


_FIELD = re.compile(r"([A-Za-z+]):(.*)", re.DOTALL)


def read_abc(
    data: bytes, part: str | None, limits: Limits, given: Given, tick: Tick = silent
) -> Reading:
    """Read every tune of an ABC file; raise BadInput where it is none or holds too many."""
    text, doubt = decoded_text(data)
    sources = split_tunes(text)
    if not sources:
        raise BadInput(
            "no tune was found in it",
            "An ABC tune begins with X: and its header ends with K:; MusicXML begins with <.",
        )
    if len(sources) > limits.tunes:
        raise BadInput(
            f"it holds {len(sources)} tunes; {limits.tunes} are read at once",
            "Split it into several files.",
        )
    doubts = (Problem(None, None, doubt),) if doubt else ()
    found = []
    for index, source in enumerate(sources, start=1):
        found.append(_tune(index, source, _Wanted(part, limits, given), doubts))
        tick(index, len(sources))
    return Reading(tuple(found))


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What the caller asked for."""

    part: str | None
    limits: Limits
    given: Given


def _tune(index: int, source: Source, wanted: _Wanted, doubts: tuple[Problem, ...]) -> Tune:
    findings = Findings(doubts=list(doubts))
    header = Header(findings, no_tempo=wanted.given.goal is not None)
    builder = MeasureBuilder(findings)
    reader = MusicReader(header, builder, wanted.limits, wanted.part, wanted.given)
    _read_lines(source, header, reader, wanted.given)
    if source.stray is not None:
        findings.doubt(Place(source.stray, 1), "what follows an empty line is not part of the tune")
    top = Place(source.lines[0][0], 1)
    phrase, keys = _phrase(reader, wanted, top)
    title = header.title or wanted.given.title or f"tune {index}"
    phrase = None if findings.problems else phrase
    problems, doubts = tuple(findings.problems), tuple(findings.doubts)
    needs_tempo = findings.needs_tempo()
    return Tune(
        index, title, phrase, problems, doubts, reader.concert, needs_tempo, keys,
        reader.interval(),
    )  # fmt: skip


def _read_lines(source: Source, header: Header, reader: MusicReader, given: Given) -> None:
    letter = ""
    lines = (*source.defaults, *source.lines)
    for index, (number, line) in enumerate(lines, start=1):
        field = _FIELD.match(line)
        if header.in_music:
            reader.line(number, line)
        elif line.startswith("%%"):
            header.take_instruction(line[2:])
        elif field and field[1] == "+" and letter == "T":
            header.title = f"{header.title} {field[2].strip()}"
        elif field and field[1] != "+":
            letter = field[1]
            header.take(letter, field[2], Place(number, 1))
            if letter == "K":
                header.in_music = True
                header.meter = header.meter or given.meter
                reader.begin(text for _, text in lines[index:])
    end = source.lines[-1][0] if source.lines else 1
    reader.builder.finish(Place(end, len(source.lines[-1][1]) + 1 if source.lines else 1))


def _phrase(
    reader: MusicReader, wanted: _Wanted, top: Place
) -> tuple[Phrase | None, tuple[Key, ...]]:
    """Return the phrase, and the key in force at the beginning of each of its bars."""
    header, findings = reader.header, reader.header.findings
    title = header.title or wanted.given.title
    check_title(title, top, findings)
    key = _key(reader, wanted.given, top)
    tempo = _tempo(header, wanted.given, top)
    meter = header.meter
    if meter is None:
        findings.problem(top, "it has no meter; add one with --meter 4/4, or in the file (M:4/4)")
    if wanted.part is not None and chosen_voice(header, wanted.part) is None:
        voices = (f"{v} ({name})" if name else v for v, name in header.voices.items())
        known = ", ".join(voices) or "none is named"
        findings.problem(top, f"it has no voice {wanted.part}; its voices: {known}")
    elif not reader.builder.measures:
        if header.in_music:
            findings.problem(top, "it has no notes")
    elif meter is not None:
        page, line = _music(reader, meter, wanted.limits, top)
        chart = build_chart(page, meter, findings) if page else None
        if page and chart and key and tempo and title:
            phrase = Phrase(title, key, tempo, chart, line, header.double_time)
            return phrase, keys_of(page, key)
    return None, ()


def _music(
    reader: MusicReader, meter: Meter, limits: Limits, top: Place
) -> tuple[Page | None, tuple[LineNote, ...]]:
    findings = reader.header.findings
    try:
        if reader.too_much():
            raise BadInput(
                f"it is longer than {limits.bars} bars or {limits.notes} notes; {TAKE_BARS}"
            )
        measures = reader.builder.measures
        lengths = [measure.length for measure in measures]
        marks = without_pickup(reader.builder.marks, lengths, meter.bar)
        places = [measure.end for measure in measures]
        order = play_order(long_brackets(marks, places, findings), limits.bars + 1)
        page = lay_out([measures[index] for index in order], meter, findings)
        line = build_line(page, meter, findings)
        if len(page.full) > limits.bars or len(line) > limits.notes:
            raise BadInput(
                f"it has {len(page.full)} bars and {len(line)} notes; "
                f"{limits.bars} and {limits.notes} are read; {TAKE_BARS}"
            )
    except BadInput as wrong:
        findings.problem(top, wrong.line())
        return None, ()
    return page, line


def _key(reader: MusicReader, given: Given, top: Place) -> Key | None:
    header = reader.header
    given_key = given.key_on_page(reader.interval()) if reader.concert else given.key
    key = header.key.key or given_key
    if key and reader.interval().semitones % 12:
        key = reader.sounding_key(key)
        header.findings.doubt(
            header.key_place or top, f"it transposes: read at concert pitch, in {key.text()}"
        )
    if key is None:
        if not header.key_unread:
            header.findings.problem(
                header.key_place or top,
                "it names no key; add one with --key Bb, or in the file (K:Bb)",
            )
    elif header.key.doubtful:
        header.findings.doubt(
            header.key_place or top, f"the mode is M; the phrase's key is read as {key.text()}"
        )
    return key


def _tempo(header: Header, given: Given, top: Place) -> int | None:
    exact = header.tempo()
    place = header.tempo_text[1] if header.tempo_text else top
    return whole_tempo(exact, given.goal or given.tempo, place, header.findings)
