"""``drillbox listen``: hear a recording or the instrument, and propose a rating."""

from __future__ import annotations

import sys
from collections.abc import Callable
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.completing import key_names, phrase_titles
from drillbox.cli.context import Asked, asked, waiting
from drillbox.errors import BadInput
from drillbox.output import counted, drawing

if TYPE_CHECKING:
    from drillbox.practice.listening import Click
    from drillbox.terminal.ears import Ear, EarKind

TEMPO = Annotated[
    str | None,
    typer.Option(metavar="N", help="The click's tempo, if there was one (your own time)."),
]
START = Annotated[
    float | None,
    typer.Option(metavar="SECONDS", help="Where the first bar begins (found from the notes)."),
]
DEVICES = Annotated[bool, typer.Option("--list", help="List the MIDI ports and microphones.")]
TRYING = Annotated[
    str | None, typer.Option("--try", metavar="HOW", help="Show what midi or mic hears.")
]
SAVE = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Record the microphone into a .wav file, until a press."),
]
FORCE = Annotated[bool, typer.Option("--force", help="Overwrite a file.")]
CLOSER = "Wear headphones, or turn the click down, to keep it out of the microphone."


def listen(
    ctx: typer.Context,
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A recording: .mid or .wav.")
    ] = None,
    phrase: Annotated[
        str | None,
        typer.Option(
            metavar="PHRASE", help="The phrase that was played.", autocompletion=phrase_titles
        ),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(metavar="KEY", help="The key (the written one).", autocompletion=key_names),
    ] = None,
    tempo: TEMPO = None,
    start: START = None,
    devices: DEVICES = False,
    trying: TRYING = None,
    save: SAVE = None,
    force: FORCE = False,
) -> None:
    """Hear one go and propose its rating. Sound never leaves drillbox, and none is kept
    unless you record it with --save."""
    options = asked(ctx)
    ways = {"a file": file, "--list": devices or None, "--try": trying, "--save": save}
    if len(given := [name for name, value in ways.items() if value is not None]) > 1:
        raise BadInput(f"Both {given[0]} and {given[1]} were given", "Use one of them at a time.")
    if devices:
        list_devices()
    elif trying is not None:
        try_out(options, trying)
    elif save is not None:
        save_recording(options, save, force=force)
    elif file is not None and phrase is None:
        raise BadInput(f"No phrase was named for {file}", "Say which was played: --phrase PHRASE")
    elif file is None or phrase is None:
        raise BadInput(
            "Nothing to listen to",
            "Name a recording and its phrase, as in: drillbox listen take.wav --phrase 1",
        )
    else:
        hear(options, file, phrase, key, click_of(tempo, start))


def click_of(tempo: str | None, start: float | None) -> Click:
    """Return what was played to; raise BadInput for a start without a tempo."""
    from drillbox.music.phrases import check_tempo
    from drillbox.practice.listening import Click

    if start is not None and tempo is None:
        raise BadInput("--start is for a go with a click", "Add --tempo, or leave it out.")
    if start is not None and not isfinite(start):
        raise BadInput(f"--start {start} isn't a time", "Give seconds, as in: --start 1.5")
    return Click(check_tempo(tempo) if tempo is not None else None, start)


def hear(options: Asked, file: Path, phrase: str, key: str | None, click: Click) -> None:
    """Judge a recording and print the proposal."""
    from drillbox.practice.listening import Listener, hear_file
    from drillbox.practice.preferences import card_as_read, card_in
    from drillbox.screen.look import clean
    from drillbox.store.card_rows import cards_of
    from drillbox.store.phrase_rows import find_phrase

    ascii = options.look.ascii
    with options.opened() as (store, preferences):
        record = find_phrase(store, phrase)
        cards = cards_of(store, record.id)
        card = cards[0] if key is None else card_in(record.phrase, cards, key, preferences)
        read = card_as_read(store, card, preferences)
        listener = Listener(store, card, read, preferences, ascii=ascii)
    with waiting("Listening") as tick:
        heard = hear_file(listener, file, click, tick)
    title = clean(record.title, ascii=ascii)
    options.say(f"{title} in {read.key.text(ascii=ascii)}")
    options.say(heard.text)


def list_devices() -> None:
    """Print the MIDI ports and the microphones, or why there are none."""
    from drillbox.screen.look import clean
    from drillbox.terminal.ears import devices_listed

    for kind, found in devices_listed().items():
        print("MIDI ports:" if kind == "midi" else "Microphones:")
        lines = [f"none ({found})"] if isinstance(found, str) else found or ["none"]
        for line in lines:
            print(f"  {clean(line, ascii=False)}")


def try_out(options: Asked, how: str) -> None:
    """Check the click's way back, then show what is heard until something is pressed."""
    from drillbox.practice.listening import sounding_name
    from drillbox.terminal.keyboards import open_keys
    from drillbox.terminal.trying import measured_echo, show_heard

    if how not in {"midi", "mic"}:
        raise BadInput(f"--try needs midi or mic, not {how!r}", "As in: drillbox listen --try mic")
    if not options.terminal.interactive:
        raise BadInput("--try needs a terminal", "Run it without a pipe.")
    with options.opened() as (_, preferences):
        pass
    ear = opened_ear("midi" if how == "midi" else "mic", preferences.listen_to)
    try:
        if how == "mic":
            print("Eight clicks: hold still ...", flush=True)
            found = delay_line(measured_echo(ear, preferences.volume))
            options.say(found)
        ear.begin()
        print("Play; press anything to end.", flush=True)
        with open_keys(options.terminal) as keys:
            show_heard(
                ear,
                keys,
                lambda each: sounding_name(each, preferences, ascii=options.look.ascii),
                line_writer(options.terminal.width - 1),
            )
        print(f"\n{ear.problem}" if ear.problem else "")
    finally:
        ear.close()


def line_writer(width: int) -> Callable[[str], None]:
    """Return what writes a line of so many cells over the one before."""
    out = drawing(sys.stdout)

    def show(line: str) -> None:
        out.write(f"\r{line[:width]:<{width}}")
        out.flush()

    return show


def delay_line(found: object) -> str:
    """Say how the click comes back, and what to do about it."""
    from drillbox.hearing.check import Echo

    if isinstance(found, str):
        return found
    if not isinstance(found, Echo):
        return "The microphone doesn't hear the click."
    delay = round(found.delay * 1000)
    return (
        f"The click comes back after {delay} ms, {-found.level:.0f} dB under full scale. {CLOSER} "
        f"If your timing seems off, set: drillbox settings listen_delay {delay}"
    )


def save_recording(options: Asked, place: Path, *, force: bool) -> None:
    """Record the microphone into a file until something is pressed."""
    from drillbox.hearing.files import LONGEST
    from drillbox.practice.listening import save_wav
    from drillbox.sound.ticks import RATE
    from drillbox.store.files import check_place
    from drillbox.terminal.keyboards import open_keys
    from drillbox.terminal.trying import record_sound

    if place.suffix.lower() != ".wav" or not options.terminal.interactive:
        raise BadInput("--save needs a terminal, and a file named .wav", "As in: --save take.wav")
    check_place(place, example="take.wav", force=force)
    with options.opened() as (_, preferences):
        pass
    ear = opened_ear("mic", preferences.listen_to)
    try:
        print(f"Recording, {LONGEST // 60} minutes at most; press anything to end.", flush=True)
        with open_keys(options.terminal) as keys:
            sound = record_sound(ear, keys)
    finally:
        ear.close()
    save_wav(place, sound, RATE)
    options.say(f"{counted(round(len(sound) / 2 / RATE), 'second')} in {place}.")


def opened_ear(kind: EarKind, name: str) -> Ear:
    """Return an ear that hears; raise BadInput, saying why, where there is none."""
    import time

    from drillbox.terminal.ears import PATIENCE, open_ear

    ear, until = open_ear(kind, name), time.monotonic() + PATIENCE
    while not (ear.ready or ear.problem) and time.monotonic() < until:
        time.sleep(0.05)
    if ear.problem:
        problem = ear.problem.removeprefix("Not listening: ").rstrip(".")
        ear.close()
        raise BadInput(problem, "See: drillbox listen --list")
    return ear


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("listen")(listen)
