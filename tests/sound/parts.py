"""Charts that the tests of sound share."""

from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.sound.loop_parts import LoopPart


def part(chart: str, meter: str = "4/4", key: str = "Bb") -> LoopPart:
    return LoopPart(parse_chart(chart, parse_meter(meter)), key, "Over the fence")


TWO_FIVE = part("Cm7 F7 | Bbmaj7 (G7)")
LONG = part("Cm7 | F7 | Bbmaj7 | Bbmaj7 (G7)")
EVERYTHING = part(
    "Cm7b5 F7b9 | N.C. C5 | Bb6 Bdim7 | Csus4 C7alt | Fmaj7#11/A Caug | Dm7/C E7#5 | F#69 / / Gm"
)
WALTZ = part("Dm7 | G7 / Db7 | Cmaj7 | N.C.", "3/4", "C")
EVERY = (TWO_FIVE, LONG, EVERYTHING, WALTZ, part("Cm7 F7 | Bbmaj7", "6/8"), part("C7", "5/4"))
