"""Review: a yard's season looked back on, as the journal tells it.

In: a yard's season, its pictures. Out: ``YearReview``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.biology.mites.handling import MiteReach
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.review import (
    Dwindled,
    HiveFate,
    LastCount,
    NextStart,
    YearReview,
)
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.count import found_words
from ipmcal.planning.ahead.drawn import DrawnYear, YardSeason, pictures_of, seasons_of
from ipmcal.planning.ahead.given import courses_given, in_model
from ipmcal.planning.decide.worked import classes_out, courses_found
from ipmcal.planning.mites.asking.question import start_of

ENDS, BEES = "ends", "bees"


def looked_back(outfit: Outfit, book: Rulebook, plan: Plan) -> Plan:
    """The plan with its mites drawn, and each of its seasons looked back on."""
    drawn = [(one, tuple(pictures_of(one))) for one in seasons_of(outfit, book, plan)]
    return replace(
        plan,
        mites=tuple(made.picture for _, some in drawn for made in some),
        reviews=tuple(review_of(one, some) for one, some in drawn),
    )


def review_of(one: YardSeason, drawn: Sequence[DrawnYear]) -> YearReview:
    """The season of a yard, looked back on from the day of planning."""
    ground, states = one.ground, sorted(one.known.states, key=lambda state: state.colony.walk)
    courses = tuple(courses_found(one.known.states, one.known.courses, ground.stick, ground.book))
    season = tuple(course for course in courses if course.began >= ground.season.first)
    living = [state for state in states if state.alive and state.colony.began <= ground.as_of]
    return YearReview(
        yard=ground.yard.key,
        season=ground.season.year,
        ends=ground.season.last,
        alive=tuple(state.colony.key for state in living),
        lost=tuple(_lost(one, states)),
        dwindled=tuple(_dwindled(one, living)),
        counts=tuple(_last_count(one, state) for state in living),
        courses=season,
        out=tuple(classes_out(courses, one.ground.book)),
        start=_start(one, drawn),
    )


# Hives ----------------------------------------------------------------------------------------------------------------


def _lost(one: YardSeason, states: Sequence[ColonyState]) -> Iterator[HiveFate]:
    """Each hive that ended in the season: the first line of it tells the day."""
    book, season = one.ground.book, one.ground.season
    for state in states:
        ended = (e for e in state.events if book.effect(e.word) == ENDS and season.first <= e.day)
        first = min(ended, key=lambda event: event.day, default=None)
        if first is not None:
            yield HiveFate(state.colony.key, first.day, book.events[first.word].title, first.note or first.value)


def _dwindled(one: YardSeason, states: Sequence[ColonyState]) -> Iterator[Dwindled]:
    """Hives whose bees are down to a share of their most of the season, by the frames that they covered."""
    book, season = one.ground.book, one.ground.season
    share = book.planning.review.dwindled.value.middle / 100
    for state in states:
        rows = [(e.day, float(e.value)) for e in state.events if book.effect(e.word) == BEES and e.value.isdigit()]
        rows = [(day, frames) for day, frames in rows if day >= season.first]
        if not rows:
            continue
        (most_on, most), (last_on, last) = max(rows, key=lambda row: row[1]), rows[-1]
        if last <= share * most and last_on > most_on:
            yield Dwindled(state.colony.key, most, most_on, last, last_on)


def _last_count(one: YardSeason, state: ColonyState) -> LastCount:
    key = state.colony.key
    said = [decision for decision in one.known.decided if decision.count.colony == key]
    if not said:
        return LastCount(key, None, "", "")
    last = max(said, key=lambda decision: decision.count.day)
    return LastCount(key, last.count.day, found_words(last.count.sample), last.call.value)


# Next year ------------------------------------------------------------------------------------------------------------


def _start(one: YardSeason, drawn: Sequence[DrawnYear]) -> NextStart:
    """What is known of the weeks of least brood at the season's end, hive by hive: the least that is known of any."""
    ground = one.ground
    least = ground.season.marks["brood_minimum"].begins.low
    first = ground.season.first + (least - ground.season.first) % YEAR_DAYS
    dosed: list[int] = []
    known = []
    for work in one.work.values():
        given = (course for course in courses_given(work) if not course.planned)
        days = [p.first for c in given for p in in_model(work, c) if p.reach is MiteReach.DOSE and p.first >= first]
        dosed += days
        known.append(bool(days))
    word = "dosed" if known and all(known) else "unknown"
    loads = tuple((made.picture.hives, made.picture.days[-1]) for made in drawn)
    return NextStart(word, start_of(one.region, one.figures, word), tuple(sorted(set(dosed))), loads)
