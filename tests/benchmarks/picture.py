"""The calibration of stated probabilities as a picture: SVG, written by hand."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import sqrt

EDGES = (0.01, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 0.98, 1.0001)
SIDE, MARGIN, KEY = 420, 60, 40  # of the square and around it
INKS = ("#1b6ca8", "#b5520a", "#3d7a3d")
SURE = 1.96  # standard deviations of an interval of 95 %


@dataclass(frozen=True)
class Stated:
    """Statements of about one probability: how many, what was stated on average, and what share came true, with its interval of 95 %."""

    many: int
    stated: float
    true: float
    low: float
    high: float


def calibration(pairs: Iterable[tuple[float, bool]]) -> list[Stated]:
    """Probabilities that were stated, and whether what they were of was so; told in bins between EDGES."""
    told = list(pairs)
    found = []
    for low, high in itertools.pairwise(EDGES):
        some = [(p, so) for p, so in told if low <= p < high]
        if some:
            share = sum(so for _, so in some) / len(some)
            found.append(Stated(len(some), sum(p for p, _ in some) / len(some), share, *_interval(share, len(some))))
    return found


def _interval(share: float, many: int) -> tuple[float, float]:
    """Wilson (1927), "Probable inference, the law of succession, and statistical inference", JASA 22."""
    middle = (share + SURE**2 / (2 * many)) / (1 + SURE**2 / many)
    half = SURE * sqrt(share * (1 - share) / many + SURE**2 / (4 * many**2)) / (1 + SURE**2 / many)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def drawing(series: Mapping[str, Sequence[Stated]]) -> str:
    """What was stated to the right, what came true upwards; on the slanting line they agree. A bar is the interval of 95 %."""
    height = SIDE + 2 * MARGIN + KEY
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE + 2 * MARGIN} {height}" font-family="sans-serif" font-size="13" role="img">',
        "<title>Stated probability of a part, and how often it was at fault</title>",
        f'<rect width="{SIDE + 2 * MARGIN}" height="{height}" fill="white"/>',
        f'<line x1="{_x(0)}" y1="{_y(0)}" x2="{_x(1)}" y2="{_y(1)}" stroke="#999" stroke-dasharray="5 4"/>',
    ]
    for tenth in range(0, 11, 2):
        at = tenth / 10
        lines += [
            f'<path d="M{_x(at)} {_y(0)}V{_y(1)}M{_x(0)} {_y(at)}H{_x(1)}" stroke="#ddd"/>',
            f'<text x="{_x(at)}" y="{_y(0) + 18}" text-anchor="middle">{at:.0%}</text>',
            f'<text x="{_x(0) - 8}" y="{_y(at) + 4}" text-anchor="end">{at:.0%}</text>',
        ]
    lines.append(f'<text x="{_x(0.5)}" y="{_y(0) + 38}" text-anchor="middle">stated</text>')
    lines.append(f'<text x="{_x(0)}" y="{_y(1) - 14}">came true</text>')
    for n, (name, found) in enumerate(series.items()):
        ink, aside = INKS[n % len(INKS)], 3 * n
        lines += [_mark(s, ink, aside) for s in found]
        lines.append(f'<circle cx="{_x(0) + 6}" cy="{_y(0) + 56 + 18 * n}" r="5" fill="{ink}"/>')
        lines.append(f'<text x="{_x(0) + 18}" y="{_y(0) + 60 + 18 * n}">{escape(name)}</text>')
    return "\n".join([*lines, "</svg>", ""])


def _mark(s: Stated, ink: str, aside: int) -> str:
    x, radius = _x(s.stated) + aside, min(3 + sqrt(s.many) / 4, 9)
    bar = f'<line x1="{x:.1f}" y1="{_y(s.low):.1f}" x2="{x:.1f}" y2="{_y(s.high):.1f}" stroke="{ink}" stroke-width="1.5"/>'
    return f'{bar}<circle cx="{x:.1f}" cy="{_y(s.true):.1f}" r="{radius:.1f}" fill="{ink}"><title>{s.many} statements</title></circle>'


def _x(share: float) -> float:
    return MARGIN + SIDE * share


def _y(share: float) -> float:
    return MARGIN + SIDE * (1 - share)
