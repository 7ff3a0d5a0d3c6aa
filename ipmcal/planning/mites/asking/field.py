"""Field: a question in numbers, as the search takes it. In: what is left, draws. Out: ``SearchField``. Pure; numpy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.choose.doses import figures
from ipmcal.planning.labels.standing import CourseSpell
from ipmcal.planning.mites.accept import Judging
from ipmcal.planning.mites.asking.given import given_of, liked
from ipmcal.planning.mites.asking.left import LeftOver
from ipmcal.planning.mites.asking.let import latest_out
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.living.courses import mapped_courses
from ipmcal.planning.mites.living.lived import Lived, draws_of
from ipmcal.planning.mites.living.toll import toll_of
from ipmcal.planning.mites.maps import maps_of
from ipmcal.planning.mites.order import KeeperCosts
from ipmcal.planning.mites.search import Flags, Measures, SearchField
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    caps,
    may_share_a_year,
    whole_days,
)


def field_of(
    asked: YearQuestion,
    setting: WallSetting,
    left: LeftOver,
    lives: tuple[Sequence[Lived], Lived],
    judging: Judging,
) -> SearchField:
    """The question in numbers; ``lives`` are the draws that choose, and the usual colony."""
    (choose, middle), first = lives, asked.season.first
    kept, rounds = left.candidates, left.rounds
    base = draws_of((*choose, middle))
    acts = ((one.answer.product, given_of(asked, one), toll_of(setting, middle, one.answer)) for one in kept)
    courses = mapped_courses(choose, middle, base, acts)
    looks = [day - first for day in judging.days]
    return SearchField(
        maps=maps_of(base.of_first(len(choose)), courses, looks),
        slots=tuple(np.array(one.candidates, dtype=np.intp) for one in rounds if one.candidates),
        wide=tuple(np.array(one.wide, dtype=np.intp) for one in rounds if one.candidates),
        fixed=np.array(left.fixed, dtype=np.intp),
        further=np.array(left.seen, dtype=np.intp),
        blind=np.array(left.blind, dtype=np.intp),
        apart=_apart(asked, setting, left),
        caps=tuple((np.array(flags, dtype=bool), most) for flags, most in caps(setting, kept)),
        costs=tuple(_costs(asked, one) for one in kept),
        judged=np.arange(len(looks), dtype=np.intp),
        lines=np.array(judging.lines),
        measures=measures(asked.book),
        excused=judging.excused,
        last_class=_last_class(asked.standing.courses),
    )


def _apart(asked: YearQuestion, setting: WallSetting, left: LeftOver) -> Flags:
    """Which courses may be in one year. Those in every set are asked by the walls already, as what was."""
    kept = left.candidates
    outs = [latest_out(asked, one) if asked.packed else one.answer.use.last for one in kept]
    gap = whole_days(asked.book.planning.same_course)

    def tell_apart(i: int, j: int) -> bool:
        first, then = (i, j) if kept[i].day <= kept[j].day else (j, i)
        same = asked.packed and kept[i].answer.product == kept[j].answer.product
        return not same or kept[then].day - outs[first] > gap

    apart = np.zeros((len(kept), len(kept)), dtype=bool)
    for i in range(len(kept)):
        for j in range(i):
            if may_share_a_year(setting, kept[i], kept[j]) and tell_apart(i, j):
                apart[i, j] = apart[j, i] = True
    places = list(left.fixed)
    apart[places, :] = apart[:, places] = True
    return apart


def measures(book: Rulebook) -> Measures:
    """The figures of choosing; what a wash reads is in the draws."""
    plans = book.planning.year_plans
    return Measures(
        over=(plans.enough.over.value.middle + plans.enough.error.value.middle) / 100.0,
        band=plans.band.value.middle / 100.0,
        same_harm=plans.same_harm.value.middle / 100.0,
        settled_most=plans.enough.settled_most.value.middle,
        as_washed=1.0,
    )


def _costs(asked: YearQuestion, one: Candidate) -> KeeperCosts:
    answer = one.answer
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    assert label is not None, "labels answer only for products that have one"
    return KeeperCosts(
        product=liked(asked, answer.product),
        class_=answer.class_,
        lost=answer.lost,
        advice=answer.advice,
        looks=answer.looks,
        visits=len(label.steps),
        minutes=figures(label).minutes,
    )


def _last_class(courses: Sequence[CourseSpell]) -> str:
    return max(courses, key=lambda one: one.began).class_ if courses else ""
