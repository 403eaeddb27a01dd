"""What a MusicXML score says as a whole: key, tempo, title, layout by measures."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import Key, parse_key
from drillbox.music.pitch import Name
from drillbox.notation import read_bytes
from tests.notation.pages import chords, doubts, notes, problems
from tests.notation.scores import attributes, harmony, note, part, read, read_part, score, zipped
from tests.rows import every_row

BAR = harmony("C") + note("C4", 16)
CREDIT = '<credit page="1"><credit-type>{}</credit-type><credit-words>{}</credit-words></credit>'


@every_row(
    ("fifths", "mode", "key"),
    [
        (0, "major", "C"), (-2, "major", "Bb"), (6, "major", "F#"), (-6, "major", "Gb"),
        (0, "minor", "Am"), (-3, "minor", "Cm"), (5, "minor", "G#m"), (0, "dorian", "D Dorian"),
        (-1, "mixolydian", "C Mixolydian"), (1, "lydian", "C Lydian"),
        (0, "phrygian", "E Phrygian"), (2, "locrian", "C# Locrian"),
        (0, "ionian", "C"), (0, "aeolian", "Am"),
    ],
)  # fmt: skip
def test_keys(fifths: int, mode: str, key: str) -> None:
    """Signature and mode give the key; nothing about it is doubtful."""
    tune = read_part(BAR, first=attributes(fifths=fifths, mode=mode))
    assert tune.phrase is not None, problems(tune)
    assert tune.phrase.key.text() == key
    assert tune.doubts == ()


def test_a_signature_without_mode_is_major_unless_the_player_says_minor() -> None:
    """The doubt names the minor key that has the same signature."""
    first = attributes(fifths=-3).replace("<mode>major</mode>", "")
    tune = read_part(BAR, first=first)
    assert tune.phrase is not None
    assert tune.phrase.key.text() == "Eb"
    assert doubts(tune) == ["the key signature names no mode: read as Eb major, not C minor"]
    told = read_part(BAR, first=first, key=Key(Name("C"), "minor"))
    assert told.phrase is not None
    assert (told.phrase.key.text(), told.doubts) == ("Cm", ())


@pytest.mark.parametrize(
    ("mark", "tempo", "finding"),
    [
        ('<sound tempo="96"/>', 96, ""),
        ('<sound tempo="96.5"/>', 96, "the tempo 96 1/2 is rounded to 96 a minute"),
        ('<sound tempo="500"/>', None, "the tempo is 500; 20 to 400 is read"),
        ('<sound tempo="NaN"/>', None, "the tempo is not read; write one such as"),
        ("", None, "it has no tempo; add one with --tempo"),
        ("<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
         "<per-minute>80</per-minute></metronome></direction-type></direction>", 120, ""),
        ("<direction><direction-type><metronome><beat-unit>half</beat-unit>"
         "<per-minute>80</per-minute></metronome></direction-type></direction>", 160, ""),
        ("<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>ca. 66"
         "</per-minute></metronome></direction-type></direction>", 132,
         "the tempo 'ca. 66' is read as 66"),
        ("<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>60-66"
         "</per-minute></metronome></direction-type></direction>", None,
         "the tempo is not read"),
        ('<sound tempo="96"/><sound tempo="90"/>', 96, "the tempo changes; the phrase keeps"),
    ],
)  # fmt: skip
def test_tempi(mark: str, tempo: int | None, finding: str) -> None:
    """A sound's tempo counts quarter notes; a metronome mark its own beat."""
    first = attributes().split("<sound")[0] + mark
    tune = read_part(BAR, first=first)
    assert (tune.phrase.tempo if tune.phrase else None) == tempo
    assert "".join([*problems(tune), *doubts(tune)]).startswith(finding)


def test_the_first_staff_has_the_key_and_is_read_before_a_meter_that_is_not() -> None:
    """The second staff's may come first; of a meter of two kinds of beats that alone is told."""
    second = '<key number="2"><fifths>3</fifths></key><key number="1">'
    tune = read_part(BAR, first=attributes().replace("<key>", second))
    assert tune.phrase is not None, problems(tune)
    assert tune.phrase.key.text() == "C"
    mixed = "</beat-type><beats>3</beats><beat-type>8</beat-type>"
    tune = read_part(BAR, first=attributes().replace("</beat-type>", mixed))
    assert [each[:45] for each in problems(tune)] == [
        "measure 1 of part Alto: the time signature is"
    ]


def test_what_a_score_lacks_may_be_given() -> None:
    """Title, tempo, key and meter stand in where the score has none."""
    text = score(part(BAR, first="<attributes><divisions>4</divisions></attributes>"), title="")
    lacking = read(text)
    assert [each[:12] for each in problems(lacking)] == [
        "it has no ti", "it has no ke", "it has no te", "it has no me"
    ]  # fmt: skip
    from drillbox.music.charts import Meter

    given = {"title": "G", "key": Key(Name("D")), "tempo": 90, "meter": Meter(4, 4)}
    phrase = read(text, **given).phrase
    assert phrase is not None
    assert (phrase.title, phrase.key.text(), phrase.tempo) == ("G", "D", 90)


def test_double_time_is_read_from_the_words() -> None:
    """A direction that says so marks the phrase."""
    words = (
        "<direction><direction-type><words>Double-time feel</words></direction-type></direction>"
    )
    tune = read_part(words + BAR)
    assert tune.phrase is not None
    assert tune.phrase.double_time


@every_row(
    ("head", "title"),
    [
        ("<work><work-title>W</work-title></work>", "W"),
        ("<work><work-title>W</work-title></work><movement-title> M\n m </movement-title>", "M m"),
        (CREDIT.format("composer", "C") + CREDIT.format("title", "On\n page"), "On page"),
        ("<work><work-title>W</work-title></work>" + CREDIT.format("title", "On page"), "W"),
    ],
)
def test_a_title_is_the_movements_the_works_or_that_of_the_page(head: str, title: str) -> None:
    """In this order, its blanks collapsed; other words on the page are no title."""
    text = score(part(BAR)).replace("<movement-title>Test</movement-title>", head)
    assert read(text).title == title


KEYLESS = """X:1
T:Test
M:4/4
L:1/4
Q:1/4=120
K:none transpose=-9
"Bbm7"_B4|"Eb7"_e4|"Abmaj7"c4|
"""


@every_row(
    ("sounding", "symbols", "line"),
    [
        ("B", "C#m7:4 | F#7:4 | Bmaj7:4", "0 C#4 4, 4 F#4 4, 8 D#4 4"),
        ("G#m", "C#m7:4 | F#7:4 | Bmaj7:4", "0 C#4 4, 4 F#4 4, 8 D#4 4"),
        ("Cb", "Dbm7:4 | Gb7:4 | Cbmaj7:4", "0 Db4 4, 4 Gb4 4, 8 Eb4 4"),
    ],
)
def test_a_page_without_a_key_is_in_the_key_that_it_is_said_to_sound_in(
    sounding: str, symbols: str, line: str
) -> None:
    """An alto's page, its letters as that key has them, whatever instrument its reader plays."""
    alto = "<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>"
    first = re.sub("<key>.*</key>", "", attributes(more=alto))
    whole = ("Bb", "minor-seventh", "Bb4"), ("Eb", "dominant", "Eb5"), ("Ab", "major-seventh", "C5")
    bars = (harmony(root, kind) + note(pitch, 16) for root, kind, pitch in whole)
    text, sounds = score(part(*bars, first=first)), parse_key(sounding)
    for page, read_as in product((text, KEYLESS), ("C", "B", "G#m")):
        key = parse_key(read_as)
        (tune,) = read_bytes(page.encode(), "page", key=key, sounding=sounds).tunes
        assert tune.phrase is not None, problems(tune)
        assert (tune.phrase.key.text(), chords(tune.phrase.chart)) == (sounding, symbols)
        assert notes(tune.phrase.line) == line


@pytest.mark.parametrize(("sounding", "key"), [("Abm", "G#m"), ("Cb", "B")])
def test_a_key_that_is_said_tells_a_signatures_mode_however_it_is_spelled(
    sounding: str, key: str
) -> None:
    """Four flats of an alto sound in five sharps: G# minor is known where A flat minor is said."""
    alto = "<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>"
    first = re.sub("<key>.*</key>", "<key><fifths>-4</fifths></key>", attributes(more=alto))
    text = score(part(harmony("F", "minor") + note("F4", 16), first=first))
    (tune,) = read_bytes(text.encode(), "page", sounding=parse_key(sounding)).tunes
    assert tune.phrase is not None, problems(tune)
    assert (tune.phrase.key.text(), doubts(tune)) == (key, [])


def test_a_score_by_measures_is_read_like_one_by_parts() -> None:
    """score-timewise holds the parts inside the measures."""
    measures = "".join(
        f'<measure number="{n}"><part id="P1">{body}</part></measure>'
        for n, body in ((1, attributes() + BAR), (2, harmony("F") + note("F4", 16)))
    )
    text = (
        '<score-timewise version="4.0"><movement-title>Test</movement-title><part-list>'
        '<score-part id="P1"><part-name>Alto</part-name></score-part></part-list>'
        f"{measures}</score-timewise>"
    )
    tune = read(text)
    assert tune.phrase is not None, problems(tune)
    assert notes(tune.phrase.line) == "0 C4 4, 4 F4 4"
    assert chords(tune.phrase.chart) == "C:4 | F:4"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_the_encodings_of_xml(encoding: str) -> None:
    """UTF-8 with and without byte order mark, UTF-16 and a declared Latin-1."""
    declared = {"utf-8-sig": "UTF-8"}.get(encoding, encoding)
    text = score(part(BAR), title="Für").replace('"UTF-8"', f'"{declared}"', 1)
    assert read(text.encode(encoding)).title == "Für"


def test_a_compressed_score_is_the_same_score() -> None:
    """The .mxl of a score gives the equal phrase."""
    text = score(part(BAR, note("D4", 8) + note("E4", 8)))
    assert read(zipped(text.encode())) == read(text)


def test_additive_meters_are_added_up() -> None:
    """3+2 over 8 is 5/8."""
    first = attributes().replace("<beats>4", "<beats>3+2").replace("<beat-type>4", "<beat-type>8")
    tune = read_part(harmony("C") + note("C4", 10), first=first)
    assert tune.phrase is not None, problems(tune)
    assert tune.phrase.chart.meter.text() == "5/8"
    assert tune.phrase.chart.length == Fraction(5, 2)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("<opus/>", "it isn't a MusicXML score but <opus>"),
        ("<html><body/></html>", "it isn't a MusicXML score but <html>"),
        ("<score-partwise/>", "the score has no part"),
    ],
)
def test_other_xml_is_refused(text: str, what: str) -> None:
    """The root element is named."""
    with pytest.raises(BadInput, match=what):
        read(text)


def test_an_unknown_part_is_refused_with_those_that_are_there() -> None:
    """The refusal lists the names."""
    with pytest.raises(BadInput, match="no part 'Tuba'") as refused:
        read(score(part(BAR), part(BAR, id="P2")), part="Tuba")
    assert refused.value.remedy == "Its parts: Alto, Bass."
