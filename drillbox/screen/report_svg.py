"""The drawings of the report: the circle of keys, intervals, columns by week. Plain SVG."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import cos, pi, sin

from drillbox.memory.weakness import WEAK
from drillbox.practice.standing import Standing
from drillbox.screen.standing import NOT_THERE

_INNER, _OUTER, _NAMES = 34.0, 130.0, 141.0  # radii of the circle's drawing


def circle_svg(name: str, keys: Sequence[tuple[str, Standing | None]], mean: float | None) -> str:
    """Draw twelve keys round the circle: the longer the wedge, the more is recalled.

    ``keys`` go clockwise from the top: the key's name and how it stands, None where it isn't
    started. A weak key is hatched and marked with a triangle as well as coloured.
    """
    ident = f"circle-{name}"
    parts = [
        f'<svg role="img" viewBox="-190 -180 380 360" aria-labelledby="{ident}-t {ident}-d">',
        f'<title id="{ident}-t">The circle of {name} keys</title>',
        f'<desc id="{ident}-d">{escape(_circle_words(keys, mean))}</desc>',
        f'<defs><pattern id="{ident}-h" width="7" height="7" patternUnits="userSpaceOnUse"'
        ' patternTransform="rotate(45)"><rect class="bar-weak" width="4.5" height="7"/>'
        "</pattern></defs>",
    ]
    for place, (key, standing) in enumerate(keys):
        parts += _wedge(key, standing, place, ident)
    if mean is not None:
        parts.append(f'<circle class="mean" r="{_radius(mean):.1f}"/>')
    parts.append("</svg>")
    return "".join(parts)


def _wedge(key: str, standing: Standing | None, place: int, ident: str) -> list[str]:
    middle = 2 * pi * place / 12
    x, y = _NAMES * sin(middle), -(_NAMES + 8) * cos(middle)
    side = "middle" if abs(x) < 20 else "start" if x > 0 else "end"
    track = f'<path class="track" d="{_sector(middle, _OUTER)}"/>'
    share = standing.share if standing else None
    if standing is None or share is None:
        label = (
            f'<text class="quiet" x="{x:.1f}" y="{y + 4:.1f}" text-anchor="{side}">'
            f"{escape(key)}</text>"
        )
        return [track, label]
    weak = standing.verdict == WEAK
    fill = f'style="fill:url(#{ident}-h)"' if weak else 'class="bar"'
    edge = f'<path class="track" d="{_sector(middle, _radius(share))}"/>' if weak else ""
    mark = "▼ " if weak else ""
    kind = "strong weak" if weak else "strong"
    return [
        track,
        f'<path {fill} d="{_sector(middle, _radius(share))}"/>{edge}',
        f'<text class="{kind}" x="{x:.1f}" y="{y - 2:.1f}" text-anchor="{side}">'
        f"{mark}{escape(key)}</text>",
        f'<text x="{x:.1f}" y="{y + 12:.1f}" text-anchor="{side}">{share:.0%}</text>',
    ]


def _radius(share: float) -> float:
    return _INNER + (_OUTER - _INNER) * share


def _sector(middle: float, outer: float) -> str:
    """Return the path of a wedge around an angle, a little narrower than its twelfth."""
    half = pi / 12 - 0.025
    (a, b), (c, d) = _at(middle - half, _INNER), _at(middle - half, outer)
    (e, f), (g, h) = _at(middle + half, outer), _at(middle + half, _INNER)
    return (
        f"M{a:.1f} {b:.1f}L{c:.1f} {d:.1f}A{outer:.1f} {outer:.1f} 0 0 1 {e:.1f} {f:.1f}"
        f"L{g:.1f} {h:.1f}A{_INNER} {_INNER} 0 0 0 {a:.1f} {b:.1f}Z"
    )


def _at(angle: float, radius: float) -> tuple[float, float]:
    return radius * sin(angle), -radius * cos(angle)


def _circle_words(keys: Sequence[tuple[str, Standing | None]], mean: float | None) -> str:
    said = []
    for key, standing in keys:
        if standing is None:
            said.append(f"{key} {NOT_THERE}")
        elif standing.share is None:
            said.append(f"{key} not played of late")
        else:
            weak = ", weak" if standing.verdict == WEAK else ""
            said.append(f"{key} {standing.share:.0%} recalled{weak}")
    dashed = "" if mean is None else f" The dashed ring is the mean, {mean:.0%}."
    return "; ".join(said) + "." + dashed


def interval_svg(standing: Standing, mean: float | None) -> str:
    """Draw an interval for a cell of a table; the numbers beside it say the same in words."""
    reach, dot = ("reach-weak", "bar-weak") if standing.verdict == WEAK else ("reach", "bar")
    parts = [
        '<svg viewBox="0 0 120 14" aria-hidden="true"><path class="track" d="M2 7H118"/>',
    ]
    if standing.share is not None:
        low, high, share = (
            2 + 116 * each for each in (standing.low, standing.high, standing.share)
        )
        parts.append(f'<path class="{reach}" d="M{low:.1f} 7H{high:.1f}"/>')
        parts.append(f'<circle class="{dot}" cx="{share:.1f}" cy="7" r="4.5"/>')
    if mean is not None:
        parts.append(f'<path class="mean" d="M{2 + 116 * mean:.1f} 0V14"/>')
    return "".join([*parts, "</svg>"])


def columns_svg(
    ident: str,
    title: str,
    values: Sequence[float | None],
    shown: Sequence[str],
    top: str,
    highest: float,
    weeks: Sequence[str],
) -> str:
    """Draw one column a week under a scale that begins at 0; ``shown`` are the values as text,
    and ``top`` is the value ``highest``."""
    width, height = 280.0, 90.0
    step = (width - 44) / len(values)
    said = "; ".join(f"week of {week}: {text}" for week, text in zip(weeks, shown, strict=True))
    known = [text for value, text in zip(values, shown, strict=True) if value is not None]
    parts = [
        f'<svg role="img" viewBox="0 0 {width:g} 130" aria-labelledby="{ident}-t {ident}-d">',
        f'<title id="{ident}-t">{escape(title)} by week</title>',
        f'<desc id="{ident}-d">{escape(said)}</desc>',
        f'<path class="axis" d="M40 10V{10 + height:g}H{width:g}"/>',
        f'<text class="quiet" x="34" y="{14 + height:g}" text-anchor="end">0</text>',
    ]
    for place, value in enumerate(values):
        if value:
            tall = max(1.5, height * value / highest) if highest else 0.0
            parts.append(
                f'<rect class="bar" x="{42 + place * step:.1f}" y="{10 + height - tall:.1f}"'
                f' width="{min(30.0, step * 0.72):.1f}" height="{tall:.1f}"/>'
            )
    most = max((value for value in values if value is not None), default=0.0)
    parts.append(f'<text class="quiet" x="34" y="16" text-anchor="end">{escape(top)}</text>')
    if known and most:
        parts.append(
            f'<text class="strong" x="{width:g}" y="6" text-anchor="end">'
            f"latest {escape(known[-1])}</text>"
        )
    parts.append(f'<text class="quiet" x="42" y="{26 + height:g}">{escape(weeks[0])}</text>')
    if len(weeks) > 3:
        parts.append(
            f'<text class="quiet" x="{width:g}" y="{26 + height:g}" text-anchor="end">'
            f"{escape(weeks[-1])}</text>"
        )
    return "".join([*parts, "</svg>"])
