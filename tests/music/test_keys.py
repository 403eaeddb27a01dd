"""Keys: how they are spelled, read and ordered."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.keys import (
    MAJOR,
    MINOR,
    ORDERS,
    Key,
    Spelling,
    conventional_key,
    in_order,
    parse_key,
    twelve,
)
from tests.rows import every_row


def names(keys: tuple[Key, ...]) -> str:
    return " ".join(key.text() for key in keys)


def test_twelve_keys_are_spelled_as_players_write_them() -> None:
    """Each mode has the twelve conventional spellings, by fourths from C."""
    assert names(MAJOR) == "C F Bb Eb Ab Db Gb B E A D G"
    assert names(MINOR) == "Cm Fm Bbm Ebm G#m C#m F#m Bm Em Am Dm Gm"
    assert sorted(key.tonic.pitch_class for key in MAJOR) == list(range(12))
    assert sorted(key.tonic.pitch_class for key in MINOR) == list(range(12))


def test_the_two_open_spellings_follow_the_setting() -> None:
    """Gb or F#, Ebm or D#m: the setting changes that key and no other."""
    other = Spelling(gb="F#", ebm="D#m")
    assert names(twelve("major", other)) == "C F Bb Eb Ab Db F# B E A D G"
    assert names(twelve("minor", other)) == "Cm Fm Bbm D#m G#m C#m F#m Bm Em Am Dm Gm"
    assert twelve("major") == MAJOR
    assert twelve("minor") == MINOR


@every_row(
    ("typed", "read"),
    [
        ("C", "C"), ("c", "C"), ("Bb", "Bb"), ("bb", "Bb"), ("b", "B"), ("B♭", "Bb"),
        ("F♯ major", "F#"), ("f# MAJOR", "F#"), ("CM", "C"), ("Ebmaj", "Eb"), ("C# major", "C#"),
        ("Cb", "Cb"), ("Bbm", "Bbm"), ("B♭ minor", "Bbm"), ("c minor", "Cm"), ("cm", "Cm"),
        ("C MINOR", "Cm"), ("Amin", "Am"), ("a mi", "Am"), ("D-", "Dm"), ("ebm", "Ebm"),
        ("B flat", "Bb"), ("e-flat minor", "Ebm"), ("F sharp minor", "F#m"), ("  G  ", "G"),
        ("Bflat", "Bb"), ("fsharp minor", "F#m"),
        ("A#m", "A#m"), ("Abm", "Abm"),
    ],
)  # fmt: skip
def test_keys_are_read_in_the_usual_ways(typed: str, read: str) -> None:
    """Signs or words, any case of the mode, spaces or none; the spelling typed is kept."""
    assert parse_key(typed).text() == read


@pytest.mark.parametrize(
    "typed", ["", "H", "Xb", "C dorain", "C major minor", "7", "Cmaj7", "major", "B B", "C\n\nx"]
)
def test_what_is_no_key_is_refused_with_near_keys(typed: str) -> None:
    """A refusal shows what was typed and offers keys that can be typed."""
    with pytest.raises(BadInput) as caught:
        parse_key(typed)
    assert caught.value.what == f"{typed!r} isn't a key"
    remedy = caught.value.remedy
    if remedy.startswith("Near: "):
        offered = remedy.removeprefix("Near: ").removesuffix(".").split(", ")
    else:
        assert remedy == "Write it as C, Bb, F#m or D Dorian."
        offered = ["C", "Bb", "F#m"]
    assert [parse_key(each).text() for each in offered] == offered


def test_near_keys_resemble_what_was_typed() -> None:
    """A slip of one letter offers the key that was meant, first, whatever the letters' case."""
    for typed, meant in (("Ebn", "Eb"), ("D-dorian", "D Dorian"), ("BB", "Bb"), ("g.dor", "G Dor")):
        with pytest.raises(BadInput) as caught:
            parse_key(typed)
        assert caught.value.remedy.startswith(f"Near: {meant}")
    with pytest.raises(BadInput, match="isn't a key") as caught:
        parse_key("7")
    assert caught.value.remedy == "Write it as C, Bb, F#m or D Dorian."  # nothing is near


@pytest.mark.parametrize(
    ("typed", "near"),
    [("G#", "Ab"), ("Fb", "E"), ("B#", "C"), ("Bbb", "A"), ("Dbm", "C#m"), ("Fx", "G")],
)
def test_a_tonic_beyond_seven_accidentals_names_the_key_that_sounds_alike(
    typed: str, near: str
) -> None:
    """No signature exists for G# major: Ab is offered."""
    with pytest.raises(BadInput) as caught:
        parse_key(typed)
    assert caught.value.remedy == f"Near: {near}."


def test_long_nonsense_is_cut_in_the_message() -> None:
    """A pasted page doesn't fill the screen."""
    with pytest.raises(BadInput) as caught:
        parse_key("zebra " * 1000)
    assert len(caught.value.line()) < 100


@every_row(
    ("key", "fifths"),
    [("C", 0), ("F", -1), ("Gb", -6), ("F#", 6), ("B", 5), ("C#", 7), ("Cb", -7),
     ("Am", 0), ("Cm", -3), ("Ebm", -6), ("D#m", 6), ("G#m", 5), ("Em", 1)],
)  # fmt: skip
def test_signatures(key: str, fifths: int) -> None:
    """Sharps count up, flats down; a minor key has its relative major's signature."""
    assert parse_key(key).fifths == fifths


@pytest.mark.parametrize(
    ("order", "keys"),
    [
        ("fourths", "Bb Eb Ab Db Gb B E A D G C F"),
        ("fifths", "Bb F C G D A E B Gb Db Ab Eb"),
        ("semitones-up", "Bb B C Db D Eb E F Gb G Ab A"),
        ("semitones-down", "Bb A Ab G Gb F E Eb D Db C B"),
        ("whole-tones", "Bb C D E Gb Ab B Db Eb F G A"),
        ("minor-thirds", "Bb Db E G B D F Ab C Eb Gb A"),
    ],
)
def test_orders_from_b_flat(order: str, keys: str) -> None:
    """Worked out on paper; cycles of a fourth, fifth or semitone visit all twelve in one round,
    whole tones need two rounds of six, minor thirds three of four."""
    assert names(in_order(parse_key("Bb"), order)) == keys


def test_the_written_key_keeps_its_spelling_and_the_others_are_conventional() -> None:
    """A phrase written in C# major goes to Gb next, not to F# and not back to Db."""
    assert names(in_order(parse_key("C#"), "fourths")) == "C# Gb B E A D G C F Bb Eb Ab"
    assert names(in_order(parse_key("Abm"), "fifths")).startswith("Abm Ebm Bbm Fm")
    assert names(in_order(parse_key("C"), "fifths", Spelling(gb="F#"))) == (
        "C G D A E B F# Db Ab Eb Bb F"
    )


def test_own_order_is_entered_at_the_start_and_followed_round() -> None:
    """Keys left out come last, by fourths from the start; minor phrases use the same tonics."""
    own = [parse_key(each) for each in ("C", "G", "F", "D", "Bb")]
    assert names(in_order(parse_key("F"), "own", own=own)) == "F D Bb C G Eb Ab Db Gb B E A"
    assert names(in_order(parse_key("Em"), "own", own=own)) == (
        "Em Cm Gm Fm Dm Bbm Am Ebm G#m C#m F#m Bm"
    )


def test_an_own_order_that_is_empty_or_repeats_is_refused() -> None:
    """Db and C# are the same key on the instrument."""
    with pytest.raises(BadInput, match="is empty"):
        in_order(parse_key("C"), "own")
    with pytest.raises(BadInput, match="twice"):
        in_order(parse_key("C"), "own", own=[parse_key("Db"), parse_key("C#")])


def test_an_unknown_order_is_refused_with_the_known_ones() -> None:
    """The remedy lists what can be chosen."""
    with pytest.raises(BadInput, match="isn't an order of keys") as caught:
        in_order(parse_key("C"), "sideways")
    for order in ORDERS:
        assert order in caught.value.remedy


@given(
    start=st.sampled_from([*MAJOR, *MINOR, parse_key("C#"), parse_key("Cb"), parse_key("A#m")]),
    order=st.sampled_from(sorted(ORDERS)),
    own=st.lists(st.sampled_from(MAJOR), unique=True, min_size=1),
)
def test_every_order_visits_each_key_once_from_the_start(
    start: Key, order: str, own: list[Key]
) -> None:
    """A law: twelve keys, all different, one mode, the start first as spelled."""
    keys = in_order(start, order, own=own)
    assert keys[0] == start
    assert sorted(key.tonic.pitch_class for key in keys) == list(range(12))
    assert {key.mode for key in keys} == {start.mode}
    assert all(key == conventional_key(key) for key in keys[1:])
