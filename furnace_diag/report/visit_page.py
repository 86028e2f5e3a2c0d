"""A visit's report as one self-contained page: no script, nothing fetched, every text escaped, drawings that need no colour."""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby

from furnace_diag.diagnosis.findings import Need
from furnace_diag.problems import printable
from furnace_diag.quantities import format_quantity
from furnace_diag.report import visit_words as say
from furnace_diag.report.visit_customer import Form
from furnace_diag.visit.summary import Belief, RepairTold, Summary, ToldRecord

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 46rem; padding: 1rem; font: 16px/1.4 system-ui, sans-serif; color: #111; background: #fff; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; border-bottom: 2px solid #111; }
h3 { font-size: 1rem; margin: 1rem 0 .2rem; }
h2, h3 { break-after: avoid; }
p { margin: .3rem 0; }
ul, ol { list-style: none; margin: 0; padding: 0; }
li { padding: .4rem 0; border-top: 1px solid #bbb; break-inside: avoid; }
li:first-child { border-top: 0; }
.says { font-weight: 600; }
.small { font-size: .85rem; color: #333; }
.off { font-weight: 700; }
.stop { border: 4px solid #a00; padding: .5rem .8rem; margin: .8rem 0; break-inside: avoid; }
.result { border: 2px solid #111; padding: .4rem .8rem; margin: .8rem 0; break-inside: avoid; }
.fine { font-size: .85rem; }
.hash { font-family: monospace; font-size: .8rem; }
svg { display: block; width: 100%; height: auto; break-inside: avoid; }
.range { max-width: 24rem; }
figure { margin: 0; break-inside: avoid; }
.key { display: flex; gap: .5rem; align-items: center; padding: .1rem 0; border: 0; }
.key svg { width: 3.2rem; flex: none; }
@page { margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; line-height: 1.3; }
  h2 { margin-top: .9rem; }
  .form { font-size: 9pt; line-height: 1.2; }
  .form h2 { margin-top: .5rem; }
  li { padding: .15rem 0; }
  .fine li { break-inside: auto; }
  p { margin: .1rem 0; orphans: 3; widows: 3; }
  .range { max-width: 9cm; }
  .belief { max-width: 14cm; }
  .fine { columns: 2; font-size: 8pt; }
}
"""
HEAD = (
    '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
)
SHOWN_FROM = 0.02
MOST_SHOWN = 6
DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 4")  # of the lines of belief, in their order
ELSE_DASH = "1 4"


def page_of(s: Summary) -> str:
    """The whole report."""
    head = [
        *([f"<p>{_t(say.DRILL)}</p>"] if s.drill else []),
        f"<p>{_t(s.file)}, begun {_t(say.when(s.opened))}</p><p>{_t(s.furnace_says)}</p>",
        f'<p><span class="says">Complaint:</span> {_t(s.complaint or "none told")}</p>',
        *(f'<p class="small">{_t(say.words(name))}: {_t(say.words(value))}</p>' for name, value in s.options.items()),
    ]
    body = [
        "<h1>Report of a visit</h1>",
        *head,
        *_hazards(s),
        _section("Found and put right", [f"<li>{_t(text)}</li>" for text in s.put_right]),
        '<div class="result">',
        *(f"<p>{_t(text)}</p>" for text in (*say.result_of(s), say.board_of(s))),
        "</div>",
        _section("Safety questions", [f'<li>{_t(a.asks)} <span class="says">{_t(say.answer_of(a))}</span></li>' for a in s.safety]),
        _section("What happened before", [_record(r, None) for r in s.before]),
        _records("Records, in the order of the heat call", s.records, _after(s.belief)),
        _belief(s),
        _section("Proof", [*_proof(s)], intro=say.board_of(s)),
        _section("What killed the board", [*_killers(s)]),
        *(_repair(repair) for repair in s.repairs),
        _section("What else the records show", [*_findings(s)]),
        _section("Notes", [f'<li><span class="small">{_t(say.when(at))}</span> {_t(text)}</li>' for at, text in s.notes]),
        _section("Cautions that went with it", [f"<li>{_t(c)}</li>" for c in s.cautions], fine=True),
        _section("Sources", [f'<li><span class="says">{_t(source)}:</span> {_long(names)}</li>' for source, names in say.sources_of(s)], fine=True),
        _section("The file", [f"<li>{_t(text)}</li>" for text in say.file_of(s)]),
        f'<p>Last hash: <span class="hash">{_t(s.last_hash)}</span></p><p>{_t(say.HASH)}</p>',
        f'<p class="small">{_t(say.SAFETY)}</p>',
    ]
    return _page("Report of a visit", body, kind="report")


def form_page(form: Form) -> str:
    """A short form of titled sentences."""
    body = [f"<h1>{_t(form[0][0])}</h1>", *(f"<p>{_t(text)}</p>" for text in form[0][1])]
    body += [_section(title, [f"<li>{_t(text)}</li>" for text in sentences]) for title, sentences in form[1:]]
    return _page(form[0][0], body, kind="form")


def _page(title: str, body: Iterable[str], *, kind: str) -> str:
    head = f'{HEAD}<title>{_t(title)}</title><style>{STYLE}</style></head><body><main class="{kind}">\n'
    return head + "\n".join(filter(None, body)) + "\n</main></body></html>\n"


def _t(text: str) -> str:
    """Text of anybody as it may stand in the page, between tags or in quotes."""
    return html.escape(printable(text, say.LONGEST), quote=True)


def _long(text: str) -> str:
    """Text of the rules, however long."""
    return html.escape(printable(text, 100_000), quote=True)


def _section(title: str, items: Sequence[str], *, intro: str = "", fine: bool = False) -> str:
    """A titled list, nothing where there is nothing in it; *fine*: in small print on paper."""
    if not items and not intro:
        return ""
    told = f"<p>{_t(intro)}</p>" if intro else ""
    kind = ' class="fine"' if fine else ""
    listed = f"<ul{kind}>{''.join(items)}</ul>" if items else ""
    return f"<section><h2>{_t(title)}</h2>{told}{listed}</section>"


def _hazards(s: Summary) -> Iterator[str]:
    for h in s.hazards:
        because = f'<p class="small">because of {_t(say.as_words("; ".join(h.because)))} ({_t(h.at)})</p>'
        yield f'<div class="stop"><p class="off">STOP. {_t(h.says)}</p><p>Now: {_t(h.tells["now"])}</p><p>Call: {_t(h.tells["call"])}</p>{because}</div>'


# --- records and their ranges -----------------------------------------------------------------


def _after(belief: Iterable[Belief]) -> dict[int, Belief]:
    return {b.after: b for b in belief}


def _records(title: str, records: Sequence[ToldRecord], after: dict[int, Belief]) -> str:
    if not records:
        return ""
    groups = [
        f"<h3>{_t(step[0].upper() + step[1:])}</h3><ol>{''.join(_record(r, after.get(r.entry)) for r in group)}</ol>"
        for step, group in _by_step(records)
    ]
    return f"<section><h2>{_t(title)}</h2>{''.join(groups)}</section>"


def _by_step(records: Sequence[ToldRecord]) -> Iterator[tuple[str, list[ToldRecord]]]:
    return ((step, list(group)) for step, group in groupby(records, say.step_of))


def _record(r: ToldRecord, belief: Belief | None) -> str:
    how, expected = say.how_taken(r), say.expected_of(r, ascii=False)
    off = ' class="off"' if r.stands in ("below", "above", "unlike_healthy") else ""
    lines = [f'<p><span class="says">{r.entry}. {_t(r.says)}:</span> {_t(say.value_of(r, ascii=False))}{f" ({_t(how)})" if how else ""}</p>']
    lines += [_range_drawn(r)] if r.number is not None and (r.expected or r.healthy) else []
    lines += [f'<p class="small"><span{off}>{_t(expected)}</span></p>'] if expected else []
    lines += [f'<p class="small">After this entry leads: {_t(say.belief_of(belief))}</p>'] if belief else []
    return f"<li>{''.join(lines)}</li>"


LEFT, RIGHT, OPEN = 62.0, 262.0, 300.0  # of a range's drawing, of 320 across; OL stands at OPEN


def _range_drawn(r: ToldRecord) -> str:
    """The expected band (a box), what healthy furnaces read (a thick line) and the reading (a pointer)."""
    ends = [end for bounds in (r.expected, r.healthy) if bounds for end in (bounds.low, bounds.high)]
    place = _scale([*ends, r.number or 0.0])
    said = _t(f"{say.value_of(r, ascii=False)}; {say.expected_of(r, ascii=False)}")
    parts = ['<line x1="10" y1="22" x2="310" y2="22" stroke="#999"/>']
    if r.expected:
        low, high = place(r.expected.low), max(place(r.expected.high), place(r.expected.low) + 3)
        parts.append(f'<rect x="{low:.1f}" y="15" width="{high - low:.1f}" height="14" fill="#cfe6d4" stroke="#111" stroke-width="1.5"/>')
    if r.healthy:
        low, high = place(r.healthy.low), max(place(r.healthy.high), place(r.healthy.low) + 3)
        parts.append(f'<line x1="{low:.1f}" y1="22" x2="{high:.1f}" y2="22" stroke="#111" stroke-width="4"/>')
    labelled = r.expected or r.healthy
    if labelled:
        parts += _labels(place(labelled.low), place(labelled.high), r.unit or "count", labelled.low, labelled.high)
    x = place(r.number or 0.0)
    fill = "#111" if r.stands in ("within", "not_judged") else "#c00"
    parts.append(f'<path d="M{x:.1f} 19 l-6 -14 h12 z" fill="{fill}" stroke="#111"/>')
    return f'<svg class="range" viewBox="0 0 320 44" role="img" aria-label="{said}">{"".join(parts)}</svg>'


def _scale(values: Sequence[float]) -> Callable[[float], float]:
    """From values to places across the drawing; what has no end stands at its right."""
    finite = [v for v in values if math.isfinite(v)] or [0.0]
    low, high = min(finite), max(finite)
    span = (high - low) or max(abs(high), 1.0)
    return lambda v: OPEN if math.isinf(v) else LEFT + (RIGHT - LEFT) * (v - low) / span


def _labels(left: float, right: float, unit: str, low: float, high: float) -> list[str]:
    """The ends of a band below it, apart however narrow it is."""
    anchors = ("end", "start") if right - left < 90 else ("middle", "middle")
    ends = [(left, anchors[0], low), (right, anchors[1], high)] if low != high else [(left, "middle", low)]
    return [f'<text x="{x:.1f}" y="41" font-size="11" text-anchor="{anchor}">{_t(format_quantity(v, unit))}</text>' for x, anchor, v in ends]


# --- belief -----------------------------------------------------------------------------------


def _belief(s: Summary) -> str:
    shown = [p for p in s.parts if p.probability >= SHOWN_FROM][:MOST_SHOWN]
    items = [f'<li><span class="says">{p.probability:.0%} {_t(say.words(p.part))}</span> {_t(p.says)}</li>' for p in shown]
    rest = max(1 - s.something_else - sum(p.probability for p in shown), 0)
    items.append(f'<li><span class="says">{s.something_else:.0%} something else</span>, {rest:.0%} all other parts</li>')
    drawn = f"{_lines_drawn(s.belief)}<h3>In the end</h3>" if len(s.belief) > 1 else ""
    return f'<section><h2>Belief after each entry</h2><p class="small">{_t(say.ODDS)}</p>{drawn}<ul>{"".join(items)}</ul></section>'


def _lines_drawn(belief: Sequence[Belief]) -> str:
    """Belief over the entries: a line of its own dashes for each part that is followed, with the key below."""
    names = list(belief[0].parts)
    across = [36 + 312 * i / (len(belief) - 1) for i in range(len(belief))]
    parts = [f'<line x1="36" y1="{_up(y):.0f}" x2="348" y2="{_up(y):.0f}" stroke="#ccc"/>' for y in (0, 0.25, 0.5, 0.75, 1)]
    parts += [f'<text x="32" y="{_up(y) + 4:.0f}" font-size="11" text-anchor="end">{y:.0%}</text>' for y in (0, 0.5, 1)]
    every = max(1, math.ceil(len(belief) / 8))
    parts += [f'<text x="{across[i]:.1f}" y="206" font-size="11" text-anchor="middle">{belief[i].after}</text>' for i in range(0, len(belief), every)]
    parts.append('<text x="192" y="222" font-size="11" text-anchor="middle">entry</text>')
    for name, dash in zip(names, DASHES, strict=False):
        parts.append(_line(across, [b.parts[name] for b in belief], dash, "#111"))
    parts.append(_line(across, [b.something_else for b in belief], ELSE_DASH, "#777"))
    key = [f'<li class="key">{_sample(dash, "#111")}<span>{_t(say.words(name))}</span></li>' for name, dash in zip(names, DASHES, strict=False)]
    key.append(f'<li class="key">{_sample(ELSE_DASH, "#777")}<span>something else</span></li>')
    last = _t(say.belief_of(belief[-1]))
    drawing = f'<svg class="belief" viewBox="0 0 360 226" role="img" aria-label="Belief after each entry; at the end {last}">{"".join(parts)}</svg>'
    return f"<figure>{drawing}<ul>{''.join(key)}</ul></figure>"


def _up(share: float) -> float:
    return 190 - 178 * share


def _line(across: Sequence[float], shares: Sequence[float], dash: str, colour: str) -> str:
    points = " ".join(f"{x:.1f},{_up(y):.1f}" for x, y in zip(across, shares, strict=True))
    return f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash or "none"}"/>'


def _sample(dash: str, colour: str) -> str:
    line = f'<line x1="0" y1="6" x2="48" y2="6" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash or "none"}"/>'
    return f'<svg viewBox="0 0 48 12" aria-hidden="true">{line}</svg>'


# --- proof, repair, findings ------------------------------------------------------------------


def _needs(needs: Iterable[Need]) -> Iterator[str]:
    for need in needs:
        mark, text = say.need_of(need)
        yield f'<li><span class="says">{_t(mark)}</span> {_t(text)}</li>'


def _proof(s: Summary) -> Iterator[str]:
    for proof in s.board.proved or ((s.board.nearest,) if s.board.nearest else ()):
        yield f'<li><span class="says">{_t(proof.says)}</span> <span class="small">({_t(proof.at)})</span></li>'
        yield from _needs(proof.needs)
        if proof.grade == "proved":
            yield f"<li>Because: {_t(proof.because)}</li>"


def _killers(s: Summary) -> Iterator[str]:
    for mark, text in say.killers_of(s):
        yield f'<li><span class="says">{_t(mark)}:</span> {_t(text)}</li>'


def _repair(repair: RepairTold) -> str:
    said = f"<p>{_t(say.repair_of(repair))}</p>"
    before = f"<h3>Before its first step</h3><ul>{''.join(_needs(repair.before))}</ul>" if repair.before else ""
    after = f'<h3>After it</h3><p class="off">{_t(say.repair_result(repair))}</p><ul>{"".join(_needs(repair.needs))}</ul>'
    records = _records("Records after the repair", repair.records, {})
    return f"<section><h2>Repair, and the checks after it</h2>{said}{before}{after}</section>{records}"


def _findings(s: Summary) -> Iterator[str]:
    for title, found in (("Mind", s.doubts), ("Cause", s.root_causes), ("Cleared", s.exonerations), ("Advice", s.advice)):
        for one in found:
            because = f'<p class="small">because of {_t(say.as_words("; ".join(one.because)))} ({_t(one.at)})</p>'
            yield f'<li><span class="says">{title}:</span> {_t(one.says)}{because}</li>'
