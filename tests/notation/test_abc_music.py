"""The music code of ABC 2.1, sign by sign, on invented bars."""

from __future__ import annotations

import pytest

from drillbox.music.keys import parse_key
from tests.notation.pages import HEAD, chords, doubts, notes, phrase, problems, tune
from tests.rows import every_row


def line(music: str, head: str = HEAD) -> str:
    """Return the notes of music under one chord symbol."""
    return notes(phrase('"C"' + music, head).line)


@every_row(
    ("music", "read"),
    [
        ("C,c'2c5|", "0 C3 1/2, 1/2 C6 1, 3/2 C5 5/2"),
        ("C/D//E3/2z4F7/4|", "0 C4 1/4, 1/4 D4 1/8, 3/8 E4 3/4, 25/8 F4 7/8"),
        ("C>D E<F G>>A B<<c|",
         "0 C4 3/4, 3/4 D4 1/4, 1 E4 1/4, 5/4 F4 3/4, 2 G4 7/8, 23/8 A4 1/8, 3 B4 1/8, "
         "25/8 C5 7/8"),
        ("(3CDE (3FzA B4|", "0 C4 1/3, 1/3 D4 1/3, 2/3 E4 1/3, 1 F4 1/3, 5/3 A4 1/3, 2 B4 2"),
        ("(3:2:2C4D2 B4|", "0 C4 4/3, 4/3 D4 2/3, 2 B4 2"),
        ("(5:4:5CDEFG (2AB z|", "0 C4 2/5, 2/5 D4 2/5, 4/5 E4 2/5, 6/5 F4 2/5, 8/5 G4 2/5, "
         "2 A4 3/4, 11/4 B4 3/4"),
        ("z4C4-|C8|", "2 C4 6"),
        ("C4-C4|", "0 C4 4"),
        ("C8|Z|C8|", "0 C4 4, 8 C4 4"),
        ("C8|Z2|x4 y C4|", "0 C4 4, 14 C4 2"),
        ("{cd}C8|", "0 C5 0, 0 D5 0, 0 C4 4"),
        ("[CEG]4 [C2E2]2|", "0 G4 2, 2 E4 2"),
        ("[C-G]4[CG]4|[CG-]4[CG]4|[C-G-]4-[CG]4|", "0 G4 2, 2 G4 2, 4 G4 4, 8 G4 4"),
        ("!accent!C2 !>!D2 LE2 !emphasis!F2|", "0 >C4 1, 1 >D4 1, 2 >E4 1, 3 >F4 1"),
        ("!trill!C2 ~D2 .E2 vF2|", "0 C4 1, 1 D4 1, 2 E4 1, 3 F4 1"),
        ("(C2 D2) ((3EFG) A2|", "0 C4 1, 1 D4 1, 2 E4 1/3, 7/3 F4 1/3, 8/3 G4 1/3, 3 A4 1"),
        ("C4 \\\n D4|", "0 C4 2, 2 D4 2"),
        ("C2`D2 E2\nF2|", "0 C4 1, 1 D4 1, 2 E4 1, 3 F4 1"),
        ("C4 [L:1/4] C2|", "0 C4 2, 2 C4 2"),
    ],
)  # fmt: skip
def test_signs_are_read(music: str, read: str) -> None:
    """Pitches, lengths, broken rhythm, tuplets, ties, rests, graces, stacks, accents, slurs.

    Of a stack the top note's own tie counts, or the one behind it all.
    """
    assert line(music) == read


@pytest.mark.parametrize(
    ("music", "read"),
    [
        ("F2 f2 =f2 F2|F8|", "F#4 F#5 F5 F4 F#4"),
        ("^C2 c2 C2 _D2|C2 D2 ^^C2 __D2|", "C#4 C#5 C#4 Db4 C4 D4 C##4 Dbb4"),
        ("C4 ^C4-|C4 C4|", "C4 C#4 C4"),
        ("^c4-c4-|c4 c4|", "C#5 C5"),
        ("_B4 {_B}c4|B8|", "Bb4 Bb4 C5 B4"),
    ],
)
def test_accidentals_carry_to_the_end_of_the_bar(music: str, read: str) -> None:
    """In all octaves, over ties beyond the bar line, and no further (section 11.3), in G."""
    line = phrase('"G"' + music, HEAD.replace("K:C", "K:G")).line
    assert " ".join(note.pitch.text() for note in line) == read


@pytest.mark.parametrize(
    ("rule", "read"),
    [("not", "C#4 C4 C5"), ("octave", "C#4 C#4 C5"), ("pitch", "C#4 C#4 C#5")],
)
def test_a_file_may_say_how_accidentals_carry(rule: str, read: str) -> None:
    """The three rules of section 11.3, as a directive and as an instruction."""
    for how in (f"%%propagate-accidentals {rule}\n", f"I:propagate-accidentals {rule}\n"):
        found = phrase('"C"^C2 C2 c4|', HEAD.replace("K:C", how + "K:C")).line
        assert " ".join(note.pitch.text() for note in found) == read


def test_letters_can_be_given_and_lose_the_meaning_of_an_accent() -> None:
    """U: makes T an accent and L something else (section 4.16)."""
    head = HEAD.replace("K:C", "U:T = !accent!\nU:L = !trill!\nK:C")
    assert line("TC4 LD4|", head) == "0 >C4 2, 2 D4 2"


@every_row(
    ("music", "read"),
    [
        ('"Cm7"C4 "F7"D4|"Bbmaj7"E8|', "Cm7:2 F7:2 | Bbmaj7:4"),
        ('"Cm7"C8|D8|"F7"E8|', "Cm7:4 | Cm7:4 | F7:4"),
        ('"C"C2 "^remark"D2 "_x""<y"">z""@1,2 w"E2 "G7"F2|', "C:3 G7:1"),
        ('"C"C4 "(G7)"G4|', "C:2 (G7):2"),
        ('"Cm(maj7)"C8|"C"C4 "(Cm(maj7))"G4|', "Cm(maj7):4 | C:2 (Cm(maj7)):2"),
        ('"C"C4 "N.C."G4|', "C:2 N.C.:2"),
        ('"C"(3CD"F7"E F2 z4|', "C:2/3 F7:10/3"),
        ('"C"C>"F"D E2 z4|', "C:3/4 F:13/4"),
        ('"C"C8 "F7"|D8|', "C:4 | F7:4"),
        ('"C"C4- "F7"C4|', "C:2 F7:2"),
        ('["C"CEG]8|', "C:4"),
        ('"C"!accent!C4 !accent!"F"D4|', "C:2 F:2"),
        ('"C"{d}C4 {e}"F"D4|', "C:2 F:2"),
        ('"B\\u266d7"C8|', "Bb7:4"),
        ('"C"z8|', "C:4"),
        ('"D/f#"z8|"C6/9"z8|"Am/c"z4 "(G7/b)"z4|', "D/F#:4 | C69:4 | Am/C:2 (G7/B):2"),
    ],
)
def test_chord_symbols_stand_where_they_are_written(music: str, read: str) -> None:
    """Before note, rest, grace note or stack; held until the next; remarks are no chords."""
    assert chords(phrase(music).chart) == read


@every_row(
    ("music", "problem"),
    [
        ('"C"C4 "Hm"D4|', 'line 7, column 8: chord symbol \'Hm\''),
        ('"C"C8|"F7"', "line 7, column 8: no note or rest follows this chord symbol"),
        ('"C"C8|\n"F7', "line 8, column 1: this quotation mark is never closed"),
        ('"C"C8|C9|C8|', "line 7, column 9: bar 2 adds up to 4 1/2 quarter notes; 4/4 takes 4"),
        ('"C"C8|C8|\nC7', "line 8, column 3: bar 3 adds up to 3 1/2 quarter notes; 4/4 takes 4"),
        ('"C"C4 C4 4|', "line 7, column 10: '4' is not read here"),
        ('"C"C0 C8|', "line 7, column 4: '0' isn't a length"),
        ('"C"C/0 C8|', "line 7, column 4: '/0' isn't a length"),
        ('"C"(0CDE C8|', "line 7, column 4: the tuplet (0 is not read"),
        ('"C"C7>|C|', "line 7, column 7: a broken rhythm (> or <) has no second note"),
        ('"C"C8|>C8|', "line 7, column 7: > has no note before it in its bar"),
        ('"C"C8|[M:3/4]C6|', "line 7, column 7: the meter changes here. There can only be one"),
        ('s:"C"\nC8|', "line 7, column 1: symbol lines (s:) are not read"),
        ('m:~n = n\n"C"C8|', "line 7, column 1: macros (m:) are not read"),
        ('"C"c\'\'\'\'\'\'8|', "line 7, column 4: C11 is beyond any instrument"),
        ("C8|", 'it has no chord symbols; write them above the notes (in ABC: "Cm7"E2)'),
        ("", "line 1, column 1: it has no notes"),
        ('"C"C8|[]C8|', "line 7, column 7: [] holds no note"),
    ],
)  # fmt: skip
def test_a_problem_has_its_line_and_column(music: str, problem: str) -> None:
    """Whatever can't be read or doesn't add up is said where it stands; no phrase comes of it."""
    read = tune(music)
    assert read.phrase is None
    assert any(each.startswith(problem) for each in problems(read)), problems(read)


def test_a_bar_that_is_short_at_the_front_is_no_pickup_when_it_is_the_only_one() -> None:
    """One bar of three beats in 4/4 is a wrong bar."""
    assert problems(tune('"C"C6|')) == [
        "line 7, column 6: bar 1 adds up to 3 quarter notes; 4/4 takes 4"
    ]


def test_a_first_bar_nearly_full_with_a_chord_is_an_error() -> None:
    """Its beats are counted: as a pickup its chord would have no bar; half a bar is one."""
    found = problems(tune('"Dm7"C6|"G7"C8|"C"C8|'))
    assert [each for each in found if "too many for a pickup" in each] == found
    assert "has 3 of 4 quarter notes" in found[0]
    assert tune('"Dm7"C4|"G7"C8|"C"C4|').phrase is not None


@pytest.mark.parametrize(
    ("music", "doubt"),
    [
        (
            'C6|"C"C8|',
            "line 7, column 3: the first bar has 3 of 4 quarter notes: taken as a pickup",
        ),
        ('"C"C4-D4|', "line 7, column 4: the tie from C4 leads to no note like it"),
        ('"C"C4 C4-|', "line 7, column 7: the tie from C4 leads to no note like it"),
        ('"C"z4-C4|', "line 7, column 6: this tie has no note before it"),
        ('"C"[CE]8|', "line 7, column 4: of stacked notes only the top one is read"),
        ('"C"C8{d}|', "line 7, column 10: a grace note leads to no note: left out"),
        ('"C"C8&E8|', "line 7, column 6: this bar has a second voice (&); only its first is"),
        ('"C"C4 !D.C.!C4|', "line 7, column 7: !D.C.! is not followed"),
        ('"C"C8|\nQ:1/4=90\nC8|', "line 8, column 1: the tempo changes here"),
        ('"C"C8|[K:F]B8|', "line 7, column 7: the key changes here; the first one is kept"),
        ('C4 "C"C4|', "line 7, column 5: no chord symbol stands at the beginning: N.C. until"),
    ],
)
def test_a_doubt_says_what_was_understood(music: str, doubt: str) -> None:
    """The phrase is read, and the player is told what may have been meant otherwise."""
    read = tune(music)
    assert read.phrase is not None, problems(read)
    assert any(each.startswith(doubt) for each in doubts(read)), doubts(read)


def test_what_is_left_out_of_stacked_notes_is_told_once() -> None:
    """Not a line for each stack."""
    stack = "of stacked notes only the top one is read"
    assert doubts(tune('"C"[CE]4[DF]4|[CE]8|')) == [f"line 7, column 4: {stack}"]


def test_a_new_key_changes_the_notes_but_not_the_phrases_key() -> None:
    """After [K:F] a B is flat; the phrase stays in C."""
    read = phrase('"C"B8|[K:F]B8|')
    assert (read.key.text(), notes(read.line)) == ("C", "0 B4 4, 4 Bb4 4")


VOICES = 'V:1 name="Horn"\nV:2 name="Bass" clef=bass octave=-1\n'


@pytest.mark.parametrize("fields", [VOICES + "K:C\n", "K:C\n" + VOICES])
@pytest.mark.parametrize(
    ("part", "read"),
    [(None, "0 C4 4, 4 E4 4"), ("1", "0 C4 4, 4 E4 4"), ("Horn", "0 C4 4, 4 E4 4"),
     ("2", "0 C2 4, 4 D2 4"), ("bass", "0 C2 4, 4 D2 4")],
)  # fmt: skip
def test_one_voice_is_read_the_first_or_the_named_one(
    part: str | None, read: str, fields: str
) -> None:
    """By lines and inline, by id and by name, also where K: comes first; its own clef counts."""
    music = 'V:1\n"C"C8|\nV:2\n"C"C,8|\n[V:1]"F"E8|\n[V:2]"F"D,8|\n'
    found = tune(music, HEAD.replace("K:C\n", fields), part=part)
    assert found.phrase is not None, problems(found)
    assert notes(found.phrase.line) == read
    assert "several voices" in doubts(found)[0]


@pytest.mark.parametrize(
    ("part", "read"),
    [(None, "0 Bb3 4, 4 C4 4"), ("1", "0 Bb3 4, 4 C4 4"), ("2", "0 F4 4"), ("3", "0 G4 4")],
)
def test_notes_before_any_voice_field_are_the_first_voices(part: str | None, read: str) -> None:
    """They sound as its field in the header says, and no other voice has them."""
    head = HEAD.replace("K:C\n", "V:1 transpose=-2\nV:2\nK:C\nL:1/8\n")
    found = tune('"C"C8|D8|\nV:2\n"F"F8|\nV:3\n"G"G8|\n', head, part=part)
    assert found.phrase is not None, problems(found)
    assert notes(found.phrase.line) == read


@pytest.mark.parametrize("part", [None, "1", "horn"])
def test_notes_before_any_voice_field_are_of_the_first_that_the_music_names(
    part: str | None,
) -> None:
    """Where the header names none; they sound as its field says, whether it was asked for or
    not."""
    found = tune('"C"C8|\n[V:1 name="Horn" transpose=-2] D8|\n[V:2] "F"F8|\n', part=part)
    assert found.phrase is not None, problems(found)
    assert (found.phrase.key.text(), notes(found.phrase.line)) == ("Bb", "0 Bb3 4, 4 C4 4")


def test_a_voice_is_found_by_its_very_id_first() -> None:
    """T is another voice than t, and may be the name of a third; without it, T will do for t."""
    music = '[V:t name="B"]"C"C8|\n[V:T]"F"F8|\n[V:B]"G"G8|\n[V:x]"A"A8|'
    read = [tune(music, part=part).phrase for part in ("t", "T", "B", "X")]
    assert [notes(each.line) for each in read if each] == ["0 C4 4", "0 F4 4", "0 G4 4", "0 A4 4"]


def test_a_field_before_any_voice_field_is_all_voices() -> None:
    """So is the unit length behind K:, whichever voice is read, where only the music names any."""
    found = tune('L:1/4\n"C"C4|\nV:1\n"D"D4|\nV:2\n"F"F4|\n', part="2")
    assert found.phrase is not None, problems(found)
    assert notes(found.phrase.line) == "0 F4 4"


def test_a_voice_that_is_not_there_is_refused_with_those_that_are() -> None:
    """The problem lists the voices."""
    read = tune('V:1\n"C"C8|', HEAD.replace("K:C\n", VOICES + "K:C\n"), part="Flute")
    assert problems(read) == [
        "line 1, column 1: it has no voice Flute; its voices: 1 (Horn), 2 (Bass)"
    ]


def test_double_time_is_read_from_the_rhythm_field() -> None:
    """R:double time marks the phrase."""
    assert phrase('"C"C8|', HEAD.replace("K:C", "R:Double-time feel\nK:C")).double_time
    assert not phrase('"C"C8|', HEAD.replace("K:C", "R:reel\nK:C")).double_time


def test_a_transposing_tune_is_read_at_concert_pitch() -> None:
    """transpose=-2 moves notes, symbols and key together, spelled as a major second."""
    read = tune('"C"E4 "A7"^c4|', HEAD.replace("K:C", "K:C transpose=-2"))
    assert read.phrase is not None
    assert read.phrase.key.text() == "Bb"
    assert chords(read.phrase.chart) == "Bb:2 G7:2"
    assert notes(read.phrase.line) == "0 D4 2, 2 B4 2"
    assert doubts(read) == ["line 6, column 1: it transposes: read at concert pitch, in Bb"]
    given = tune('"C"E4 "A7"^c4|', HEAD.replace("K:C", "K:none transpose=-2"), key=parse_key("C"))
    assert (given.phrase, doubts(given)) == (read.phrase, doubts(read))
    flat = tune('"Ab"_A8|', HEAD.replace("K:C", "K:none transpose=-9"), key=parse_key("Ab"))
    assert flat.phrase is not None
    assert (flat.phrase.key.text(), notes(flat.phrase.line)) == ("B", "0 B3 4")


@pytest.mark.parametrize(
    ("written", "key", "bar", "line"),
    [
        ("Gb transpose=-2", "E", "E:2 B7:2", "0 E4 2, 2 D#4 2"),
        ("Ab transpose=-9", "B", "E:2 B7:2", "0 E4 2, 2 D#4 2"),
        ("Gb clef=treble-8", "Gb", "Gb:2 Db7:2", "0 Gb3 2, 2 F3 2"),
    ],
)
def test_a_transposing_tune_sounds_in_a_key_that_players_write(
    written: str, key: str, bar: str, line: str
) -> None:
    """A trumpet's G flat is concert E: chords and notes have the letters of that key."""
    music = {"Gb": '"Gb"G4 "Db7"F4|', "Ab": '"Db"d4 "Ab7"c4|'}[written[:2]]
    read = phrase(music, HEAD.replace("K:C", f"K:{written}"))
    assert read.key.text() == key
    assert chords(read.chart) == bar
    assert notes(read.line) == line


def test_a_later_key_of_a_transposing_tune_moves_as_the_first() -> None:
    """A trumpet's G flat, then its E flat: concert E, then C sharp, the same way from the page."""
    read = tune('"Gb"G8|[K:Eb transpose=-2]"Eb"e8|', HEAD.replace("K:C", "K:Gb transpose=-2"))
    assert [each.text() for each in read.keys] == ["E", "C#"]


@pytest.mark.parametrize(
    ("inner", "sounds"),
    [
        ("K:D", "4 D4 4"),
        ("K:D clef=treble", "4 D5 4"),
        ("K:D octave=-2", "4 D3 4"),
        ("K:D transpose=0", "4 E4 4"),
        ("K:transpose=0", "4 E4 4"),
        ("K:bass", "4 D5 4"),
    ],
)
def test_what_a_later_key_leaves_open_stays(inner: str, sounds: str) -> None:
    """A tenor's part that changes key is a tenor's part after it; a clef says its octave anew."""
    head = HEAD.replace("K:C", "K:C clef=treble-8 transpose=-2")
    assert line(f"e8|[{inner}]e8|", head).endswith(sounds)


def test_a_voice_sounds_as_its_key_says_where_it_says_nothing() -> None:
    """A name alone doesn't bring a part back to concert pitch; its own words come first."""
    head = HEAD.replace("K:C", "V:1 name=Tenor\nK:C transpose=-2")
    assert line("[V:1] E8|", head) == "0 D4 4"
    assert line("[V:1] E8|", head.replace("name=Tenor", "transpose=-9")) == "0 G3 4"


@pytest.mark.parametrize("key", ["Fb", "G#", "D#", "Gbm", "Dbm", "C#lyd"])
def test_a_key_that_no_signature_holds_is_a_problem_at_its_place(key: str) -> None:
    """Eight flats or sharps can't be written: line and column are named, and the key meant."""
    (problem,) = problems(tune('"C"C8|', HEAD.replace("K:C", f"K:{key}")))
    assert problem.startswith("line 6, column 1: ")
    assert "would need more accidentals than a key signature holds" in problem
