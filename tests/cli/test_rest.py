"""A rest is proposed once, after 25 minutes of playing, with the caution's one line."""

from __future__ import annotations

CAUTION = (
    "Rest five minutes in each half hour, stop on pain, mind the volume. Not medical advice; "
    "ask a licensed professional, and follow local rules on noise."
)


def test_a_rest_is_proposed_once(drillbox):
    """Attempts of 124 seconds each: after the thirteenth, at 26:52, and not again."""
    for number in range(16):
        drillbox("add", "--title", f"Line {number}", "--key", "C", "--tempo", "400",
                 "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    drillbox("settings", "goes", "1")
    drillbox("settings", "between_goes", "120")
    ran = drillbox("drill", "--minutes", "60", keys="c\n" * 16)
    rated = [line for line in ran.out.splitlines() if ": clean." in line]
    assert len(rated) == 16
    assert [CAUTION in line for line in rated].index(True) == 12
    assert sum(CAUTION in line for line in rated) == 1
    assert ran.out.count("You have played for 25 minutes") == 1
