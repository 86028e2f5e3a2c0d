"""Help for whoever asks back at the prompt of a visit: on a value that is asked for, and on a line that names something."""

from __future__ import annotations

from collections.abc import Mapping

from furnace_diag.cli.visit_asked import asked, fields_of, kind_of
from furnace_diag.cli.visit_line import could_name, exactly, name_alone
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.problems import printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import filled
from furnace_diag.visit.expected import Expectations


def asked_back(prompt: Prompt, line: str) -> bool:
    """Help for a line that asks, of which nothing is kept: on what is asked for; False where it names something, which is asked for then."""
    session = prompt.session
    bare, reading = line.rstrip(" ?!."), asked(session)
    if exactly(session, bare) is not None:
        prompt.say(f"Nothing is kept of what ends in ?. `if {printable(bare)}` shows what would follow.")
    elif name_alone(session, bare) is not None:
        return False
    elif (several := could_name(session, bare)) and (reading is None or reading.name not in {name for name, _ in several}):
        prompt.say("Nothing is kept of what ends in ?. It names:")
        for name, says in several:
            prompt.lines(filled(f"{name.replace('_', ' ')}: {says}", prompt.width(), "    ", "  - "))
        prompt.say("Type one of those names: then it is asked for.")
    elif reading is not None and session.after() is None and not session.lacking_before(reading.name):
        help_with(prompt, kind_of(session, reading.name), reading.name, fields_of(session, reading))
    else:
        prompt.say("Nothing is kept of what ends in ?. `?` alone lists the commands, `show` what is asked for.")
    return True


def help_with(prompt: Prompt, kind: str, name: str, fields: Mapping[str, object]) -> None:
    """Where and how a value is taken and what it should be."""
    session = prompt.session
    entry = session.knowledge.point[name] if kind == "point" else session.knowledge.sign[name]
    any_value = "0" if kind == "point" else next(iter(session.knowledge.sign[name].values))
    record = session.record_typed({**fields, kind: name, "value": any_value})
    rules, healthy, usual = Expectations(session.evidence, session.visit.options).of(record)
    prompt.lines(screen.help_lines(entry, record.step, rules, healthy, usual, prompt.width()))
    in_full = screen.caution_lines((session.knowledge.caution[c].says for c in entry.cautions), set(), prompt.width())  # for help was asked for
    prompt.lines(in_full)
    prompt.tell_way_to(fields.get("step"), again=True)
    prompt.say("Type what you find; `skip` if it cannot be had, `never` if the call does not get there, Enter to leave it.")
