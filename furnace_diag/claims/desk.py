"""Judging one claim: what its records show of the part that is claimed, by the very weighing and proofs that `rank` uses.

The desk has no rule and no model of its own; its few bounds stand in the words table (`claims`). It says what the
records show or do not show, and never what a warranty covers.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from furnace_diag.claims.fears import Fears
from furnace_diag.claims.told_once import joined
from furnace_diag.claims.understanding import Claim
from furnace_diag.diagnosis.against import impossible_with
from furnace_diag.diagnosis.answer import FailureBelief, Weighed, failure_belief, weighed
from furnace_diag.diagnosis.clash import clashes, contradicts
from furnace_diag.diagnosis.evidence import Evidence, Kinds
from furnace_diag.diagnosis.findings import Found, ProofState
from furnace_diag.diagnosis.hearsay import COMPLAINT
from furnace_diag.diagnosis.lacking import lacks_little
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.two_answers import clashing
from furnace_diag.diagnosis.value_fits import Values
from furnace_diag.diagnosis.verdict import BOARD, by_part, nearest_proof, of_the_board, part_of
from furnace_diag.furnace.built import Population
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Problem, printable

JUDGEMENT_VERSION = 23
CLASH = "cannot_be_true_together"
VERDICTS = ("supported", "plausible", "not_supported", "not_shown", CLASH, "unreadable")
MOST_FITS_KEPT = 6000  # arrays of one number for each kind of furnace, some 8 kB each
NOT_SETTLED = "not_settled"  # of the board, where records contradict one another or something that tells of it could not be read
SETTLED = ("proved_bad", "cleared", "unlikely")  # what is said of the board that is not so then
UNSETTLED = {"supported": "plausible", "not_supported": "not_shown"}  # what a verdict comes to then
BOARD_SAYS = {
    "cleared": "What was seen clears the control board, and does not show what has failed.",
    "unlikely": "On these records and the usual odds a bad control board is unlikely; they do not show what has failed.",
}
POINTED_TO = 2  # times its odds before any record at which the records point to a failure, judgement
TELLS_WHICH = 1.2  # as often as any failure of the board does a proof's gain belief, where something tells which of them it is; judgement
LEAST_OF_A_PART = 0.1  # of the belief in a part's likeliest failure from which another of it is named beside it, judgement
MOST_ALIKE = 2  # failures that are named beside it
TINY = 1e-12
MOST_TOLD = 40  # problems of one claim that are told


@dataclass(frozen=True)
class Needed:
    """A condition of a proof: the records that meet it or speak against it, or what to do to meet it; and where it stands in the rules.

    *almost*: records that would meet it, each with what it must still say of how it was taken. *calls_left*: in how many more heat calls it is
    wanted. *before*: records that met it in another call than the one that comes next; *unfit*: records that do not count, each with why.
    """

    condition: str
    says: str
    met_by: tuple[str, ...]
    against: tuple[str, ...]
    take: str
    at: str
    almost: tuple[str, ...] = ()
    calls_left: int = 0
    before: tuple[str, ...] = ()
    unfit: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proved:
    """How far the proof nearest to the claim has come."""

    proof: str
    says: str
    grade: str
    because: str
    at: str
    needs: tuple[Needed, ...]


@dataclass(frozen=True)
class Cause:
    """The failure that the records point to."""

    part: str
    failure: str
    says: str
    share_of_part: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    at: str


@dataclass(frozen=True)
class Shown:
    """A finding of the rules that the records show."""

    finding: str
    says: str
    do: str
    because: tuple[str, ...]
    at: str


@dataclass(frozen=True)
class Judgement:
    """What the records of a claim show; the fields and their order are the JSON.

    *share*: belief in the claimed part. *cause*: the likeliest failure of another part. *clash*: a smallest set of records that do
    not fit together. *held_back*: entries that could not be read, for which a verdict waits. *records*: what was read, as a report has it.
    *feared*: dangers that the text speaks of and no record tells. *unread*: how many entries and pieces of text could not be read in all.
    *untold*: those of *unmatched* that name the claimed part, a reading or a sign. *remarks*: the shop's own text.
    *engine* is empty where nothing was weighed: then no share says anything.
    """

    version: int
    rules_version: str
    claim: str
    shop: str
    date: str
    month: str
    part: str
    asked_for: str
    part_mark: str
    bench_outcome: str
    verdict: str
    says: str
    place: str
    board: str
    share: float
    something_else: float
    cause: Cause | None
    proof: Proved | None
    clash: tuple[str, ...]
    hazards: tuple[Shown, ...]
    feared: tuple[str, ...]
    clears: tuple[Shown, ...]
    doubts: tuple[Shown, ...]
    root_causes: tuple[Shown, ...]
    held_back: tuple[str, ...]
    unmatched: tuple[str, ...]
    notes: tuple[str, ...]
    unread: int
    remarks: tuple[str, ...]
    furnace: str
    options: dict[str, str]
    complaint: str
    records: tuple[dict[str, object], ...]
    engine: str
    untold: tuple[str, ...] = ()


class RememberingEvidence(Evidence):
    """Evidence that remembers what a record says of every furnace: in many claims the same words come again."""

    def __init__(self, family: Family, population: Population) -> None:
        super().__init__(family, population)
        self._fits: OrderedDict[tuple[object, ...], Kinds] = OrderedDict()

    def make_ready(self) -> None:
        """Make now what is the same for all reports, so that processes that are copied have it."""
        self.finder.make_ready()
        self.comings, self.population.failure_of  # noqa: B018  made when first asked for

    def fit_by_kind(self, record: Record, values: Values | None = None) -> Kinds:
        """As of any evidence; what a point or sign may show besides is not remembered."""
        if values is not None:
            return super().fit_by_kind(record, values)
        r = record
        key = (r.kind, r.name, r.number, r.word, r.approximate, r.give, r.step, r.meter, r.taken_off, r.hold)  # all that a fit hangs on
        if key in self._fits:
            self._fits.move_to_end(key)
        else:
            self._fits[key] = super().fit_by_kind(record)
            if len(self._fits) > MOST_FITS_KEPT:
                self._fits.popitem(last=False)
        return self._fits[key]


class Desk:
    """Judges claims by the rules; make it once. *population_of*: the furnaces of a family, by its id."""

    def __init__(self, knowledge: Knowledge, population_of: Callable[[str], tuple[Family, Population]]) -> None:
        self.knowledge = knowledge
        self._population_of = population_of
        self._evidence: dict[str, RememberingEvidence] = {}
        self.bounds = next(iter(knowledge.words.values())).claims
        self._fears = Fears(knowledge)

    def evidence(self, family: str) -> RememberingEvidence:
        """The evidence of a family, made when first asked for."""
        if family not in self._evidence:
            self._evidence[family] = RememberingEvidence(*self._population_of(family))
        return self._evidence[family]

    def judge(self, claim: Claim) -> Judgement:
        """What the records of *claim* show."""
        if claim.fatal:
            return self._judgement(claim, "unreadable", _told(claim.fatal)[0], notes=_told([*claim.fatal[1:], *claim.notes]))
        own = [r for r in claim.report.records if _is_own(r)]
        if (claim.unread and not own) or (claim.unmatched and not claim.report.records):
            says, but = "Nothing of what was read could be understood", "but the danger that the text speaks of, so nothing is shown"
            judgement = self._judgement(claim, "unreadable", f"{says}.")
            return replace(judgement, verdict="not_shown", says=f"{says} {but}.") if judgement.feared else judgement
        clash = clashing(own, self.knowledge.sign)
        if clash:
            what = f"Two records answer the same question in two ways, so at least one of them is wrong. {_open(claim.part)}"
            return self._judgement(claim, CLASH, what, board=NOT_SETTLED, clash=_told(clash))
        return self._weighed(claim, self.evidence(claim.report.family))

    # --- what the records show ---------------------------------------------------------------

    def _weighed(self, claim: Claim, evidence: RememberingEvidence) -> Judgement:
        seen = weighed(claim.report, evidence)
        shares = by_part(seen.belief)
        share = shares.get(claim.part, 0.0)
        cause = _cause(evidence, seen, shares, claim.part, self.bounds.worth_naming, self.bounds.told_apart)
        proof = self._proof(claim, evidence, seen)
        verdict, says, clash = self._verdict(claim, evidence, seen, shares, cause, proof)
        board, unsettled = seen.board.verdict, _is_unsettled(claim)
        if unsettled and (verdict in UNSETTLED or board in SETTLED):
            verdict, board = UNSETTLED.get(verdict, verdict), NOT_SETTLED
            says = f"{_left_out(claim)} not be read, so nothing is settled. Without that: {says[0].lower()}{says[1:]}"
        elif claim.unmatched and verdict in UNSETTLED:
            says += " Its free text was not all understood: read it before you answer."
        found, clashes_ = seen.found, verdict == CLASH
        return self._judgement(
            claim, verdict, says, board=NOT_SETTLED if clashes_ else board, share=share, something_else=seen.posterior.something_else, cause=cause,
            proof=proof, clash=clash, hazards=_shown(found.hazards, "now"), clears=() if clashes_ else self._clears(claim.part, found.exonerations),
            doubts=_shown(found.doubts, "do"), root_causes=_shown(found.root_causes, "look"), engine=found.engine,
        )  # fmt: skip

    def _clears(self, part: str, found: Sequence[Found]) -> tuple[Shown, ...]:
        """What was found that clears a failure of the claimed part."""
        rules = self.knowledge.exoneration
        return tuple(s for s in _shown(found, "") if any(part_of(f) == part for f in rules[s.finding].clears))

    def _verdict(
        self, claim: Claim, evidence: Evidence, seen: Weighed, shares: Mapping[str, float], cause: Cause | None, proof: Proved | None
    ) -> tuple[str, str, tuple[str, ...]]:
        """The verdict, what it says in a sentence, and the records that clash."""
        share = shares.get(claim.part, 0.0)
        part, leads = _words(claim.part), cause is not None and cause.share_of_part >= self.bounds.elsewhere
        named = not _is_unsettled(claim)  # what is not read yet may speak against any other part
        if claim.part == BOARD and seen.board.proved:
            return "supported", f"The records prove it. {seen.board.proved[0].says}.", ()
        together = clashes(evidence, seen.groups)
        clash = next((c for c in together if all(map(_is_own, c)) and contradicts(c, evidence)), ())  # a complaint may be of another time
        if clash:
            what = "Some records contradict one another: no furnace, sound or with one failure, gives them together. One is wrong or was taken at another time."
            return CLASH, f"{what} {_open(claim.part)}", tuple(f"{r.said} ({r.place})" for r in clash)
        if seen.posterior.something_else >= max(self.bounds.together, *shares.values()):  # it leads before every part, and far enough
            return "not_shown", _unknown_cause(together, cause if named and cause is not None and cause.share_of_part > share else None), ()
        contested = [n for n in proof.needs if n.against] if proof is not None and proof.grade == "shown" else []
        if claim.part == BOARD and contested:
            against = "; ".join(dict.fromkeys(said for n in contested for said in n.against))
            what = f"Something speaks against what a heat call shows of the board: no furnace with that failure gives {against}."
            return "not_shown", f"{what} One of the records is wrong, or two things have failed.", ()
        if claim.part == BOARD and proof is not None and proof.grade == "shown":
            return "plausible", f"The records show it, and do not prove it yet. {proof.says}.", ()
        leads_itself = share == max(shares.values()) and share > seen.posterior.something_else and seen.board.verdict == "suspected"
        if claim.part == BOARD and leads_itself and proof is not None and (failed := _failed_output(proof)) is not None:
            lacks = "; ".join(n.says for n in proof.needs if n.take)
            return "plausible", f"The records show what the proof is of, and do not prove it yet. {failed.says}. Still to be shown: {lacks}.", ()
        untold = self._how_untold(seen)
        if claim.part == BOARD and share == max(shares.values()) and untold and proof is not None:
            return "plausible", f"The records would show it if they told how they were taken. {proof.says}. Still to be told: {'; '.join(untold)}.", ()
        if cause is not None and leads and self._is_elsewhere(claim, seen, share) and self._is_shown(claim, seen, cause):
            cannot = impossible_with(evidence, seen.groups, [f"{cause.part}:{cause.failure}"])
            if cannot:
                other = f"the {_words(cause.part)} ({cause.says})" if named else "another part"
                lean = f"The records lean to {other}, which does not give: {'; '.join(cannot)}."
                return "not_shown", f"{lean} One may be misread, or two things have failed.", ()
            point = f" They point to the {_words(cause.part)} ({cause.share_of_part:.0%}): {cause.says}." if named else ""
            return "not_supported", f"The records do not show that the {part} has failed.{point}", ()
        if not any(map(_is_own, claim.report.records)):
            told = "; ".join(r.said.removeprefix(COMPLAINT) for r in claim.report.records)
            what = f"Nothing but the complaint could be read ({printable(told, 200)})" if told else "Nothing was read"
            return "not_shown", f"{what}, so nothing is shown.", ()
        if claim.part != BOARD and share >= self.bounds.elsewhere and (why := self._looks_failed(claim.part, seen)) is not None:
            what = f"The records point to the {part} ({share:.0%}), and a good one may do the same: {'; '.join(why.because)}. {why.says}"
            return "not_shown", f"{what} Put that right and read again before the {part} is judged.", ()
        if claim.part != BOARD and share >= self.bounds.elsewhere:
            return "plausible", f"The records point to the {part} ({share:.0%}). The rules have no proof for this part.", ()
        known = BOARD_SAYS.get(seen.board.verdict, "") if claim.part == BOARD else ""
        known = known or self._against(claim.part, seen, share) if named else ""  # what is not read may speak for it
        leaning = leads and named and cause is not None
        lean = f" They lean to the {_words(cause.part)} ({cause.share_of_part:.0%}), which is not enough to name it." if leaning and cause is not None else ""
        if claim.part == BOARD and share >= self.bounds.elsewhere:
            return "not_shown", f"The records point to the {part} ({share:.0%}), and no heat call shows all that its proof wants: a rank is no proof.", ()
        return "not_shown", (known or f"The records do not decide whether the {part} has failed.") + lean, ()

    def _looks_failed(self, part: str, seen: Weighed) -> Found | None:
        """What was found that makes a good *part* do what the likeliest of its failures does, if anything was."""
        likeliest = max((f for f in seen.belief if part_of(f) == part), key=lambda f: seen.belief[f], default="")
        causes = self.knowledge.root_cause
        return next((c for c in seen.found.root_causes if not {part, likeliest}.isdisjoint(causes[c.finding].looks_like)), None)

    def _is_elsewhere(self, claim: Claim, seen: Weighed, share: float) -> bool:
        """Whether little enough is believed of the claimed part for another to be named; of the board its verdict tells."""
        if claim.part == BOARD:
            return seen.board.verdict in ("unlikely", "cleared")
        return share < next(iter(self.knowledge.words.values())).verdict["unlikely"]

    def _is_shown(self, claim: Claim, seen: Weighed, cause: Cause) -> bool:
        """Whether the records themselves, and neither the odds before them nor the complaint, tell the cause from a failure of the claimed part."""
        told_apart = seen.fit[f"{cause.part}:{cause.failure}"] >= self.bounds.told_apart * self._best_fit(claim.part, seen)
        read = [said for said in cause.speaks_for if any(not one.startswith(COMPLAINT) for one in said.split("; "))]
        return told_apart and len(read) >= self.bounds.least_records

    def _how_untold(self, seen: Weighed) -> tuple[str, ...]:
        """What the suspected proof lacks of a heat call, where that is no more than whether the meter held a reading or the load was on.

        Nothing where a reading itself is lacking, or its step, its time, its meter, or what was off: these tell a bad board from a good one.
        """
        needs = seen.board.nearest.needs if seen.board.nearest is not None else ()
        of_call = [n for n in needs if n.condition in self.knowledge.condition and not self.knowledge.condition[n.condition].once]
        lacking = [n for n in of_call if n.take and not n.met_by]
        if any(n.denied_by for n in needs) or not all(n.almost and all(map(lacks_little, n.almost)) for n in lacking) or len(lacking) == len(of_call):
            return ()
        return joined(n.almost for n in lacking)

    def _against(self, part: str, seen: Weighed, share: float) -> str:
        """What is said where the records speak against the claimed part; empty where only the odds before them do."""
        bounds = next(iter(self.knowledge.words.values())).verdict
        if not seen.groups or share >= bounds["unlikely"] or self._best_fit(part, seen) >= bounds["still_fits"]:
            return ""
        return f"The records speak against a failed {_words(part)} ({share:.0%}), and do not show what has failed."

    @staticmethod
    def _best_fit(part: str, seen: Weighed) -> float:
        """How well the records fit the failure of *part* that fits them best, against the best of all."""
        return max((fit for failure, fit in seen.fit.items() if part_of(failure) == part), default=0.0)

    def _proof(self, claim: Claim, evidence: Evidence, seen: Weighed) -> Proved | None:
        """The complete proof, or the one nearest to what is believed of the claimed part, if any is near."""
        if claim.part != BOARD:
            return None
        proved = next(iter(seen.board.proved), None)
        state = proved or seen.board.nearest or self._begun(evidence, seen)
        return None if state is None or (proved is None and not self._tells_which(evidence, seen, state)) else self._proved(state)

    def _tells_which(self, evidence: Evidence, seen: Weighed, state: ProofState) -> bool:
        """Whether something tells that it is this proof's failure of the board and none of another: what a heat call wants for it was read, or the records
        raise it above the others. "Works when I smack the board" raises all that come and go alike."""
        conditions = self.knowledge.condition
        of_call = [n for n in state.needs if n.condition in conditions and not conditions[n.condition].once]
        if any(n.met_by or n.denied_by or n.almost or n.before for n in of_call):
            return True
        before = dict(zip(evidence.family.failures, seen.posterior.prior.tolist(), strict=True))
        board, mine = of_the_board(seen.belief), sum(seen.belief[f] for f in state.of)
        raised = mine / max(sum(before[f] for f in state.of), TINY)
        others = [p / max(before[f], TINY) for f, p in board.items() if f not in state.of and p >= LEAST_OF_A_PART * mine]
        return bool(raised >= TELLS_WHICH * max(others, default=0.0))

    def _begun(self, evidence: Evidence, seen: Weighed) -> ProofState | None:
        """The nearest proof of what the records still fit, where something of it was read or they point to it: they are no step towards any other.

        None where nothing tells which of the board's failures it would be: what many proofs ask for is no step towards the most common of them.
        """
        if seen.board.verdict in BOARD_SAYS:
            return None
        least = next(iter(self.knowledge.words.values())).verdict["still_fits"]
        fitting = {f: p for f, p in of_the_board(seen.belief).items() if seen.fit[f] >= least}
        state = nearest_proof(evidence.finder, seen.found, fitting) if fitting else None
        if state is None:
            return None
        before = dict(zip(evidence.family.failures, seen.posterior.prior.tolist(), strict=True))
        raised = sum(seen.belief[f] for f in state.of) / max(sum(before[f] for f in state.of), TINY)
        of_all = sum(of_the_board(seen.belief).values()) / max(sum(of_the_board(before).values()), TINY)
        begun = any(n.met_by or n.denied_by or n.almost for n in state.needs)
        return state if raised >= POINTED_TO or (begun and raised >= TELLS_WHICH * of_all) else None

    def _proved(self, state: ProofState) -> Proved:
        conditions = self.knowledge.condition
        stands = {n.condition: conditions[n.condition].at if n.condition in conditions else state.at for n in state.needs}
        needs = tuple(
            Needed(n.condition, n.says, n.met_by, n.denied_by, n.take, stands[n.condition], n.almost, n.calls_left, n.before, n.unfit) for n in state.needs
        )
        return Proved(state.proof, state.says, state.grade, state.because, state.at, tuple(_each_once(needs)))

    # --- the result --------------------------------------------------------------------------

    def _judgement(
        self, claim: Claim, verdict: str, says: str, *, board: str = "not_judged", share: float = 0.0, something_else: float = 0.0,
        cause: Cause | None = None, proof: Proved | None = None, clash: tuple[str, ...] = (), hazards: tuple[Shown, ...] = (),
        clears: tuple[Shown, ...] = (), doubts: tuple[Shown, ...] = (), root_causes: tuple[Shown, ...] = (), notes: tuple[str, ...] = (), engine: str = "",
    ) -> Judgement:  # fmt: skip
        return Judgement(
            version=JUDGEMENT_VERSION, rules_version=self.knowledge.version, claim=claim.id, shop=claim.shop, date=claim.date, month=claim.month,
            part=claim.part, asked_for=claim.asked_for, part_mark=claim.part_mark, bench_outcome=claim.bench_outcome, verdict=verdict, says=says,
            place=str(claim.place), board=board, share=round(share, 4), something_else=round(something_else, 4), cause=cause, proof=proof, clash=clash,
            hazards=hazards, feared=self._feared(claim), clears=clears, doubts=doubts, root_causes=root_causes, held_back=_told(claim.unread),
            unmatched=_told((*claim.unmatched, *claim.unheard)), notes=notes or _told(claim.notes),
            unread=len(claim.unread) + len(claim.unmatched) + len(claim.unheard), remarks=claim.remarks,
            furnace=claim.report.family, options=claim.report.options, complaint=claim.report.complaint,
            records=tuple(_entry(r) for r in (*claim.report.records, *claim.report.set_aside)), engine=engine,
            untold=_told(claim.untold),
        )  # fmt: skip

    def _feared(self, claim: Claim) -> tuple[str, ...]:
        """Dangers that the claim's text, read or not, speaks of and no record tells."""
        texts = [claim.report.complaint, *claim.remarks, *claim.searched, *(p.message for p in (*claim.unmatched, *claim.unread))]  # not what we advise
        told = {r.name for r in claim.report.records if r.kind == "sign"} - {sign for sign, _ in claim.righted}
        for _, words in claim.righted:  # what was put right is none; another of its kind still is
            texts = [" ".join(text.split()).replace(words, ";") for text in texts]
        return self._fears.spoken_of(dict.fromkeys(texts), told)


def _each_once(needs: Sequence[Needed]) -> list[Needed]:
    """Each condition of a proof once: one that a record meets and that the furnaces speak against is not met."""
    by_name: dict[str, Needed] = {}
    for need in needs:
        met = by_name.get(need.condition)
        both = need if met is None else replace(met, against=(*met.against, *need.against))
        by_name[need.condition] = both
    return list(by_name.values())


def _failed_output(proof: Proved) -> Needed | None:
    """The condition that bears the name of the *proof*, an output that fails at the board's own pin, where it is met and no record speaks against any."""
    if any(n.against for n in proof.needs):
        return None
    return next((n for n in proof.needs if n.condition == proof.proof and n.met_by), None)


def _is_own(record: Record) -> bool:
    """Whether a record is one of the claim, and not what its complaint tells."""
    return not record.said.startswith(COMPLAINT)


def _cause(evidence: Evidence, seen: Weighed, shares: dict[str, float], claimed: str, least: float, told_apart: float) -> Cause | None:
    """The likeliest failure of the likeliest part that is not claimed, with those that are not *told_apart* from it; None where it is believed less than
    *least*."""
    part = max((p for p in shares if p != claimed), key=lambda p: shares[p], default=None)
    if part is None or shares[part] < least:
        return None
    number = max((i for i, f in enumerate(evidence.population.faults) if f.part == part), key=lambda i: seen.posterior.failures[i])
    told: FailureBelief = failure_belief(evidence, seen, number)
    says = " or ".join([told.says, *_not_told_apart(evidence, seen, number, told_apart)])
    return Cause(part, told.failure, says, round(shares[part], 4), told.speaks_for, told.speaks_against, told.at)


def _not_told_apart(evidence: Evidence, seen: Weighed, number: int, told_apart: float) -> list[str]:
    """In words, the other failures of a part, the likeliest first, that the records do not tell from failure *number* of it, and that are no mere chance."""
    faults, belief, fit = evidence.population.faults, seen.posterior.failures, seen.fit
    others = [i for i, f in enumerate(faults) if f.part == faults[number].part and i != number and belief[i] >= LEAST_OF_A_PART * belief[number]]
    alike = [i for i in others if fit[str(faults[i])] * told_apart > fit[str(faults[number])]]
    return [evidence.family.failure(faults[i]).says for i in sorted(alike, key=lambda i: -belief[i])[:MOST_ALIKE]]


def _unknown_cause(together: Sequence[Sequence[Record]], cause: Cause | None) -> str:
    """What is said where no failure of the rules leads. *together*: the records that none of them gives, if there are such; else *cause* is the likeliest."""
    if not together and cause is not None:
        likeliest = f"The likeliest is the {_words(cause.part)} ({cause.share_of_part:.0%}): {cause.says}."
        return f"Rather something that these rules do not have than any one failure that they do. {likeliest}"
    if not together:
        return "No single failure of these rules fits these records well, and none of them can be shown to be wrong."
    said = "; ".join(r.said for r in together[0])
    return f"No failure of these rules gives all of this: {said}. It may be one that they do not have, two at once, or a wrong record."


def _shown(found: Sequence[Found], do: str) -> tuple[Shown, ...]:
    return tuple(Shown(f.finding, f.says, f.tells.get(do, ""), f.because, f.at) for f in found)


def _open(part: str) -> str:
    """What is said of the claimed part where records contradict one another."""
    return f"Until that is put right, nothing is settled of the {_words(part)}."


def _is_unsettled(claim: Claim) -> bool:
    """Whether something of a claim that tells of the furnace could not be read."""
    return bool(claim.unread or claim.untold)


def _left_out(claim: Claim) -> str:
    """How many of a claim's entries, or else of the things that its text tells of the part or of a reading, were not read."""
    count, of = (len(claim.unread), "of its entries") if claim.unread else (len(claim.untold), "of the things in its text that name the part or a reading")
    return f"{count} {of} could"


def _told(problems: Sequence[Problem]) -> tuple[str, ...]:
    return tuple(str(p) for p in problems[:MOST_TOLD])


def _words(identifier: str) -> str:
    return identifier.replace("_", " ")


def _entry(r: Record) -> dict[str, object]:
    """A record as a report file holds it, with what was said if that was in other words, and where it stands."""
    value = r.word if r.word is not None else r.said.rpartition(": ")[2]
    known = {"step": r.step, "after_s": r.after_s, "meter": r.meter, "contact": r.contact, "hold": r.hold, "source": r.source, "note": r.note}
    entry: dict[str, object] = {r.kind: r.name, "value": value} | ({"call": r.call} if r.call != 1 else {})
    entry |= {k: v for k, v in known.items() if v is not None} | ({"set_up": list(r.set_up)} if r.set_up else {}) | ({"sure": True} if r.sure else {})
    return entry | ({"said": r.said} if r.read_as else {}) | {"at": str(r.place)}
