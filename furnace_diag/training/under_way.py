"""A drill as it stands: the furnace, what the trainee has learnt of it and what that took. What every act may do with it stands here."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.training.account import Account
from furnace_diag.training.acts import Act, Hurt, Taken, Told
from furnace_diag.training.bench import SHORTEST, Bench, Seen
from furnace_diag.training.gas import GasWork
from furnace_diag.training.lesson import Lesson
from furnace_diag.training.notes import Notes
from furnace_diag.training.watching import Watching
from furnace_diag.training.whole_calls import WholeCalls

Hear = Callable[[Seen], None]


@dataclass
class UnderWay(ABC):
    """A lesson under way. *fuse_searched*: a short was looked for before the fuse; *reset_before*: a breaker was put in again, and nothing else was put
    right since; *seen_at_first*, *seen_last*: what the trainee saw of the furnace, by sign."""

    family: Family
    lesson: Lesson
    acts: list[Act] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    hurts: list[Hurt] = field(default_factory=list)
    minutes: float = 0.0
    price: float = 0.0
    replaced: list[str] = field(default_factory=list)
    named: tuple[str, ...] | None = None
    cautioned: set[str] = field(default_factory=set)
    fuse_searched: bool = False
    reset_before: bool = False

    def __post_init__(self) -> None:
        self.bench = Bench(self.family, self.lesson)
        self.account = Account(self.lesson, self.k)
        self.gas = GasWork(self.k, self.bench, self.stop)
        self.notes = Notes(self.k, self.bench, self.gas, self.account, self.acts, self.taken)
        self.calls = WholeCalls(self.notes, self._spend)
        self.watching = Watching(self.notes)
        self.seen_at_first = self.seen_last = self.bench.watched()

    @property
    def k(self) -> Knowledge:
        """The rules."""
        return self.family.knowledge

    @abstractmethod
    def good_bench(self) -> Bench:
        """A furnace in good order after the same acts, at the same moment."""

    def stop(self, what: str, why: str, caution: str) -> Told:
        """What would hurt is not done; it is told and counted."""
        self.hurt(what, caution)
        self.cautioned.discard(caution)
        return Told("stopped", f"{why} It is not done.", (caution,))

    def hurt(self, what: str, caution: str) -> None:
        """Count what would have hurt."""
        self.hurts.append(Hurt(len(self.acts) - 1, what, caution))
        self.account.note(f"Would have hurt: {what}")

    def run(self, seconds: float, tell: Hear, read: Callable[[], None] | None = None) -> None:
        """Let time go by, at least so long that what acts at once is seen; *read* is asked each time something changed."""

        def hear(seen: Seen) -> None:
            tell(seen)
            if read is not None:
                read()

        self.bench.run_on(max(seconds, SHORTEST), hear)
        if read is not None:
            read()

    def hear(self, tell: Hear | None, seen: Seen) -> None:
        """Something is seen, whether anybody is told it on a screen or a drill is taken up."""
        self.seen_last = {**self.seen_last, seen.sign: seen.value}
        self.watching.hear(seen)
        if tell is not None:
            tell(seen)

    def tell_the_rest(self, hear: Hear) -> None:
        """Tell what has come about by an act itself, and not as time went by after it."""
        for sign, value in self.bench.watched().items():
            if self.seen_last.get(sign) != value:
                hear(Seen(self.bench.now, sign, value))

    def _spend(self, minutes: float) -> None:
        self.minutes += minutes


def in_words(seen: Mapping[str, str]) -> str:
    """What is seen, by sign, in a line."""
    return "; ".join(f"{sign.replace('_', ' ')}: {value.replace('_', ' ')}" for sign, value in seen.items())
