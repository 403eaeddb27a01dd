"""What is said of an attempt: the word, and what a listener beside the player would name."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from drillbox.hearing.judging import judge
from drillbox.hearing.passes import beat_found
from drillbox.hearing.reasons import Reading, features_kept, proposal_text
from drillbox.hearing.takes import Beat, Played, Take
from drillbox.music.charts import Meter
from drillbox.music.keys import Spelling, parse_key
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart
from tests.hearing.attempts import listened
from tests.rows import every_row

CHART = parse_chart("Cm7 F7 | Bbmaj7 (G7)", Meter(4, 4))
# Eighths over the first bar and a half: C Eb G Bb  A G F Eb | D C Bb.
NAMES = ["C5", "Eb5", "G5", "Bb5", "A5", "G5", "F5", "Eb5", "D5", "C5", "Bb4"]
LINE = tuple(
    LineNote(Fraction(i, 2), Fraction(1, 2), parse_pitch(name)) for i, name in enumerate(NAMES)
)
QUARTER = 0.5
Notes = list[Played]


def played() -> Notes:
    """Return the line as written, at 120 after two seconds of count-in."""
    at = [2 + float(note.onset) * QUARTER for note in LINE]
    return [Played(t, t + 0.24, n.pitch.midi) for t, n in zip(at, LINE, strict=True)]


def later(notes: Notes, first: int, seconds: float, last: int | None = None) -> Notes:
    """Return the notes with some of them moved."""
    return [
        replace(n, start=n.start + seconds, end=n.end + seconds)
        if first <= i < (last or len(notes)) else n
        for i, n in enumerate(notes)
    ]  # fmt: skip


def repitched(notes: Notes, at: int, pitch: int) -> Notes:
    """Return the notes with one of another pitch."""
    return [*notes[:at], replace(notes[at], pitch=pitch), *notes[at + 1 :]]


CLICK = Beat(2.0, QUARTER)


def said(
    notes: Notes, beat: Beat | None = CLICK, *, loops: int | None = 1,
    reading: Reading | None = None,
) -> str:  # fmt: skip
    """Return the proposal for what was played."""
    line = listened(LINE, CHART, "Bb")
    found = judge(line, Take(tuple(notes), "midi", beat), loops)
    assert features_kept(line, found)["notes"] == 11
    return proposal_text(line, found, reading or Reading(parse_key("Bb"), CHART, LINE))


@every_row(
    ("change", "text"),
    [
        (lambda notes: notes, "fluent? all 11 notes, in time"),
        (lambda notes: later(notes, 0, 0.09), "fluent? all 11 notes, in time"),
        (lambda notes: [replace(n, pitch=n.pitch - 12) for n in notes],
         "fluent? all 11 notes, in time"),
        (lambda notes: repitched(notes, 8, 73), "clean? Db for D in bar 2"),
        (lambda notes: repitched(notes, 1, 76), "clean? E for Eb in bar 1"),
        (lambda notes: notes[:9] + notes[10:], "clean? C missed in bar 2"),
        (lambda notes: repitched(notes[:1] + notes[2:3] + notes[4:], 6, 73),
         "rough? 2 of 11 notes missed, Db for D in bar 2"),
        (lambda notes: later(notes, 4, 0.2, 5), "clean? target of F7 an eighth late"),
        (lambda notes: later(notes, 6, 0.5), "rough? paused for a quarter in bar 1"),
        (lambda notes: later(notes, 0, 0.5), "rough? came in a quarter late"),
        (lambda notes: notes[:5], "lost? stopped in bar 1"),
        (lambda notes: [replace(n, pitch=n.pitch + 2) for n in notes], "lost? played in C"),
        (lambda notes: [], "lost? nothing heard"),
    ],
)  # fmt: skip
def test_what_is_named(change: Callable[[Notes], Notes], text: str):
    """Each kind of fault is named with its place, and what isn't a fault isn't."""
    assert said(change(played())) == text


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda notes: repitched(notes, 0, 74), "clean? D for C in the pickup"),
        (lambda notes: notes[1:], "clean? C missed in the pickup"),
        (lambda notes: repitched(notes, 2, 78), "clean? Gb for G in bar 1"),
        (lambda notes: notes[:2], "lost? stopped in the pickup"),
    ],
)  # fmt: skip
def test_what_lies_before_the_first_bar_is_in_the_pickup(change, text: str):
    """The same line with its first two notes before bar 1: it has no bar 0."""
    line = tuple(replace(note, onset=note.onset - 1) for note in LINE)
    wanted = listened(line, CHART, "Bb")
    found = judge(wanted, Take(tuple(change(played())), "midi", Beat(2.5, QUARTER)))
    told = proposal_text(wanted, found, Reading(parse_key("C"), CHART, line))
    assert told == text


def chords(*seconds: float, pitches: tuple[int, ...] = (54, 59, 64)) -> Notes:
    """Return chords of notes that the line hasn't."""
    return [Played(at, at + 0.4, pitch) for at in seconds for pitch in pitches]


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize(
    ("kept", "others", "text"),
    [
        (11, chords(2.0, 3.0, 4.0), "fluent? all 11 notes, in time"),
        (11, chords(2.37, 2.87, 4.12), "fluent? all 11 notes, in time"),
        (11, chords(2.37, 3.37, pitches=(54, 64)), "fluent? all 11 notes, in time"),
        (11, chords(3.375, pitches=(66,)), "clean? an extra Gb in bar 1"),
        (11, chords(3.375, pitches=(66, 68)), "clean? an extra G# in bar 1"),
        (6, chords(3.62, 4.12, 4.37, 4.62), "lost? stopped in bar 1"),
        (7, chords(4.0, 4.5, pitches=(50, 53, 58)), "lost? stopped in bar 1"),
    ],
)
def test_the_left_hands_chords_are_no_slips(kept: int, others: Notes, text: str, beat: Beat | None):
    """Struck with the line or between its notes, of three notes or of two; and they don't play the
    line on where it stopped. A note alone, or two keys side by side, are slips."""
    notes = sorted([*played()[:kept], *others], key=lambda note: note.start)
    assert said(notes, beat) == text


def in_octaves(notes: Notes) -> Notes:
    """Return the notes in both hands."""
    return [each for note in notes for each in (replace(note, pitch=note.pitch - 12), note)]


WRONG = repitched(played(), 8, 73)
SHELL = (46, 53, 57)


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize(
    ("notes", "text"),
    [
        (WRONG + chords(4.0, pitches=SHELL), "clean? Db for D in bar 2"),
        (WRONG + chords(3.985, pitches=SHELL), "clean? Db for D in bar 2"),
        (WRONG + chords(4.0, pitches=(34,)), "clean? Db for D in bar 2"),
        (played()[:8] + played()[9:] + chords(4.0, pitches=SHELL), "clean? D missed in bar 2"),
        (in_octaves(WRONG), "clean? Db for D in bar 2"),
        (in_octaves([*played()[:5], Played(3.16, 3.22, 73), *played()[5:]]),
         "clean? an extra Db in bar 1"),
        (in_octaves(repitched(repitched(played(), 8, 73), 9, 71)),
         "rough? Db for D in bar 2, B for C in bar 2"),
        (played() + chords(3.375, pitches=(40, 66)), "clean? an extra Gb in bar 1"),
        ([*played(), Played(3.01, 3.2, 84)], "clean? an extra C in bar 1"),
        ([*played(), Played(2.97, 3.2, 85)], "clean? an extra Db in bar 1"),
    ],
)  # fmt: skip
def test_chords_and_octaves_hide_no_slip(notes: Notes, text: str, beat: Beat | None):
    """A wrong note over a chord or a bass, none over one, lines in octaves, a note put in over a
    bass, and a key caught above the line's own note."""
    assert said(sorted(notes, key=lambda note: note.start), beat) == text


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize("ahead", [0.0, 0.06, 0.09])
@pytest.mark.parametrize(
    ("notes", "text"),
    [
        (played(), "fluent? all 11 notes, in time"),
        (WRONG, "clean? Db for D in bar 2"),
        (played()[:8] + played()[9:], "clean? D missed in bar 2"),
        (played() + chords(3.375, pitches=(66,)), "clean? an extra Gb in bar 1"),
        (played()[:6], "lost? stopped in bar 1"),
    ],
)
def test_a_walking_bass_under_the_line_is_no_slip(notes, text: str, ahead: float, beat):
    """A note to each beat in the left hand, struck with the line or before it as it is laid back:
    it adds nothing to what is said of the right hand, hides nothing of it, and doesn't play it on
    where it stopped."""
    bass = [
        Played(2 + n * QUARTER - ahead, 2.45 + n * QUARTER - ahead, pitch)
        for n, pitch in enumerate((36, 43, 40, 42, 44, 40))
    ]
    assert said(sorted([*notes, *bass], key=lambda note: note.start), beat) == text


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize(
    ("notes", "text"),
    [
        ([*played()[:5], replace(played()[5], end=3.37), Played(3.375, 3.49, 40), *played()[6:]],
         "clean? an extra E in bar 1"),
        (repitched(played(), 8, 49), "clean? Db for D in bar 2"),
        (repitched(repitched(played(), 8, 49), 9, 47),
         "rough? Db for D in bar 2, B for C in bar 2"),
    ],
)  # fmt: skip
def test_a_slip_far_below_is_one_where_nothing_sounds_together(notes: Notes, text: str, beat):
    """One voice, as a horn's or a singer's, has no left hand that could have played it."""
    assert said(notes, beat) == text


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize(
    ("notes", "text"),
    [
        (played(), "fluent? all 11 notes, in time"),
        (played()[:8] + played()[9:], "clean? D missed in bar 2"),
        (WRONG, "clean? Db for D in bar 2"),
        (played()[:6], "lost? stopped in bar 1"),
    ],
)
def test_a_bass_that_chances_on_the_lines_notes_plays_none_of_them(notes, text: str, beat):
    """It has the F, the D and the C of the line where they are due, four octaves down."""
    bass = [
        Played(2 + n * QUARTER, 2.45 + n * QUARTER, pitch)
        for n, pitch in enumerate((40, 42, 44, 29, 26, 40))
    ]
    assert said(sorted([*notes, *bass], key=lambda note: note.start), beat) == text


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize("first", [1, 4, 9])
def test_a_line_that_goes_on_two_octaves_down_is_no_bass(first: int, beat: Beat | None):
    """Each note held into the next, as on a keyboard: any octave is fine."""
    held = [replace(note, end=note.end + 0.05) for note in played()]
    notes = [replace(n, pitch=n.pitch - 24) if i >= first else n for i, n in enumerate(held)]
    assert said(notes, beat) == "fluent? all 11 notes, in time"


def test_an_early_arrival_is_the_target_of_the_chord_that_it_is_heard_with():
    """D on the last and of the first bar, tied over, is the third of Bbmaj7."""
    tied = (*LINE[:7], replace(LINE[8], onset=LINE[7].onset, length=Fraction(1)), *LINE[9:])
    line = listened(tied, CHART, "Bb")
    notes = [*played()[:7], replace(played()[8], start=3.75 + 0.2), *played()[9:]]
    found = judge(line, Take(tuple(notes), "midi", CLICK))
    told = proposal_text(line, found, Reading(parse_key("Bb"), CHART, tied))
    assert told == "clean? target of Bbmaj7 an eighth late"


def test_it_is_told_in_the_players_written_pitch():
    """A tenor player reads this line a tone higher: D-flat for D sounds, E-flat for E is read."""
    up = {"C": "D", "Eb": "F", "G": "A", "Bb": "C", "A": "B", "F": "G", "D": "E"}
    line = tuple(
        replace(note, pitch=parse_pitch(up[name[:-1]] + name[-1]))
        for note, name in zip(LINE, NAMES, strict=True)
    )
    chart = parse_chart("Dm7 G7 | Cmaj7 (A7)", Meter(4, 4))
    reading = Reading(parse_key("C"), chart, line, above=2, ascii=False)
    assert said(repitched(played(), 8, 73), reading=reading) == "clean? E♭ for E in bar 2"


@pytest.mark.parametrize(("gb", "key"), [("Gb", "Gb"), ("F#", "F#")])
def test_another_key_is_named_as_the_player_spells_it(gb: str, key: str):
    """A line in Bb played a major third down, by who reads six flats or six sharps."""
    down = [replace(note, pitch=note.pitch - 4) for note in played()]
    reading = Reading(parse_key("Bb"), CHART, LINE, spelling=Spelling(gb=gb))
    assert said(down, reading=reading) == f"lost? played in {key}"


def test_in_the_players_own_time_no_tempo_is_wrong():
    """Half as fast and nobody counting: still all of it, in time."""
    slow = [replace(n, start=n.start * 1.7 + 3, end=n.end * 1.7 + 3) for n in played()]
    assert said(slow, None) == "fluent? all 11 notes, in time"


def test_once_of_two_loops_is_enough_and_a_second_go_counts_too():
    """A clean loop after a lost one makes rough: the line wasn't there at the first go."""
    line, second = listened(LINE, CHART, "Bb"), later(played(), 0, 4)
    for notes, word in (
        (played(), "fluent"), (second, "fluent"), (played() + second, "fluent"),
        (played() + second[:5], "fluent"), (played()[:4] + second, "rough"),
    ):  # fmt: skip
        assert judge(line, Take(tuple(notes), "midi", CLICK), loops=2).word == word


def heard_anyhow(notes: Notes) -> set[str]:
    """Return the proposals to a click, to one whose place is to be found, and in own time."""
    found = beat_found(listened(LINE, CHART, "Bb"), notes, QUARTER)
    return {said(notes, CLICK, loops=2), said(notes, found, loops=None),
            said(notes, None, loops=None)}  # fmt: skip


def test_a_line_begun_and_broken_off_was_not_there_the_first_time():
    """Whether half of it or four notes came, and whatever is known of the click: rough at best."""
    second = later(played(), 0, 4)
    told = {"rough? first time: stopped in bar 1"}
    for first in (4, 5, 7):
        assert heard_anyhow(played()[:first] + second) == told
    for first in (4, 5):  # begun anew before the chart was over
        again = played()[:first] + later(played(), 0, 2.5)
        assert said(again, None, loops=None) in told
    twice = played()[:5] + later(played()[:5], 0, 2.5) + later(played(), 0, 5)
    assert said(twice, None, loops=None).startswith("rough? first time: ")
    third = played() + later(played()[:5], 0, 4) + later(played(), 0, 8)
    assert said(third, None, loops=None) == "rough? second time: stopped in bar 1"
    unended = played()[:5] + second[:-1]
    assert heard_anyhow(unended) == told
    assert said(played()[:5] + second[:5], loops=2) == "lost? stopped in bar 1"


def test_three_notes_are_a_start_while_the_click_goes_on():
    """In the player's own time, or in the count-in, so few are only tried out."""
    second = later(played(), 0, 4)
    fluent, rough = "fluent? all 11 notes, in time", "rough? first time: stopped in bar 1"
    assert said(played()[:3] + second, loops=2) == rough
    assert said(played()[:2] + second, loops=2) == fluent
    assert said(played()[:3] + second, None, loops=None) == fluent
    assert said(later(played()[:3], 0, -2) + second, loops=2) == fluent


def test_who_noodles_before_they_begin_has_not_broken_off():
    """A scale in the key, up and down, and then the line."""
    scale = [70, 72, 74, 75, 77, 75, 74]
    noodled = [Played(2 + i / 4, 2.2 + i / 4, pitch) for i, pitch in enumerate(scale)]
    assert said(noodled + later(played(), 0, 4), None, loops=None) == (
        "fluent? all 11 notes, in time"
    )


def test_a_go_is_as_good_as_its_worst_time_through():
    """Every third note a semitone off once, and all right the other time, in either order."""
    bad = [replace(n, pitch=n.pitch + (i % 3 == 0)) for i, n in enumerate(played())]
    good = later(played(), 0, 4)
    told = "4 of 11 notes wrong"
    assert heard_anyhow(bad + good) == {f"rough? first time: {told}"}
    assert heard_anyhow(played() + later(bad, 0, 4)) == {f"rough? second time: {told}"}
    assert heard_anyhow(bad + later(bad, 0, 4)) == {f"rough? {told}"}
    many = [note for k in range(9) for note in later(played(), 0, 4 * k)] + later(bad, 0, 36)
    assert said(many, loops=None) == f"rough? a later time: {told}"


def stretched(by: float) -> Notes:
    """Return the line at another tempo than the click's, begun with it."""
    return [replace(n, start=2 + (n.start - 2) * by, end=2 + (n.end - 2) * by) for n in played()]


@pytest.mark.parametrize(
    ("by", "text"),
    [
        (2.0, "lost? played at 60, not 120"), (3.0, "lost? played at 40, not 120"),
        (0.5, "lost? played at 240, not 120"), (1.5, "rough? played at 80, not 120"),
        (1 / 1.5, "rough? played at 180, not 120"), (1.25, "rough? slowed by 20%"),
        (1 / 1.2, "rough? hurried by 20%"),
    ],
)  # fmt: skip
def test_another_tempo_than_the_clicks_is_told_in_tempi(by: float, text: str):
    """Half and double are lost, half as fast again is rough; nearer ones are told by what share of
    the click's, as players count it, whether or not it is known where the click began."""
    notes = stretched(by)
    assert said(notes) == text
    assert said(notes, beat_found(listened(LINE, CHART, "Bb"), notes, QUARTER), loops=None) == text


def test_another_tempo_is_told_in_a_loop_that_goes_on():
    """Twice through at half or at double the tempo, while the click goes round four times."""
    for by, tempo in ((2.0, 60), (0.5, 240)):
        twice = stretched(by) + later(stretched(by), 0, 4 * by)
        assert said(twice, loops=4) == f"lost? played at {tempo}, not 120"


def loose(seed: int) -> str:
    """Return what is said of all of it in no rhythm at all."""
    dice = random.Random(seed)
    at = sorted(dice.uniform(2, 6) for _ in NAMES)
    return said([replace(n, start=t, end=t + 0.05) for n, t in zip(played(), at, strict=True)])


def test_all_notes_out_of_time_are_not_lost_without_a_word():
    """All of it, in no rhythm at all: the reason is the time, and it is never clean."""
    assert loose(5) == "lost? 11 of 11 notes recognised, out of time"
    told = [loose(seed) for seed in range(30)]
    assert {each.split("?")[0] for each in told} == {"lost", "rough"}
    assert all("out of time" in each for each in told if each.startswith("lost? 11"))


def test_most_of_the_line_is_not_lost_without_a_word():
    """By time, where the notes alone would have done; else by those between the right ones."""
    astray = [(3, 73), (7, 65), (10, 66)]
    wrong = played()
    for at, pitch in astray:
        wrong = repitched(wrong, at, pitch)
    slow = later(later(wrong, 1, 0.2, 2), 5, 0.2, 6)
    assert said(slow) == "lost? 8 of 11 notes recognised, out of time"
    between = [Played(n.start + 0.12, n.start + 0.24, 66) for n in played()[:6]]
    notes = sorted([*wrong, *between], key=lambda note: note.start)
    assert said(notes) == "lost? 8 of 11 notes recognised, 6 notes too many"


def test_where_the_beat_is_found_from_the_notes_no_entry_is_judged():
    """A fifth slow, or paused in the middle: the found beat lies in between, and so isn't when
    the line began."""
    line = listened(LINE, CHART, "Bb")
    for notes, text in (
        (stretched(1.25), "rough? slowed by 20%"),
        (later(played(), 4, 0.5), "rough? paused for a quarter in bar 1"),
    ):
        assert said(notes, beat_found(line, notes, QUARTER)) == text
