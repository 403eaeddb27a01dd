"""The printed chart on its own; that it reads back is proved beside the reader."""

from __future__ import annotations

import subprocess
import sys

from drillbox.music.charts import Meter
from drillbox.music.symbols.printed_chart import chart_text, grouped
from tests.music.shorthand import chart


def test_bars_have_the_fewest_parts() -> None:
    """A whole bar is one symbol; three beats and one are four parts; no chord has its sign."""
    assert chart_text(chart("C | F _ _ G7 | NC")) == "C | F / / G7 | N.C."
    assert chart_text(chart("C _ F _ | G7 _ _ _")) == "C F | G7"
    assert chart_text(chart("C _ F", Meter(3, 4))) == "C / F"


def test_the_turnaround_stands_in_parentheses_bar_by_bar() -> None:
    """Its slashes are inside; a bar of it alone is wholly in parentheses."""
    assert chart_text(chart("C _ Dm7* _ | G7*")) == "C (Dm7) | (G7)"
    assert chart_text(chart("C Dm7* _ _ ")) == "C (Dm7 / /)"
    assert grouped([("C", False), ("/", False), ("G7", True)]) == "C / (G7)"


def test_unicode_signs_on_request() -> None:
    """ASCII unless the terminal can do more."""
    assert chart_text(chart("Bbm7b5 Eb7"), ascii=False) == "B♭ø7 E♭7"


def test_printing_doesn_t_load_the_reader_of_symbols() -> None:
    """A drill prints charts and never reads them, so it doesn't pay for reading."""
    code = (
        "import drillbox.music.symbols.printed_chart, sys\n"
        "print('drillbox.music.symbols.parsing' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
