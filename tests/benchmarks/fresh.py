"""Fresh virtual furnaces, as the ranking has never seen them, and a technician who reads one of them with a meter that errs."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.two_answers import same_again
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.furnace.family import Family, luck
from furnace_diag.furnace.population import WHOLE_CALL, Population, furnaces_of, observed
from furnace_diag.knowledge.models import Furnace, Point, Sign
from furnace_diag.knowledge.words import words_of
from furnace_diag.problems import Place

METER_SHARE, METER_VOLTS = 0.01, 0.3  # error of a reading: a share of it, and volts more; standard deviations
SLIPPED, MISTAKEN = 0.02, 0.05  # readings taken at a neighbouring point, signs told wrong
TIMES_OFF = 0.5  # how far times of bent furnaces are off
WIDE_SUPPLY = (110.0, 127.0)  # V, ANSI C84.1 Range B at the service
UNUSUAL = 0.9  # share of the values of an option that are not the usual one, on bent furnaces
HERE = Place("virtual furnace", 1, 1)


@dataclass
class Technician:
    """Reads one row of a population; *gain* is that of the meter. The same reading of the same furnace errs the same way, whoever asks for it.

    *wrong*: the readings that were slipped or mistaken.
    """

    evidence: Evidence
    population: Population
    row: int
    gain: float = 1.0
    wrong: list[str] = field(default_factory=list)

    @property
    def fault(self) -> int:
        """The number of what is wrong with the furnace."""
        return int(self.population.fault_of[self.row])

    def asked(self, name: str, step: str | None, meter: str | None = None, look: str = "") -> Record | None:
        """What is noted; None where the furnace never comes to that step. *look*: which look it is, where it is not the first."""
        at = step or (WHOLE_CALL if (name, WHOLE_CALL, "") in self.population.columns else "")
        k, chance = self.evidence.knowledge, luck(self.row, f"{name} {at}{look}")
        if name in k.sign:
            return self._seen(k.sign[name], at, chance)
        record = self._read(k.point[name], at, meter, chance)
        if record is None or chance.random() >= SLIPPED:
            return record
        others = self._neighbours(k.point[name], at)
        wrong = self._read(others[int(chance.integers(len(others)))], at, meter, chance) if others else None
        if wrong is None:
            return record
        self.wrong.append(name)
        return replace(record, number=wrong.number, said=f"{record.name}: {wrong.number:.4g} at {at}")

    def in_call(self, name: str, step: str | None, meter: str | None, call: int) -> Record | None:
        """The same in heat call number *call*: another look at the same furnace."""
        record = self.asked(name, step, meter, f" call {call}" if call > 1 else "")
        return None if record is None else replace(record, call=call, said=f"{record.said}, heat call {call}" if call > 1 else record.said)

    def looked_again(self, record: Record) -> Record:
        """The same looked at again, and erred in as often: as it was, and then surer, or as it is noted now."""
        before = [*self.wrong]
        self.wrong.clear()
        made = self.asked(record.name, record.step, record.meter, " again")
        if made is None or same_again(made, record):
            self.wrong[:] = before
            return replace(record, sure=True)
        self.wrong[:] = [*(name for name in before if name != record.name), *self.wrong]
        return made

    def _value(self, name: str, step: str, meter: str | None) -> float:
        """What the furnace gives; nan where it never gets there, and where nothing of the kind is foretold."""
        columns = self.population.columns
        keys = [key for key in ((name, step, meter or "high"), (name, step, "high"), (name, step, "")) if key in columns]
        return float(self.population.table[columns[keys[0]], self.row]) if keys else np.nan

    def _read(self, point: Point, step: str, meter: str | None, chance: np.random.Generator) -> Record | None:
        value = self._value(point.point, step, meter)
        if np.isnan(value):
            return None
        if np.isfinite(value):
            share, volts = chance.standard_normal(2)
            value = value * self.gain * (1 + METER_SHARE * share) + (METER_VOLTS * volts if point.unit == "V" else 0.0)
        said = f"{point.point}: {value:.4g} at {step}"
        return Record("point", point.point, said, HERE, number=value, step=step, meter="low" if meter == "low" else None)

    def _neighbours(self, point: Point, step: str) -> list[Point]:
        """Points of the same kind at which the leads could be by mistake: those that share a place with it, else any."""
        alike = [p for p in self.evidence.family.points if p.function == point.function and step in p.steps and p.point != point.point]
        return [p for p in alike if {*(p.leads or ())} & {*(point.leads or ())}] or alike

    def _seen(self, sign: Sign, step: str, chance: np.random.Generator) -> Record | None:
        odds = self._odds(sign, step)
        if odds is None or not odds.sum():
            return None
        word = str(chance.choice(sign.values, p=odds / odds.sum()))
        if chance.random() < MISTAKEN:
            self.wrong.append(sign.sign)
            word = str(chance.choice([v for v in sign.values if v != word]))
        at = None if step in ("", WHOLE_CALL) else step
        return Record("sign", sign.sign, f"{sign.sign}: {word}" + (f" at {at}" if at else ""), HERE, word=word, step=at)

    def _odds(self, sign: Sign, step: str) -> NDArray[np.float64] | None:
        """How often it is told as each of its values."""
        if sign.shows is None:
            return np.array([self.evidence.habits(sign, v)[self.fault] for v in sign.values])
        value = self._value(sign.sign, step, None)
        words = words_of(sign.shows, self.evidence.family.sequence)
        return None if np.isnan(value) else np.array([chance_of_words(sign, words, v)[int(value)] for v in sign.values])


def drawn(family: Family, population: Population, count: int, seed: int, only: str = "") -> list[int]:
    """Rows with a failure, as often as the rules say; *only* of that part."""
    rows = np.flatnonzero(population.fault_of >= 0)
    rows = rows[[family.faults[f].part.startswith(only) for f in population.fault_of[rows]]]
    weight = family.prior[population.fault_of[rows]]
    picked: list[int] = np.random.default_rng(seed).choice(rows, count, p=weight / weight.sum()).tolist()
    return picked


def bent(family: Family, sites: int, seed: int) -> Population:
    """Furnaces whose laws are others than those of the rules: times up to half off, a wide supply, options off the usual."""
    k = family.knowledge
    furnace = _bent(family.furnace)
    other = Family(k.model_copy(update={"furnace": {**k.furnace, furnace.furnace: furnace}}), furnace.furnace)
    furnaces, fault_of, site_of = furnaces_of(other, sites=sites, seed=seed)
    for name, option in furnace.options.items():
        if option.says.startswith("seconds"):
            furnaces._chosen[name] = furnaces.chosen(name) * luck(seed, f"{name} off").uniform(1 - TIMES_OFF, 1 + TIMES_OFF, sites)[site_of]
    return observed(furnaces, fault_of, site_of)


def _bent(furnace: Furnace) -> Furnace:
    numbers = dict(furnace.numbers)
    for name, spread in numbers.items():
        if spread.unit == "s":
            low, high = spread.between
            numbers[name] = spread.model_copy(update={"between": (low * (1 - TIMES_OFF), high * (1 + TIMES_OFF))})
    numbers["supply_volts"] = numbers["supply_volts"].model_copy(update={"between": WIDE_SUPPLY})
    options = {}
    for name, option in furnace.options.items():
        others = sum(share for value, share in option.values.items() if value != option.usual)
        shares = {v: (1 - UNUSUAL if v == option.usual else UNUSUAL * share / others) for v, share in option.values.items()}
        options[name] = option.model_copy(update={"values": shares})
    return furnace.model_copy(update={"numbers": numbers, "options": options})


def without_fault(evidence: Evidence, number: int) -> Evidence:
    """The same rules and furnaces as if nobody knew of one failure."""
    family, population = Family(evidence.knowledge, evidence.family.furnace.furnace), evidence.population
    gone = population.faults[number]
    family.__dict__["_failures"] = {fault: failure for fault, failure in family._failures.items() if fault != gone}
    kept = population.fault_of != number
    of = population.fault_of[kept]
    rest = replace(
        population,
        faults=family.faults,
        fault_of=np.where(of > number, of - 1, of).astype(np.int16),
        site_of=population.site_of[kept],
        options={name: values[kept] for name, values in population.options.items()},
        table=population.table[:, kept],
        stops=population.stops[kept],
        rests=population.rests[kept],
        home=None,  # what is kept there is of all furnaces
    )
    less = Evidence(family, rest)
    less.__dict__["finder"] = evidence.finder  # the findings hang on no failure
    return less
