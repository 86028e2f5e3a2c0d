"""Results of claims as one page that needs nothing else: sortable, reasons on a click, verdicts by shop and month drawn.

All text of strangers goes through `escape`. Nothing is loaded from anywhere, and the page says so to the browser.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from itertools import islice
from typing import Any

from furnace_diag.claims.fears import dangers_of
from furnace_diag.claims.run import Summary
from furnace_diag.problems import printable
from furnace_diag.report.claims_screen import CARE, LAW, VERDICT_MEANS, VERDICT_SAYS, counted, reason_lines

MOST_ON_PAGE = 2000  # claims; a browser bears no more with ease
MOST_DANGERS_ON_PAGE = 20  # that are named at its head
MOST_BARS = 12
UNWRAPPED = 10_000  # columns: the browser wraps
COLOURS = {
    "supported": "#1b7837",
    "plausible": "#7fbf7b",
    "not_supported": "#b2182b",
    "not_shown": "#b8b8b8",
    "cannot_be_true_together": "#e08214",
    "unreadable": "#444444",
}
STYLE = """
:root{color-scheme:light;font:16px/1.45 system-ui,sans-serif;color:#1a1a1a;background:#fafafa}
body{max-width:70rem;margin:0 auto;padding:1rem}
h1{font-size:1.4rem;margin:.2rem 0}h2{font-size:1.1rem;margin:1.6rem 0 .5rem}
p{margin:.4rem 0}.small{color:#555;font-size:.85rem}
.key{display:flex;flex-wrap:wrap;gap:.3rem 1.2rem;padding:0;list-style:none}
.dot{display:inline-block;width:.8rem;height:.8rem;margin-right:.4rem;vertical-align:-.05rem;border-radius:2px}
.bars{display:grid;grid-template-columns:minmax(6rem,14rem) 1fr 3.5rem;gap:.3rem .7rem;align-items:center}
.bars svg{width:100%;height:1.1rem;display:block}.bars span{overflow-wrap:anywhere}.n{text-align:right;font-variant-numeric:tabular-nums}
table{border-collapse:collapse}td,th{padding:.15rem .7rem .15rem 0;text-align:left}td.n,th.n{text-align:right}
.sort{display:flex;flex-wrap:wrap;gap:.4rem;margin:.5rem 0;align-items:center}
button{font:inherit;padding:.35rem .7rem;border:1px solid #999;border-radius:4px;background:#fff}
button[aria-pressed=true]{background:#1a1a1a;color:#fff}
details{background:#fff;border:1px solid #ddd;border-left:.5rem solid var(--c);border-radius:4px;margin:.3rem 0}
summary{display:grid;grid-template-columns:6.5rem 11.5rem 6.2rem 7.5rem 1fr;gap:.1rem .8rem;padding:.5rem .7rem;cursor:pointer;overflow-wrap:anywhere}
summary b{font-weight:600}.danger{background:#7a0019;color:#fff;padding:.05rem .4rem;border-radius:3px}
pre{margin:0;padding:.7rem;border-top:1px solid #eee;white-space:pre-wrap;overflow-wrap:anywhere;font:.85rem/1.5 ui-monospace,monospace}
.why{padding:.3rem .7rem .7rem;border-top:1px solid #eee;font-size:.9rem;overflow-wrap:anywhere}
.why p{margin:.25rem 0;padding-left:calc(var(--i,0)*.8rem + 1rem);text-indent:-1rem}
@media(max-width:46rem){body{padding:.6rem}summary{grid-template-columns:1fr auto}summary>:nth-child(2n){text-align:right}summary .says{grid-column:1/-1}
.bars{grid-template-columns:7rem 1fr 2.6rem}}
@media print{button{display:none}.danger{background:none;color:#000;border:2px solid #000}}
"""
SCRIPT = """
const list=document.getElementById("claims");
for(const b of document.querySelectorAll("button[data-by]"))b.addEventListener("click",()=>{
const by=b.dataset.by,down=b.getAttribute("aria-pressed")==="true"&&b.dataset.down!=="1";
for(const o of document.querySelectorAll("button[data-by]")){o.setAttribute("aria-pressed","false");o.dataset.down="";}
b.setAttribute("aria-pressed","true");b.dataset.down=down?"1":"";
const of=e=>e.getAttribute("data-"+by)||"";
const many=[...list.children].sort((x,y)=>of(x).localeCompare(of(y),"en",{numeric:true})||x.dataset.place-y.dataset.place);
if(down)many.reverse();list.append(...many);});
"""
SORTS = {"danger": "danger first", "place": "as in the file", "claim": "claim", "shop": "shop", "date": "date", "verdict": "verdict"}
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def page(summary: Summary, results: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """The page, a piece at a time. *results* in the order of the files; the first MOST_ON_PAGE of them are shown, those with a danger before the others."""
    yield f'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    yield '<meta name="viewport" content="width=device-width,initial-scale=1"><title>Claims</title>'
    yield f"<style>{STYLE}</style></head><body><h1>{counted(summary.claims, 'claim')}</h1>"
    yield f'<p class="small">Judged by rules {_text(summary.rules_version)}. {escape(LAW)} {escape(CARE)}</p>'
    yield from _dangers(summary)
    yield from _key(summary)
    yield from _bars("By shop", summary.by_shop, by_size=True)
    yield from _bars("By month", summary.by_month, by_size=False)
    yield from _bench(summary)
    yield "<h2>Claims</h2>"
    if summary.claims > MOST_ON_PAGE:
        yield f"<p>The first {MOST_ON_PAGE:,} of them; results.csv has all.</p>"
    yield '<div class="sort">Sort by '
    shown = [(dangers := dangers_of(r), "".join(_claim(number, r, dangers))) for number, r in enumerate(islice(results, MOST_ON_PAGE))]
    sorts = [k for k in SORTS if k != "danger" or any(dangers for dangers, _ in shown)]
    yield from (f'<button type="button" data-by="{k}" aria-pressed="{str(k == sorts[0]).lower()}">{SORTS[k]}</button>' for k in sorts)
    yield '</div><div id="claims">'
    yield from (told for _, told in sorted(shown, key=lambda one: not one[0]))
    yield "</div>"
    if summary.problems:
        yield "<h2>Not read</h2><pre>"
        yield from (f"{_text(str(p), 600)}\n" for p in summary.problems)
        yield "</pre>"
    yield f"<script>{SCRIPT}</script></body></html>\n"


def _text(text: str, limit: int = 2000) -> str:
    return escape(printable(text, limit))


def _key(summary: Summary) -> Iterator[str]:
    yield '<ul class="key">'
    for verdict, count in summary.verdicts.items():
        yield f'<li><span class="dot" style="background:{COLOURS[verdict]}"></span>{count:,} {VERDICT_SAYS[verdict]}'
        yield f' <span class="small">({VERDICT_MEANS[verdict]})</span></li>'
    yield "</ul>"


def _dangers(summary: Summary) -> Iterator[str]:
    """The claims with a danger, however far down the page they stand, or beyond it."""
    if not summary.in_danger:
        return
    shown = summary.dangers[:MOST_DANGERS_ON_PAGE]
    which = "this" if summary.in_danger == 1 else "these"
    left = f' <span class="small">({len(shown)} of them; the column danger of results.csv has all)</span>' if len(shown) < summary.in_danger else ""
    yield f'<h2><span class="danger">DANGER</span> in {counted(summary.in_danger, "claim")}: look at {which} first{left}</h2><ul>'
    yield from (f"<li>{_text(told, 600)}</li>" for told in shown)
    yield "</ul>"


def _bars(title: str, table: Mapping[str, Mapping[str, int]], *, by_size: bool) -> Iterator[str]:
    """A bar for each shop or month, its verdicts side by side as shares; the count at its end."""
    if not table:
        return
    names = sorted(table, key=lambda n: (-sum(table[n].values()), n)) if by_size else sorted(table)
    shown = names[:MOST_BARS] if by_size else names[-2 * MOST_BARS :]
    left = f' <span class="small">({len(shown)} of {len(names)})</span>' if len(shown) < len(names) else ""
    yield f'<h2>{title}{left}</h2><div class="bars">'
    for name in shown:
        yield f"<span>{_text(name, 60)}</span>{_bar(table[name])}<span class=n>{sum(table[name].values()):,}</span>"
    yield "</div>"


def _bar(counts: Mapping[str, int]) -> str:
    total, x, pieces = max(sum(counts.values()), 1), 0.0, []
    for verdict, count in counts.items():
        if count:
            wide = 100 * count / total
            told = f"{VERDICT_SAYS[verdict]}: {count:,}"
            pieces.append(f'<rect x="{x:.3f}" y="0" width="{wide:.3f}" height="10" fill="{COLOURS[verdict]}"><title>{told}</title></rect>')
            x += wide
    said = "; ".join(f"{VERDICT_SAYS[v]} {c}" for v, c in counts.items() if c)
    return f'<svg viewBox="0 0 100 10" preserveAspectRatio="none" role="img" aria-label="{said}">{"".join(pieces)}</svg>'


def _bench(summary: Summary) -> Iterator[str]:
    outcomes = [o for o in ("bad", "good", "not_tested") if o in summary.by_bench]
    if not outcomes:
        return
    yield "<h2>Verdict, by what the bench found of the part</h2><table><tr><th></th>"
    yield from (f"<th class=n>{o.replace('_', ' ')}</th>" for o in outcomes)
    yield "</tr>"
    for verdict, says in VERDICT_SAYS.items():
        yield f"<tr><td>{says}</td>{''.join(f'<td class=n>{summary.by_bench[o][verdict]:,}</td>' for o in outcomes)}</tr>"
    yield "</table>"


def _claim(number: int, r: Mapping[str, Any], dangers: Sequence[str]) -> Iterator[str]:
    place, verdict = str(number), str(list(VERDICT_SAYS).index(r["verdict"]))
    data = {"danger": "0" if dangers else "1", "place": place, "claim": r["claim"], "shop": r["shop"], "date": r["date"], "verdict": verdict}
    told = " ".join(f'data-{k}="{_text(v, 200)}"' for k, v in data.items())
    yield f'<details style="--c:{COLOURS[r["verdict"]]}" {told}><summary><b>{_text(r["claim"] or "(no number)", 60)}</b>'
    day = _text(r["date"], 30) + (" (date not usable)" if r["date"] and not r["month"] else "")
    unread = f" <b>{r['unread']} not read.</b>" if r["unread"] else ""
    yield f"<span>{_text(r['shop'], 60)}</span><span>{day}</span><b>{VERDICT_SAYS[r['verdict']]}</b>"
    danger = f'<b class="danger">DANGER</b> {_text(" ".join(dangers), 400)} ' if dangers else ""
    yield f'<span class="says">{danger}{_text(r["says"], 400)}{unread}</span></summary><div class="why">'
    for line in islice(reason_lines(r, UNWRAPPED), 3, None):  # the first three say again what the summary says
        indent = (len(line) - len(line.lstrip())) // 2
        yield f'<p style="--i:{indent}">{escape(line.strip())}</p>'
    yield f'<p class="small">{_text(r["place"], 300)}</p></div></details>'
