"""``edit`` and ``delete`` from the command line, and where they ask, in a real terminal."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from tests.player.children import ended, spawn

LATER = "2026-03-02T19:00:00Z"
LINES = """X:1
T:Blue stairs
M:4/4
L:1/8
Q:1/4=120
K:Bb
"Cm7"cdec "F7"A2c2 | "Bbmaj7"B4 "G7"B4 |]
"""


def shown(drillbox, key: str = "B♭") -> str:
    """Return the row of a key as ``show`` has it."""
    rows = drillbox("--plain", "show", "1").out.splitlines()
    return next(row for row in rows if row.startswith(f"key {key},") and "tempo" in row)


def kept(row: str) -> list[str]:
    """Return what a row says but for the chance at goal tempo, which a new goal does change."""
    return [part for part in row.split(", ") if not part.startswith("clean at goal")]


def test_title_goal_and_tags_keep_memory(kettle):
    """What changes is said with what it was, and that all is remembered; so it is."""
    kettle("drill", keys="f\n")
    before = shown(kettle)
    ran = kettle("edit", "blue", "--title", "Red stairs", "--goal", "100", "--tag", "duo",
                 now=LATER)  # fmt: skip
    assert "title: was Blue stairs, becomes Red stairs" in ran.out
    assert "goal: was 120, becomes 100" in ran.out
    assert "Every key keeps what you remember" in ran.out
    assert kept(shown(kettle)) == kept(before)
    kettle("edit", "red", "--goal", "220", now="2026-03-02T20:00:00Z")
    assert kept(shown(kettle)) == kept(before)
    assert "Red stairs" in kettle("phrases").out


def test_keys_owned_at_the_former_goal_are_counted(kettle):
    """A raised goal owns them no longer, and says how many; a goal lowered again owns them."""
    kettle("edit", "blue", "--goal", "40")
    kettle("settings", "owned_days", "7")
    for day in ("02", "03", "06", "16"):
        kettle("drill", "--key", "Bb", keys="f\n", now=f"2026-03-{day}T18:00:00Z")
    assert " owned, " in shown(kettle)
    ran = kettle("edit", "blue", "--goal", "200")
    assert "Owned keys at the new goal: 0, 1 fewer than now.\n" in ran.out
    assert " owned, " not in shown(kettle)
    ran = kettle("edit", "blue", "--goal", "40")
    assert "Owned keys at the new goal: 1, 1 more than now.\n" in ran.out
    assert " owned, " in shown(kettle)


def test_undo_takes_the_last_edit_back_once(kettle):
    """The chart is as it was; a second undo has nothing left."""
    before = shown(kettle)
    kettle("edit", "blue", "--turnaround", "Em7b5 Eb7")
    assert shown(kettle) != before
    assert "is as it was" in kettle("edit", "--undo").out
    assert shown(kettle) == before
    ran = kettle("edit", "--undo")
    assert (ran.code, ran.err.count("\n")) == (ExitCode.BAD_INPUT, 1)


def test_an_undo_typed_twice_leaves_other_phrases_alone(kettle):
    """The second one changes nothing; an older edit is undone where its phrase is named."""
    kettle("add", "--title", "Red door", "--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | C6")
    for number, (title, goal) in enumerate((("red", "200"), ("blue", "150"), ("blue", "160"))):
        kettle("edit", title, "--goal", goal, now=f"2026-03-02T19:0{number}:00Z")
    assert "'Blue stairs' is as it was" in kettle("edit", "--undo", now="2026-03-02T20:00:00Z").out
    before = kettle("phrases").out
    again = kettle("edit", "--undo", now="2026-03-02T20:01:00Z")
    assert again.code == ExitCode.BAD_INPUT
    assert again.err == (
        "drillbox: The last edit is undone already."
        " To undo an older one, name its phrase: drillbox edit PHRASE --undo\n"
    )
    assert kettle("phrases").out == before
    assert "goal 150" in before
    kettle("edit", "red", "--undo", now="2026-03-02T20:02:00Z")
    assert "goal 200" not in kettle("phrases").out


def test_what_started_over_never_stands_beside_its_successor(kettle):
    """Neither a second undo nor one of the retired phrase puts it back into drills."""
    for hour, key in ((19, "F"), (20, "Eb")):
        kettle("drill", keys="f\n", now=f"2026-03-02T{hour}:00:00Z")
        kettle("edit", "blue", "--key", key, "--yes", now=f"2026-03-02T{hour}:30:00Z")
    kettle("edit", "blue", "--goal", "150", now="2026-03-02T21:00:00Z")
    assert kettle("edit", "--undo", now="2026-03-02T21:01:00Z").code == ExitCode.OK
    assert kettle("edit", "--undo", now="2026-03-02T21:02:00Z").code == ExitCode.BAD_INPUT
    refused = kettle("edit", "Blue stairs (3)", "--undo", now="2026-03-02T21:03:00Z")
    assert "'Blue stairs (3)' is retired. Bring it back first" in refused.err
    assert kettle("phrases").out.count("Blue stairs") == 1


def test_the_last_edit_of_a_phrase_retired_since_is_not_passed_over(kettle):
    """It is named with the ways on; an older edit stays."""
    kettle("add", "--title", "Red door", "--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | C6")
    kettle("edit", "blue", "--goal", "150", now=LATER)
    kettle("edit", "red", "--goal", "200", now="2026-03-02T20:00:00Z")
    kettle("retire", "red")
    refused = kettle("edit", "--undo", now="2026-03-02T21:00:00Z")
    assert "The last edit was of 'Red door', which is retired" in refused.err
    assert "drillbox retire 'Red door' --back" in refused.err
    assert "goal 150" in kettle("phrases").out


@pytest.mark.parametrize("words", [("--key", "F"), ("--key", "F", "--afresh")])
def test_a_phrase_never_played_is_changed_where_it_stands(kettle, words: tuple[str, ...]):
    """It has no attempts to keep, so no empty phrase is left among the retired."""
    ran = kettle("edit", "blue", *words)
    assert "retired" not in ran.out
    assert "You haven't played it yet, so nothing is lost." in ran.out
    assert "key F," in kettle("--plain", "phrases").out
    assert "No phrase is retired" in kettle("phrases", "--retired").out
    kettle("edit", "--undo")
    assert "key B♭," in kettle("--plain", "phrases").out


@pytest.mark.parametrize(
    ("turnaround", "chart"),
    [
        ("decline", "Cm7 F7 | B♭maj7"),
        ("take", "Cm7 F7 | B♭maj7 (G7)"),
        ("D♭7", "Cm7 F7 | B♭maj7 (D♭7)"),
    ],
)
def test_a_turnaround_is_taken_declined_or_replaced(kettle, turnaround: str, chart: str):
    """The chart of the written key shows it."""
    kettle("edit", "blue", "--turnaround", turnaround)
    assert shown(kettle).endswith(f"chart {chart}")


def test_a_key_named_wrongly_begins_anew(kettle):
    """The chart is in another key then: the attempts stay with the former phrase, retired."""
    kettle("drill", keys="f\n")
    ran = kettle("edit", "blue", "--key", "Eb", "--yes")
    assert (
        "\nThe twelve keys have other notes now, so they start over. The 1 go so far stays with"
        " the former phrase, which is retired.\n"
    ) in ran.out
    assert "goes 0" in kettle("phrases").out
    assert "goes 1" in kettle("phrases", "--retired").out
    kettle("edit", "--undo")
    assert "goes 1" in kettle("phrases").out
    assert "No phrase is retired" in kettle("phrases", "--retired").out


@pytest.mark.parametrize("words", [("--afresh",), ("--key", "C")])
def test_without_a_terminal_keys_start_over_on_a_yes_alone(kettle, words: tuple[str, ...]):
    """What is typed or piped into it says none; a phrase never played has nothing to lose."""
    kettle("drill", keys="f\n")
    ran = kettle("edit", "blue", *words, keys="n\n")
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.err == "drillbox: Starting 'Blue stairs' over needs a yes. Add --yes.\n"
    assert "The 1 go so far stays" in ran.out
    assert "goes 1" in kettle("phrases").out
    assert kettle("edit", "blue", *words, "--yes").code == ExitCode.OK
    assert "goes 0" in kettle("phrases").out
    assert kettle("edit", "blue", "--afresh").code == ExitCode.OK


def test_key_and_chart_moved_together_keep_memory(kettle):
    """The same line, written in another key: each key is what it was."""
    kettle("drill", keys="f\n")
    ran = kettle("edit", "blue", "--key", "C", "--chart", "Dm7 G7 | Cmaj7 (A7)")
    assert "laid out again; each keeps" in ran.out
    assert "key C, goal 120" in kettle("phrases").out
    assert "goes 1" in shown(kettle)


def test_line_and_chart_come_from_a_file(kettle, tmp_path: Path):
    """What the phrase is called and its goal stay."""
    file = tmp_path / "lines.abc"
    file.write_text(LINES)
    ran = kettle("edit", "blue", "--file", str(file), "--goal", "132")
    assert "line: was 0 notes, becomes 8 notes" in ran.out
    assert "goal 132 · 8 notes" in kettle("show", "blue").out
    refused = kettle("edit", "blue", "--chart", "Cm7")
    assert refused.code == ExitCode.BAD_INPUT
    assert "--file" in refused.err


@pytest.mark.parametrize(
    ("music", "chart"),
    [
        ('"Cm7"cdec "F7"A2c2 | "Bbmaj7"B8 |]', "Cm7 F7 | B♭maj7 (G7)"),
        ('"Cm7"cdec "F7b9"A2c2 | "Bb6"B4 z4 |]', "Cm7 F7♭9 | B♭6 (G7)"),
        ('"Cm7"cdec "F7"A2c2 | "Bbmaj7"B4 "F7"c4 |]', "Cm7 F7 | B♭maj7 F7"),
        ('"Cm7"cdec "F7"A2c2 | "Bbmaj7"dfa_g ^f_g^fb |]', "Cm7 F7 | B♭maj7"),
        ('"Dm7"defd "G7"B2d2 | "Bbmaj7"B8 |]', "Dm7 G7 | B♭maj7"),
    ],
)
def test_a_turnaround_outlives_a_file_that_has_none(kettle, tmp_path: Path, music: str, chart: str):
    """Where the chart begins as before and ends with room for it, in chords and in the line."""
    file = tmp_path / "lines.abc"
    file.write_text(LINES[: LINES.index('"')] + music)
    assert kettle("edit", "blue", "--file", str(file)).code == ExitCode.OK
    assert shown(kettle).endswith(f"chart {chart}")


def test_a_key_is_put_aside_and_taken_back(kettle):
    """It says so where the phrase is shown, and no round plays it."""
    kettle("edit", "blue", "--aside", "Gb")
    assert ", put aside, chart " in shown(kettle, "G♭")
    assert "G♭" not in kettle("round", "blue", "--all").out
    refused = kettle("round", "blue", "--all", "--from", "F#")
    assert (
        "F# is put aside for 'Blue stairs'. Begin in another key, or bring it back" in refused.err
    )
    assert "0 of 11" in kettle("phrases").out
    kettle("edit", "blue", "--back", "F#")
    assert ", not started yet, chart " in shown(kettle, "G♭")


def test_a_symbol_that_is_read_in_one_of_several_ways_is_told(kettle):
    """As where a phrase is added."""
    said = kettle("edit", "blue", "--chart", "Cm7 F11 | Bbmaj7 (G7)").err
    assert "F11 is read" in said
    assert "is read" not in kettle("edit", "blue", "--chart", "Cm7 F7 | Bbmaj7 (G7)").err
    said = kettle("--ascii", "edit", "blue", "--key", "G Aeolian").err
    assert "G Aeolian is read as Gm: scales and hints are those of minor" in said


def test_a_key_put_aside_counts_nowhere(kettle):
    """It was played, but summary and progress say what is in practice: of that, nothing."""
    kettle("settings", "minutes", "1")  # short days are soon looked ahead over
    kettle("drill", "--key", "Bb", keys="c\nq\n")
    assert "1 new key started" in kettle("summary").out
    assert "started 1" in kettle("progress").out
    kettle("edit", "blue", "--aside", "Bb")
    assert "new key" not in kettle("summary").out
    assert "started 0" in kettle("progress").out


@pytest.mark.parametrize(
    "arguments",
    [
        ("edit", "--goal", "100"),
        ("edit", "blue"),
        ("edit", "blue", "--goal", "9"),
        ("edit", "blue", "--key", "H"),
        ("edit", "blue", "--key", ""),
        ("edit", "blue", "--meter", ""),
        ("edit", "blue", "--chart", ""),
        ("edit", "blue", "--title", ""),
        ("edit", "blue", "--goal", "100", "--chart", ""),
        ("edit", "blue", "--untag", "none"),
        ("edit", "blue", "--turnaround", "C | D"),
        ("edit", "blue", "--chart", "Cm7 | ?"),
        ("edit", "blue", "--chart", "N.C. | N.C."),
        ("edit", "blue", "--undo", "--goal", "100"),
        ("edit", "--undo", "--concert"),
        ("edit", "blue", "--aside", "Gb", "--back", "F#"),
        ("edit", "blue", "--goal", "100", "--part", "x"),
        ("delete", "blue"),
    ],
)
def test_what_cannot_be_used_changes_nothing(kettle, arguments: tuple[str, ...]):
    """One line, code 3, and the phrase as it was."""
    before = kettle("show", "blue").out
    ran = kettle(*arguments)
    assert (ran.code, ran.err.count("\n")) == (ExitCode.BAD_INPUT, 1)
    assert kettle("show", "blue").out == before


def test_a_meter_that_the_chords_cannot_share(kettle):
    """Nobody typed the chart: no line and column of it are named, and the way on is."""
    refused = kettle("edit", "blue", "--meter", "5/4").err
    assert refused.startswith("drillbox: The chords of a bar can't share 5/4 by themselves. Write")
    assert "--chart" in refused


def test_an_unknown_order_is_told_as_in_a_round(kettle):
    """One thing, one sentence."""
    told = {kettle(*words, "--order", "odd").err for words in (("edit", "1"), ("round", "1"))}
    assert len(told) == 1
    assert told.pop().startswith("drillbox: 'odd' isn't an order of keys. Choose one of fourths,")


def test_a_title_that_was_taken_since_is_not_undone(kettle):
    """It says how the title becomes free; then the undo goes through."""
    kettle("edit", "blue", "--title", "Green stairs")
    kettle("add", "--title", "Blue stairs", "--key", "C", "--tempo", "120", "--chart", "Dm7 | C6")
    refused = kettle("edit", "green", "--undo")
    assert refused.code == ExitCode.BAD_INPUT
    assert "another first: drillbox edit 'Blue stairs' --title OTHER" in refused.err
    kettle("edit", "Blue stairs", "--title", "OTHER")
    assert kettle("edit", "green", "--undo").code == ExitCode.OK
    assert "phrase Blue stairs" in kettle("phrases").out


def test_an_edit_that_changes_nothing_says_so(kettle):
    """And makes no undo of it."""
    assert "already" in kettle("edit", "blue", "--goal", "120").out
    assert kettle("edit", "--undo").code == ExitCode.BAD_INPUT


def test_a_backup_is_made_before(kettle):
    """It holds the phrase as it was."""
    kettle("edit", "blue", "--goal", "140")
    assert "before an edit" in kettle("store", "list").out


def test_a_deleted_phrase_is_gone_and_its_title_free(kettle, tmp_path: Path):
    """An import doesn't bring it back unless that is asked for."""
    kettle("drill", keys="f\n")
    export = tmp_path / "all.json"
    kettle("store", "export", str(export))
    assert kettle("delete", "blue", "--yes").code == ExitCode.OK
    assert "No phrases yet" in kettle("phrases").out
    ran = kettle("store", "import", str(export))
    assert ran.out.splitlines() == [
        "Nothing was changed.",
        "You deleted 'Blue stairs' here; to bring it back, import with --deleted.",
    ]
    assert "No phrases yet" in kettle("phrases").out
    kettle("store", "import", "--deleted", str(export))
    assert "goes 1" in kettle("phrases").out
    assert len(json.loads(export.read_text())["phrases"]) == 1


def test_an_import_names_the_command_that_takes_back_what_was_deleted_there(kettle, tmp_path: Path):
    """It can be typed as it stands."""
    other, export = str(tmp_path / "other.sqlite3"), str(tmp_path / "all.json")
    kettle("store", "export", export)
    kettle("--store", other, "store", "import", export)
    kettle("delete", "blue", "--yes", now=LATER)
    kettle("store", "export", export)
    ran = kettle("--store", other, "store", "import", export)
    assert "To bring it back: drillbox retire 'Blue stairs' --back\n" in ran.out
    kettle("--store", other, "retire", "Blue stairs", "--back", now=LATER)
    assert "Blue stairs" in kettle("--store", other, "phrases").out


def test_deleting_asks_in_a_terminal(kettle, place: Path):
    """No is the default; a yes deletes."""
    child = spawn(place, "delete", "blue")
    child.expect("Delete Blue stairs for good")
    child.sendline("")
    child.expect("Nothing is deleted")
    ended(child)
    child = spawn(place, "delete", "blue")
    child.expect("for good")
    child.sendline("y")
    child.expect("is deleted")
    ended(child)
    assert "No phrases yet" in kettle("phrases").out


def test_an_edit_says_step_by_step_in_a_terminal_what_it_does(kettle, place: Path):
    """What was and becomes, what stays in memory, that it is done, how to undo it; and undone.

    On 40 columns nothing is cut off.
    """
    child = spawn(place, "edit", "blue", "--goal", "168", "--tag", "duo", size=(20, 40))
    for said in ("Blue stairs", "goal *was 120, becomes 168|168", "duo", "keeps what you",
                 "The tempo reached stays", "Changed. To undo: drillbox edit --undo"):  # fmt: skip
        child.expect(said)
    ended(child)
    child = spawn(place, "edit", "--undo", size=(20, 40))
    child.expect("'Blue stairs' is as it was before its")
    ended(child)
    assert "goal 120" in kettle("phrases").out


def test_beginning_anew_asks_in_a_terminal_where_attempts_are_at_stake(kettle, place: Path):
    """No leaves all as it is."""
    kettle("drill", keys="f\n")
    child = spawn(place, "edit", "blue", "--afresh")
    child.expect("All twelve keys start over")
    child.expect("Start over")
    child.sendline("n")
    child.expect("Nothing is changed")
    ended(child)
    assert "goes 1" in kettle("phrases").out


def test_the_backup_of_a_deletion_outlives_edits(kettle):
    """It is called so, and eleven edits of other phrases leave it where it is."""
    kettle("add", "--title", "Red door", "--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | C6")
    kettle("delete", "blue", "--yes")
    for goal in range(130, 141):
        kettle("edit", "red", "--goal", str(goal))
    listed = kettle("store", "list").out
    assert listed.count("before a deletion") == 1
    assert listed.count("before an edit") == 10
