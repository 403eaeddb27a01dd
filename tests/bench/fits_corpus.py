"""Fits in tunes by other hands: every score and collection with chords in music21's corpus.

Run: ``python -m tests.bench.fits_corpus [--examples 10]``. The phrases are the demo's and those of
the worked tunes. Files are taken by rule, all that have chord symbols; what is printed is how
many tunes are read, the fits of each kind and the time.
"""

from __future__ import annotations

import argparse
import random
import time
import zipfile
from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import music21

from drillbox.errors import BadInput
from drillbox.music.fits import Fit, Phrases
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text
from drillbox.music.tunes import MOST_BARS, Tune
from drillbox.notation import Limits, read_bytes
from drillbox.shipped import shipped
from tests.music.fits.worked import PHRASES

CORPUS = Path(music21.__file__).parent / "corpus"
LIMITS = Limits(bytes=10**7, tunes=10**4, bars=MOST_BARS, notes=20_000)


def files() -> Iterator[tuple[str, bytes]]:
    """Yield every file of the corpus that has chord symbols, by name."""
    for path in sorted(CORPUS.glob("**/*")):
        if path.suffix not in {".mxl", ".xml", ".musicxml", ".abc"}:
            continue
        data = path.read_bytes()
        if path.suffix == ".mxl":
            with zipfile.ZipFile(BytesIO(data)) as archive:
                names = [each for each in archive.namelist() if not each.startswith("META-INF")]
                text = archive.read(names[0])
        else:
            text = data
        if b"<harmony" in text or (path.suffix == ".abc" and b'"' in text):
            yield path.relative_to(CORPUS).as_posix(), data


def read() -> tuple[list[Tune], int]:
    """Return the tunes that can be read, each with chords, and how many there are."""
    found, every = [], 0
    for name, data in files():
        try:
            tunes = read_bytes(data, name, limits=LIMITS, title="x", tempo=120).tunes
        except BadInput:
            every += 1
            continue
        every += len(tunes)
        for number, tune in enumerate(tunes, start=1):
            if tune.phrase and tune.phrase.chart.sounding():
                phrase = tune.phrase
                title = f"{name} {number}"
                found.append(Tune(title, phrase.key, phrase.tempo, phrase.chart))
    return found, every


def lines() -> list[Phrase]:
    """Return the demo's phrases and those of the worked tunes."""
    data = (shipped("seeds_demo") / "lines.abc").read_bytes()
    demo = [tune.phrase for tune in read_bytes(data, "lines.abc").tunes if tune.phrase]
    return [*demo, *PHRASES]


def shown(tune: Tune, fit: Fit, phrases: list[Phrase]) -> str:
    """Return an example on two lines: the place with its chords, and the phrase."""
    bar = tune.chart.meter.bar
    first, end = int(fit.start // bar), -int(-fit.end // bar)
    bars = (tune.chart.bars * 2)[first:end]
    phrase = phrases[fit.phrase]
    clashes = [(each.was, each.becomes) for each in fit.clashes]
    chart = type(tune.chart)(tune.chart.meter, bars)
    return (
        f"{tune.title} bar {first + 1}: {chart_text(chart)}\n"
        f"    {phrase.title} ({chart_text(phrase.chart)}) up {fit.up}: {fit.kind.words} {clashes}"
    )


def main() -> None:
    """Print the counts, and some examples chosen by chance."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--examples", type=int, default=0)
    options = asked.parse_args()
    tunes, every = read()
    phrases = lines()
    index = Phrases(enumerate(phrases))
    began = time.process_time()
    found = [(tune, fit) for tune in tunes for fit in index.fits(tune)]
    seconds = time.process_time() - began
    kinds = Counter(fit.kind.words for _, fit in found)
    print(f"{len(tunes)} of {every} tunes read, {len(phrases)} phrases, {len(found)} fits")
    print(", ".join(f"{name} {count}" for name, count in kinds.most_common()))
    print(f"{seconds:.2f} s, {1000 * seconds / max(1, len(tunes)):.1f} ms a tune")
    dice = random.Random(11)
    for tune, fit in dice.sample(found, min(options.examples, len(found))):
        print(shown(tune, fit, phrases))


if __name__ == "__main__":
    main()
