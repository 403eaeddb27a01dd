"""The report as one HTML page that needs nothing else: no scripts, no fonts, no other files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from drillbox.memory.weakness import ENOUGH, LEVEL, WEAK
from drillbox.music.keys import Spelling, Third, parse_key
from drillbox.practice.progress import Week
from drillbox.practice.standing import LEVELS, Cell, Standing
from drillbox.practice.summing import Report, Summary
from drillbox.screen.advising import (
    LENIENT,
    advice_line,
    change_lines,
    empty_line,
    outlook_lines,
)
from drillbox.screen.look import Look
from drillbox.screen.plots import minutes_text, top_of
from drillbox.screen.report_style import stylesheet
from drillbox.screen.report_svg import circle_svg as circle_drawing
from drillbox.screen.report_svg import columns_svg, interval_svg
from drillbox.screen.report_tunes import safe, tune_sections
from drillbox.screen.standing import (
    NOT_THERE,
    SHAPES,
    level_words,
    rows_by_phrase,
    tonics_round_circle,
)
from drillbox.screen.waiting import slipping_lines, waiting_lines

if TYPE_CHECKING:
    from drillbox.practice.library import Lacking

_LOOK = Look(width=200)
_HEADS = (
    "Share recalled",
    "Interval",
    "First goes",
    "Tempo reached",
    "Clean at goal now",
    "Waits for",
)
"""What each figure of a row is; on a narrow screen it stands beside the figure itself."""


def report_page(report: Report, spelling: Spelling, *, lacking: Lacking = "phrases") -> str:
    """Return the page; every title in it is escaped.

    ``lacking`` is what there is none of where no phrase is in practice.
    """
    summary = report.summary
    day = f"{summary.today.day} {summary.today:%B %Y}"
    nothing = empty_line(summary, _LOOK, lacking)
    body = (
        f"<p>{safe(nothing)}</p>"
        if nothing
        else _next(summary)
        + _facts(summary)
        + _keys(summary, spelling)
        + _phrases(summary)
        + _grids(summary, spelling)
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        '<meta name="color-scheme" content="light dark">'
        f"<title>Keys and phrases, {day}</title><style>{stylesheet()}</style></head>\n<body>"
        f"<header><h1>Keys and phrases</h1><p>{day}, by drillbox</p></header>\n<main>"
        f"{body}{_weeks(report.weeks)}{tune_sections(report.tunes)}</main>\n"
        f"{_footer(nothing is None)}</body></html>\n"
    )


def _next(summary: Summary) -> str:
    advice = advice_line(summary.advice, summary.mean, _LOOK)
    lines = (
        *([LENIENT] if summary.lenient else []),
        *waiting_lines(summary.waiting, _LOOK),
        *slipping_lines(summary.slipping, _LOOK),
        *outlook_lines(summary, _LOOK),
        *change_lines(summary.changes, summary.today, _LOOK),
    )
    said = "".join(f"<p>{safe(line)}</p>" for line in lines)
    return f'<p class="next">{safe(advice)}</p>{said}\n'


def _facts(summary: Summary) -> str:
    present = summary.present
    facts = [
        ("keys started", f"{present.started} of {present.cards}"),
        ("keys at goal tempo", str(present.at_goal)),
        ("of them unsure", str(present.unsure)),
        ("keys owned", str(present.owned)),
        ("clean at goal now, on average", f"{present.now:.0%}"),
        ("tempo reached, of goal", f"{present.tempo:.0%}"),
        ("due today", str(present.due)),
    ]
    pairs = "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in facts)
    return f'<dl class="facts">{pairs}</dl>\n'


def _keys(summary: Summary, spelling: Spelling) -> str:
    drawings = "".join(
        f'<figure class="circle">{drawing}</figure>'
        for drawing in (_circle(summary, "major", spelling), _circle(summary, "minor", spelling))
        if drawing
    )
    named = [(parse_key(each.name).text(ascii=False), each) for each in summary.keys]
    return (
        '<section aria-labelledby="keys"><h2 id="keys">Keys</h2>'
        f'<div class="pair">{drawings}</div>{_standings("Key", named, summary)}</section>\n'
    )


def _circle(summary: Summary, mode: Third, spelling: Spelling) -> str:
    named = [(parse_key(each.name), each) for each in summary.keys]
    named.sort(key=lambda pair: not pair[0].church)  # a tonic's major or minor before its modes
    by_tonic = {key.tonic.pitch_class: each for key, each in named if key.third == mode}
    if not by_tonic:
        return ""
    suffix = "m" if mode == "minor" else ""
    keys = [
        (name + suffix, by_tonic.get(tonic))
        for tonic, _, name in tonics_round_circle(mode, spelling)
    ]
    return circle_drawing(mode, keys, summary.mean)


def _phrases(summary: Summary) -> str:
    named = [(each.name, each) for each in summary.phrases]
    return (
        '<section aria-labelledby="phrases"><h2 id="phrases">Phrases</h2>'
        f"{_standings('Phrase', named, summary)}</section>\n"
    )


def _standings(heading: str, named: Iterable[tuple[str, Standing]], summary: Summary) -> str:
    cells = "".join(f'<th scope="col">{head}</th>' for head in _HEADS)
    rows = "".join(_standing_row(name, each, summary.mean) for name, each in named)
    mean = "" if summary.mean is None else f" The dashed line is the mean, {summary.mean:.0%}."
    return (
        f'{_region(f"Table: {heading.lower()}s")}<table class="{heading.lower()}">'
        f"<caption>Weakest first.{mean}</caption><thead><tr>"
        f'<th scope="col">{heading}</th><th scope="col" class="word">Verdict</th>'
        f'<th scope="col" class="word">0 to 100&nbsp;%</th>{cells}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _region(label: str) -> str:
    """Open a box that scrolls where a table is too wide, by the keyboard too."""
    return f'<div class="wide" tabindex="0" role="region" aria-label="{label}">'


def _standing_row(name: str, each: Standing, mean: float | None) -> str:
    weak = each.verdict == WEAK
    share = "–" if each.share is None else f"{each.share:.0%}"
    values = [
        share,
        f"{each.low:.0%}–{each.high:.0%}",
        str(each.tries),
        f"{each.tempo:.0%}",
        f"{each.now:.0%}",
        each.waits or "–",
    ]
    return (
        f'<tr{" class=weak" if weak else ""}><th scope="row">{safe(name)}</th>'
        f'<td class="word">{"▼ " if weak else ""}{each.verdict}</td>'
        f'<td class="word drawn">{interval_svg(each, mean)}</td>'
        + "".join(
            f'<td data-of="{head}">{value}</td>' for head, value in zip(_HEADS, values, strict=True)
        )
        + "</tr>"
    )


def _grids(summary: Summary, spelling: Spelling) -> str:
    modes: tuple[Third, Third] = ("major", "minor")
    order = {each.id: place for place, each in enumerate(summary.phrases)}
    cells = sorted(summary.cells, key=lambda cell: (order[cell.phrase_id], cell.position))
    grids = "".join(_grid(cells, mode, spelling) for mode in modes)
    words = level_words()
    legend = "; ".join(
        f'<span class="{level}">{SHAPES[level]}{level[0].upper()}</span> {words[level]}'
        for level in LEVELS
    )
    return (
        '<section aria-labelledby="grid"><h2 id="grid">Phrases by key</h2>'
        f'{grids}<p class="note">{legend}; · {NOT_THERE}.</p></section>\n'
    )


def _grid(cells: Sequence[Cell], mode: Third, spelling: Spelling) -> str:
    found = rows_by_phrase(cells, mode)
    if not found:
        return ""
    keys = tonics_round_circle(mode, spelling)
    suffix = "m" if mode == "minor" else ""
    heads = "".join(f'<th scope="col">{name}{suffix}</th>' for _, _, name in keys)
    rows = "".join(
        f'<tr><th scope="row">{safe(next(iter(row.values())).title)}</th>'
        + "".join(_mark(row.get(tonic)) for tonic, *_ in keys)
        + "</tr>"
        for row in found.values()
    )
    return (
        f'{_region(f"Grid: {mode} keys")}<table class="grid">'
        f"<caption>{mode.capitalize()} keys, around the circle.</caption>"
        f'<thead><tr><th scope="col">Phrase</th>{heads}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _mark(cell: Cell | None) -> str:
    if cell is None:
        return (
            '<td class="shut"><span aria-hidden="true">·</span>'
            f'<span class="sr">{NOT_THERE}</span></td>'
        )
    level = cell.level
    return (
        f'<td class="{level}"><span aria-hidden="true">{SHAPES[level]}{level[0].upper()}</span>'
        f'<span class="sr">{level}</span></td>'
    )


def _weeks(weeks: Sequence[Week]) -> str:
    if not weeks:
        return ""
    mondays = [f"{week.monday.day} {week.monday:%b %Y}" for week in weeks]
    tempo = top_of([w.tempo for w in weeks])
    minutes, goes = max(w.minutes for w in weeks), max(w.attempts for w in weeks)
    started, owned = max(w.started for w in weeks), max(1, *(w.owned for w in weeks))
    series: list[tuple[str, str, list[float | None], list[str], str, float]] = [
        ("minutes", "Minutes", [w.minutes for w in weeks], [minutes_text(w.minutes) for w in weeks],
         minutes_text(minutes), minutes),
        ("goes", "Goes", [w.attempts for w in weeks], [str(w.attempts) for w in weeks],
         str(goes), goes),
        ("recalled", "First goes clean or fluent", [w.share for w in weeks],
         [_percent(w.share) for w in weeks], "100%", 1.0),
        ("tempo", "Tempo played, share of goal", [w.tempo for w in weeks],
         [_percent(w.tempo) for w in weeks], f"{tempo:.0%}", tempo),
        ("started", "Keys started", [w.started for w in weeks], [str(w.started) for w in weeks],
         str(started), started),
        ("owned", "Keys owned", [w.owned for w in weeks], [str(w.owned) for w in weeks],
         str(owned), owned),
    ]  # fmt: skip
    figures = "".join(
        f"<figure><h3>{title}</h3>"
        f"{columns_svg(ident, title, values, shown, top, highest, mondays)}</figure>"
        for ident, title, values, shown, top, highest in series
    )
    return (
        '<section aria-labelledby="weeks"><h2 id="weeks">Week by week</h2>'
        f'<div class="charts">{figures}</div></section>\n'
    )


def _percent(share: float | None) -> str:
    return "nothing played" if share is None else f"{share:.0%}"


def _footer(anything: bool) -> str:
    if not anything:
        return "<footer></footer>"
    return (
        f'<footer class="note"><p><strong>weak</strong>: {ENOUGH} first goes at least, and the'
        f" upper end of the {LEVEL:.0%} interval lies below the mean. Otherwise <strong>not enough"
        " played yet</strong> or <strong>as good as the rest</strong>.</p><p>Share recalled: what"
        " would be played clean or fluent under the player’s usual conditions, judged from the"
        " first go of each day; recent goes weigh more. Clean at goal now: the chance that"
        " the first go of today, at goal tempo, comes out clean, judged from such goes before."
        " Waits for: what the keys lack to be owned; both is tempo and memory. Tempo reached: where"
        " the keys stand now, as a share of the goal; tempo played: the mean of a week’s"
        " goes.</p></footer>"
    )
