"""``summary``, ``progress``, ``upcoming`` and ``report`` from the command line."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import drillbox.screen
from drillbox.cli.context import waiting
from drillbox.errors import ExitCode
from tests.conftest import Ran

SCHEMA = json.loads(
    (Path(drillbox.screen.__file__).parent / "summary.schema.json").read_text(encoding="utf-8")
)
LATER = "2026-03-05T18:00:00Z"

Run = Callable[..., Ran]


@pytest.fixture
def played(kettle: Run) -> Run:
    """Return what runs a command over one phrase with three attempts on two days."""
    kettle("settings", "minutes", "1")  # short days are soon looked ahead over
    kettle("drill", keys="l\nc\n")
    kettle("drill", keys="c\nq\n", now="2026-03-04T18:00:00Z")
    return kettle


def document(ran: Ran) -> dict[str, Any]:
    assert ran.code == ExitCode.OK, ran.err
    found: dict[str, Any] = json.loads(ran.out)
    jsonschema.validate(found, SCHEMA, cls=jsonschema.Draft202012Validator)
    return found


def test_an_empty_store(drillbox: Run) -> None:
    """Each command says how to begin, and none fails."""
    for command in ("summary", "progress", "upcoming"):
        ran = drillbox(command)
        assert ran.code == ExitCode.OK
        assert "drillbox" in ran.out


def test_a_phrase_never_played(kettle: Run) -> None:
    """Summary says what there is and how to start."""
    ran = kettle("summary")
    assert "1 phrase in 12 keys, and nothing rated yet" in ran.out
    assert "drillbox drill" in ran.out


def test_the_summary_says_verdict_evidence_memory_and_what_is_next(played: Run) -> None:
    """In a pipe: line by line, in words."""
    out = played("--ascii", "summary", now=LATER).out
    assert "phrase Blue stairs, verdict not enough played yet, share 50%" in out
    assert "first goes 2 (1 clean or fluent)" in out
    assert "weak: 5 first goes at least" in out
    assert "Blue stairs: Bb climbing, 11 not started or put aside" in out
    assert "Today: 1 of 12 keys started, 0 at goal tempo, 0 owned" in out
    assert "clean at goal now" in out
    assert "Waiting for tempo and memory: 'Blue stairs' (1 key, at" in out
    assert out.splitlines()[-1].startswith("Next: ")


def test_one_phrase_and_one_key(played: Run) -> None:
    """By the beginning of a title, by a key's name; unknown ones are named."""
    assert "Blue stairs, key by key" in played("summary", "--phrase", "blue").out
    assert "Phrases in Bb" in played("--ascii", "summary", "--key", "bb").out
    assert "Nothing of F was played yet" in played("summary", "--key", "F").out
    ran = played("summary", "--phrase", "Gone")
    assert (ran.code, ran.err.count("\n")) == (ExitCode.NOT_FOUND, 1)
    assert played("summary", "--key", "H").code == ExitCode.BAD_INPUT


@pytest.mark.parametrize(
    ("scope", "said"),
    [
        (["--key", "Am"], "None of your phrases is drilled in Am.\n"),
        (["--phrase", "1", "--key", "Am"], "'Blue stairs' isn't drilled in Am.\n"),
        (["--phrase", "1", "--key", "Bb"], "'Blue stairs' isn't drilled in Bb.\n"),
    ],
)
def test_a_key_that_is_never_drilled_isnt_promised(
    played: Run, scope: list[str], said: str
) -> None:
    """None of the phrase's, or put aside after it was played."""
    played("edit", "1", "--aside", "Bb")
    assert played("--ascii", "summary", *scope).out == said


@pytest.mark.parametrize(
    ("option", "code"),
    [
        ("--phrase", ExitCode.NOT_FOUND),
        ("--key", ExitCode.BAD_INPUT),
        ("--since", ExitCode.BAD_INPUT),
    ],
)
def test_an_empty_value_is_refused(kettle: Run, option: str, code: ExitCode) -> None:
    """A script whose variable is empty doesn't get the summary of all instead."""
    ran = kettle("summary", "--json", option, "")
    assert (ran.code, ran.out, ran.err.count("\n")) == (code, "", 1)


def test_a_retired_phrase_says_so(played: Run) -> None:
    """It stands in no summary; the way back is named."""
    played("retire", "Blue")
    out = played("summary", "--phrase", "Blue").out
    assert "'Blue stairs' is retired" in out
    assert "--back" in out


def test_since_takes_a_day(played: Run) -> None:
    """From that day on; a word that isn't a day, a day to come and one of another age are refused
    in one line."""
    out = played("summary", "--since", "2026-03-04", now=LATER).out
    assert "first goes 1 (1 clean or fluent)" in out
    assert "Since 2026-03-04: 1 go in" in out
    for wrong in ("yesterday", "2026-13-01", "2026-04-01", "0001-01-01"):
        ran = played("summary", "--since", wrong, now=LATER)
        assert (ran.code, ran.err.count("\n")) == (ExitCode.BAD_INPUT, 1)


def test_json_keeps_to_its_schema(drillbox: Run, played: Run) -> None:
    """Valid by jsonschema, an implementation apart, in every scope; the version is 2."""
    found = document(played("summary", "--json", now=LATER))
    assert (found["format"], found["version"]) == ("drillbox-summary", 2)
    assert found["phrases"][0]["tries"] == 2
    assert found["cards"][0]["key"] == "Bb"
    assert found["present"]["cards"] == 12
    one = document(played("summary", "--json", "--phrase", "Blue", "--key", "Bb", now=LATER))
    assert one["scope"] == {"phrase": "Blue stairs", "key": "Bb"}


def test_json_of_an_empty_store(drillbox: Run) -> None:
    """No rows and no mean, and still by the schema."""
    found = document(drillbox("summary", "--json"))
    assert (found["keys"], found["mean"], found["advice"]["kind"]) == ([], None, "add")


def test_the_schema_refuses_what_it_should(played: Run) -> None:
    """A verdict of another word, a share over 1 and a missing name are no summary."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    found = document(played("summary", "--json", now=LATER))
    for name, value in (("verdict", "hopeless"), ("share", 1.5), ("due", "soon")):
        wrong = json.loads(json.dumps(found))
        wrong["phrases"][0][name] = value
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, SCHEMA, cls=jsonschema.Draft202012Validator)
    del found["advice"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(found, SCHEMA, cls=jsonschema.Draft202012Validator)


def test_progress_by_week(played: Run) -> None:
    """One week with three attempts, two first tries, one of them recalled."""
    out = played("progress", now=LATER).out
    assert "week of 2026-03-02, minutes" in out
    assert "goes 3, recalled 50%" in out


def test_upcoming_can_leave_the_question_of_more_phrases_out(played: Run) -> None:
    """Asked for so many, or for none."""
    assert "With two more phrases in the same minutes" in played("upcoming", "--adding", "2").out
    assert "more phrase" not in played("upcoming", "--adding", "0").out
    assert played("upcoming", "--days", "0").code == ExitCode.USAGE


def test_a_report_is_written_and_not_overwritten(played: Run, tmp_path: Path) -> None:
    """The file is named; a second time needs --force."""
    place = tmp_path / "report.html"
    ran = played("report", "--out", str(place), now=LATER)
    assert ran.code == ExitCode.OK, ran.err
    assert str(place) in ran.out
    page = place.read_text(encoding="utf-8")
    assert "Blue stairs" in page
    again = played("report", "--out", str(place), now=LATER)
    assert (again.code, again.err.count("\n")) == (ExitCode.BAD_INPUT, 1)
    assert "--force" in again.err
    assert played("report", "--out", str(place), "--force", now=LATER).code == ExitCode.OK
    assert place.read_text(encoding="utf-8") == page


@pytest.mark.parametrize("name", ["page.txt", "page", "page.html.bak", "."])
def test_a_report_is_named_as_a_page(played: Run, tmp_path: Path, name: str) -> None:
    """A name that no browser takes for one is refused, and nothing written."""
    before = set(tmp_path.iterdir())
    ran = played("report", "--out", str(tmp_path / name), now=LATER)
    assert (ran.code, ran.err.count("\n")) == (ExitCode.BAD_INPUT, 1)
    assert "End its name in .html" in ran.err or name == "."
    assert set(tmp_path.iterdir()) == before
    assert played("report", "--out", str(tmp_path / "page.HTM"), now=LATER).code == ExitCode.OK


@pytest.mark.parametrize("command", [("report",), ("loop", "blue")])
def test_out_has_to_name_a_file(kettle: Run, command: tuple[str, ...]) -> None:
    """Empty, as an unset variable of the shell is: it isn't taken for the folder where one is."""
    ran = kettle(*command, "--out", "")
    assert (ran.code, ran.err) == (
        ExitCode.BAD_INPUT, "drillbox: --out names no file. Name one, as in --out FILE\n",
    )  # fmt: skip


def test_a_summary_loads_no_more_than_it_needs(played: Run, place: Path) -> None:
    """Never music21, alembic or matplotlib; numpy only where there is something to estimate,
    the memory's library only where days are played through.

    One process runs all three, those that load less before those that load more.
    """
    words = (
        "import sys; from drillbox.cli import run\n"
        "for line in sys.argv[2:]:\n"
        "    code = run(['--store', sys.argv[1], *line.split()])\n"
        "    print(code, *sorted({'music21', 'alembic', 'matplotlib', 'numpy', 'fsrs', 'scipy'}"
        " & sys.modules.keys()), file=sys.stderr)\n"
    )
    command = [sys.executable, "-c", words, place, "progress", "upcoming --days 2", "summary"]
    ran = subprocess.run(command, check=True, capture_output=True, text=True)
    progress, upcoming, summary = ran.stderr.splitlines()
    assert progress == "0"
    assert "numpy" not in upcoming
    assert summary == "0 fsrs numpy"


def test_long_work_tells_how_far_it_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing within the first second, then a line every ten seconds, on stderr."""
    seconds = iter([0.0, 0.5, 1.2, 1.2, 5.0, 11.9, 11.9])
    monkeypatch.setattr("drillbox.cli.context.time.monotonic", lambda: next(seconds))
    with waiting("Replaying your log") as tick:
        for done in range(4):
            tick(done, 8)
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == "Replaying your log: 12%\nReplaying your log: 37%\n"


def test_a_report_of_retired_phrases_says_so(kettle: Run, tmp_path: Path) -> None:
    """As the summary does; where there is no phrase, both say how to begin."""
    kettle("retire", "Blue")
    page = tmp_path / "page.html"
    assert kettle("report", "--out", str(page)).code == ExitCode.OK
    assert "All your phrases are retired" in page.read_text()
    assert "All your phrases are retired" in kettle("summary").out
