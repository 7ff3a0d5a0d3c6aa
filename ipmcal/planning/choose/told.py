"""Choosing: what was chosen for a yard, what came second, what excluded the rest, and what the season takes, in words.

In: the outcome of choosing, the applications of the plan. Out: ``Choosing``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.verdict import Limited
from ipmcal.model.plan.views import Choosing
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import hives, joined, month_day, short_day, years_of
from ipmcal.planning.choose.offer import Question
from ipmcal.planning.choose.outcome import Outcome, excluded, left_out, runners_up
from ipmcal.planning.choose.pick import Chosen
from ipmcal.planning.choose.treat import Treated
from ipmcal.planning.choose.wants import BREAK, COUNTED
from ipmcal.planning.labels.amounts import Application, need_words, shopping
from ipmcal.planning.ready import Ready

_OLD = "overwintered"


def choosing(
    one: Ready, treated: Treated, uses: Sequence[Application], begun: Mapping[str, int], *, explain: bool
) -> Choosing | None:
    """What was chosen, in words; None where nothing was asked, nor anything is given.

    ``begun`` has the first planned day of each errand by its key.
    With ``explain`` also what came second, what excluded the rest, and what could give way: that takes its time.
    """
    ask, made = treated.ask, treated.made
    book, season = one.ground.book, one.ground.season
    year, years = season.year, years_of(season.first, season.last)
    supplies = tuple(_supplies(uses, book))
    if ask is None or made is None:
        left = causes_words(treated.left)
        return Choosing(one.ground.yard.key, (), (), (), supplies, left, year) if supplies or left else None
    begins = [(course, begun[key]) for key, course in treated.chosen.items() if key in begun]
    chosen = tuple(_courses(ask, made.courses, begins, (years, dict(_counted_from(one)))))
    if not explain:
        return Choosing(one.ground.yard.key, chosen, (), (), supplies, causes_words(treated.left), year)
    left = tuple(
        f"{because_words(one.what)}. Would help: {because_words(one.helps)}"
        for one in left_out(ask, made)
        if not one.need.startswith(BREAK)
    )
    own, courses = _its_own(ask, made)
    other = tuple(_courses(ask, tuple(runners_up(own, courses)), (), (years, {})))
    ruled_out = tuple(_excluded(own, courses))
    if treated.by_year is not None:
        good = dict(_good_until(one, treated, own))
        other = (*other, *causes_words(treated.by_year.second(good, ask.since, one.ground.days)))
        given = {_title(ask, course.main) for course in made.courses}
        kept_off = (one for one in treated.by_year.excluded() if one.values[0] not in given)
        ruled_out = (*ruled_out, *causes_words(kept_off))
    left = (*causes_words(treated.left), *left)
    return Choosing(one.ground.yard.key, chosen, other, ruled_out, supplies, left, year)


def _its_own(ask: Question, made: Outcome) -> tuple[Question, tuple[Chosen, ...]]:
    """What counts and breaks ask for, and get: the year's courses have words of their own."""
    needs = tuple(need for need in ask.needs if need.name.startswith((COUNTED, BREAK)))
    return replace(ask, needs=needs), tuple(course for course in made.courses if course.need in needs)


def _good_until(one: Ready, treated: Treated, own: Question) -> Iterator[tuple[int, int]]:
    """Of each of the year's courses its best day, and the last of the keeper's on which it is planned to begin."""
    days = one.ground.days
    for course, window in ((course, window) for course, window in treated.windows if course.need not in own.needs):
        good = days.of(days.between(*window))
        yield course.need.best, good[-1] if good else course.day


def _courses(
    ask: Question,
    courses: Sequence[Chosen],
    begins: Sequence[tuple[Chosen, int]],
    there: tuple[Sequence[int], Mapping[str, int]],
) -> Iterator[str]:
    """Each course with its hives, and the day on which it begins: as planned, where it is in ``begins``. One of the
    year's that begins before the mites of a young colony can be counted says so. ``there``: the years of the season,
    and the day from which mites are counted in each young colony.
    """
    years, counted_from = there
    for course in courses:
        by_product: dict[str, list[str]] = {}
        for dose in course.doses:
            if dose.treatment is not None:
                by_product.setdefault(dose.treatment, []).append(dose.key)
        everyone = [hive.key for hive in ask.hives]
        given = [f"{_title(ask, name)} ({hives(keys, everyone)})" for name, keys in by_product.items()]
        day = min((day for one, day in begins if one is course), default=course.day)
        young = {key: counted_from[key] for key in sorted(course.treated) if counted_from.get(key, day) > day}
        told = Because(Code.COUNTED_LATER, (tuple(young), max(young.values(), default=day)))
        later = "" if not young or course.need.name.startswith((COUNTED, BREAK)) else f"; {because_words(told)}"
        yield f"{joined(given)} from {month_day(day, years)}: {course.need.why}{later}"


def _counted_from(one: Ready) -> Iterator[tuple[str, int]]:
    """The day from which mites are counted in colonies that began this season: the first bees reared there are out."""
    young = int(one.ground.book.planning.year_plans.counts.young.value.upper_end)
    for state in one.treated:
        if state.kind != _OLD:
            yield state.colony.key, state.colony.began + young


def _title(ask: Question, name: str) -> str:
    return str(ask.book.treatments[name].title)


def _excluded(ask: Question, courses: Sequence[Chosen]) -> Iterator[str]:
    needs = {need.name: need for need in ask.needs}
    for one in excluded(ask, courses):
        day = f" on {short_day(one.day)}" if one.day is not None else ""
        reasons = "; ".join(dict.fromkeys(_reason(reason) for reason in one.reasons))
        told = f"{one.words}{day}" + (f" ({reasons})" if reasons else "")
        yield f"{_title(ask, one.treatment)}, for {_short(needs[one.need].why)}: {told}"


def _short(why: str) -> str:
    return why.partition(",")[0]


def _reason(reason: Limited) -> str:
    until = f"; falls away on {short_day(reason.until)}" if reason.until is not None else ""
    return f"{reason.says}: {reason.known}{until}" if reason.known else f"{reason.says}{until}"


def _supplies(uses: Iterable[Application], book: Rulebook) -> Iterator[str]:
    """The shopping list: each product with the day on which it is needed first, and the batches to be mixed."""
    for need in shopping(uses, book):
        yield f"{need_words(need)}, from {short_day(need.day)}"
        for day, batch in need.batches:
            parts = joined(
                f"{float(grams):g} g {book.planning.ingredients[name]}" for name, grams in batch.grams.items()
            )
            yield f"to mix on {short_day(day)}: {float(batch.litres):g} L of {parts}"
