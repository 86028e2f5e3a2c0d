"""How shops say in which call or step it was -> the same as the reader of typed lines takes it."""

from __future__ import annotations

import re
from functools import lru_cache

from furnace_diag.claims.letter_words import in_short

MOST_KEPT = 20_000  # pieces that are remembered: one is looked at in several ways
STAT = "t-?stat|stat|thermostat"
NUMBERED = ("first|1st", "second|2nd", "third|3rd")
CALLS = rf"(?:{STAT}) (?:(?:is|was) )?(?:calls|calling|called)(?: for heat)?"


def spaced(pattern: str) -> re.Pattern[str]:
    """*pattern* as it is met in a text: whatever the letters' size, and with any space between words, or none where one may be left out."""
    return re.compile(pattern.replace(" ?", r"\s*").replace(" ", r"\s+"), re.IGNORECASE)


FAN_JUMPED = spaced(r"\bwith (?:r (?:to|and) )?g (?:jumped|jumpered)(?: to r)?$")
MICROFARADS = "(?:uf|mfd|mf)"
LOADS = "valve|gas valve|motor|blower|blower motor|inducer|igniter|load"
NO_DOES = r"run|start|spin|turn|glow|open|close"  # what a thing does; of a light, a click and a fire "no" denies that there is one
# "ign" behind something named is the ignition in which that was so, and never the igniter's warm-up: "gas valve 24.8 v during ign"
IN_IGNITION = spaced(r"((?:^|\s)during|\b[a-z]{2,}\b.* (?:at|on|in)) ign(?=$|,| (?:low|lo|high|hi|pin|load|with|w/|on|meter|min|max|call [1-9])\b)")
STUCK = "seized|siezed|locked|frozen|froze|stiff|bound|stuck|hard to turn|hard to spin"
METER_ON, LOW = "meter (?:is |was )?(?:on|in|at|set to|set on) ", "(?:lo|low)[ -]?(?:z|imp|impedance)"
HAS = "(?:has|had|reads|read|shows|showed|got|with)"
NO_TERMINAL = r"(?<=[a-z0-9]\s)(?<!\bat\s)(?<!\bon\s)(?<!\bto\s)w "  # "with", and not where a figure is read
IN_OUR_WORDS = (  # how shops say in which call or step it was, and how it is said with a word before it
    (re.compile(r"\bw/o\b", re.IGNORECASE), "without"),
    (re.compile(r"\bw/\s*(?=\w)", re.IGNORECASE), "with "),
    (spaced(rf"{NO_TERMINAL}(?=(?:the )?(?:{STAT}) calling\b)"), "with "),
    (spaced(rf"{NO_TERMINAL}(?=no call\b|nothing calling\b|(?:the )?(?:{STAT}) (?:wires )?(?:pulled|unhooked|disconnected|removed|off)\b)"), "with "),
    (spaced(r"\beven (?=with )"), ""),
    (spaced(r"(?<=\w) don'?t (?=(?:come|kick|run|start|spin|turn|glow|light|lite|open|close|click|move|work)\b)"), " does not "),
    (spaced(rf"\b(?:(?:with|on|using) (?:a |the |my )?|{METER_ON})?{LOW} (?:meter|mode|setting)\b"), "low z"),
    (spaced(rf"\b{METER_ON}{LOW}\b|\b(?:with|on|using) (?:a|the|my) low$"), "low z"),
    (  # "ps 24 across it"
        spaced(rf"^(?P<of>[a-z][a-z ]*?) (?:{HAS} )?(?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?) across (?:it|its terminals|the terminals)(?!\w)"),
        r"\g<shown> across \g<of>",
    ),
    (spaced(r"\b(?:with|while|when) (?:the )?(?:t-?stat|stat|thermostat) (?:(?:is|was) )?calling(?: for heat)?\b"), "at calling"),
    (spaced(rf"(?<=\w) (?:{STAT}) (?:is )?calling(?: for heat)?$"), " at calling"),
    (spaced(r"\b(?:with no|without (?:a|any)) (?:heat )?call\b(?! for\b)"), "at no call"),
    (spaced(r"\b(?:with )?nothing calling\b"), "at no call"),
    (spaced(r"\bw no call$"), "at no call"),
    (spaced(r"(?<!\bat)(?<!\bin)(?<!\bon) standby$"), " at standby"),
    (
        spaced(r"\bwith (?:the )?(?:t-?stat|stat|thermostat) (?:pulled|unhooked|disconnected|removed|off)(?: (?:off|loose))?(?: (?:the )?(?:wall|base))?$"),
        "with stat wires off",
    ),
    (spaced(r",? \b(?:all the time|constantly|nonstop|non stop|always),? (?:(?:with|w|at) )?no call$"), " at no call"),
    (spaced(r"\b(?:on|at) (?:the )?(?:board|brd|bd)(?:'?s)?(?: own)? pin\b"), "pin"),
    (spaced(r"\b(?:with|w)(?: a)? call(?: for heat)?$"), "at call"),
    (spaced(r"(?<=\w) x ?[2-9]$"), ""),  # of one call
    (spaced(r"\bn (?=it\b)"), "and "),
    (spaced(r"\b(?:at|on) (?:the )?motor plug$"), "at motor"),  # nobody plugged it
    (spaced(r"^nothing (?=(?:at|on|across) (?:the )?[a-z])"), "0 v "),
    (spaced(r"\b(?:at|on) (?:the )?(?:board|brd|bd)(?:'?s)? (?=[a-z]+ pin\b)"), "at "),
    (spaced(r"\b(?:out )?(?:at|on|to) (?:the )?(?P<of>ign|ignitor|igniter|ind|inducer) plug on (?:the )?(?:board|brd|bd)\b"), r"at \g<of> pin"),
    (spaced(r"^(?P<shown>1[0-3]\d(?:\.\d+)?(?: ?v(?:ac|olts?)?)?) in (?:at|to) (?:the )?(?:board|brd|bd)$"), r"line to neutral at board \g<shown>"),
    (spaced(r"^(?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?) in ?to (?:the )?(?:xfmr|xformer|trans|transformer)$"), r"transformer primary \g<shown>"),
    (spaced(r"^([-+]?\d[\d.]*\s*(?:v|vac|volts?) (?:on|at|to) .*\S) (?:(?:while|when|with it) )?running$"), r"\1"),  # as any reading of no step
    (spaced(r"\bat (?=\d+(?:\.\d+)? ?(?:mins?|minutes?|secs?|seconds?)\b)"), "after "),
    (spaced(r"\bon a call from (?:the )?(?:t-?stat|stat|thermostat)\b"), "at calling"),
    (spaced(rf"\bwith (?:the )?(?:{LOADS}) (?:wired|wired in|connected|hooked up|plugged in|still on)\b"), "load on"),
    (spaced(r"\bpin\b(.*?) on (?:the )?(?:board|brd|bd)\b"), r"pin\1"),
    (spaced(r"\b(?P<of>(?!ind|ign|gas\b)\w+) pin to (?:com|common|c|neutral|n)\b(?P<rest>.*?)(?P<load> load on)?$"), r"\g<of>\g<rest> pin\g<load>"),
    (spaced(r"\bclosed (?P<shown>\d[\d.]*)(?P<v>\s*v)?,? (?P=shown)(?:\s*v)?$"), r"closed \g<shown> both sides"),
    (FAN_JUMPED, "at fan call"),  # which that is
    (spaced(r"(?<=\w) (?:(?:on|in|all|for) )*[2-9] (?:tries|attempts)$"), ""),  # of one call
    (spaced(r"\bat (?:the )?sec$"), "at secondary"),
    (spaced(r"^(?P<shown>\d[\d.]*) ?v(?:ac|olts?)? (?:out (?:of )?)?(?:the )?sec$"), r"\g<shown> v at secondary"),  # no time is told in volts
    (
        spaced(r"^pull(?:s|ing|ed)? (?P<shown>\d*\.?\d+) (?:inches|inch|in|iwc)(?: (?:wc|w\.c\.?))? (?:at|on) (?:the )?(?:ps|pressure switch|switch)\b"),
        r"draft \g<shown> in wc at ps",
    ),
    (spaced(r"^(?P<shown>\d[\d.]*)(?: ?v(?:ac|olts?)?)? (?:on )?both sides of (?:the )?(?P<of>\w[\w ]*)$"), r"\g<of> \g<shown> both sides"),
    (spaced(r"\b(?P<is>open|opens|closed|ol) (?:stone |dead )?cold$"), r"\g<is> when cold"),
    (spaced(r"\bckt (?:board|bd|brd)\b"), "board"),
    (  # "lights then drops out after 5 sec"
        spaced(r"^(?:it |burners |flame )?(?:lights?|lites|fires),? (?:then|and|but|and then) (?:drops?|goe?s?|dies|quits|shuts|cuts)"
               r"(?: right)?(?: out| down| off)? (?:after|in|within) (?P<time>\d+ (?:secs?|seconds?))$"),
        r"lights then drops out in \g<time>",
    ),
    (spaced(r"^(?:the )?(?:board|brd|bd) (?:got|gets|has|had|reads|shows) (?=\d[\d.]* ?v?(?:ac|olts?)? r to c\b)"), ""),
    (spaced(r"\bterms\b"), "terminals"),
    (
        spaced(r"^(?:water|condensate) (?:ran|came|poured|drained) out of (?:the )?(?:(?:ps|pressure switch|pressure) )?(?:hose|tube|tubing)"
               r"(?: when (?:i|we) (?:pulled|took) it(?: off)?)?$"),
        "water in hose",
    ),
    (
        spaced(r"^(?:pulled|took|popped|removed) (?:the )?(?:(?:ps|pressure switch|pressure) )?(?:hose|tube|tubing)(?: off| loose)?,? (?:and )?(?:the |some )?"
               r"(?:water|condensate) (?:ran|came|poured|drained|dumped|gushed) out(?: of it)?$"),
        "water in hose",
    ),
    (spaced(r"\b(?:ran|cycled)(?: (?:it|furnace|thru|through|for))* (?:\d+|two|three|four|five|several|a few|few) (?:heat )?(?:cycles|calls|times),? "
            r"(?:ok|fine|good|(?:with |and )?(?:no|without(?: a| any)?) (?:problems?|issues?|trouble|faults?|failures?))$"), "works now"),
    (spaced(rf"^(?:the )?(?P<of>blower|inducer|ind|idm|draft) (?:motor|mtr) (?=(?:is |was )?(?:{STUCK})\b)"), r"\g<of> "),
    (spaced(rf"^(?P<of>batter(?:y|ies)) (?:(?:is|are|was|were) )?(?P<is>dead|low|weak) in (?:the )?(?:{STAT})$"), r"thermostat \g<of> \g<is>"),
    (
        spaced(r"^(?:pulled|unplugged|took off) and (?:reseated|replugged|put back|plugged back in) (?:every|all)(?: of)?(?: the)? (?:plugs?|connectors?)\b"),
        "reseated plugs",
    ),
    (spaced(r"(?<=\bout) (?:when|as|once) (?:it|burners|flame|furnace) (?:quits?|shuts? (?:off|down)|drops? out|goes out|cuts? out|stops?)$"), ""),
    (spaced(r"\b(?P<hums>hums?|humming|buzzes),? (?:and |& )?(?:gets|getting|is) (?:real |very |pretty )?hot$"), r"\g<hums>"),  # as whatever is fed and stands
    (spaced(r"\b(?:all )?(?:thru|through|throughout) (?:the )?(?:whole |entire )?(?:ignition )?trial$"), "at ignition trial"),
    (spaced(r"(?<=[a-z]) (?P<time>\d*\.?\d+ ?(?:mins?|minutes?|secs?|seconds?)) in$"), r" after \g<time>"),  # "limit opens 2 min in"
    (spaced(r"^no (?P<due>120|24)(?P<v> ?v(?:ac|olts?)?)? (?:coming )?out (?=(?:at|on|of) )"), r"no \g<due>\g<v> "),
    (spaced(r"^(?P<in>\d[\d.]*(?: ?v)? in,? (?:and )?\d[\d.]*(?: ?v)? out) (?:of |on |at )?(?:the )?(?:secondary|sec)$"), r"\g<in>"),
    (
        spaced(r"^(?P<looks>scorched|burnt|burned|black|brown) (?:spot|mark) by (?=(?:the )?(?:blower |inducer |heat |igniter )?relay$)"),
        r"\g<looks> spot near ",
    ),
    (spaced(r"^was glowing(?: when (?:i|we) (?:got|came|arrived)(?: there| here| on site)?)?$"), "igniter glows"),
    (spaced(r"^(?P<was>igniter|ignitor) was glowing when (?:i|we) (?:got|came|arrived)(?: there| here| on site)?$"), r"\g<was> glows"),
    (spaced(r"\b(?:ohms?|ohmed|ohmd) (?:out )?(?:at|to|of) (?=\d|o\.?l\b)"), "ohms "),
    (  # "cap 3.1 / 10", and not "3/12", which is a day
        spaced(rf"^(?P<of>cap|capacitor) (?P<shown>\d*\.\d+|\d+(?= ?{MICROFARADS}))(?: ?{MICROFARADS})? ?/ ?(?P<mark>\d*\.?\d+)(?: ?{MICROFARADS})?$"),
        r"\g<of> \g<shown> uf marked \g<mark>",
    ),
    (spaced(r"^(?P<of>xfmr|xformer|trans|transformer) (?P<shown>\d[\d.]*)(?: ?v(?:ac|olts?)?)? out$"), r"transformer secondary \g<shown>"),
    (
        spaced(r"^(?P<of>(?:hsi|ign|igniter|ignitor|.*\bcoil)) (?:reads?|measures?|measured|ohms out|ohmed|ohmed out|metered|tested|tests) open$"),
        r"\g<of> ohms OL",
    ),
    (spaced(r"\bat (?:the )?prim$"), "at primary"),
    (
        spaced(r"^gas (?:pressure|press) (?P<shown>\d*\.?\d+) ?(?:in|inches|\"|wc|in wc|iwc) (?:at|to) (?:the )?(?:gas )?valve$"),
        r"inlet pressure \g<shown> in wc",
    ),
    (
        spaced(r"^(?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?) to (?:ground|gnd|earth) (?:on|at|from) (?:the )?(?:cabinet|case|chassis)$"),
        r"cabinet to ground \g<shown>",
    ),
    (spaced(r"^(?:sensor|fs) (?=(?:reads? |at |only )*[<~]?\d*\.?\d+ ?(?:ua|microamps?|micro amps?)\b)"), "flame sensor "),  # nothing else is read in that unit
    (spaced(r"\b(?:24\s*v(?:olts?)? )?sec (?:reads? |shows? |is )?(?=\d)"), "secondary "),
    (spaced(r"^(?P<shown>\d[\d.]*)\s*v? (?:on )?one side,? (?:and )?(?:0|none|nothing)(?:\s*v)? (?:on )?(?:the )?other(?: side)?\b"), r"\g<shown> in 0 out"),
    (spaced(rf"(?<=\w)\b no (?={NO_DOES}$)"), " does not "),  # "inducer no run"
    (spaced(r"\bon (?:the )?(?:board|brd|bd)$"), "at board"),
    (
        spaced(r"^(?:flame|burners?|fire) (?:(?:is|was|were|stayed|stays|stay) )?on (?:for )?(?P<time>\d+ (?:mins?|minutes?))$"),
        r"flame seen yes after \g<time>",
    ),
    (spaced(r"^(?P<shown>\d[\d.]*\s*v(?:ac)?) (?:after|past) (?:the )?(?P<of>limit|ps|pressure switch|rollout)$"), r"\g<of> out \g<shown>"),
    (spaced(r" with (?:a |the |my )?(?:manometer|mano)$"), ""),  # which a pressure in w.c. is read with anyway
    (  # a fuse can blow no second time otherwise
        spaced(r"\b(?P<blows>fuse (?:pops|blows|goes) (?:every|each) time) (?:(?:i|we|you) )?(?:put|stick)(?: (?:in|a|another|new|1|one|fuse))+\b"),
        r"\g<blows>",
    ),
    (spaced(r"\b(?:on|in|at|during) (?:the )?(?:heat )?call (?=[1-9]\d?\b)"), "call "),
    *(
        (spaced(rf"\b(?:(?:on|in|at|during) )?(?:the )?(?:{said}) (?:heat )?call\b(?! for (?!heat))(?: for heat)?"), f"call {number}")
        for number, said in enumerate(NUMBERED, 1)
    ),
)

# the board's pin and its load, of which the second is named for short: "inducer pin 120 and plug 0"
PIN_AND_PLUG = spaced(r"^(?P<of>\w+(?: motor)?) pin (?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?),? (?:and |but )?(?:(?:at|the) )*(?P<plug>plug \d)")


# two readings each with its place, and what is denied right behind one: "120 at heat tap 120 at cool tap", "24v at valve no click no gas"
VOLTS_THERE = r"\d[\d.]*(?: ?v(?:ac|olts?)?)? (?:at|on) (?:the )?[a-z]"
VOLTS_FED = VOLTS_THERE.replace("at|on", "at|on|to")
TWO_PLACES = spaced(rf"^(?P<first>{VOLTS_THERE}[a-z0-9 ]*?)(?<!\bat)(?<!\bon) (?P<other>{VOLTS_THERE})")
# "w/ flame on 3 min"
WHILE_IT_BURNS = spaced(r"(?<=\w) (?:w/|with|w|while|when) ?(?:the )?(?=(?:flame|burners?|fire) (?:is |are )?(?:on|lit|burning|seen)(?: for)? \d)")
DENIED_BEHIND = spaced(rf"^(?P<first> ?{VOLTS_FED}[a-z0-9 ]*?)(?P<denied>(?: no (?:click|gas|glow|flame|spark))+)$")


# "ps open with inducer running", "inducer hums 120 at motor"
OPEN_WHILE = spaced(
    r"\b(?P<is>open|opens|closed|closes|made) (?:w/|with|w|while|when) ?(?:the )?(?=(?:inducer|ind|idm) (?:is |was )?(?:running|runs|on)(?:,|$))")
DOES = "hums?|humming|runs|running|spins|spinning|starts|glows|clicks|closes|makes|made"
DOES_THEN_VOLTS = spaced(rf"^(?P<does>[a-z][a-z ]* (?:{DOES})) (?P<other>{VOLTS_THERE})")


def with_commas(text: str) -> str:
    """*text* with a comma between two things that it tells without one."""
    text = PIN_AND_PLUG.sub(r"\g<of> pin \g<shown>, \g<of> \g<plug>", text)
    text = OPEN_WHILE.sub(r"\g<is>, ", WHILE_IT_BURNS.sub(", ", text))
    text = DOES_THEN_VOLTS.sub(r"\g<does>, \g<other>", text)
    text = TWO_PLACES.sub(r"\g<first>, \g<other>", text)
    return ",".join(DENIED_BEHIND.sub(lambda m: m["first"] + re.sub(r"\s+no\s+", ", no ", m["denied"]), clause) for clause in text.split(","))


@lru_cache(MOST_KEPT)
def in_our_words(text: str) -> str:
    """*text* with the step or the call told as the reader of typed lines takes it: "0 v at w w/ stat calling" is "0 v at w at calling"."""
    text = in_short(text)
    for pattern, ours in IN_OUR_WORDS:
        text = pattern.sub(ours, text)
    return text
