"""Notes of MusicXML scores: lengths, ties, tuplets, graces, voices, transposition."""

from __future__ import annotations

import pytest

from drillbox.music.keys import parse_key
from tests.notation.pages import chords, doubts, notes, problems
from tests.notation.scores import attributes, harmony, note, part, read, read_part, score
from tests.rows import every_row

C = harmony("C")
TRIPLET = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"  # noqa: E501 - one element
VOICE = "<voice>{}</voice>"
FORWARD, BACKUP = (
    "<forward><duration>{}</duration></forward>",
    "<backup><duration>{}</duration></backup>",
)
TIE = '<tie type="{}"/>'
ACCENT = "<notations><articulations><accent/></articulations></notations>"
SLASH = "<notehead>slash</notehead>"
TIED = '<notations><tied type="{}"/></notations>'


@every_row(
    ("bars", "line"),
    [
        ([note("Bb4", 6) + note("z", 2) + note("F#5", 8)], "0 Bb4 3/2, 2 F#5 2"),
        ([note("C4", 12) + note("D4", 4, TIE.format("start")),
          note("D4", 16, TIE.format("stop"))], "0 C4 3, 3 D4 5"),
        ([note("C4", 12) + note("D4", 4, TIED.format("start")),
          note("D4", 16, TIED.format("stop"))], "0 C4 3, 3 D4 5"),
        ([note("C4", 12) + note("D4", 4), note("D4", 16)], "0 C4 3, 3 D4 1, 4 D4 4"),
        ([note("C4", 8, ACCENT) + note("D4", 8)], "0 >C4 2, 2 D4 2"),
        ([note("C5", before="<grace/>") + note("D5", before='<grace slash="yes"/>')
          + note("C4", 16)], "0 C5 0, 0 D5 0, 0 C4 4"),
        ([note("C4", 16) + note("E4", 16, before="<chord/>")], "0 E4 4"),
        ([note("C4", 8) + note("C5", before="<grace/>") + note("E5", before="<grace/><chord/>")
          + note("D4", 8)], "0 C4 2, 2 E5 0, 2 D4 2"),
        ([note("E4", 16) + note("C4", 16, before="<chord/>")], "0 E4 4"),
        ([FORWARD.format(8) + note("C4", 8)], "2 C4 2"),
        ([note("C4", 8) + FORWARD.format(8)], "0 C4 2"),
        ([note("C4", 16, VOICE.format(1)) + BACKUP.format(16)
          + note("E3", 16, VOICE.format(2))], "0 C4 4"),
        ([note("z", 16, VOICE.format(1)) + BACKUP.format(16) + note("E3", 16, VOICE.format(2)),
          note("C4", 16, VOICE.format(1))], "4 C4 4"),
        ([note("z", 16, VOICE.format(1)) + BACKUP.format(16) + note("E3", 16, VOICE.format(2))],
         "0 E3 4"),
        ([note("C4", 16, "<staff>1</staff>") + BACKUP.format(16)
          + note("E3", 16, "<voice>5</voice><staff>2</staff>")], "0 C4 4"),
        ([note("C4", 8) + note("G5", 8, before="<cue/>")], "0 C4 2"),
        ([note("C4", 16, TIE.format("start")) + note("G4", 16, before="<chord/>"),
          note("C4", 16, TIE.format("stop")) + note("G4", 16, before="<chord/>")],
         "0 G4 4, 4 G4 4"),
        ([note("C4", 16) + note("G4", 16, TIE.format("start"), before="<chord/>"),
          note("G4", 16, TIE.format("stop"))], "0 G4 8"),
        ([note("C5", 8) + note("C3", 8, "<staff>2</staff>") + note("E4", 8, before="<chord/>")],
         "0 C5 2, 2 E4 2"),
        ([note("C5", 8) + "<note><unpitched/><duration>8</duration></note>"
          + note("E5", 8, before="<chord/>")], "0 C5 2, 2 E5 2"),
        ([note("B4", 4, SLASH) * 4, note("C4", 16)], "4 C4 4"),
        ([note("B4", 16, VOICE.format(1) + SLASH) + BACKUP.format(16)
          + note("E3", 16, VOICE.format(2))], "0 E3 4"),
        ([note("D5", more=ACCENT, before="<grace/>") + note("C4", 16)], "0 D5 0, 0 C4 4"),
        ([note("C4", 16) + note("D5", before="<grace/>"), note("C4", 16)],
         "0 C4 4, 4 D5 0, 4 C4 4"),
        ([note("C4", 16), note("C4", 16) + note("D5", before="<grace/>")], "0 C4 4, 4 C4 4"),
    ],
)  # fmt: skip
def test_notes_are_read(bars: list[str], line: str) -> None:
    """Rests, ties by sound and by notation, accents, graces, stacks, forwards, voices, slashes.

    Of a stack the top note's own tie counts, and what isn't read of it takes nothing along; an
    accent on a grace note marks no target, and one that leads to no note is left out.
    """
    tune = read_part(C + bars[0], *bars[1:])
    assert tune.phrase is not None, problems(tune)
    assert notes(tune.phrase.line) == line


def test_tuplets_are_exact_and_rounded_divisions_are_mended() -> None:
    """A triplet is thirds, also where a file rounds it to 341 and 342 of 1024 divisions."""
    eighth = "<type>eighth</type>" + TRIPLET
    exact = "".join(note(p, 2, eighth) for p in ("C4", "D4", "E4")) + note("F4", 18)
    tune = read_part(C + exact, first=attributes(divisions=6))
    assert tune.phrase is not None, problems(tune)
    assert notes(tune.phrase.line) == "0 C4 1/3, 1/3 D4 1/3, 2/3 E4 1/3, 1 F4 3"
    rounded = "".join(
        note(p, d, eighth) for p, d in (("C4", 341), ("D4", 341), ("E4", 342))
    ) + note("F4", 3072)
    again = read_part(C + rounded, first=attributes(divisions=1024))
    assert again.phrase is not None, problems(again)
    assert again.phrase.line == tune.phrase.line


@pytest.mark.parametrize(
    ("transpose", "key", "line", "chord"),
    [
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic>", "Bb", "0 Bb4 2, 2 E5 2", "Bb7"),
        (
            "<chromatic>-2</chromatic><octave-change>-1</octave-change>",
            "Bb",
            "0 Bb3 2, 2 E4 2",
            "Bb7",
        ),
        ("<diatonic>-5</diatonic><chromatic>-9</chromatic>", "Eb", "0 Eb4 2, 2 A4 2", "Eb7"),
        (
            "<diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change>",
            "C",
            "0 C4 2, 2 F#4 2",
            "C7",
        ),
    ],
)
def test_a_transposing_part_sounds_at_concert_pitch(
    transpose: str, key: str, line: str, chord: str
) -> None:
    """Notes, key and symbols move together: B flat tenor, E flat alto, guitar."""
    first = attributes(more=f"<transpose>{transpose}</transpose>")
    tune = read_part(harmony("C", "dominant") + note("C5", 8) + note("F#5", 8), first=first)
    assert tune.phrase is not None, problems(tune)
    assert tune.phrase.key.text() == key
    assert notes(tune.phrase.line) == line
    assert chords(tune.phrase.chart) == f"{chord}:4"


@pytest.mark.parametrize("before", ["", note("C4", 4)])
def test_a_transposition_may_stand_behind_the_first_symbol(before: str) -> None:
    """Some writers put it with a second ``attributes``: the part sounds as with one."""
    late = f"<attributes><transpose>{ALTO}</transpose></attributes>"
    tune = read_part(harmony("C") + before + late + note("A4", 16 - 4 * bool(before)))
    assert tune.phrase is not None, problems(tune)
    assert (tune.phrase.key.text(), chords(tune.phrase.chart)) == ("Eb", "Eb:4")
    assert tune.phrase.line[-1].pitch.text() == "C4"


def test_a_pickup_lies_before_beat_0() -> None:
    """An implicit first measure of one beat and a last one of three."""
    pickup = '<measure number="0" implicit="yes">' + attributes() + note("G4", 4) + "</measure>"
    full, last = harmony("C") + note("C4", 16), note("E4", 12)
    text = score(part(pickup, full, last, first=""))
    tune = read(text)
    assert tune.phrase is not None, problems(tune)
    assert notes(tune.phrase.line) == "-1 G4 1, 0 C4 4, 4 E4 3"
    assert chords(tune.phrase.chart) == "C:4 | C:4"


LEFT = '<barline location="left"><repeat direction="forward"/></barline>'
RIGHT = '<barline location="right"><repeat direction="backward"{}/></barline>'
ENDING = '<barline location="{}"><ending number="{}" type="{}"/>{}</barline>'
BACK = '<repeat direction="backward"/>'


@pytest.mark.parametrize(
    ("bars", "line"),
    [
        ([LEFT + "C", "D" + RIGHT.format("")], "CDCD"),
        (["C", LEFT + "D" + RIGHT.format(' times="3"')], "CDDD"),
        (["C", RIGHT.format("").replace("right", "left") + "D"], "CCD"),
        (["C" + RIGHT.format(' times="3"'), RIGHT.format("").replace("right", "left") + "D"],
         "CCCD"),
        ([LEFT + "C", ENDING.format("left", "1", "start", "") + "D"
          + ENDING.format("right", "1", "stop", BACK),
          ENDING.format("left", "2", "start", "") + "E"
          + ENDING.format("right", "2", "discontinue", ""), "F"], "CDCEF"),
        ([LEFT + "C", ENDING.format("left", "1, 2", "start", "") + "D"
          + ENDING.format("right", "1, 2", "stop", BACK),
          ENDING.format("left", "3", "start", "") + "E"], "CDCDCE"),
    ],
)  # fmt: skip
def test_repeats_and_endings_are_written_out(bars: list[str], line: str) -> None:
    """In play order, one letter a bar."""
    bodies = [
        "".join(note(f"{s}4", 16) if s in "CDEF" and not inside else s for s, inside in _split(bar))
        for bar in bars
    ]
    tune = read_part(C + bodies[0], *bodies[1:])
    assert tune.phrase is not None, problems(tune)
    assert "".join(each.pitch.name.letter for each in tune.phrase.line) == line


def _split(text: str) -> list[tuple[str, bool]]:
    """Return each character and whether it stands inside a tag."""
    found, inside = [], False
    for sign in text:
        inside = inside or sign == "<"
        found.append((sign, inside))
        inside = inside and sign != ">"
    return found


def test_a_named_part_is_read_by_name_or_id() -> None:
    """Bass and P2 are the same part; without a name the first part is read, and the player told."""
    text = score(part(C + note("C5", 16)), part(C + note("C3", 16), id="P2", first=attributes()))
    lines = []
    for wanted in (None, "Alto", "Bass", "bass", "P2"):
        tune = read(text, part=wanted)
        assert tune.phrase is not None
        lines.append(notes(tune.phrase.line)[2:4])
        told = [] if wanted else ["only part Alto is read; --part takes another: Bass"]
        assert doubts(tune) == told
    assert lines == ["C5", "C5", "C3", "C3", "C3"]


@every_row(
    ("bar", "problem"),
    [
        (note("C4", 12), "adds up to 3 quarter notes; 4/4 takes 4"),
        (note("C4", 18), "adds up to 4 1/2 quarter notes; 4/4 takes 4"),
        (note("C4", "NaN"), "'NaN' isn't a duration"),
        (note("C4", "-16"), "'-16' isn't a duration"),
        (note("C4", "1e9"), "'1e9' isn't a duration"),
        (note("C4", "inf"), "'inf' isn't a duration"),
        (note("C4", ""), "'' isn't a duration"),
        (BACKUP.format(4) + note("C4", 16), "a backup goes beyond the beginning"),
        (note("C4", 16).replace("<step>C", "<step>H"), "a note has no pitch with step"),
        ("<note><duration>16</duration></note>", "a note has no pitch with step and octave"),
        (note("C4", 16).replace("<octave>4", "<octave>44"), "'44' isn't a whole number up to 9"),
        (note("C4", 16).replace("<alter>0", "<alter>0.5"), "quarter tones are not read"),
        (note("C4", 16).replace("<alter>0", "<alter>3"), "'3' isn't a whole number up to 2"),
        (note("C4", 16) + BACKUP.format(8) + note("D4", 8), "two notes of one voice sound"),
        ("<attributes><divisions>0</divisions></attributes>" + note("C4", 16), "the divisions"),
        ("<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
         + note("C4", 12), "the meter changes here"),
        ("<attributes><time><beats>3</beats><beat-type>0</beat-type></time></attributes>"
         + note("C4", 12), "the time signature is not read"),
        ("<attributes><transpose><chromatic>-2</chromatic></transpose></attributes>"
         + note("C4", 16), "the transposition changes here. There can only be one"),
    ],
)  # fmt: skip
def test_a_problem_names_measure_and_part(bar: str, problem: str) -> None:
    """Wrong sums, durations that are no numbers, impossible pitches, changes of meter and of the
    instrument."""
    tune = read_part(C + note("C4", 16), bar, note("C4", 16))
    assert tune.phrase is None
    assert problems(tune)[0].startswith(f"measure 2 of part Alto: {problem}")


def test_durations_too_fine_to_be_exact_are_refused() -> None:
    """Millionths of a quarter note aren't music."""
    tune = read_part(C + note("C4", "1.234567") + note("D4", "14.765433"))
    assert problems(tune) == ["the durations are too fine to be exact. Quantise the notes."]


@pytest.mark.parametrize(
    ("bar", "doubt"),
    [
        (note("C4", 16, TIE.format("start")), "the tie from C4 leads to no note like it"),
        (note("C4", 16) + note("D4", before="<grace/>"), "a grace note leads to no note"),
        (note("C4", 16) + note("E4", 16, before="<chord/>"), "of stacked notes only the top"),
        ("<direction><sound dacapo='yes'/></direction>" + note("C4", 16), "jumps (D.C., D.S."),
        ("<attributes><key><fifths>2</fifths></key></attributes>" + note("C4", 16),
         "the key changes here"),
    ],
)  # fmt: skip
def test_a_doubt_names_measure_and_part(bar: str, doubt: str) -> None:
    """What may have been meant otherwise is told with its place."""
    tune = read_part(C + note("C4", 16), bar)
    assert tune.phrase is not None, problems(tune)
    assert doubts(tune)[0].startswith(f"measure 2 of part Alto: {doubt}")


@pytest.mark.parametrize(
    ("bar", "doubt"),
    [
        (note("C4", 16) + note("E4", 16, before="<chord/>"),
         "measure 1 of part Alto: of stacked notes only the top one is read"),
        (note("C4", 16, VOICE.format(1)) + BACKUP.format(16) + note("E3", 16, VOICE.format(2)),
         "only voice 1 of part Alto is read"),
    ],
)  # fmt: skip
def test_what_holds_for_all_measures_is_told_once(bar: str, doubt: str) -> None:
    """Not a line for each of a tune's 32 measures."""
    assert doubts(read_part(C + bar, bar, bar)) == [doubt]


CIRCLE = "Cb Gb Db Ab Eb Bb F C G D A E B F# C# G# D# A#"
ALTO = "<diatonic>-5</diatonic><chromatic>-9</chromatic>"
TENOR = "<diatonic>-8</diatonic><chromatic>-14</chromatic>"
TRUMPET = "<diatonic>-1</diatonic><chromatic>-2</chromatic>"
HORN = "<diatonic>-4</diatonic><chromatic>-7</chromatic>"


@every_row(
    ("transpose", "fifths", "mode", "key"),
    [
        (ALTO, -4, "major", "B"), (ALTO, -5, "major", "E"), (ALTO, -6, "major", "A"),
        (ALTO, -7, "major", "D"), (ALTO, -5, "minor", "C#m"), (ALTO, -7, "minor", "Bm"),
        (ALTO, -4, "dorian", "C# Dorian"), (ALTO, -3, "major", "Gb"), (ALTO, 7, "major", "E"),
        (TENOR, -6, "major", "E"), (TENOR, -7, "minor", "F#m"), (TRUMPET, -5, "major", "B"),
        (TRUMPET, -6, "major", "E"), (TRUMPET, -4, "minor", "Ebm"), (HORN, -7, "major", "E"),
        (HORN, 7, "major", "F#"),
    ],
)  # fmt: skip
def test_a_transposing_part_sounds_in_a_key_that_players_write(
    transpose: str, fifths: int, mode: str, key: str
) -> None:
    """Five flats of an alto are concert E, not F flat; its chord and note go by the same way."""
    first = attributes(fifths=fifths, mode=mode, more=f"<transpose>{transpose}</transpose>")
    home = key_of_page(fifths, mode)
    tune = read_part(harmony(home, "major") + note(f"{home}5", 16), first=first)
    assert tune.phrase is not None, problems(tune)
    tonic = tune.phrase.key.tonic.text()
    assert tune.phrase.key.text() == key
    assert chords(tune.phrase.chart) == f"{tonic}:4"
    assert tune.phrase.line[0].pitch.name.text() == tonic


def key_of_page(fifths: int, mode: str) -> str:
    """Return the tonic of a signature, counted along the circle of fifths by hand."""
    above = {"major": 0, "minor": 3, "dorian": 2}[mode]
    return CIRCLE.split()[7 + fifths + above]


def test_a_key_without_a_mode_is_named_and_given_as_on_its_page() -> None:
    """Five flats of an alto that name no mode are Db there and sound E; so of B flat minor."""
    page = attributes(fifths=-5, more=f"<transpose>{ALTO}</transpose>")
    page, bar = page.replace("<mode>major</mode>", ""), harmony("Db") + note("Db5", 16)
    tune = read_part(bar, first=page)
    assert tune.phrase is not None, problems(tune)
    assert (tune.phrase.key.text(), tune.phrase.key.up(-tune.interval).text()) == ("E", "Db")
    assert doubts(tune) == ["the key signature names no mode: read as Db major, not Bb minor"]
    for given in ({"key": parse_key("Bbm")}, {"sounding": parse_key("C#m")}):
        told = read_part(bar, first=page, **given)
        assert told.phrase is not None, problems(told)
        assert (told.phrase.key.text(), told.doubts) == ("C#m", ())


def test_a_key_that_a_page_lacks_is_given_as_it_would_stand_there() -> None:
    """An alto's A flat sounds B, its notes and symbols in sharps."""
    page = attributes(more=f"<transpose>{ALTO}</transpose>")
    page = page.replace("<key><fifths>0</fifths><mode>major</mode></key>", "")
    tune = read_part(harmony("Ab") + note("C5", 16), first=page, key=parse_key("Ab"))
    assert tune.phrase is not None, problems(tune)
    assert (tune.phrase.key.text(), chords(tune.phrase.chart)) == ("B", "B:4")
    assert notes(tune.phrase.line) == "0 D#4 4"
