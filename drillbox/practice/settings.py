"""The settings that there are, with default, bounds and reason; and the zone of the system."""

from __future__ import annotations

import os
import re
import zoneinfo
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from drillbox.errors import BadInput
from drillbox.memory.rules import SETTINGS, as_typed
from drillbox.music.keys import ORDERS, Key, conventional_key, is_signed, parse_key
from drillbox.output import is_utf8
from drillbox.store.files import ROOM, ROOM_SETTING, is_whole, read_room

PEDALS = ("start", "clean", "rough", "lost", "fluent", "next")
"""What a pedal may do: start and stop the beat, rate, or pass on to the next key."""
Value = str | int | float


class OneOf:
    """Reads one of a few names."""

    def __init__(self, *names: str) -> None:
        self.names = names

    def __call__(self, text: str) -> str:
        """Return the name; raise ValueError for any other."""
        if text not in self.names:
            raise ValueError("one of " + ", ".join(self.names))
        return text


@dataclass(frozen=True, slots=True)
class Preference:
    """A setting: its default and its reason.

    ``read`` takes what was typed; it raises ValueError or BadInput for what can't be.
    """

    name: str
    default: Value
    reason: str
    read: Callable[[str], Value]

    @property
    def choices(self) -> tuple[str, ...]:
        """Return the names it may be, none where it isn't one of a few."""
        return self.read.names if isinstance(self.read, OneOf) else ()


def _read_pedal(text: str) -> str:
    """Read what the left and the right pedal do."""
    words = text.lower().split()
    if words == ["off"]:
        return "off"
    if len(words) != 2 or not set(words) <= set(PEDALS):
        choices = ", ".join(PEDALS)
        raise ValueError(f"'off', or what left and right do, as in 'start clean': {choices}")
    return " ".join(words)


def _reader_of_whole(low: int, high: int, of: str = "") -> Callable[[str], int]:
    """Return what reads a whole number within bounds; ``of`` names what is counted."""

    def read(text: str) -> int:
        if not (is_whole(text) and low <= int(text) <= high):
            raise ValueError(f"a whole number{of and f' of {of}'} from {low} to {high}")
        return int(text)

    return read


_seconds = _reader_of_whole(0, 60, "seconds")
_percent = _reader_of_whole(0, 100)


LONGEST_DEVICE = 500


def _read_device(text: str) -> str:
    """Read the name of a port or a microphone, or a part of it; "" for the first."""
    if len(text) > LONGEST_DEVICE or not is_utf8(text):
        raise ValueError(
            f"the name of a port or a microphone, or a part of it: up to {LONGEST_DEVICE}"
            " characters, in UTF-8"
        )
    return text.strip()


def _read_zone(text: str) -> str:
    if text != "system" and not _is_zone(text):
        raise ValueError("'system' or a zone such as Europe/Lisbon")
    return text


def _is_zone(text: str) -> bool:
    """Return whether a text is the IANA name of a zone, which begins with a capital letter.

    Beside them lie files whose zone is another one on each computer, such as localtime.
    """
    try:
        return text[:1].isupper() and bool(zoneinfo.ZoneInfo(text))
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False


def _read_instrument(text: str) -> str:
    from drillbox.music.moving.instruments import find_instrument  # only where one is named

    try:
        return find_instrument(_PITCH.sub(lambda found: found[0].upper(), text)).name
    except BadInput as problem:
        if name := _without_its_key(text):
            return name
        raise ValueError(problem.remedy.rstrip(".")) from None


# A letter that a pitch or a transposition begins with: the b of "bb e3-bb5".
_PITCH = re.compile(r"(?<![A-Za-z])[a-g](?=[b#♭♯]?\d|[b#♭♯]?\s+[A-Ga-g][b#♭♯]?\d)")


def _without_its_key(text: str) -> str:
    """Return the instrument that is named after its key, as in Bb trumpet; "" where none is."""
    from drillbox.music.moving.instruments import find_instrument
    from drillbox.music.pitch import Name, parse_name

    if not (named := re.fullmatch(r"([A-Ga-g])([b#♭♯]?)\s+(\D+)", text)):
        return ""
    try:
        found, sounds = find_instrument(named[3]), parse_name(named[1].upper() + named[2])
    except (BadInput, ValueError):
        return ""
    above = sounds.interval_to(Name("C")).semitones
    return "" if (found.above.semitones - above) % 12 else found.name


def _read_keys(text: str) -> str:
    """Read the player's own order: twelve keys, each once.

    They are kept by their tonics, as those of major keys: G# minor as Ab.
    """
    try:
        keys = [parse_key(word) for word in text.replace(",", " ").split()]
    except BadInput as problem:
        raise ValueError(f"only keys: {problem.line()}") from None
    if keys and len({key.tonic.pitch_class for key in keys}) != 12:
        raise ValueError("twelve keys, each once, such as 'C G D A E B Gb Db Ab Eb Bb F'")
    if len(keys) not in {0, 12}:
        raise ValueError("twelve keys, each once")
    majors = [Key(key.tonic, "major") for key in keys]
    named = [each if is_signed(each) else conventional_key(each) for each in majors]
    return " ".join(each.tonic.text() for each in named)


OWN = (
    Preference("order", "fourths", "the order in which a phrase's keys start", OneOf(*ORDERS)),
    Preference("own_order", "", "twelve keys for the order 'own'", _read_keys),
    Preference("gb", "Gb", "how the key of six accidentals is spelled", OneOf("Gb", "F#")),
    Preference("ebm", "Ebm", "how the minor key of six accidentals is spelled",
               OneOf("Ebm", "D#m")),
    Preference("turnaround", "dominant", "how a proposed turnaround leads back",
               OneOf("dominant", "two-five", "substitute")),
    Preference("instrument", "concert", "your instrument; charts are shown at its written pitch",
               _read_instrument),
    Preference("beat", "written", "in double time, which beat is shown and clicked",
               OneOf("written", "doubled")),
    Preference("click", "sound", "how the beat is heard", OneOf("sound", "bell", "off")),
    Preference("click_beats", "every", "which beats are clicked",
               OneOf("every", "2-and-4", "bar")),
    Preference("backing", "off", "what is played under the beat besides the click",
               OneOf("off", "bass", "bass-and-chords")),
    Preference("swing", "light", "how eighths are played when you hear a line; ever more even at "
               "fast tempos, even in double time", OneOf("even", "light", "triplet")),
    Preference("next_after", 4, "seconds from a rating to the next count-in; "
               "0: wait until you start it", _seconds),
    Preference("listen", "off", "hear your goes and propose a rating; nothing is recorded",
               OneOf("midi", "mic", "off")),
    Preference("listen_to", "", "the MIDI port or microphone to listen to, or a part of its "
               "name; empty: the first", _read_device),
    Preference("listen_delay", 0, "milliseconds that sound takes from the click to the "
               "microphone; 'drillbox listen --try mic' measures it",
               _reader_of_whole(0, 500, "milliseconds")),
    Preference("accept_after", 0, "seconds after which a proposed rating is taken, unless "
               "you played slower; 0: never", _seconds),
    Preference("pedal", "off", f"what a page-turning pedal does, left and right: off, or "
               f"two of {', '.join(PEDALS)}", _read_pedal),
    Preference("volume", "70", "loudness of the click, 0 to 100; mind your ears",
               lambda text: str(_percent(text))),
    Preference("half_life", 90, "days after which a go counts only half in the summary",
               _reader_of_whole(7, 3650, "days")),
    Preference(ROOM_SETTING, ROOM, "megabytes that all backups of your store may take",
               read_room),
    Preference("zone", "system", "the time zone of your practice days", _read_zone),
)  # fmt: skip

PREFERENCES: dict[str, Preference] = {each.name: each for each in OWN} | {
    each.name: Preference(each.name, each.default, each.reason, each.read) for each in SETTINGS
}


def stored_value(name: str, value: object) -> Value:
    """Return the value of a setting as a store or a document holds it, checked like a typed one.

    Raises ValueError or BadInput where it can't be.
    """
    setting = PREFERENCES[name]
    return setting.read(as_typed(value, setting.default))


def known_setting(name: str) -> Preference:
    """Return the setting of that name; raise BadInput if there is none."""
    if name not in PREFERENCES:
        raise BadInput(f"There is no setting {name!r}", "'drillbox settings' lists them all.")
    return PREFERENCES[name]


def read_setting(name: str, text: str) -> Value:
    """Return a typed setting's value; raise BadInput if there is no such one or it can't be."""
    setting = known_setting(name)
    try:
        return setting.read(text.strip())
    except ValueError as problem:
        remedy = str(problem)  # a phrase such as "a day", or a sentence
        said = remedy if remedy[:1].isupper() else f"Use {remedy.rstrip('.')}."
        raise BadInput(f"{text[:80]!r} can't be set as {name}", said) from None


_FIXED = re.compile(r"(?:[A-Za-z]{3,}|<[A-Za-z0-9+-]{3,}>)([+-]?\d{1,2})")


_NAME_YOURS = "Name yours: drillbox settings zone Europe/Lisbon (or another)."


def system_zone(env: Mapping[str, str] = os.environ, clock: Path = Path("/etc/localtime")) -> str:
    """Return the zone that TZ names, or else the one that the system is set to.

    Raises BadInput where there is one that has no name.
    """
    told = env.get("TZ", "").removeprefix(":")
    if told and told != "localtime" and not told.startswith("/"):
        return _zone_in_tz(told)
    from tzlocal import get_localzone_name  # read only where the zone isn't set

    if name := get_localzone_name() or ("" if clock.exists() else "UTC") or _zone_copied_to(clock):
        return str(name)
    raise BadInput(f"The system's time zone ({clock}) has no known name", _NAME_YOURS)


def _zone_in_tz(text: str) -> str:
    """Return the zone that a TZ names: a zone, or hours west of Greenwich as POSIX writes them."""
    # The same zones once more, with and without leap seconds, lie in folders of these names.
    if _is_zone(zone := text.removeprefix("posix/").removeprefix("right/")):
        return zone
    if fixed := _FIXED.fullmatch(text):
        hours = int(fixed[1])
        # These names count west of Greenwich as well.
        if -14 <= hours <= 12:
            return f"Etc/GMT{hours:+d}" if hours else "Etc/UTC"
    raise BadInput(f"TZ is {text[:80]!r}, which isn't a time zone", _NAME_YOURS)


def _zone_copied_to(clock: Path) -> str | None:
    """Return the zone whose rules a file holds that was copied instead of linked."""
    rules = clock.read_bytes()
    names = sorted(zoneinfo.available_timezones(), key=lambda name: ("/" not in name, name))
    for name in names:
        for folder in zoneinfo.TZPATH:
            try:
                if Path(folder, name).read_bytes() == rules:
                    return name
            except OSError:
                continue
    return None
