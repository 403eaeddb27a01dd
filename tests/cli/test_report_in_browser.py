"""The report in a real browser, without a window: its grounds, its paper, its width."""

from __future__ import annotations

import io
import re
import shutil
import struct
import subprocess
import sys
import zlib
from html import escape
from pathlib import Path

import pytest

from drillbox.cli import run
from drillbox.screen.report_style import DARK, LIGHT
from tests.conftest import copied

BROWSER = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome")
     if (found := shutil.which(name))), None,
)  # fmt: skip
pytestmark = pytest.mark.skipif(BROWSER is None, reason="needs Chromium (Debian: chromium)")


@pytest.fixture(scope="module")
def page(blue_stairs: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the report of one phrase with two attempts; it is read, not changed."""
    store = copied(blue_stairs, tmp_path_factory.mktemp("report") / "store.sqlite3")
    place = store.with_name("report.html")
    for day, keys, *words in (
        (2, "c\n", "drill"), (4, "r\nq\n", "drill"),
        (5, "", "settings", "minutes", "5"),  # short days are soon looked ahead over
        (5, "", "report", "--out", str(place)),
    ):  # fmt: skip
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("DRILLBOX_NOW", f"2026-03-{day:02}T18:00:00Z")
            patch.setattr(sys, "stdin", io.StringIO(keys))
            assert run(["--store", str(store), *words]) == 0
    return place


NARROW = 390
WRAPPED = """<iframe width={width} height=4000 style="border:0" srcdoc="{page}"></iframe><pre></pre>
<script>onload = () => {{
  const page = document.querySelector("iframe").contentDocument, found = [];
  for (const each of page.querySelectorAll("th, td, dd, dt, p, figure, .wide")) {{
    const box = each.getBoundingClientRect();
    if (!each.closest(".sr, thead") && (box.right > {width} || each.scrollWidth > box.width + 1))
      found.push(each.tagName + " " + each.textContent.slice(0, 30));
  }}
  document.querySelector("pre").textContent = "outside: " + found.length + " " + found.join("; ");
}}</script>"""


def browse(page: Path, *options: str) -> str:
    assert BROWSER is not None
    ran = subprocess.run(
        [
            BROWSER, "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
            f"--user-data-dir={page.parent / 'profile'}", *options, page.as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return ran.stdout.decode()


def corner(picture: Path) -> tuple[int, int, tuple[int, ...]]:
    """Return a PNG's width, height and first pixel; no row comes before it to be added."""
    data = picture.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    packed, at = b"", 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        if data[at + 4 : at + 8] == b"IDAT":
            packed += data[at + 8 : at + 8 + length]
        at += 12 + length
    pixels = zlib.decompress(packed)
    return width, height, tuple(pixels[1:4])


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[n : n + 2], 16) for n in (1, 3, 5))


def test_light_and_dark(page: Path) -> None:
    """The ground is light by default and dark where the reader prefers it."""
    for scheme, colours in (("1", LIGHT), ("0", DARK)):
        picture = page.with_suffix(f".{scheme}.png")
        browse(
            page, f"--blink-settings=preferredColorScheme={scheme}", f"--screenshot={picture}",
            "--window-size=900,600",
        )  # fmt: skip
        width, height, pixel = corner(picture)
        assert (width, height) == (900, 600)
        assert pixel == rgb(colours["ground"])


def test_prints_on_a4(page: Path) -> None:
    """Every page of the print is A4: 595 by 842 points."""
    printed = page.with_suffix(".pdf")
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", printed.read_bytes())
    assert boxes
    for width, height in boxes:
        assert float(width) == pytest.approx(595, abs=1)
        assert float(height) == pytest.approx(842, abs=1)


def test_a_phone_shows_every_figure_without_a_sideways_scroll(page: Path) -> None:
    """At 390 px no figure, no heading and no drawing reaches past the right edge."""
    wrapped = page.with_name("wrapped.html")
    text = page.read_text(encoding="utf-8")
    wrapped.write_text(WRAPPED.format(width=NARROW, page=escape(text)), encoding="utf-8")
    shown = browse(wrapped, "--dump-dom", "--virtual-time-budget=3000")
    assert "outside: 0" in shown, re.findall("outside: .*", shown)
