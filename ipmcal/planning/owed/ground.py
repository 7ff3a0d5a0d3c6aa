"""Ground: what all errands of a yard share, with chains and openings worked out once.

In: a yard, its season, the keeper's days, the rulebook. Out: frames and chains. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from ipmcal.model.outfit.outfit import Event, Yard
from ipmcal.model.plan.reasons import Window
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.methods import Method
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import sampling_words
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.count import Unit
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, OpenDays
from ipmcal.planning.days.chain import Chain, compile_chain
from ipmcal.planning.days.frame import Cursor, Frame, frame_of
from ipmcal.planning.decide.decide import colonies_to_sample
from ipmcal.planning.decide.tally import AnnouncedLine, Yardstick, announced_line
from ipmcal.planning.owed.alike import telling_words

_T = TypeVar("_T")


class GroundMemo:
    """What was worked out once for a yard: frames by method, chains by cursor, counts' words by day, telling words,
    words that are said of several events, development times, the days that are too cold for combs, treatments with
    their labels by name; and whatever else depends on what stands in its key alone (``Ground.once``)."""

    __slots__ = ("chains", "cold", "development", "frames", "groups", "labelled", "lines", "once", "words")

    def __init__(self) -> None:
        self.once: dict[tuple[object, ...], Any] = {}
        self.cold: tuple[tuple[int, int], ...] | None = None
        self.development: dict[str, Cited[Span]] = {}
        self.groups: dict[str, tuple[str, ...]] = {}
        self.frames: dict[str, Frame] = {}
        self.chains: dict[tuple[object, ...], Chain | None] = {}
        self.labelled: dict[str, Prescribed | None] = {}
        self.lines: dict[tuple[int, str], AnnouncedLine | None] = {}
        self.words: dict[str, frozenset[str]] = {}


@dataclass(frozen=True, slots=True)
class Prescribed:
    """A treatment with the label that holds in the yard."""

    name: str
    treatment: Treatment
    label: Label


@dataclass(frozen=True)
class Ground:
    """What all errands of a yard share.

    ``days`` are the keeper's days that can be planned, from ``as_of`` on; those before it are ``past``. ``written`` are
    the lines about the yard as a whole, up to ``as_of``. ``since`` is the day of the first plan: what was owed before
    it may have been done or not. ``planned`` are all seasons that are planned together, each with its yardstick.
    ``memo`` only remembers: it changes no answer.
    """

    yard: Yard
    book: Rulebook
    season: Season
    days: KeeperDays
    as_of: int
    past: KeeperDays
    stick: Yardstick
    written: tuple[Event, ...] = ()
    since: int = 0
    planned: tuple[Yardstick, ...] = ()
    memo: GroundMemo = field(default_factory=GroundMemo, compare=False, repr=False)

    def frame(self, name: str, method: Method) -> Frame:
        """The frame of a method, made once."""
        memo = self.memo
        if name not in memo.frames:
            memo.development = memo.development or development(self.book.biology)
            memo.groups = memo.groups or _groups(self.book)
            seen: Mapping[str, Mapping[str, str]] = method.seen
            work = Clockwork(self.season, method.clock, memo.development, seen)
            memo.frames[name] = frame_of(name, method, work, self.days, memo.groups)
        return memo.frames[name]

    def once(self, key: tuple[object, ...], make: Callable[[], _T]) -> _T:
        """What ``make`` makes, made once for the yard's season. The key begins with a word for what it is, and holds
        all that it depends on besides.
        """
        memo = self.memo.once
        if key not in memo:
            memo[key] = make()
        made: _T = memo[key]
        return made

    def telling(self, frame: Frame, events: Sequence[Event]) -> tuple[Event, ...]:
        """The lines that tell what became of a method's steps."""
        if frame.name not in self.memo.words:
            self.memo.words[frame.name] = telling_words(frame, self.book.events)
        words = self.memo.words[frame.name]
        return tuple([event for event in events if event.word in words and frame.tells(event.day)])

    def gone_by(self, window: Window | OpenDays, since: int | None = None) -> bool:
        """True where a soft step's time is over, and the keeper could have come for it, at the latest late.

        ``since`` is the day of the step before, where one was done.
        """
        first = window.opens if since is None else max(window.opens, since + 1)
        return window.closes < self.as_of and self.past.between(first, self.as_of - 1) > 0

    def stick_on(self, day: int) -> Yardstick:
        """The yardstick of the season that a day lies in, of those that are planned together."""
        return next((one for one in reversed(self.planned) if one.season.first <= day), self.stick)

    def line_on(self, day: int, kind: str) -> AnnouncedLine | None:
        """What a count of bees on a day will be held to, in a colony of this kind; worked out once."""
        if (day, kind) not in self.memo.lines:
            self.memo.lines[day, kind] = announced_line(day, self.stick_on(day), kind)
        return self.memo.lines[day, kind]

    def labelled(self, name: str) -> Prescribed | None:
        """A treatment with the label that holds in the yard; None where there is none. Looked up once."""
        memo = self.memo.labelled
        if name not in memo:
            treatment = self.book.treatments.get(name)
            label = None if treatment is None else label_for(treatment, self.yard.jurisdiction, self.book)
            memo[name] = None if treatment is None or label is None else Prescribed(name, treatment, label)
        return memo[name]

    def sampling(self, unit: Unit, kind: str) -> str:
        """How the first authority that says anything of it wants a sample of this unit taken, in a colony of a kind."""
        hives = len(self.yard.colonies)
        plans = (one.sampling for _, one in self.stick.authorities if one.sampling)
        words = (sampling_words(plan, unit, kind, every=colonies_to_sample(plan, hives) == hives) for plan in plans)
        return next(filter(None, words), "")

    def chain(self, frame: Frame, cursor: Cursor) -> Chain | None:
        """The chain from a cursor, compiled once for all who stand there."""
        key = (frame.name, *cursor.key)
        if key not in self.memo.chains:
            self.memo.chains[key] = compile_chain(frame, cursor)
        return self.memo.chains[key]


def _groups(book: Rulebook) -> dict[str, tuple[str, ...]]:
    """The words that are said of several events: the groups of ``events.yaml``, and the colony's supers."""
    groups = dict(book.groups)
    for name, effect in (("supers.on", "supers_on"), ("supers.off", "supers_off")):
        groups[name] = tuple(word for word, rule in book.events.items() if rule.effect == effect)
    return groups


def development(biology: Biology) -> dict[str, Cited[Span]]:
    """Development times by the words that clocks use: ``drone.capped``."""
    castes = biology.castes
    named = (("worker", castes.worker), ("drone", castes.drone), ("queen", castes.queen))
    return {f"{n}.{k}": getattr(c, k) for n, c in named for k in ("capped", "emerges")}


def effects_of(ground: Ground, method: Method) -> dict[str, str]:
    """What each step does, by its name."""
    return {name: ground.book.events[step.logs].effect for name, step in method.steps.items()}
