"""A judgement in a musician's words: the word, and at most three reasons for it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drillbox.hearing.expected import Expected
from drillbox.hearing.features import Pass
from drillbox.hearing.judging import ASTRAY, WORDS, Judgement
from drillbox.hearing.takes import Played
from drillbox.music.charts import Chart
from drillbox.music.chords import is_written
from drillbox.music.keys import USUAL, Key, Spelling, conventional_key
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import FLATS, SHARPS, Name
from drillbox.music.symbols.printed import symbol_text
from drillbox.output import counted

MOST = 3
ABOUT = 0.1
"""Share of a tempo within which the player's own time is about it: no more than a drift."""
_TIMES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "a later")


@dataclass(frozen=True, slots=True)
class Reading:
    """What the player reads: key, chart and line, ``above`` semitones over what sounds, and how
    keys are spelled. ``tempo`` is the one asked for where no click told it, else None."""

    key: Key
    chart: Chart
    line: tuple[LineNote, ...]
    above: int = 0
    ascii: bool = True
    spelling: Spelling = USUAL
    tempo: int | None = None

    @property
    def struck(self) -> list[LineNote]:
        """Return the line without grace notes, as it is listened for."""
        return [note for note in self.line if note.length > 0]

    def name(self, index: int) -> str:
        """Return the name of a note of the line."""
        return self.struck[index].pitch.name.text(ascii=self.ascii)

    def heard(self, played: Played, beside: int) -> str:
        """Return the name of what was played, spelled next to a note of the line."""
        sounding = (played.pitch + self.above) % 12
        letter = self.struck[max(0, beside)].pitch.name.letter
        same = [Name(letter, alter) for alter in (-1, 0, 1)]
        near = [each for each in same if each.pitch_class == sounding and is_written(each)]
        flat = self.key.tonic.alter < 0 or self.key.tonic == Name("F")
        return (near or [(FLATS if flat else SHARPS)[sounding]])[0].text(ascii=self.ascii)

    def chord(self, span: int) -> str:
        """Return the chord of a span of the chart."""
        chord = self.chart.chords()[span]
        return symbol_text(chord, ascii=self.ascii) if chord else ""


def proposal_text(line: Expected, found: Judgement, reading: Reading) -> str:
    """Return a judgement as one sentence: ``rough? 2 of 14 notes missed, E♭ for E in bar 2``."""
    said = ", ".join(reasons_for(line, found, reading))
    if found.time is not None:
        said = f"{_TIMES[min(found.time, len(_TIMES)) - 1]} time: {said}"
    if found.other:
        word, better = sorted((found.word, found.other), key=WORDS.index)
        return f"{word} or {better}? {said}"
    return f"{found.word}? {said}"


def reasons_for(line: Expected, found: Judgement, reading: Reading) -> list[str]:
    """Return at most three reasons, the weightiest first."""
    heard = found.heard
    if heard is None:
        return ["nothing heard"]
    if found.key is not None:
        return [f"played in {_key(reading, found.key)}"]
    said, causes = [], found.causes
    if found.tempi is not None:
        said = ["played at {}, not {}".format(*found.tempi)]
    elif not causes:
        said = [f"all {len(line)} notes, in time"]
    elif "lost" in {causes.get("notes"), causes.get("unplayed")} and not _gave_up(heard):
        return _hardly(heard)
    for cause, _ in sorted(causes.items(), key=lambda each: WORDS.index(each[1])):
        said += _SAY[cause](heard, reading)
    tempo = own_tempo(heard, reading.tempo)
    return [*said[:MOST], *([f"at {tempo}"] if tempo else [])]


def _gave_up(heard: Pass) -> bool:
    """Return whether a quarter of the line is lacking, and what came before was mostly there."""
    began = len(heard.line) - heard.unplayed
    return heard.unplayed * 4 >= len(heard.line) and len(heard.right) * 4 >= began * 3


def _hardly(heard: Pass) -> list[str]:
    """Say how little of the line was there; where it was most of it, what it was lost by."""
    right, owed, extra = len(heard.right), len(heard.line), len(heard.extra)
    if not right:
        return ["nothing of the line"]
    least = 1 - ASTRAY
    by_time = right > least * (right + heard.slips)
    by_others = extra > 0 and not by_time and right > least * owed
    buried = [f"{counted(extra, 'note')} too many"] * (extra >= owed or by_others)
    astray = ["out of time"] * (by_time or len(heard.hesitations) > heard.slips)
    return [f"{right} of {owed} notes recognised", *buried, *astray]


def own_tempo(heard: Pass | None, asked: int | None) -> int | None:
    """Return the tempo of the player's own time where it isn't about the one asked for, None where
    it is, where there is none or it can't be told."""
    if heard is None or asked is None or heard.quarter is None or _gave_up(heard):
        return None
    tempo = round(60 / heard.quarter)
    return tempo if abs(tempo - asked) > ABOUT * asked else None


def _key(reading: Reading, semitones: int) -> str:
    sounding = Key(FLATS[(reading.key.tonic.pitch_class + semitones) % 12], reading.key.mode)
    return conventional_key(sounding, reading.spelling).text(ascii=reading.ascii)


def _notes(heard: Pass, reading: Reading) -> list[str]:
    until = len(heard.line) - heard.unplayed if _stopped(heard) else len(heard.line)
    missed = [i for i in heard.missed if i < until]
    said = []
    if len(missed) == 1:
        said.append(f"{reading.name(missed[0])} missed {_where(heard, missed[0])}")
    elif missed:
        said.append(f"{len(missed)} of {len(heard.line)} notes missed")
    if len(heard.wrong) > 2:
        said.append(f"{len(heard.wrong)} of {len(heard.line)} notes wrong")
    else:
        said += [
            f"{reading.heard(note, i)} for {reading.name(i)} {_where(heard, i)}"
            for i, note in heard.wrong
        ]
    if len(heard.extra) == 1:
        at, note = heard.extra[0]
        said.append(f"an extra {reading.heard(note, at)} {_where(heard, max(0, at))}")
    elif heard.extra:
        said.append(f"{len(heard.extra)} notes too many")
    return said


def _where(heard: Pass, index: int) -> str:
    """Return where a note of the line is written."""
    bar = heard.line.bars[index]
    return f"in bar {bar}" if bar > 0 else "in the pickup"


def _stopped(heard: Pass) -> bool:
    return heard.unplayed > 1 and heard.unplayed * 10 >= len(heard.line)


def _unplayed(heard: Pass, reading: Reading) -> list[str]:
    last = len(heard.line) - heard.unplayed
    return [f"stopped {_where(heard, last - 1)}" if last else "nothing of the line"]


def _hesitation(heard: Pass, reading: Reading) -> list[str]:
    at, quarters = max(heard.hesitations, key=lambda each: abs(each[1]), default=(0, 0.0))
    did = "paused for" if quarters > 0 else "skipped"
    said = [f"{did} {_span(quarters, heard.line)} {_where(heard, at)}"]
    more = len(heard.hesitations) - 1
    return said + [counted(more, "more hesitation")] * (more > 0)


def _late(heard: Pass, reading: Reading) -> list[str]:
    return [f"{_place(heard, reading, *each)} late" for each in heard.late]


def _early(heard: Pass, reading: Reading) -> list[str]:
    return [f"{_place(heard, reading, *each)} early" for each in heard.early]


def _place(heard: Pass, reading: Reading, index: int, quarters: float) -> str:
    """Return which note lay how far off."""
    chord = reading.chord(heard.line.spans[index])
    aimed = index in heard.line.targets and chord
    what = f"target of {chord}" if aimed else f"{reading.name(index)} {_where(heard, index)}"
    return f"{what} {_span(quarters, heard.line)}"


def _start(heard: Pass, reading: Reading) -> list[str]:
    side = "late" if heard.started > 0 else "early"
    return [f"came in {_span(heard.started, heard.line)} {side}"]


def _drift(heard: Pass, reading: Reading) -> list[str]:
    faster = heard.time.faster if heard.time else 0.0
    return [f"{'slowed' if faster < 0 else 'hurried'} by {abs(faster):.0%}"]


def _uneven(heard: Pass, reading: Reading) -> list[str]:
    return ["uneven time"]


def _span(quarters: float, line: Expected) -> str:
    """Return a length of time as players say it: to an eighth, from a bar on to a quarter."""
    eighths = max(1, round(abs(quarters) * 2))
    bars, over = divmod(Fraction(eighths, 2), line.bar)
    if not bars:
        return _beats(eighths)
    whole = "a bar" if bars == 1 else f"{bars} bars"
    return f"{whole} and {_beats(2 * int(over))}" if over >= 1 else whole


def _beats(eighths: int) -> str:
    whole, half = divmod(eighths, 2)
    if not whole:
        return "an eighth"
    beats = "a quarter" if whole == 1 else f"{whole} quarters"
    return f"{beats} and an eighth" if half else beats


_SAY = {
    "notes": _notes, "unplayed": _unplayed, "hesitation": _hesitation, "late": _late,
    "early": _early, "start": _start, "drift": _drift, "uneven": _uneven,
}  # fmt: skip


def features_kept(line: Expected, found: Judgement) -> dict[str, object]:
    """Return the features that are kept with an attempt: numbers alone, no sound, no notes."""
    heard = found.heard
    base: dict[str, object] = {"notes": len(line), "causes": dict(found.causes)}
    if heard is None:
        return base | {"silent": True}
    time = heard.time
    return base | {
        "right": len(heard.right), "wrong": len(heard.wrong), "missed": len(heard.missed),
        "extra": len(heard.extra), "unplayed": heard.unplayed,
        "late": [round(quarters, 2) for _, quarters in heard.late],
        "early": [round(quarters, 2) for _, quarters in heard.early],
        "hesitations": [round(quarters, 2) for _, quarters in heard.hesitations],
        "offset": round(heard.started, 2), "own_time": heard.own,
        "tempo": round(60 / heard.quarter) if heard.quarter else None,
        "drift": round(time.drift, 3) if time else None,
        "swing": round(time.swing, 2) if time else None,
        "uneven": round(time.uneven, 3) if time else None,
        "other_key": found.key, "other_tempo": found.tempi[0] if found.tempi else None,
    }  # fmt: skip
