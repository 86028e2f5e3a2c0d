"""A drill: what the trainee did, one act after another, and what came of it.

The state of a drill is nothing but its acts: the same acts on the same lesson give the same furnace, readings, account
and score, so a drill that was left is taken up by doing them again. What would hurt somebody or something is not done;
it is told, and counted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from furnace_diag.training import handling, looking, mending, reading, running
from furnace_diag.training.acts import NOTHING, Act, Told
from furnace_diag.training.bench import Bench
from furnace_diag.training.under_way import Hear, UnderWay

MOST_ACTS = 2000  # of one drill
CHANGES = ("power", "gas", "call", "lift", "back", "join", "replace")  # what changes how the furnace goes on
NOT_FOR_THE_GOOD = ("read", "volts", "ohms", "wait", "replace", "same", "name", "state", "tap", "soap")  # the good furnace is only brought to the same moment


def _name(drill: UnderWay, act: Act, _hear: Hear) -> Told:
    """The part, or parts, at fault: with that the drill is over."""
    drill.named = tuple(drill.k.part[name].part for name in str(act.what).split(" "))
    for left in drill.gas.left_open():
        drill.hurt(left, "gas_work")
    names = ", ".join(n.replace("_", " ") for n in drill.named)
    drill.account.tell("closed", {"as": "named", "reason": f"The drill ended with: {names}"})
    return Told("ended", f"You name: {names}.")


DOES: dict[str, Callable[[UnderWay, Act, Hear], Told]] = {
    "read": reading.read,
    "volts": reading.volts,
    "ohms": reading.ohms,
    "look": looking.look,
    "state": looking.state,
    "power": running.power,
    "call": running.call,
    "wait": running.wait,
    "join": running.join,
    "lift": handling.lift,
    "back": handling.back,
    "discharge": handling.discharge,
    "gas": handling.gas,
    "tap": handling.tap,
    "soap": handling.soap,
    "replace": mending.replace,
    "same": mending.same,
    "name": _name,
}


class Drill(UnderWay):
    """A lesson under way, and what is done in it."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self._ends: list[float] = []  # by the clock, of each act
        self._good: Drill | None = None

    @property
    def over(self) -> bool:
        """Whether a part was named."""
        return self.named is not None

    def do(self, act: Act, tell: Hear | None = None) -> Told:
        """Do one act; *tell* hears what is seen to happen while time goes by. KeyError for an id that stands nowhere."""
        if len(self.acts) >= MOST_ACTS and act.do != "name":
            return Told("cannot", "This drill is long enough. Name the part.")
        self.acts.append(act)
        self.account.act(act)
        hear = partial(self.hear, tell)
        if act.do in CHANGES:
            self.watching.cut_off()
        told = DOES[act.do](self, act, hear)
        self._ends.append(self.bench.now)
        self.tell_the_rest(hear)
        self.gas.passes()
        self.notes.passes()
        self.watching.pass_on(act_over=True)
        self.calls.pass_end()
        watched = self.calls.watch_until_still() + mending.tripped_again(self)
        new = tuple(c for c in told.cautions if c not in self.cautioned)
        self.cautioned.update(new)
        return Told(told.kind, f"{told.text}{watched}", new)

    def good_bench(self) -> Bench:
        """A furnace in good order after the same acts, at the same moment; made when a figure is first foretold."""
        if self._good is None:
            self._good = Drill(self.family, replace(self.lesson, faults=()))
        good = self._good
        for act, end in zip(self.acts[len(good.acts) :], self._ends[len(good.acts) :], strict=False):
            good.do(NOTHING if act.do in NOT_FOR_THE_GOOD else act)
            if end > good.bench.now:
                good.bench.run_on(end - good.bench.now)
        return good.bench
