"""Led: rounds that are given only where a count says so, and what a year then comes to, hive by hive.

In: a ``YearPlan``. Out: ``Led``: the rounds, and the share of hives over the line in this year and in the settled one
where each hive gets them by its own count. Pure. Judged by draws that did not choose.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.advise.counts import tells_again
from ipmcal.planning.advise.warm import inside_warmth
from ipmcal.planning.decide.tally import announced, yardstick
from ipmcal.planning.mites.accept import JudgedYear, JudgedYears, Judging, years
from ipmcal.planning.mites.answers import usual_weather
from ipmcal.planning.mites.asking.known import YearKnown, year_known
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import YearPlan, fails_at_first, first_over
from ipmcal.planning.mites.search import fits, free, over_line, over_line_first, row_of
from ipmcal.planning.mites.walls import Candidate, whole_days

TOLD_BY = 60
"""Draws by which rounds are told of: a matter of speed; the standard error of one in five is 5 in 100."""
MOST_LED = 2
"""Rounds that wait for a count: who needs a third has to plan again."""
LED_TRIED = 6
"""Rounds that are put to the full model, the likeliest ones: a matter of speed."""
LIVED = 8
"""Years until the settled one: what a hive began with is then long gone."""
LINE_PARTS = (1, 2, 3)
"""Parts of the authority's line that are tried as the number at which a round is given."""


@dataclass(frozen=True, slots=True)
class LedRound:
    """A course that is given where a wash of the day ``count`` finds so many ``mites`` or more, flow or not.

    Of ``SAMPLE`` bees; the authority's line, or fewer where hives that have so many are over it by autumn.
    """

    count: int
    mites: int
    course: Candidate

    @property
    def load(self) -> float:
        """Mites a bee at which it is given."""
        return self.mites / SAMPLE


@dataclass(frozen=True, slots=True)
class Led:
    """Rounds by count, and the share of hives over the line with them: in this year (``one``), and settled."""

    rounds: tuple[LedRound, ...]
    one: float
    settled: float


def opened(plan: YearPlan) -> YearKnown:
    """What may be done where a count is over the line: it opens the main flow to what may lie under supers."""
    return year_known(replace(plan.known.asked, over=True))


def led(plan: YearPlan, one: YearKnown, counts: Sequence[int]) -> Led:
    """The rounds that bring most, one after the other; ``one`` is what ``opened`` says, ``counts`` are days."""
    best = Led((), first_over(plan), plan.over)
    mine = same_courses(plan, one)
    if mine is None or not plan.known.asked.counting:
        return best
    most = one.field.measures.over
    while len(best.rounds) < MOST_LED and max(best.one, best.settled) > most:
        more = _better(plan, one, mine, best, counts)
        if more is None or _bad(more) > _bad(best) - _worth(plan):
            break
        best = more
    return best


def same_courses(plan: YearPlan, one: YearKnown) -> list[int] | None:
    """The plan's courses by their places among other candidates; None where one of them is not there."""
    places = {(c.answer.product, c.day): i for i, c in enumerate(one.candidates)}
    keys = [(c.course.answer.product, c.course.day) for c in plan.courses]
    return [places[key] for key in keys] if all(key in places for key in keys) else None


def _bad(one: Led) -> float:
    return one.one + one.settled


def _worth(plan: YearPlan, *, lost: bool = False) -> float:
    """The share of hives that a round has to bring, to be told from none; where harvest is ``lost``, to be worth it."""
    figures = plan.known.asked.book.planning.year_plans.led
    return (figures.harvest if lost else figures.worth).value.middle / 100.0


def _better(plan: YearPlan, one: YearKnown, mine: list[int], best: Led, counts: Sequence[int]) -> Led | None:
    """The best with one round more."""
    places = {(c.answer.product, c.day): i for i, c in enumerate(one.candidates)}
    there = [places[r.course.answer.product, r.course.day] for r in best.rounds]
    found: list[Led] = []
    for lost in (False, True):  # harvest is given up only where nothing else helps
        likely = _likely(plan, one, [*mine, *there], counts, lost=lost)
        tried = [_at_its_number(plan, one, mine, best.rounds, more) for more in likely]
        found += [made for made in tried if _bad(made) <= _bad(best) - _worth(plan, lost=lost)]
        if found:
            break
    least = min((_bad(made) for made in found), default=0.0)
    near = [made for made in found if _bad(made) <= least + _worth(plan)]
    return min(near, key=_as_good, default=None)


def _as_good(made: Led) -> tuple[int, int, float]:
    """Of rounds that bring as much: what gives up least, has worked soonest, brings most."""
    last = made.rounds[-1].course
    return last.answer.fallow, last.worked, round(_bad(made), 3)


def _at_its_number(
    plan: YearPlan, one: YearKnown, mine: list[int], before: tuple[LedRound, ...], more: LedRound
) -> Led:
    """A round more, at the highest number of mites that does about as much as any lower one; what takes a flow, below
    the authority's line only where most hives would fail."""
    lives = _lives(plan, one, mine, (*before, more))
    few = round(plan.known.asked.book.planning.year_plans.led.at_least.value.middle / 100.0 * SAMPLE)
    parts = LINE_PARTS if fails_at_first(plan) or not more.course.answer.lost else LINE_PARTS[:1]
    numbers = sorted({max(more.mites // part, min(more.mites, few)) for part in parts}, reverse=True)
    tried = [_told(lives, one, (*before, replace(more, mites=number))) for number in numbers]
    least = min(_bad(made) for made in tried)
    return next(made for made in tried if _bad(made) <= least + _worth(plan))


def _likely(
    plan: YearPlan, one: YearKnown, mine: list[int], counts: Sequence[int], *, lost: bool
) -> Iterator[LedRound]:
    """Rounds that would bring most if every hive got them, each told by the last count before it."""
    asked = plan.known.asked
    reach = whole_days(asked.book.planning.year_plans.offered.at_once)
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
    extra = {(c.course.answer.product, c.course.day) for c in plan.courses if not c.round}  # a low count excuses those
    firm = [i for i in mine if (one.candidates[i].answer.product, one.candidates[i].day) not in extra]
    told_by = [day for day in counts if one.setting.high(day) >= warm and not _misleads(plan, day)]
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)
    told: dict[int, int] = {}
    for i in free(one.field):
        day = one.candidates[i].day
        before = [count for count in told_by if 0 <= day - count <= reach]
        goes = i not in mine and not one.candidates[i].quick and fits(one.field, i, mine, firm)
        goes = goes and inside_warmth(one.setting, weather, one.candidates[i]) and _leaves_room(plan, one, i, mine)
        if before and goes and bool(one.candidates[i].answer.lost) == lost:
            told[i] = max(before)
    first = {(one.candidates[i].answer.product, told[i]): i for i in sorted(told, key=lambda i: -one.candidates[i].day)}
    told = {i: told[i] for i in first.values()}
    if not told:
        return
    rows = [row_of(one.field, (*mine, i))[0] for i in told]
    shares = over_line(one.field, rows) + over_line_first(one.field, rows)
    bad = {i: round(float(share), 2) for i, share in zip(told, shares, strict=True)}
    seen: set[tuple[str, int]] = set()
    stick = yardstick(asked.season, asked.jurisdiction, asked.book, asked.region)
    for i in sorted(told, key=lambda i: (bad[i], one.candidates[i].day)):
        key = one.candidates[i].answer.product, told[i]
        if key not in seen and len(seen) < LED_TRIED:
            seen.add(key)
            line = announced(told[i], stick, "overwintered", SAMPLE)
            if line is not None:
                yield LedRound(told[i], line[1], one.candidates[i])


def _leaves_room(plan: YearPlan, one: YearKnown, i: int, mine: Sequence[int]) -> bool:
    """Whether a count fits in between a round and each planned course or caging after it; a dose waits for none."""
    apart = whole_days(one.setting.walls.between)
    others = [one.candidates[n] for n in mine]
    after = [c for c in others if c.day > one.candidates[i].day and not c.quick]
    rests = [c.rests for c in plan.courses if c.rests and c.rests.released >= one.candidates[i].day]
    worked = one.candidates[i].worked
    return all(c.day - worked >= apart for c in after) and all(worked < rest.caged for rest in rests)


def _misleads(plan: YearPlan, day: int) -> bool:
    """Whether the queen is caged on a day, or so lately let out that all mites sit on bees; or a course is in the hive,
    and what is counted is low."""
    rests = [c.rests for c in plan.courses if c.rests]
    lies = any(c.course.day < day <= c.course.answer.use.last for c in plan.courses)
    return lies or any(rest.caged < day < tells_again(plan, rest) for rest in rests)


# What they come to ----------------------------------------------------------------------------------------------------


LivesLed = tuple[dict[tuple[bool, ...], JudgedYears], dict[tuple[bool, ...], tuple[int, ...]]]
"""Each draw under each choice of the rounds, and the days on which the courses of that choice begin."""


def _lives(plan: YearPlan, one: YearKnown, mine: list[int], rounds: tuple[LedRound, ...]) -> LivesLed:
    places = {(c.answer.product, c.day): i for i, c in enumerate(one.candidates)}
    given: dict[tuple[bool, ...], JudgedYears] = {}
    begins: dict[tuple[bool, ...], tuple[int, ...]] = {}
    for taken in product((False, True), repeat=len(rounds)):
        more = [places[r.course.answer.product, r.course.day] for r, yes in zip(rounds, taken, strict=True) if yes]
        whole = sorted((*mine, *more), key=lambda i: one.candidates[i].day)
        given[taken] = years(plan.known.accept[:TOLD_BY], one.givens(whole), plan.known.hazards)
        begins[taken] = one.begins(whole)
    return given, begins


def _told(lives: LivesLed, one: YearKnown, rounds: tuple[LedRound, ...]) -> Led:
    """Each draw's years, with the rounds that its own counts ask for."""
    given, begins = lives
    judging, first, settled = one.judging, [], []
    for n in range(len(next(iter(given.values())))):
        mine = {taken: made[n] for taken, made in given.items()}
        taken = _taken(rounds, mine, None)
        first.append(_over(mine[taken].this_loads(judging.days), judging, begins[taken]))
        mites = mine[taken].end
        for _ in range(LIVED):
            mites = min(mine[_taken(rounds, mine, mites)].after(mites), judging.settled_most)
        taken = _taken(rounds, mine, mites)
        settled.append(_over(mine[taken].loads(mites, judging.days), judging, begins[taken]))
    return Led(rounds, _share(first), _share(settled))


def _taken(
    rounds: Sequence[LedRound], made: dict[tuple[bool, ...], JudgedYear], mites: float | None
) -> tuple[bool, ...]:
    """Which rounds a hive's counts ask for, in this year (``mites`` None) or in one begun with so many."""
    taken = [False] * len(rounds)
    for n in sorted(range(len(rounds)), key=lambda n: rounds[n].count):
        year, days = made[tuple(taken)], (rounds[n].count,)
        load = year.this_loads(days) if mites is None else year.loads(mites, days)
        taken[n] = load[0] >= rounds[n].load
    return tuple(taken)


def _over(loads: Sequence[float], judging: Judging, begins: Sequence[int]) -> list[bool]:
    """On which of the judged days a hive is over the line."""
    there = set(judging.counted(begins))
    return [n in there and load > judging.lines[n] for n, load in enumerate(loads)]


def _share(rows: Sequence[Sequence[bool]]) -> float:
    return max((sum(row[n] for row in rows) for n in range(len(rows[0]))), default=0) / len(rows)
