"""The MIDI file, read back by mido and by music21."""

import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest

from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.sound.loop_parts import LoopOptions, LoopPart
from drillbox.sound.midi import TICKS, render_midi
from tests.rows import every_row
from tests.sound.parts import EVERY, EVERYTHING, LONG, TWO_FIVE, WALTZ


def read(parts: list[LoopPart], options: LoopOptions) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(render_midi(parts, options)), charset="utf-8")


def timed(track: list[mido.Message], *types: str) -> list[tuple[float, mido.Message]]:
    """Return messages with their times in quarter notes."""
    at, found = 0, []
    for message in track:
        at += message.time
        if message.type in types:
            found.append((at / TICKS, message))
    return found


def test_format_tempo_meter_and_key() -> None:
    """Proves the facts of the first track, by mido."""
    file = read([TWO_FIVE], LoopOptions(132))
    facts = file.tracks[0]
    assert (file.type, file.ticks_per_beat) == (1, 960)
    assert [track.name for track in file.tracks] == ["Over the fence", "Click", "Bass", "Chords"]
    [(_, tempo)] = timed(facts, "set_tempo")
    assert mido.tempo2bpm(tempo.tempo) == pytest.approx(132, abs=0.001)
    [(_, meter)] = timed(facts, "time_signature")
    assert (meter.numerator, meter.denominator) == (4, 4)
    assert {message.key for _, message in timed(facts, "key_signature")} == {"Bb"}


def test_chord_text_stands_where_the_chords_are() -> None:
    """Proves every symbol and its time, in both loops, after a bar of count-in."""
    facts = read([TWO_FIVE], LoopOptions(120)).tracks[0]
    once = [(0, "Cm7"), (2, "F7"), (4, "Bbmaj7"), (6, "G7")]
    assert [(at, message.text) for at, message in timed(facts, "text")] == [
        (4 + 8 * loop + at, text) for loop in (0, 1) for at, text in once
    ]
    assert [(at, message.text) for at, message in timed(facts, "marker")] == [
        (0, "count-in"),
        (4, "Bb loop 1"),
        (12, "Bb loop 2"),
    ]


def test_a_round_marks_each_key() -> None:
    """Proves markers and key signatures of several parts; where no key is known there is none."""
    chart = TWO_FIVE.chart
    parts = [LoopPart(chart, key, "") for key in ("Bb", "Eb", "G#m", "")]
    file = read(parts, LoopOptions(120, loops=1))
    markers = [(at, message.text) for at, message in timed(file.tracks[0], "marker")][1:]
    assert markers == [
        (4, "Bb loop 1"),
        (12, "Eb loop 1"),
        (20, "G#m loop 1"),
        (28, "loop 1"),
    ]
    signatures = timed(file.tracks[0], "key_signature")
    assert [(at, each.key) for at, each in signatures] == [(0, "Bb"), (12, "Eb"), (20, "G#m")]
    assert file.tracks[0].name == "drillbox"


def test_times_in_a_key_are_counted_where_each_is_a_part() -> None:
    """Proves choruses of a tune and a round's times in one key; an intro and a coda have names."""
    chart = TWO_FIVE.chart
    parts = [
        LoopPart(chart, "Bb", mark="intro"),
        *[LoopPart(chart, "Bb")] * 2,
        LoopPart(LONG.chart, "Eb"),
        LoopPart(chart, "Eb"),
        LoopPart(chart, "Eb", mark="coda"),
    ]
    file = read(parts, LoopOptions(120, loops=1))
    assert [message.text for _, message in timed(file.tracks[0], "marker")][1:] == [
        "Bb intro", "Bb loop 1", "Bb loop 2", "Eb loop 1", "Eb loop 2", "Eb coda"
    ]  # fmt: skip


@every_row("name", ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "F#", "B", "E", "A", "D",
                                  "G", "Cm", "Fm", "Bbm", "Ebm", "D#m", "G#m", "C#m", "F#m", "Bm",
                                  "Em", "Am", "Dm", "Gm"])  # fmt: skip
def test_every_key_of_the_round_has_a_signature(name: str) -> None:
    """Proves that what a key prints is what MIDI calls it."""
    file = read([LoopPart(TWO_FIVE.chart, parse_key(name).text())], LoopOptions(120))
    assert timed(file.tracks[0], "key_signature")[0][1].key == name


@every_row(("mode", "name"), [("D Dorian", "C"), ("F# Dorian", "E"), ("Ab Mixolydian", "Db")])
def test_a_church_mode_has_the_signature_of_its_notes(mode: str, name: str) -> None:
    """As a teacher sees it who opens the file in a notation program."""
    file = read([LoopPart(TWO_FIVE.chart, mode)], LoopOptions(120))
    assert [message.key for _, message in timed(file.tracks[0], "key_signature")] == [name]


@pytest.mark.parametrize("each", EVERY)
@pytest.mark.parametrize("bass", ["plain", "walking"])
@pytest.mark.parametrize("doubled", [False, True])
def test_every_note_that_begins_ends_and_none_is_doubled(
    each: LoopPart, bass: str, doubled: bool
) -> None:
    """Proves pairs of note-on and note-off, ranges, and that every track ends with the loop."""
    options = LoopOptions(150, 3, doubled, bass=bass)  # type: ignore[arg-type] # literals
    file = read([each], options)
    counted = 1 if each.chart.meter.bar * 60 / 150 >= 1.5 else 2
    end = (counted + 3 * len(each.chart.bars)) * each.chart.meter.bar
    for track in file.tracks:
        assert timed(track, "end_of_track") == [(end, track[-1])]
        sounding: set[tuple[int, int]] = set()
        for _, message in timed(track, "note_on", "note_off"):
            key = (message.channel, message.note)
            if message.type == "note_on":
                assert message.velocity > 0
                assert key not in sounding
                sounding.add(key)
            else:
                assert key in sounding
                sounding.remove(key)
        assert not sounding
    bass_notes = [message.note for _, message in timed(file.tracks[2], "note_on")]
    assert 28 <= min(bass_notes) <= max(bass_notes) <= 55  # E1 to G3
    chord_notes = [message.note for _, message in timed(file.tracks[3], "note_on")]
    assert 52 <= min(chord_notes) <= max(chord_notes) <= 72  # E3 to C5


def test_lowest_and_highest_notes_of_a_known_loop() -> None:
    """Proves the outer notes of a ii-V-I in Bb: bass G1 to Bb2, chords A3 to F4."""
    file = read([LONG], LoopOptions(120))
    bass = [message.note for _, message in timed(file.tracks[2], "note_on")]
    chords = [message.note for _, message in timed(file.tracks[3], "note_on")]
    assert (min(bass), max(bass)) == (31, 46)
    assert (min(chords), max(chords)) == (57, 65)


def test_clicks_are_wood_blocks_on_the_drum_channel() -> None:
    """Proves General MIDI percussion: 76 accents the first beat, 77 the others, channel 10."""
    clicks = timed(read([TWO_FIVE], LoopOptions(120)).tracks[1], "note_on")
    assert [at for at, _ in clicks] == list(range(20))
    assert [message.note for _, message in clicks[:5]] == [76, 77, 77, 77, 76]
    assert {message.channel for _, message in clicks} == {9}


def test_the_playing_time_is_the_loops() -> None:
    """Proves the length in seconds as mido plays it: 20 beats at 120."""
    assert read([TWO_FIVE], LoopOptions(120)).length == pytest.approx(10)


def test_a_title_in_any_script() -> None:
    """Proves that a title beyond Latin letters comes back."""
    each = LoopPart(TWO_FIVE.chart, "Bb", "Zaun überm Fluß – 塀")
    assert read([each], LoopOptions(120)).tracks[0].name == each.title


def test_music21_reads_the_same_loop() -> None:
    """Proves tempo, meter, bars, chord text and note times by an independent reader."""
    converter = pytest.importorskip("music21.converter")
    score = converter.parseData(render_midi([WALTZ], LoopOptions(90, loops=2)), format="midi")
    marks = {each.number for each in score.flatten().getElementsByClass("MetronomeMark")}
    assert marks == {90}
    meters = {each.ratioString for each in score.flatten().getElementsByClass("TimeSignature")}
    assert meters == {"3/4"}
    bass = next(each for each in score.parts if each.partName == "Bass")
    assert len(score.parts[0].getElementsByClass("Measure")) == 1 + 2 * 4  # the click
    notes = [(note.offset, note.pitch.midi) for note in bass.flatten().notes]
    assert notes[:5] == [(3, 38), (5, 33), (6, 43), (8, 37), (9, 36)]
    chords = next(each for each in score.parts if each.partName == "Chords")
    # Four bars of guide tones in each loop, the last one without a chord.
    assert [each.offset for each in chords.flatten().notes] == [3, 6, 8, 9, 15, 18, 20, 21]


def test_music21_finds_the_chord_text() -> None:
    """Proves by its raw reader that symbols are text events which another program can see."""
    midi = pytest.importorskip("music21.midi")
    file = midi.MidiFile()
    file.readstr(render_midi([EVERYTHING], LoopOptions(120, loops=1)))
    texts = [event.data for event in file.tracks[0].events if "TEXT_EVENT" in repr(event.type)]
    assert texts == [
        b"Cm7b5", b"F7b9", b"N.C.", b"C5", b"Bb6", b"Bdim7", b"Csus4", b"C7alt",
        b"Fmaj7#11/A", b"Caug", b"Dm7/C", b"E7#5", b"F#69", b"Gm",
    ]  # fmt: skip


def test_cues_stand_a_bar_ahead() -> None:
    """Proves that a place is announced a bar early, and one at the very beginning in the count."""
    part = LoopPart(TWO_FIVE.chart, "Bb", "", ((Fraction(0), "now"), (Fraction(4), "then")))
    facts = read([part], LoopOptions(120, loops=1)).tracks[0]
    cues = [(at, message.text) for at, message in timed(facts, "cue_marker")]
    assert cues == [(0, "now"), (4, "then")]


def test_a_note_shorter_than_a_tick_ends_behind_its_beginning() -> None:
    """Proves that no note of a file's finest values goes on sounding: it would by ending first."""
    short = LineNote(Fraction(2), Fraction(1, 5000), parse_pitch("D5"))
    (*_, line) = read([replace(TWO_FIVE, line=(short,))], LoopOptions(120, loops=1)).tracks
    begun_and_ended = [message.type for _, message in timed(line, "note_on", "note_off")]
    assert begun_and_ended == ["note_on", "note_off"]


@pytest.mark.parametrize("length", ["1", "4", "16"])
def test_a_line_that_sounds_on_past_the_chart_ends_with_the_loop(length: str) -> None:
    """Proves that a last note begun a quarter before the end rings on into the next loop, but no
    track is longer than the bars."""
    held = LineNote(Fraction(7), Fraction(length), parse_pitch("D5"))
    (*_, line) = read([replace(TWO_FIVE, line=(held,))], LoopOptions(120, loops=2)).tracks
    begun = [at for at, message in timed(line, "note_on")]
    ended = [at for at, message in timed(line, "note_off")]
    assert begun == [4 + 7, 4 + 8 + 7]
    assert ended == [min(20, at + int(length)) for at in begun]
    assert timed(line, "end_of_track") == [(20, line[-1])]
