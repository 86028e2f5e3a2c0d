"""A set of claims from virtual furnaces of invented shops: what the judging makes of a world whose truth is known.

It is the tool's own world: the furnaces come from the same rules that judge the claims. The figures tell how careful
the judging is with what shops leave out and get wrong, and nothing about real furnaces or real shops.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.furnace.built import WHOLE_CALL, Population, Progress
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import build
from furnace_diag.knowledge.finding_models import Proof
from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.words import words_of
from furnace_diag.quantities import format_quantity

SITES = 6
NOISE = 0.015  # of a reading, as a share
HEADINGS = ("claim", "shop", "date", "part", "bench_outcome", "name", "value", "step", "call", "after_s", "meter", "contact", "set_up", "hold")
SHOWN = {"V": 1, "A": 2, "uA": 1, "ohm": 1, "uF": 1, "in_wc": 2}  # decimals that a usual meter shows; none of other units
BOARDS_BAD = 0.4  # of the boards that are claimed

Row = dict[str, str]


@dataclass(frozen=True)
class Shop:
    """An invented shop. *claims*: its share of all; *proofs*: how often it takes what a proof needs; *wrong*: of its records; *copied*: of its claims."""

    name: str
    claims: float
    proofs: float
    records: tuple[int, int]
    wrong: float
    copied: float


SHOPS = (
    Shop("Lantern Lane Heating", 0.3, 0.7, (2, 5), 0.02, 0.0),
    Shop("Brass Kettle Furnace Co", 0.4, 0.15, (4, 8), 0.05, 0.02),
    Shop("Three Doors Down Repair", 0.3, 0.0, (2, 4), 0.10, 0.15),
)


class Maker:
    """Draws claims from fresh furnaces; the same *seed* gives the same claims."""

    def __init__(self, family: Family, seed: int, tell: Progress | None = None) -> None:
        self.family, self.random = family, np.random.default_rng(seed)
        self.world: Population = build(family, sites=SITES, seed=seed + 1, tell=tell)
        self.boards = np.flatnonzero([f.part == BOARD for f in self.world.faults])
        self.others = np.flatnonzero([f.part != BOARD for f in self.world.faults])
        self.keys = [key for key in self.world.columns if key[2] != "low"]
        self.numbers = np.array([self.world.columns[key] for key in self.keys])
        prior = np.asarray(family.prior)
        self.odds = {True: prior[self.boards] / prior[self.boards].sum(), False: prior[self.others] / prior[self.others].sum()}

    def claims(self, count: int) -> Iterator[list[Row]]:
        """*count* claims, each as its rows."""
        earlier: dict[str, list[Row]] = {}
        for number in range(1, count + 1):
            shop = SHOPS[int(self.random.choice(len(SHOPS), p=[s.claims for s in SHOPS]))]
            bad = bool(self.random.random() < BOARDS_BAD)
            row = self._furnace(bad)
            copied = shop.name in earlier and self.random.random() < shop.copied
            records = earlier[shop.name] if copied else self._records(shop, row, bad)
            earlier[shop.name] = records
            month, day = 1 + int(self.random.integers(12)), 1 + int(self.random.integers(28))
            about = {
                "claim": f"D{number:06}", "shop": shop.name, "date": f"2023-{month:02}-{day:02}", "part": BOARD, "bench_outcome": "bad" if bad else "good",
            }  # fmt: skip
            yield [about | r for r in records]

    def _furnace(self, bad: bool) -> int:
        fault = int(self.random.choice(self.boards if bad else self.others, p=self.odds[bad]))
        return int(self.random.choice(np.flatnonzero(self.world.fault_of == fault)))

    def _records(self, shop: Shop, row: int, bad: bool) -> list[Row]:
        fault = str(self.world.faults[int(self.world.fault_of[row])])
        proofs = [p for p in self.family.knowledge.proof.values() if not bad or fault in p.of]
        found: dict[tuple[str, ...], Row] = {}
        if proofs and self.random.random() < shop.proofs:
            for record in self._as_proof(proofs[int(self.random.integers(len(proofs)))], row, fault):
                found.setdefault(_key(record), record)
        least, most = shop.records
        for record in self._seen(row, int(self.random.integers(least, most + 1))):
            found.setdefault(_key(record), record)
        told = [r for r in found.values() if r["value"]]  # what a sign has no word for is not told
        return [self._mistaken(r, row) if self.random.random() < shop.wrong else r for r in told]

    def _seen(self, row: int, count: int) -> Iterator[Row]:
        """Readings and signs of the furnace, most of them such as differ from a healthy one."""
        healthy = int(np.flatnonzero((self.world.fault_of < 0) & (self.world.site_of == self.world.site_of[row]))[0])
        read, good = (self.world.table[self.numbers, r].astype(float) for r in (row, healthy))
        there = ~np.isnan(read)
        mine, usual = (np.nan_to_num(v, nan=-1e9, posinf=1e9) for v in (read, good))
        differs = there & (np.abs(mine - usual) > 0.1 * np.abs(usual) + 0.5)
        weight = there * np.where(differs, 8.0, 1.0)
        for i in self.random.choice(len(self.keys), min(count, int(there.sum())), replace=False, p=weight / weight.sum()):
            name, step, _ = self.keys[int(i)]
            yield {"name": name, "value": self._value(name, float(read[int(i)])), "step": "" if step == WHOLE_CALL else step}

    def _as_proof(self, proof: Proof, row: int, fault: str) -> Iterator[Row]:
        """What a proof needs, as the furnace gives it, in as many calls.

        What no circuit gives is told as in the proof's example; where another part has failed, only what is told of the visit as a whole.
        """
        conditions = [self.family.knowledge.condition[n] for n in proof.needs]
        of_the_visit = {line.sign for c in conditions if c.once for way in c.any_of for line in way}
        for call in range(1, proof.calls + 1):
            for example in proof.holds:
                if "option" in example:
                    continue  # it is known of the furnace, and no record
                name, step = str(example.get("point") or example.get("sign")), str(example.get("step", ""))
                meter = "low" if (name, step, "low") in self.world.columns and example.get("meter") == "low" else "high"
                column = next((self.world.columns[k] for k in ((name, step, meter), (name, step, ""), (name, WHOLE_CALL, "")) if k in self.world.columns), None)
                read = float("nan") if column is None else float(self.world.table[column, row])
                if np.isnan(read) and (column is not None or (fault not in proof.of and name not in of_the_visit)):
                    continue  # that furnace never is in that step, or nothing tells what would be seen there
                value = str(example["value"]) if column is None else self._value(name, read)
                more = {k: " ".join(v) if isinstance(v, (list, tuple)) else str(v) for k, v in example.items() if k in HEADINGS and k not in ("value", "step")}
                yield {"name": name, "value": value, "step": step, "call": str(call), **more}

    def _value(self, name: str, read: float) -> str:
        point = self.family.knowledge.point.get(name)
        if point is not None:
            noisy = read * (1 + NOISE * float(self.random.standard_normal())) if np.isfinite(read) else read
            return format_quantity(round(noisy, SHOWN.get(point.unit, 0)) if np.isfinite(noisy) else noisy, point.unit, ascii=True)
        sign = self.family.knowledge.sign[name]
        return self._word(sign, int(read))

    def _word(self, sign: Sign, number: int) -> str:
        assert sign.shows is not None
        word = words_of(sign.shows, self.family.sequence)[number]
        able = [v for v in sign.values if word in sign.meant_by(v)]
        return able[int(self.random.integers(len(able)))] if able else ""

    def _mistaken(self, record: Row, row: int) -> Row:
        """The same record as another furnace would have given it."""
        key = next((k for k in self.keys if k[0] == record["name"] and k[1] in (record["step"], WHOLE_CALL)), None)
        other = float(self.world.table[self.world.columns[key], int(self.random.integers(len(self.world.fault_of)))]) if key else float("nan")
        value = "" if np.isnan(other) else self._value(record["name"], other)
        return record | {"value": value} if value else record


def _key(record: Row) -> tuple[str, ...]:
    return record["name"], record["step"], record.get("call", "1")


def write_demo(family: Family, path: Path, count: int, seed: int, tell: Progress | None = None) -> None:
    """Write *count* claims as a table with a row for each record."""
    with path.open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, HEADINGS, restval="", lineterminator="\r\n")
        table.writeheader()
        for rows in Maker(family, seed, tell).claims(count):
            table.writerows(rows)


def world_in_words() -> list[str]:
    """What the invented shops are like, for whoever reads the figures."""
    return [
        f"{s.name}: {s.claims:.0%} of the claims. It takes what a proof needs in {s.proofs:.0%} of them; {s.wrong:.0%} of its records are wrong "
        f"and {s.copied:.0%} of its claims are copied from the one before."
        for s in SHOPS
    ]
