"""Empty forms of a claim, with an example in each and a line on every column."""

from __future__ import annotations

SHAPES = ("records", "claims", "yaml")

ABOUT = """\
# {title}
# Lines that start with # are remarks. Take the example out and put your own claims in.
# claim: your number for it, each once. part: what is claimed; the control board if left empty.
# date: 2026-01-31 or 31 Jan 2026; 1/31/2026 too, where some date of the column, or the map of columns, tells whether month or day comes first.
# installed, asked_for (repair, replacement, refund), part_mark: kept for you, not judged.
#   What part is covered, for how long, and what will be done is the written warranty's to say (16 CFR 701.3(a)).
# furnace: its family; options of the furnace may stand in columns of their own. bench_outcome: bad, good or not_tested, if known.
# readings: free text; what is written as NAME: VALUE at STEP with ; between is read, the rest is listed for you to read.
"""

RECORDS = """\
# One row for each thing that was read or seen. Put the rows of a claim together.
# name: what was read, seen, or happened, or a part that was replaced before (furnace-diag points lists them; the usual words do too).
# value: as on the meter, with its unit if you like: 24.6, 0.8 uA, OL, yes. Leave it empty, or write n/a, where nothing was read.
# step: where in the sequence: heating, ignition_trial, standby, ... call: which heat call, 1 if empty. after_s: seconds since gas on.
# meter: low if in low-impedance mode, else high. contact: pin, crimp or load. set_up: load_on, lead_lifted, plug_off, ...
# hold: min or max if the meter held it. source: measured, seen or told.
claim,shop,date,part,installed,asked_for,part_mark,complaint,bench_outcome,name,value,step,call,after_s,meter,contact,set_up,hold,source,note
EX-1,Example Shop,2026-01-15,control board,2024-10-02,replacement,,"burners light, then no air",,line_to_neutral_at_board,119 V,heating,1,,,pin,,,,
EX-1,,,,,,,,,flame_seen,yes,heating,1,125,,,,,,
EX-1,,,,,,,,,heat_terminal_to_neutral,0.2 V,heating,1,125,low,pin,load_on,,,
"""

CLAIMS = """\
# One row for each claim, with a column for each reading. A heading is the name of what was read, then as far as known
# "at" and the step, and with commas the meter, the contact, the set-up, which call, and how long after gas on:
#   "heat_terminal_to_neutral at heating, low, pin, load_on, call 2, after 125 s". A unit may stand at its end in brackets.
# Leave a cell empty, or write n/a, where nothing was read.
claim,shop,date,part,complaint,bench_outcome,readings,blower_runs at heating,"heat_terminal_to_neutral at heating, low, pin, load_on"
EX-1,Example Shop,2026-01-15,control board,"burners light, then no air",,"storm; line to neutral at board: 119",no,0.2 V
"""

YAML = """\
claims:
- claim: EX-1
  shop: Example Shop
  date: 2026-01-15
  part: control board
  complaint: burners light, then no air
  furnace: {family: FAMILY}    # may be left out; options: {...} if they are known
  records:
  - {point: line_to_neutral_at_board, value: 119 V, step: heating, contact: pin}
  - {sign: blower_runs, value: "no", step: heating}
  - {point: heat_terminal_to_neutral, value: 0.2 V, step: heating, meter: low, contact: pin, set_up: [load_on], after_s: 125}
"""

TITLES = {"records": "Claims, one row for each record", "claims": "Claims, one row for each claim", "yaml": "Claims"}


def template(shape: str, family: str) -> str:
    """The empty form of that *shape*: records, claims or yaml."""
    body = {"records": RECORDS, "claims": CLAIMS, "yaml": YAML.replace("FAMILY", family)}[shape]
    return ABOUT.format(title=TITLES[shape]) + body
