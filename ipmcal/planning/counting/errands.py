"""Errands: the counts of a hive as what it is owed: each with its window, and why.

In: the days that were chosen, and what they were chosen for. Out: errands, each with its path. Pure. A count's number
is its place among those of its season that nothing else asked for.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.strand import Node, Stop
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.anchors import ASKED, DUE
from ipmcal.model.values.days import Span
from ipmcal.planning.counting.chosen import between, days_chosen
from ipmcal.planning.counting.hive import HiveCounts, HiveWork
from ipmcal.planning.counting.whys import why_counted
from ipmcal.planning.days.bounds import event_reason
from ipmcal.planning.days.chain import Chain, Ease
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.owed.cursors import DoneStep
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.placed import Path
from ipmcal.planning.unfold.barred import lines_that_judge
from ipmcal.planning.unfold.cold import boards_of


@dataclass(frozen=True)
class RhythmOf:
    """A method of counts in a hive: its frame, and what is advised with each count."""

    work: HiveWork
    name: str
    frame: Frame
    advice: tuple[str, ...] = ()

    @property
    def step(self) -> str:
        """Its one step."""
        return next(iter(self.frame.method.steps))

    @property
    def key(self) -> str:
        """The key of its errands, but for their number."""
        return f"{self.work.state.colony.key}/{self.name}"

    def errand(self, number: int, facts: dict[str, Known], chain: Chain) -> Errand:
        """A count as an errand of its own."""
        cursor, key = Cursor(self.step, number, facts), f"{self.key}/{number}"
        return Errand(key, self.name, self.work.state, None, self.frame, cursor, chain, self.advice)


def any_day(of: RhythmOf, days: Sequence[int]) -> Errand:
    """A count on any of some days, at least one."""
    known = {name: Known(day, _exactly(day)) for name, day in zip(DUE, (days[0], days[0], days[-1]), strict=True)}
    return of.errand(0, known, _chain(of, 0, days, days[0]))


def _exactly(day: int) -> Reason:
    return Reason(Rule.RHYTHM, "", Span.exact(day))


def _chain(of: RhythmOf, number: int, days: Sequence[int], best: int) -> Chain:
    def made() -> Chain:
        ordinals = of.frame.days.ordinals
        places = [bisect_left(ordinals, day) for day in days]
        nodes = tuple(Node(f"{of.step}/{number}", at, None) for at in places)
        stop = Stop(sum(1 << at for at in places), tuple(range(len(places))), best)
        return Chain(stop, nodes, ((of.step, number),) * len(places), Ease.STRICT, {})

    return of.work.one.ground.once(("count", of.frame.name, number, tuple(days), best), made)


# What was counted -----------------------------------------------------------------------------------------------------


def counts_done(of: RhythmOf) -> tuple[DoneStep, ...]:
    """The counts of this season that no other task is done by, in the order of their days."""
    ground, steps = of.work.one.ground, of.frame.method.steps
    taken = {
        past.day
        for errand in of.work.errands
        for past in errand.past
        if errand.frame.method.steps[past.cursor.step].logs in ground.book.planning.counts
    }
    found: dict[int, Event] = {}
    for event in of.work.state.events:
        inside = ground.season.first <= event.day <= min(ground.season.last, ground.as_of)
        if event.word == steps[of.step].logs and inside and event.day not in taken:
            found.setdefault(event.day, event)
    return tuple(_done(of, n, event) for n, (_, event) in enumerate(sorted(found.items()), 1))


def _done(of: RhythmOf, number: int, event: Event) -> DoneStep:
    known = Known(event.day, event_reason(event))
    cursor = Cursor(of.step, number, dict.fromkeys(DUE, known))
    found = opening_at(of.frame, cursor)
    assert found is not None  # all its days are known
    return DoneStep(cursor, found, Status.DONE, event.day)


def errand_done(of: RhythmOf, done: tuple[DoneStep, ...]) -> Errand:
    """What was counted, as an errand that owes nothing more."""
    made = of.errand(0, {}, NOTHING)
    return replace(made, key=of.key, cursor=done[-1].cursor, past=done, advice=())


# What is to be counted ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Washes:
    """The washes to come of one hive; and what they hang on, whatever it is called: hives that are equal in that share
    them. ``days`` are those of all its counts to come, boards too.
    """

    counts: HiveCounts
    frame: Frame
    lines: tuple[Event, ...]
    begun: int
    days: tuple[int, ...]
    made: tuple[tuple[Errand, Path], ...]


def errands_to_come(of: RhythmOf, counts: HiveCounts, begun: int, alike: list[Washes]) -> Iterator[tuple[Errand, Path]]:
    """Each count to come, with its path. ``begun``: so many were made before. ``alike`` has what was worked out for the
    hives before, and grows.
    """
    lines, state = _lines(of), of.work.state
    like = (counts, of.frame, lines, begun)
    same = next((one for one in alike if (one.counts, one.frame, one.lines, one.begun) == like), None)
    if same is None:
        days = days_chosen(counts.asked)
        same = Washes(*like, days, tuple(_washes(of, counts, days, begun)))
        alike.append(same)
    yield from _boards(of, {counts.boards[day]: day for day in same.days if day in counts.boards})
    told = causes_words(_not_judged(of))
    for i, (errand, path) in enumerate(same.made):
        advice = of.advice if i else (*told, *of.advice)
        yield errand.altered(key=f"{of.key}/{errand.cursor.n}", colony=state, advice=advice), path


def _washes(of: RhythmOf, counts: HiveCounts, days: Sequence[int], begun: int) -> Iterator[tuple[Errand, Path]]:
    asked = counts.asked
    around = sorted({asked.last, *asked.planned, *days, asked.setting.season.last + 1})
    near = {b: (a, c) for (a, b), (_, c) in pairwise(pairwise(around))}
    for n, day in enumerate((day for day in days if day not in counts.boards), begun + 1):
        yield _wash(of, n, counts, (day, near[day]))


def _lines(of: RhythmOf) -> tuple[Event, ...]:
    """The lines of counts of a hive."""
    words = of.work.one.ground.book.planning.counts
    return tuple([event for event in of.work.state.events if event.word in words])


def _wash(of: RhythmOf, number: int, counts: HiveCounts, when: tuple[int, tuple[int, int]]) -> tuple[Errand, Path]:
    """A count by wash with its window: the days on which it serves as well, with the counts before and after it."""
    day, near = when
    asked = counts.asked
    first, last = between(asked, day, near)
    days = [one for one in asked.free if first <= one <= last and one not in counts.boards]
    why = replace(why_counted(of.step, asked, day, near), under=_under(of, near[0]))
    named = zip(DUE, (first, day, last), strict=True)
    facts = {name: Known(on, replace(why, span=Span.exact(on))) for name, on in named}
    spared = days[:-1] if len(days) > 1 and day != days[-1] else days
    return of.errand(number, facts, _chain(of, number, spared, day)), (spared.index(day),)


def _under(of: RhythmOf, before: int) -> tuple[Reason, ...]:
    """The line of the count before, where one was written."""
    lines = [event for event in _lines(of) if event.day == before]
    return tuple(event_reason(event) for event in lines[:1])


def _not_judged(of: RhythmOf) -> Iterator[Because]:
    """Why one more count is owed, where the latest was made without brood."""
    ground, state = of.work.one.ground, of.work.state
    counts = _lines(of)
    judged = lines_that_judge(ground, state, counts)
    last = max((event.day for event in counts), default=0)
    if last >= ground.season.first and last > max((event.day for event in judged), default=0):
        yield Because(Code.COUNTED_WITHOUT_BROOD, (last,))


def _boards(of: RhythmOf, boards: Mapping[int, int]) -> Iterator[tuple[Errand, Path]]:
    """Boards to come, by the day on which each goes in that on which it is read; all are numbered by their days, and so
    is one that takes the place of another count.
    """
    work, known = of.work, boards_of(of.work.one.ground, of.work.state)
    number = len(known.pairs)
    mine = [e for e in work.errands if e.method == known.frame.name and e.season == work.one.ground.season.year]
    mine = [e for e in mine if e.chain.nodes and e.cursor.step == known.first]
    others = {min(days): e for e in mine if (days := [day for _, day in work.placed(e)])}
    for put_in in sorted({*boards, *others}):
        if put_in in others:
            number, other = number + 1, others[put_in]
            steps = tuple((step, number) for step, _ in other.chain.steps)
            cursor, chain = replace(other.cursor, n=number), replace(other.chain, steps=steps)
            yield replace(other, cursor=cursor, chain=chain), work.paths[other.key]
        if put_in in boards:
            number += 1
            yield _board(of, number, put_in, boards[put_in]), (0, 1)


def _board(of: RhythmOf, number: int, put_in: int, read: int) -> Errand:
    """A board in on one visit and out on another, in place of a wash in the cold."""
    ground, state = of.work.one.ground, of.work.state
    boards, least = boards_of(ground, state), ground.book.counting.combs_from
    why = Reason(Rule.ASKED, ASKED, Span.exact(put_in), (least,))
    cursor = Cursor(boards.first, number, {ASKED: Known(put_in, why)})
    first, last = (ground.days.ordinals.index(day) for day in (put_in, read))
    reads = Stop(1 << last, (1,), read)
    nodes = (Node(f"{boards.first}/{number}", first, reads), Node(f"{boards.second}/{number}", last, None))
    steps = ((boards.first, number), (boards.second, number))
    chain = Chain(Stop(1 << first, (0,), put_in), nodes, steps, Ease.STRICT, {})
    do = of.frame.method.steps[of.step].do
    advice = causes_words((Because(Code.TOO_COLD_TO_WASH, (do,)),))
    key = f"{state.colony.key}/{boards.frame.name}/in_place_{number}"
    return Errand(key, boards.frame.name, state, None, boards.frame, cursor, chain, tuple(advice))
