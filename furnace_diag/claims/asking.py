"""What to ask a shop for: how far a heat call gets, the reading that tells most next, then what the nearest proof lacks.

A shop is asked for no more than helps: the readings of a proof only where something is known of how the furnace behaves, and
none of another output where the records point to another part. It is told names of records, and never our files and lines.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from furnace_diag.claims.claim_again import ClaimAgain
from furnace_diag.claims.desk import NOT_SETTLED
from furnace_diag.claims.fears import IF_SO, Fears
from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.settled import Settled
from furnace_diag.claims.told_once import joined
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.compiled import Compiled
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.lacking import ASKED, SAY, lacking
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.taking import asked_in_words, cautions_for
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.furnace.built import Population
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge, Question, Sign
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput
from furnace_diag.visit.expected import Expectations

CURED = "refitted_and_cured"  # of the history
UNDECIDED = ("plausible", "not_supported", "not_shown")
COULD_BE = "is not read. It could be "  # of what names something, though not what
BECAUSE = "is not read, because what stands"  # of what would be by itself
WHAT_FAILS = "What does the board fail to do, or do that it should not, and when in a call?"
PIECES = re.compile(r"[,;.\n]")  # between the pieces of a text
OUR_COMMANDS = re.compile(r"\s*furnace-diag [^.]*\.")


@dataclass(frozen=True)
class Letter:
    """What a shop is asked for, in words. *feared*: dangers that its text speaks of and no record tells, with what to do.

    *fails_to*: asks what the part is said to fail to do, where nothing tells. *again*: what clashes, *anew*: what could not be read;
    *how_far*: of the heat call as a whole.
    *nearest*: what tells most next; *how_taken*: what to say of readings that were sent. Of the proof: *counts*: readings that were sent and are
    enough; *second_call*: those that count for one heat call and are wanted in a second one; *proof*: what is still lacking.
    """

    says: str
    feared: tuple[str, ...] = ()
    fails_to: str = ""
    again: tuple[str, ...] = ()
    anew: tuple[str, ...] = ()
    how_far: tuple[str, ...] = ()
    nearest: tuple[str, ...] = ()
    how_taken: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    second_call: tuple[str, ...] = ()
    proof: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def letter_of(result: Mapping[str, Any], knowledge: Knowledge, population_of: Callable[[str], tuple[Family, Population]]) -> Letter:
    """What to ask for on a result; nothing where a hazard must be put right first, or the claim is supported."""
    says = without_places(result, [result["says"]])[0]
    feared = tuple(text for text in _feared(result, knowledge) if not any(hazard["do"] in text for hazard in result["hazards"]))
    if feared and result["verdict"] != "supported":
        return Letter(says, feared)
    if result["hazards"] or result["verdict"] == "supported":
        return Letter(says)
    records, denied = result["records"], result["verdict"] == "not_supported"
    questions = _from_where_it_failed(records, knowledge) if denied else open_questions(records, knowledge)
    told, first, either = _understood(result, knowledge) if records and not denied else None, list[NextReading](), list[str]()
    report = told if result["verdict"] in UNDECIDED else None  # an answer helps no more with the others
    if report is not None:
        evidence = Evidence(*population_of(report.family))
        settled = Settled(report, evidence)
        amiss = _is_amiss_at_rest(report, evidence)
        weighed = settled.answered(_how_far(knowledge) if amiss or _ends(records, knowledge) else ())
        steps = _gets_to(weighed, evidence)
        if questions and len(questions) < len([*_open(knowledge)]) and not _reached(questions, report, evidence, steps):
            weighed = settled.answered(_how_far(knowledge))  # it is known as far as it gets: "inducer runs, ps stays open"
            steps = _gets_to(weighed, evidence)
        either = _right_at_rest_alone(report, evidence)
        open_yet = [q for q in questions if not settled.is_passed(q) and not settled.is_settled(q.sign, None)]
        questions = [] if either or amiss else _reached(open_yet, report, evidence, steps)
        first = _tells_most(result, knowledge, _confirmed_first(weighed, settled, result["part"]), questions, steps)
    once_right = _once_put_right(result, knowledge) if result["verdict"] in UNDECIDED else ()
    cured = _once_cured(result) if result["verdict"] in UNDECIDED else ()
    if once_right or cured:
        questions, first = [], []  # these would be answered by the furnace as it was with that, or as it is without
    needs = _needs(result, knowledge) if records and not denied else []
    enough = _in_all_its_calls(result, needs, knowledge)
    missing, again = [n for n in needs if n["take"] and not _sent(n)], [n for n in needs if n["take"] and _sent(n) and n not in enough]
    contested = [n for n in needs if n["against"] and n["met_by"]]
    anew = tuple(without_places(result, (*result["held_back"], *_unread_text(result))))
    untold, first = _of_no_step(records, [] if contested else [n for n in first if not any(n.name in text for text in anew)], either)
    signs = [knowledge.sign[q.sign] for q in questions]
    minded = [knowledge.caution[c].says for s in (*_killed_by(records, knowledge), *signs) for c in s.cautions]
    conditions = [knowledge.condition[n["condition"]] for n in (*missing, *again)]
    return Letter(
        says=says,
        fails_to=WHAT_FAILS if _fails_untold(result, knowledge) and questions and result["verdict"] in UNDECIDED and not (needs or denied) else "",
        again=(*without_places(result, result["clash"]), *dict.fromkeys(said for n in contested for said in (*n["met_by"], *n["against"]))),
        anew=anew,
        how_far=tuple(f"{q.asks} ({q.sign}: {' or '.join(q.keys.values())})" for q in questions),
        nearest=(*once_right, *cured, *(_first_asked(n, knowledge) for n in first)),
        how_taken=joined([untold, _meter_decides(result, knowledge), *(n.get("almost", ()) for n in needs)]),
        counts=tuple(dict.fromkeys(said for n in needs if (not n["take"] and n not in contested) or n in enough for said in _sent(n))),
        second_call=tuple(f"{'; '.join(_sent(n))}. Once more: {n['take']}" for n in again if not n.get("almost")),
        proof=tuple(_asked_for(n, told, knowledge) for n in missing if not n.get("almost")),
        cautions=tuple(dict.fromkeys((*minded, *(c for n in first for c in n.cautions), *cautions_for(conditions, knowledge)))),
    )


def _unread_text(result: Mapping[str, Any]) -> Iterable[str]:
    """The text that was not read and may hold a reading, or for which what stands behind it was not; all that was not, where nothing is settled or nothing
    was judged."""
    if result["board"] == NOT_SETTLED or result["verdict"] == "unreadable":
        return tuple(result["unmatched"])
    held, unread = tuple(result.get("untold", ())), tuple(result["unmatched"])
    if result["verdict"] not in UNDECIDED:
        return held
    holds_up = {text for text, behind in pairwise((*unread, "")) if BECAUSE in behind}
    return (*held, *(text for text in unread if text not in held and (COULD_BE in text or BECAUSE in text or text in holds_up)))


def _meter_decides(result: Mapping[str, Any], knowledge: Knowledge) -> tuple[str, ...]:
    """The readings of which no meter is told where a doubt on them gives way to another as soon as a meter is: so that is what decides."""
    met = {f"{r['point']}: {r.get('said', '').rpartition(': ')[2] or r['value']}" for r in result["records"] if "point" in r and "meter" not in r}
    asked = list[str]()
    for shown in result["doubts"]:
        doubt = knowledge.doubt.get(shown["finding"])
        others = [knowledge.doubt[u] for u in (doubt.unless if doubt else ()) if u in knowledge.doubt]
        with_meter = {w.point for other in others for way in other.when for w in way if w.meter}
        asked += [f"you gave {said}{SAY}{ASKED['m']}" for said in shown["because"] if said in met and said.partition(":")[0] in with_meter]
    return tuple(dict.fromkeys(asked))


def _of_no_step(
    records: Iterable[Mapping[str, Any]], first: Iterable[NextReading], either: Sequence[str]
) -> tuple[tuple[str, ...], list[NextReading]]:
    """What to say of readings that were sent without their step, where one of *first* asks for the same at a step, or the step tells all (*either*); and what
    of *first* is left to ask for."""
    told = {str(r["point"]): f"{r['point']}: {r.get('said', '').rpartition(': ')[2] or r['value']}" for r in records if "point" in r and "step" not in r}
    sent = [n for n in first if n.name in told and n.step and not n.call]
    names = dict.fromkeys((*(name for name in either if name in told), *(n.name for n in sent)))
    return tuple(f"you gave {told[name]}{SAY}{ASKED['s']}" for name in names), [] if either else [n for n in first if n not in sent]


def _in_all_its_calls(result: Mapping[str, Any], needs: Iterable[Mapping[str, Any]], knowledge: Knowledge) -> list[Mapping[str, Any]]:
    """The conditions of the nearest proof that records of as many heat calls meet as it wants."""
    proof = knowledge.proof.get(result["proof"]["proof"]) if result["proof"] else None
    calls: dict[str, set[int]] = {}
    for r in result["records"]:
        name = next((str(r[kind]) for kind in ("point", "sign") if kind in r), "")
        calls.setdefault(f"{name}: {r.get('said', '').rpartition(': ')[2] or r['value']}", set()).add(r.get("call", 1))
    wanted = proof.calls if proof is not None else 0
    return [n for n in needs if n["take"] and len({call for said in _sent(n) for call in calls.get(said, ())}) >= wanted > 0 and len(_sent(n)) >= wanted]


def _is_amiss_at_rest(report: Report, evidence: Evidence) -> bool:
    """Whether something that was read or seen is as on no good furnace though nothing calls, or with the power off: how far a heat call gets is not what is to
    be found out then. What a light says may be of a call before."""
    knowledge, expected = evidence.knowledge, Expectations(evidence, report.options)
    rest, off = evidence.family.sequence.starts_at, evidence.family.sequence.roles.off

    def is_of_rest(record: Record) -> bool:
        sign, point = knowledge.sign.get(record.name), knowledge.point.get(record.name)
        if sign is not None:
            return sign.source_kind != "light" and (record.step == rest or sign.steps == (rest,) or (sign.steps == (off,) and record.source != "told"))
        return point is not None and record.step in (rest, off)

    def is_nowhere_right(record: Record) -> bool:
        """Whether a reading of no step is right at none, and there is one at rest: 0 V from line to neutral."""
        point = knowledge.point.get(record.name)
        if point is None or record.step is not None or record.number is None or record.taken_off or not any(rest in {*band.steps} for band in point.expects):
            return False
        return not any(band.low <= record.number <= band.high for band in point.expects)

    own = [r for r in report.records if r.kind in ("point", "sign") and not r.unused]
    unlike = ("below", "above", "unlike_healthy")
    return any((r.source != "told" and is_nowhere_right(r)) or (is_of_rest(r) and expected.stands(r, *expected.of(r)) in unlike) for r in own)


def _right_at_rest_alone(report: Report, evidence: Evidence) -> list[str]:
    """The points of which a reading without a step is right while nothing calls, and at no step of a heat call: "ps 25 in 0 out" tells all or nothing."""
    sequence, found = evidence.family.sequence, list[str]()
    for record in report.records:
        point = evidence.knowledge.point.get(record.name)
        if point is None or record.step is not None or record.number is None or record.taken_off or record.unused or record.source == "told":
            continue
        right = {step for band in point.expects if band.low <= record.number <= band.high for step in band.steps}
        wrong = {step for band in point.expects for step in band.steps} - right
        if sequence.starts_at in right and right.isdisjoint({*sequence.order} - {sequence.starts_at}) and wrong & {*sequence.order}:
            found.append(point.point)
    return found


def _once_put_right(result: Mapping[str, Any], knowledge: Knowledge) -> tuple[str, ...]:
    """What to send once that was put right by which a good part of the kind that is claimed seems to have failed."""
    causes = [(knowledge.root_cause[found["finding"]], found["because"]) for found in result["root_causes"] if found["finding"] in knowledge.root_cause]
    alike = [(c, because) for c, because in causes if result["part"] in c.looks_like]
    return tuple(f"What was read once this was put right ({'; '.join(because)}): {c.accept}" for c, because in alike)


def _once_cured(result: Mapping[str, Any]) -> tuple[str, ...]:
    """What to send where the furnace worked without a new part: what shows that the claimed one had failed as well as the one put right, or that it had to be
    renewed though it was the one."""
    cures = [(str(r["history"]).partition(":")[0], r) for r in result["records"] if "history" in r and r["value"] == CURED]
    part = str(result["part"]).replace("_", " ")
    had = {name: "had to be renewed" if name == result["part"] else "had failed as well" for name, _ in cures}
    return tuple(f"What shows that the {part} {had[name]}: this put the furnace right ({r.get('said') or r['history']})." for name, r in cures)


def _fails_untold(result: Mapping[str, Any], knowledge: Knowledge) -> bool:
    """Whether a board is claimed and no text says what it fails to do: "board wont light the igniter"."""
    texts = [plain(piece) for text in (result["complaint"], *result.get("remarks", ())) for piece in PIECES.split(text)]
    claim_again = ClaimAgain(FreeText(Vocabulary(knowledge))) if any(texts) else None
    told = claim_again is not None and any(claim_again.fails_to(text, BOARD) for text in texts if text)
    return result["part"] == BOARD and not told


def _first_asked(reading: NextReading, knowledge: Knowledge) -> str:
    """A reading that tells most, in words, with the words that may answer it."""
    at = f", at {reading.step.replace('_', ' ')}" if reading.step else ""
    values = knowledge.sign[reading.name].values if reading.name in knowledge.sign else ()
    answers = f": {' or '.join(values)}" if values else ""
    return f"{reading.says} ({reading.name}{answers}){at}{', in another heat call' if reading.call else ''}"


def _feared(result: Mapping[str, Any], knowledge: Knowledge) -> tuple[str, ...]:
    """The dangers that a result's text speaks of; by today's rules where it was judged by others."""
    if result["rules_version"] == knowledge.version and "feared" in result:
        return tuple(result["feared"])
    told = {str(r["sign"]) for r in result["records"] if "sign" in r}
    texts = (result["complaint"], *result.get("remarks", ()), *result["unmatched"], *result["held_back"])
    now = Fears(knowledge).spoken_of(texts, told)
    known = {text.partition(IF_SO)[0] for text in now}
    return (*now, *(text for text in result.get("feared", ()) if text.partition(IF_SO)[0] not in known))  # it may have stood where nothing else was read


def report_of(result: Mapping[str, Any]) -> str:
    """The report that `rank` takes, from a result. What its complaint tells stands among the records."""
    records = [{k: v for k, v in r.items() if k not in ("at", "said")} for r in result["records"]]
    return json.dumps({"furnace": {"family": result["furnace"], "options": result["options"]}, "records": records})


def without_places(result: Mapping[str, Any], texts: Iterable[str]) -> list[str]:
    """Texts of a result without our file, line and column, and without the commands that only we have."""
    file = re.escape(result["place"].rsplit(":", 2)[0])
    found = []
    for text in texts:
        bare = re.sub(rf"{file}:\d+:\d+:\s*|\s*\({file}:\d+:\d+\)", "", text)
        found.append(OUR_COMMANDS.sub("", re.sub(r"(, but .*) at line \d+\.", r"\1.", bare)).strip())
    return found


def _open(knowledge: Knowledge) -> Iterable[Question]:
    return (q for q in knowledge.question.values() if q.group == "behaviour")


def open_questions(records: Sequence[Mapping[str, Any]], knowledge: Knowledge) -> list[Question]:
    """The questions of how far a heat call gets that no record answers, and that have an answer by what is known."""
    answers: dict[str, Any] = {}
    others = {step for s in knowledge.sequence.values() for step in (s.starts_at, s.roles.off, *(c.step for c in s.other_calls))}
    of_heat = [r for r in records if r.get("step") not in others and str(r.get("sign", "")) in knowledge.sign]
    for record in of_heat:
        sign = knowledge.sign[str(record["sign"])]
        if sign.shows == "stops_at":
            return []  # that is how far it gets
        answers |= dict.fromkeys((sign.sign, *sign.says_same_as), record["value"])
    asked = list(_open(knowledge))
    known = [i for i, q in enumerate(asked) if q.sign in answers or any(_answers(r, q, knowledge) for r in of_heat) or _is_passed(records, q, knowledge)]
    if any(answers[asked[i].sign] in asked[i].ends for i in known if asked[i].sign in answers):
        return []
    return asked[max(known, default=-1) + 1 :]


def _from_where_it_failed(records: Sequence[Mapping[str, Any]], knowledge: Knowledge) -> list[Question]:
    """The questions of how far a heat call gets once something is put right, from the one of what was amiss before: it got to that already."""
    asked, signs = list(_open(knowledge)), [r for r in records if "sign" in r]
    told = {str(r["sign"]): str(r["value"]) for r in signs}
    said = [next((told[s] for s in (q.sign, *knowledge.sign[q.sign].says_same_as) if s in told), "") for q in asked]
    got = [q for q, value in zip(asked, said, strict=True) if value or _is_passed(records, q, knowledge) or any(_answers(r, q, knowledge) for r in signs)]
    last = asked.index(got[-1]) if got else 0
    went_on = bool(said[last]) and said[last] not in asked[last].ends
    return asked[last + 1 :] if went_on and asked[last + 1 :] else asked[last:]


def _ends(records: Iterable[Mapping[str, Any]], knowledge: Knowledge) -> bool:
    """Whether a record tells at what a heat call goes no further: an inducer that does not run."""
    ends = {(q.sign, value) for q in _open(knowledge) for value in q.ends}
    return any((r.get("sign"), r["value"]) in ends for r in records if r.get("source") != "told")


def _how_far(knowledge: Knowledge) -> set[str]:
    """The signs that tell how far a heat call gets, of which none is asked for where that is known, or is not what fails."""
    signs = {s.sign for s in knowledge.sign.values() if s.shows == "stops_at"}
    return signs.union(*((q.sign, *knowledge.sign[q.sign].says_same_as) for q in _open(knowledge)))


def _killed_by(records: Iterable[Mapping[str, Any]], knowledge: Knowledge) -> list[Sign]:
    """The signs among *records* of what harms a board, a scorched one among them: who looks there once more minds what he minded then."""
    lines = [w for cause in knowledge.root_cause.values() for way in cause.when for w in way if w.sign]
    harms = {(w.sign, value) for w in lines for value in w.is_}
    return [knowledge.sign[str(r["sign"])] for r in records if "sign" in r and (r["sign"], r["value"]) in harms]


def _answers(record: Mapping[str, Any], question: Question, knowledge: Knowledge) -> bool:
    """Whether a record of another sign answers a question too: one of the step in which the heat call has come to it, or of no one step."""
    if record["value"] not in question.answered_by.get(str(record["sign"]), ()):
        return False
    order = next((s.order for s in knowledge.sequence.values() if question.due in s.order), ())
    step = record.get("step")
    return step is None or step not in order or order.index(step) >= order.index(question.due)


def _is_passed(records: Iterable[Mapping[str, Any]], question: Question, knowledge: Knowledge) -> bool:
    """Whether something was read at a later step of a heat call than that in which *question* has an answer; of what has one from the start, at any that comes
    after its first."""
    for sequence in knowledge.sequence.values():
        due = question.due or next(s for s in sequence.order if s != sequence.starts_at)
        steps = [sequence.order.index(r["step"]) for r in records if "point" in r and r.get("step") in sequence.order]
        if due in sequence.order and any(step > sequence.order.index(due) for step in steps):
            return True
    return False


def _sent(need: Mapping[str, Any]) -> tuple[str, ...]:
    """The records that meet a condition, in the heat call that comes next or in another."""
    return (*need["met_by"], *need.get("before", ()))


def _asked_for(need: Mapping[str, Any], report: Report | None, knowledge: Knowledge) -> str:
    """How to take what a condition still lacks, in how many heat calls, and why what was sent of it does not count."""
    calls = f", in {need['calls_left']} heat calls" if need.get("calls_left", 0) > 1 else ""
    unfit = "".join(f" ({text})" for text in (*need.get("unfit", ()), *(f"against it stands {said}" for said in need["against"])))
    return f"{_untold(need, report, knowledge)}{calls}{unfit}"


def _untold(need: Mapping[str, Any], report: Report | None, knowledge: Knowledge) -> str:
    """How to take what a condition still lacks, without those of its lines that a record meets already."""
    condition = knowledge.condition[need["condition"]]
    if report is None or condition.take:
        return str(need["take"])
    compiled = Compiled(knowledge)
    facts = [f for f in compiled.facts(report.records, report.options) if "r" in f]
    open_lines = [w for w in condition.any_of[0] if not any(lacking(compiled.wants(w), f) == () for f in facts)]
    return "; ".join(asked_in_words(w, knowledge) for w in open_lines) or str(need["take"])


def _understood(result: Mapping[str, Any], knowledge: Knowledge) -> Report | None:
    """The records as `rank` takes them; None where today's rules no longer understand them."""
    try:
        return understand(parse_yaml(report_of(result), "claim"), knowledge)
    except BadInput:
        return None


def _gets_to(weighed: Answer, evidence: Evidence) -> frozenset[str]:
    """The steps that somebody who is to read more can still get to: at rest, with the power off and by another call always, and those of a heat call that
    the furnaces which are believed come to."""
    sequence, least = evidence.family.sequence, evidence.words.claims.worth_asking
    always = (sequence.starts_at, sequence.roles.off, sequence.heat_call.step, *(c.step for c in sequence.other_calls))
    return frozenset((*always, *(reach.step for reach in weighed.heat_call if reach.reached >= least)))


def _reached(questions: Iterable[Question], report: Report, evidence: Evidence, steps: Collection[str]) -> list[Question]:
    """The questions of *steps* that a heat call can get to: each record alone is such as some furnace gives that gets there."""
    order = evidence.family.sequence.order
    place = np.array([order.index(s) if s in order else -1 for s in evidence.population.steps])[evidence.population.stops]
    facts = [fact for r in report.records if (fact := evidence.told(r)) is not None]

    def can(step: str) -> bool:
        rows = place >= order.index(step)
        return step in steps and all(fact.fit[rows].max(initial=0.0) >= evidence.words.claims.worth_asking for fact in facts)

    return [q for q in questions if q.due not in order or can(q.due)]


def _confirmed_first(weighed: Answer, settled: Settled, claimed: str) -> Answer:
    """*weighed* with what confirms the likeliest repair before all that is to be read next: once a part leads, that decides. Of the part *claimed* nothing more
    is asked where all that confirms it was sent, or is settled by that. The board has its proof; where every furnace that gives all that was told has failed in
    it, nothing else tells more."""
    act = weighed.act
    if claimed == BOARD and settled.is_of_alone(BOARD):
        return weighed._replace(next=())
    if act is None or act.part == BOARD:
        return weighed
    is_known = act.check is None or settled.is_settled(act.check.name, act.check.step)
    if act.part == claimed and is_known:
        return weighed._replace(next=())
    return weighed if act.check is None or is_known else weighed._replace(next=(act.check, *weighed.next))


def _tells_most(
    result: Mapping[str, Any], knowledge: Knowledge, told: Answer, questions: Iterable[Question], steps: Collection[str]
) -> list[NextReading]:
    """The reading that tells most next of those at *steps*, unless the proof or a question asks for it anyway."""
    lacking_ = (n for n in _needs(result, knowledge) if n["take"])
    wanted = [line for n in lacking_ for way in knowledge.condition[n["condition"]].any_of for line in way]
    named = {line.names[0][1] for line in wanted} | {q.sign for q in questions}
    how_far = {s.sign for s in knowledge.sign.values() if s.shows == "stops_at"} if questions else set()
    given = {(r.get("point", r.get("sign")), r.get("step")) for r in result["records"] if "step" in r}
    best = [n for n in told.next if n.step is None or n.step in steps][:1]
    best = [n for n in best if n.call or (n.name, n.step) not in given]
    return [n for n in best if n.name not in named | how_far]


def _needs(result: Mapping[str, Any], knowledge: Knowledge) -> list[Mapping[str, Any]]:
    """What the nearest proof needs, by rules that have not changed since."""
    proof = result["proof"]
    return [n for n in proof["needs"] if n["condition"] in knowledge.condition] if proof else []
