"""No proof of the board is met on a furnace whose board is good, whoever takes what it asks for. The benchmark tests/benchmarks/proofs.py, on one site."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from furnace_diag.knowledge.models import Knowledge

BENCHMARKS = Path(__file__).resolve().parents[1] / "benchmarks"
SEED = 515_151  # of furnaces that no ranking has seen


@pytest.fixture(scope="module")
def proofs() -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(BENCHMARKS))
        import proofs

        return proofs


@pytest.fixture(scope="module")
def benches(proofs: Any, knowledge: Knowledge) -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = proofs.furnaces_for(knowledge, 1, SEED)
    return found


def test_no_technician_proves_a_good_board_bad(proofs: Any, benches: list[tuple[str, Any]]) -> None:
    """Honest; careless, who answers every check as the proof wants; and mixed, who puts good and bad moments of what comes and goes together."""
    tried = 0
    for name, bench in benches:
        found = proofs.condemned(bench, name)
        tried += found.tried
        assert {who: dict(wrong) for who, wrong in found.wrong.items()} == {proofs.HONEST: {}, proofs.CARELESS: {}, proofs.MIXED: {}}, name
    assert tried > 150


def test_a_bad_board_is_proved_bad_by_who_takes_it_all_honestly(proofs: Any, benches: list[tuple[str, Any]]) -> None:
    """Else the first test would hold of proofs that nobody can meet. Of each failure on which anything shows nearly all are proved (the benchmark has the
    figures of many sites)."""
    bench = benches[0][1]
    of = {f for proof in bench.k.proof.values() for f in proof.of}
    rows = [r for r in bench.visits.rows if (f := bench.fault(r)) is not None and str(f) in of and bench.family.failure(f).comes_and_goes is None]
    shown = [r for r in rows if bench.visits.differs(bench.healthy)[r]]
    proved = [r for r in shown if any(bench.proved(p, r, proofs.HONEST) for p, proof in bench.k.proof.items() if str(bench.fault(r)) in proof.of)]

    assert len(shown) > 30
    assert len(proved) >= 0.9 * len(shown)
