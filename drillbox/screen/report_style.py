"""The look of the report: colours for light and dark with enough contrast, A4 when printed."""

from __future__ import annotations

# Every text colour stands at 4.5:1 or more against both grounds (tested). The two hues are
# darkened or lightened from Okabe & Ito's blue and vermilion, which colour-blind eyes tell apart.
LIGHT = {
    "ground": "#fbf8f1",
    "sheet": "#ffffff",
    "ink": "#1d2433",
    "quiet": "#555c69",
    "sound": "#005a8f",
    "weak": "#a33f00",
}
DARK = {
    "ground": "#14171c",
    "sheet": "#1d2128",
    "ink": "#eae7e0",
    "quiet": "#a9aeb8",
    "sound": "#7cc4f0",
    "weak": "#ffa06b",
}


def _variables(colours: dict[str, str], line: str) -> str:
    pairs = "".join(f"--{name}:{value};" for name, value in colours.items())
    return f":root{{{pairs}--line:{line};}}"


_RULES = """
*{box-sizing:border-box}
body{margin:0;background:var(--ground);color:var(--ink);
 font:16px/1.5 ui-serif,serif}
header,main,footer{max-width:62rem;margin:0 auto;padding:0 1.25rem}
header{padding-top:2.5rem;display:flex;flex-wrap:wrap;align-items:baseline;gap:0 1.5rem;
 border-bottom:3px double var(--ink)}
h1{font-size:2.1rem;line-height:1.15;margin:0 0 .4rem;letter-spacing:-.01em;flex:1 1 20rem}
header p{margin:0 0 .6rem;color:var(--quiet)}
h2{font-size:1.3rem;margin:2.2rem 0 .5rem}
h3{font-size:1rem;margin:0 0 .2rem}
p{margin:.4rem 0}
.next{border-left:.4rem solid var(--weak);background:var(--sheet);padding:.7rem 1rem;
 margin:1.5rem 0;font-size:1.15rem}
.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(7rem,1fr));gap:.6rem 1rem;
 margin:1rem 0}
.facts div{display:flex;flex-direction:column-reverse;justify-content:flex-end}
.facts dt{color:var(--quiet);font-size:.85rem;line-height:1.25}
.facts dd{margin:0;font-size:1.5rem;line-height:1.15;font-variant-numeric:tabular-nums}
.wide{overflow-x:auto}
table{border-collapse:collapse;width:100%;background:var(--sheet);font-size:.95rem}
caption{text-align:left;color:var(--quiet);padding:.3rem 0;font-size:.9rem}
th,td{padding:.28rem .45rem;border-bottom:1px solid var(--line);text-align:right;
 font-variant-numeric:tabular-nums;white-space:nowrap}
th:first-child,td:first-child{text-align:left}
tbody th{font-weight:600;white-space:normal;min-width:4rem;max-width:16rem}
.phrase tbody th{min-width:6rem}
thead th{color:var(--quiet);font-weight:400;white-space:normal;
 vertical-align:bottom;border-bottom-color:var(--ink)}
th.word,td.word{text-align:left}
tr.weak th,tr.weak td.word,.is-weak{color:var(--weak);font-weight:700}
table.grid th,table.grid td{padding:.25rem .3rem;text-align:center}
table.grid th:first-child{text-align:left}
.owned,.sure{color:var(--sound)}.owned{font-weight:700}
.unsure{color:var(--weak);font-weight:700}
.shut{color:var(--quiet)}
table.changes td{text-align:left;white-space:normal;border-left:1px solid var(--ink);width:23%;
 vertical-align:top}
table.changes td span{display:inline-block;vertical-align:top;min-width:40%;margin-right:.4rem;
 font-weight:600}
table.changes td b{display:block;color:var(--sound);font-size:.85rem}
table.changes td span.sr{min-width:0}
table.changes th{color:var(--quiet);font-weight:400;width:2rem}
.note{color:var(--quiet);font-size:.9rem}
.pair{display:flex;flex-wrap:wrap;gap:1rem 2rem;align-items:flex-start}
.pair>*{flex:1 1 18rem;min-width:0}
.charts{display:grid;grid-template-columns:repeat(auto-fit,minmax(17rem,1fr));gap:1.2rem}
figure{margin:0}
svg{display:block;width:100%;height:auto;overflow:visible}
svg text{fill:var(--ink);font-size:12px;font-family:inherit}
svg .quiet{fill:var(--quiet)}svg .strong{font-weight:700}svg .weak{fill:var(--weak)}
svg .bar{fill:var(--sound)}svg .bar-weak{fill:var(--weak)}svg .faint{fill:var(--line)}
svg .axis{stroke:var(--quiet);fill:none}svg .track{stroke:var(--line);fill:none}
svg .mean{stroke:var(--ink);stroke-dasharray:3 3;fill:none}
svg .reach{stroke:var(--sound);stroke-width:3}svg .reach-weak{stroke:var(--weak);stroke-width:3}
td svg{width:7rem;display:inline-block;vertical-align:middle}
.circle{max-width:26rem;margin:0 auto}
.sr{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);
 white-space:nowrap}
@media screen and (max-width:40rem){
 header,main,footer{padding:0 .8rem}
 .wide{overflow:visible}
 table.key thead,table.phrase thead{position:absolute;width:1px;height:1px;overflow:hidden;
  clip-path:inset(50%)}
 table.key tr,table.phrase tr{display:grid;grid-template-columns:repeat(3,1fr);
  padding:.4rem 0;border-bottom:1px solid var(--line)}
 table.key tbody th,table.phrase tbody th{grid-column:1/3;max-width:none;min-width:0}
 table.key :is(th,td),table.phrase :is(th,td){border:0;text-align:left;white-space:normal}
 table.key td.drawn,table.phrase td.drawn{grid-column:2/4}
 td[data-of]::before{content:attr(data-of);display:block;color:var(--quiet);font-size:.8rem;
  font-weight:400}
 table.grid :is(thead,tbody),table.grid{display:block}
 table.grid tr{display:grid;grid-template-columns:repeat(12,1fr)}
 table.grid :is(th,td){padding:.2rem 0;font-size:.8rem;min-width:0}
 table.grid tr>th:first-child{grid-column:1/-1;max-width:none}
 table.grid thead tr>th:first-child{display:none}
}
footer{margin-top:2.5rem;padding-bottom:2.5rem}
:focus-visible{outline:3px solid var(--sound);outline-offset:2px}
@page{size:A4;margin:14mm}
@media print{
 body{font-size:10pt;background:none}header{padding-top:0}header,main,footer{max-width:none;padding:0}
 .wide{overflow:visible}h2{break-after:avoid}tr,figure,.next,.facts{break-inside:avoid}
 table.grid{break-inside:avoid}.tune{break-before:page}
 thead{display:table-header-group}
 .facts{grid-template-columns:repeat(7,1fr)}
 table{font-size:9pt}th,td{padding:.15rem .35rem}td svg{width:5rem}
 .charts{grid-template-columns:repeat(3,1fr)}
 .circle{max-width:20rem}.pair>*{flex-basis:14rem}
 *{print-color-adjust:exact}
}
"""


def stylesheet() -> str:
    """Return the whole style sheet: dark where the screen prefers it, always light on paper."""
    dark = _variables(DARK, "#3a3f49")
    return (
        _variables(LIGHT, "#d9d3c5")
        + f"@media screen and (prefers-color-scheme:dark){{{dark}}}"
        + _RULES.strip()
    )
