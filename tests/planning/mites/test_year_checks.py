"""Each of ``year_checks.py`` can fail: it holds for a year as it was chosen, and fails where that is spoilt.

The year is chosen once for all of them: a break of the brood, strips, a dose in winter, a region whose advisers have
nothing before the main flow without a count.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache, lru_cache
from itertools import pairwise

import pytest
from planning.mites import page_checks, year_checks
from planning.mites.year_words import page
from planning.mites.year_yards import kept

from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.planning.advise.counts import count_setting, plan_counts
from ipmcal.planning.advise.led import led, opened
from ipmcal.planning.advise.second import Second, seconds
from ipmcal.planning.mites.base import BaseRound, Served
from ipmcal.planning.mites.plan import Planned, YearPlan, first_over, least_courses, year_plan

Check = Callable[[YearPlan], None]
Spoil = Callable[[YearPlan], YearPlan]


@cache
def chosen() -> YearPlan:
    """A year whose late summer is a dose in a break, with strips after it, and a dose in winter."""
    made = year_plan(kept("us_northeast", "acids_and_handwork").question)
    assert made.enough
    assert [bool(one.rests) for one in made.courses] == [True, False, False]
    return made


def with_course(made: YearPlan, place: int, one: Planned) -> YearPlan:
    return replace(made, courses=(*made.courses[:place], one, *made.courses[place + 1 :]))


def moved(one: Planned, days: int) -> Planned:
    """A course so many days later, whatever its label says."""
    answer = replace(one.course.answer, use=one.course.answer.use.moved(days))
    return replace(one, course=replace(one.course, answer=answer, worked=one.course.worked + days))


def of_class(one: Planned, class_: str) -> Planned:
    return replace(one, course=replace(one.course, answer=replace(one.course.answer, class_=class_)))


def the_break(made: YearPlan) -> CagedBreak:
    found = made.courses[0].rests
    assert found is not None
    return found


def without_its_break(made: YearPlan) -> YearPlan:
    return with_course(made, 0, replace(made.courses[0], rests=None))


def caged_for_a_week(made: YearPlan) -> YearPlan:
    rest = the_break(made)
    return with_course(made, 0, replace(made.courses[0], rests=replace(rest, caged=rest.released - 7)))


def dosed_a_week_after_the_break(made: YearPlan) -> YearPlan:
    return with_course(made, 0, moved(made.courses[0], 7))


def caged_on_no_day_of_the_keepers(made: YearPlan) -> YearPlan:
    rest = the_break(made)
    return with_course(made, 0, replace(made.courses[0], rests=replace(rest, caged=rest.caged - 1)))


def late_summer_in_september(made: YearPlan) -> YearPlan:
    courses = tuple(moved(one, 42) if n < len(made.courses) - 1 else one for n, one in enumerate(made.courses))
    return replace(made, courses=courses)


def formic_acid_in_winter(made: YearPlan) -> YearPlan:
    return with_course(made, 2, of_class(made.courses[2], "formic"))


def formic_acid_in_the_cool_of_autumn(made: YearPlan) -> YearPlan:
    """On the first of the keeper's days behind the flow on which advisers' days would hold, and ours do not."""
    walls, setting = made.known.setting.walls, made.known.setting
    floor = next(one for one in walls.floors if "formic" in one.classes and one.published is not None)
    assert floor.published is not None
    assert floor.after_flow is not None
    least, ours = floor.published.value.low or 0, floor.after_flow.value.low or 0
    cool = [
        day for day in made.known.asked.days if day > setting.ends("flow_main") and least <= setting.high(day) < ours
    ]
    one = made.courses[1]
    return with_course(made, 1, of_class(moved(one, cool[0] - one.course.day), "formic"))


def one_course_short(made: YearPlan) -> YearPlan:
    return replace(made, courses=made.courses[: least_courses(made.known) - 1])


def with_a_round_of_the_laws(made: YearPlan) -> YearPlan:
    """Law asks for a course in weeks in which none begins."""
    first, last = made.courses[1].course.day + 1, made.courses[2].course.day - 1
    slot = Served(BaseRound("autumn", first, last, either=True), (made.chosen.courses[1],), ())
    return replace(made, known=replace(made.known, rounds=(*made.known.rounds, slot)))


def strips_in_spring(made: YearPlan) -> YearPlan:
    courses = made.courses
    early = moved(courses[1], made.known.setting.mark("first_pollen") - courses[1].course.day)
    return replace(made, courses=(early, courses[0], courses[2]))


def with_a_day_to_have_worked_by(made: YearPlan) -> YearPlan:
    """Advisers who say by when late summer's course has worked: the day before it can have."""
    rounds = []
    for served in made.known.rounds:
        slot = served.slot
        if slot.name == "late_summer":
            slot = replace(slot, acted=made.courses[0].course.day - 1)
        rounds.append(replace(served, slot=slot))
    return replace(made, known=replace(made.known, rounds=tuple(rounds)))


def formic_acid_over_a_cut(made: YearPlan) -> YearPlan:
    """Strips of formic acid, begun three days before a trap comb is cut."""
    cut = made.known.asked.stock.traps[0].cut
    assert cut is not None
    one = moved(made.courses[1], cut - 3 - made.courses[1].course.day)
    answer = replace(one.course.answer, product="formic_strips_pair")
    return with_course(made, 1, replace(one, course=replace(one.course, answer=answer)))


def hop_acid_in_june(made: YearPlan) -> YearPlan:
    june = made.known.setting.mark("flow_main")
    return with_course(made, 1, of_class(moved(made.courses[1], june - made.courses[1].course.day), "hop_acid"))


def the_same_pack_at_once(made: YearPlan) -> YearPlan:
    """Formic acid twice, the second time as one strip and then another, three weeks after the first."""
    one = of_class(moved(made.courses[1], 0), "formic")
    first = replace(one, course=replace(one.course, answer=replace(one.course.answer, product="formic_strips_pair")))
    then = moved(first, first.course.answer.use.last + 21 - first.course.day)
    answer = replace(then.course.answer, product="formic_strips_single")
    then = replace(then, course=replace(then.course, answer=answer))
    return replace(made, courses=(made.courses[0], first, then))


def strips_before_the_cold(made: YearPlan) -> YearPlan:
    """Strips that spare cells, begun a week before bees draw together."""
    setting = made.known.setting
    autumn = range(setting.mark("winter_bee_rearing_start"), made.known.asked.season.last)
    cold = next(day for day in autumn if setting.high(day) < 15)
    one = moved(made.courses[1], cold - 7 - made.courses[1].course.day)
    answer = replace(one.course.answer, product="amitraz_strip")
    return with_course(made, 1, replace(one, course=replace(one.course, answer=answer, quick=False), round=""))


SPOILT: tuple[tuple[Check, Spoil, str], ...] = (
    (year_checks.no_acid_alone_over_brood, without_its_break, "over brood"),
    (year_checks.no_acid_alone_over_brood, caged_for_a_week, "drones in their cells"),
    (year_checks.no_acid_alone_over_brood, dosed_a_week_after_the_break, "not on the visit on which she is let out"),
    (year_checks.no_acid_alone_over_brood, caged_on_no_day_of_the_keepers, "not on days of the keeper's"),
    (year_checks.late_summer_is_in_time, late_summer_in_september, "late summer is late"),
    (year_checks.formic_acid_is_warm_enough, formic_acid_in_winter, "formic acid at"),
    (year_checks.formic_acid_is_warm_enough, formic_acid_in_the_cool_of_autumn, "in autumn"),
    (year_checks.as_many_as_months_with_brood_ask_for, one_course_short, "fewer courses than are asked for"),
    (year_checks.law_is_kept, with_a_round_of_the_laws, "against the law"),
    (year_checks.late_summer_is_in_time, with_a_day_to_have_worked_by, "late summer is late"),
    (year_checks.nothing_is_cut_in_a_quiet_course, formic_acid_over_a_cut, "a trap comb is cut in it"),
    (year_checks.nothing_weak_on_full_brood, hop_acid_in_june, "on full brood"),
    (year_checks.nothing_before_the_flow_unasked, strips_in_spring, "before the main flow"),
    (year_checks.one_registration_has_its_rest, the_same_pack_at_once, "after the same product"),
    (year_checks.nothing_slow_begins_late, strips_before_the_cold, "sit still"),
)


@pytest.mark.parametrize(("check", "spoil", "words"), SPOILT, ids=lambda one: getattr(one, "__name__", ""))
def test_a_spoilt_year_is_seen(check: Check, spoil: Spoil, words: str) -> None:
    check(chosen())
    with pytest.raises(AssertionError, match=words):
        check(spoil(chosen()))


def counted(monkeypatch: pytest.MonkeyPatch, days: tuple[int, ...]) -> None:
    monkeypatch.setattr(year_checks, "plan_counts", lambda _: days)


def test_a_stretch_without_counts_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any one count left out between two others, where what is left is too far apart."""
    made, days = chosen(), plan_counts(chosen())
    year_checks.counts_are_near_each_other(made)
    setting = count_setting(made)
    wide = [n for n in range(1, len(days) - 1) if days[n + 1] - days[n - 1] > (setting.rhythm.apart.value.high or 0)]
    assert wide
    for n in wide:
        counted(monkeypatch, (*days[:n], *days[n + 1 :]))
        with pytest.raises(AssertionError, match="too long without a count"):
            year_checks.counts_are_near_each_other(made)
    counted(monkeypatch, ())
    with pytest.raises(AssertionError, match="too long without a count"):
        year_checks.counts_are_near_each_other(made)


def test_a_year_with_longer_gaps_than_law_lets_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Law's days, one less than the longest gap of the year."""
    made, days = chosen(), plan_counts(chosen())
    gap = max(b - a for a, b in pairwise((*days, days[0] + 365)))
    apart = count_setting(made).rhythm.apart
    for most, seen in ((gap, False), (gap - 1, True)):
        figure: Cited[Amount] = replace(apart, value=replace(apart.value, low=float(most), high=float(most)))
        asked = made.known.asked.region.base.counts
        assert asked is not None
        counts = asked.model_copy(update={"all_year": figure})
        base = made.known.asked.region.base.model_copy(update={"counts": counts})
        region = made.known.asked.region.model_copy(update={"base": base})
        spoilt = replace(made, known=replace(made.known, asked=replace(made.known.asked, region=region)))
        counted(monkeypatch, days)
        if seen:
            with pytest.raises(AssertionError, match="longer without a count than law lets"):
                year_checks.counts_are_near_each_other(spoilt)
        else:
            year_checks.counts_are_near_each_other(spoilt)


def test_a_course_that_no_count_tells_of_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counts before the strips left out, and those after them."""
    made, days, strips = chosen(), plan_counts(chosen()), chosen().courses[1]
    year_checks.courses_are_told_by_counts(made)
    for kept_days in (
        [d for d in days if d >= strips.course.day],
        [d for d in days if d <= strips.course.answer.use.last],
    ):
        assert len(kept_days) < len(days)
        counted(monkeypatch, tuple(kept_days))
        with pytest.raises(AssertionError, match=f"no count for {strips.course.answer.product}"):
            year_checks.courses_are_told_by_counts(made)


def test_a_second_choice_in_another_courses_time_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    made = chosen()
    one, two, three = seconds(made)
    year_checks.second_choices_are_of_the_same_time(made)
    before, after = made.courses[0].course.day, made.courses[1].course.day
    for found, words in (
        ((Second(after), two, three), "the next one's time"),
        ((Second(one.last, "another", after, after), two, three), "the next one's time"),
        ((one, Second(two.last, "another", before, two.until), three), "the last one's time"),
    ):
        monkeypatch.setattr(year_checks, "seconds", lambda _, found=found: found)
        with pytest.raises(AssertionError, match=words):
            year_checks.second_choices_are_of_the_same_time(made)


def test_a_break_that_is_counted_for_too_late_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The counts of the three weeks before the caging left out."""
    made, days, rest = chosen(), plan_counts(chosen()), the_break(chosen())
    year_checks.breaks_are_decided_before_the_caging(made)
    counted(monkeypatch, tuple(day for day in days if not rest.caged - 21 <= day <= rest.caged))
    with pytest.raises(AssertionError, match="counted after the caging"):
        year_checks.breaks_are_decided_before_the_caging(made)


def test_a_round_that_no_count_tells_of_is_seen() -> None:
    """A round by count: held, and spoilt in its count, its day, its number."""
    made = year_plan(kept("england_south_midlands", "acids_and_handwork").question)
    by_count = led(made, opened(made), plan_counts(made))
    assert by_count.rounds
    assert by_count.one < first_over(made)
    year_checks.rounds_by_count_are_told(made, by_count)
    one = by_count.rounds[0]
    late = replace(one.course, answer=replace(one.course.answer, use=one.course.answer.use.moved(28)))
    for spoilt, words in (
        (replace(one, count=one.count + 1), "no count decides"),
        (replace(one, course=late), "too long after"),
        (replace(one, mites=0), "whatever is counted"),
    ):
        with pytest.raises(AssertionError, match=words):
            year_checks.rounds_by_count_are_told(made, replace(by_count, rounds=(spoilt,)))


# The words of a year --------------------------------------------------------------------------------------------------


@lru_cache(maxsize=2)
def words_of(region: str, program: str) -> tuple[YearPlan, str]:
    it = kept(region, program)
    made = year_plan(it.question)
    return made, "\n".join(page(it, made))


def without_answers(text: str) -> str:
    return re.sub(r" At or over it: [^\n]+", "", text)


def with_a_wait(text: str) -> str:
    return re.sub(r"At or over it: [^\n]+", "At or over it: nothing on this list may be given.", text)


def instead(was: str, now: str) -> Callable[[str], str]:
    return lambda text: text.replace(was, now)


def answered(day: str, now: str) -> Callable[[str], str]:
    """The answer of the count of a day spoilt."""
    return lambda text: re.sub(rf"(\n- {day}, .*?At or over it: )[^\n]+", rf"\g<1>{now}.", with_a_line(day, text))


def with_a_line(day: str, text: str) -> str:
    """A round by count answers like the other counts."""
    return re.sub(rf"(\n- {day}, [^\n]*?)At [0-9]+ or more in 300: ", r"\g<1>At or over it: ", text)


UTAH = ("us_intermountain", "few_drives")
ENGLAND = ("england_south_midlands", "full")
FLORIDA, SPAIN = ("us_florida", "few_drives"), ("mediterranean_spain_italy", "few_drives")
ONTARIO, NORTH_ISLAND = ("canada_ontario", "acids_and_handwork"), ("nz_north_island", "full")
NONE, VAPOUR, GEL = "no label here fits these weeks", "oxalic acid, vapour", "thymol gel 25 %, 50 g tray"
CAGED = "cage the queen that day and give oxalic acid, trickled"
LOOKED = "Two to three weeks after it went in look for the queen herself"
PAGES: list[tuple[tuple[str, str], Callable[[str], str], str]] = [
    (UTAH, without_answers, "no word of what to do"),
    (UTAH, with_a_wait, "waits for"),
    (UTAH, instead("at 6 or more in 300", "at 10 or more in 300"), "not the line"),
    (UTAH, lambda text: text.partition("\n- formic acid, paired strips:")[0], "no label of"),
    (UTAH, instead("Eggs have to be there", "Well"), "no look for eggs"),
    (UTAH, lambda text: f"{text}\n- it may wait", "waits for ever"),
    (UTAH, instead("write down what falls", "At or over it write down what falls"), "nobody has"),
    (ENGLAND, instead("Or, the queen caged all the same", "Or instead"), "replacing"),
    (ONTARIO, instead(", again on ", ", then "), "a second strip"),
    (("england_south_midlands", "few_drives"), instead("YEAR ONE FAILS", "SHORT"), "SHORT"),
]
ANSWERS: list[tuple[tuple[str, str], Callable[[str], str], str]] = [
    (UTAH, answered("28 Aug", "formic acid, paired strips from 11 Sept"), "answered on 11 Sept"),
    (UTAH, answered("28 Aug", f"another class: {VAPOUR} from 28 Aug, nothing capped; then"), "same class"),
    (UTAH, answered("28 Aug", "move the strips; " + VAPOUR), "moved"),
    (UTAH, answered("28 Aug", f"{VAPOUR} from 28 Aug"), "over brood"),
    (UTAH, answered("23 Oct", f"leave the rest; {GEL} from 27 Nov, honey supers off, none before 1 Feb"), "usual high"),
    (ENGLAND, answered("4 Sept", f"{CAGED} on 2 Oct"), "before a product"),
    (ENGLAND, answered("4 Sept", f"{NONE}; {CAGED} on 2 Oct"), "are reared"),
    (ENGLAND, answered("26 June", f"{NONE}; {CAGED} on 24 July"), "in a row"),
    (ENGLAND, answered("26 June", "cage the queen on 26 June, as planned"), "days off"),
    (ENGLAND, instead("Without caging: ", "Else "), "no course without caging"),
    (UTAH, instead("honey supers off", "as it says"), "no word of supers"),
    (ENGLAND, instead("Where something is capped:", "Where something is capped, wait a week:"), "week by week"),
    (ENGLAND, instead("leave it out, and wash", "cage the queen, and wash"), "hunted in the cold"),
    (ENGLAND, instead("goggles", "hats"), "no word on eyes"),
    (FLORIDA, instead(LOOKED, "Eggs have to be there two to three weeks after it went in"), "eggs asked for"),
    (ONTARIO, instead("look again on 18 Dec", "look again on 12 Mar"), "advisers' last day"),
    (ONTARIO, instead("is capped: give nothing, and", "is capped: once more, and"), "as two doses"),
    (UTAH, answered("25 Sept", "oxalic acid in glycerin, slow strips from 25 Sept"), "failed"),
    (UTAH, answered("25 Sept", "amitraz strips from 25 Sept, honey supers off"), "no day on which supers"),
    (UTAH, answered("25 Sept", "amitraz strips from 25 Sept, honey supers off, none before 26 Sept"), "back too soon"),
    (ENGLAND, answered("26 June", "cage the queen today instead of on 31 July"), "no such caging"),
    (FLORIDA, instead("; where something is capped", "; else"), "nothing over brood"),
    (FLORIDA, answered("4 Sept", f"{GEL} from 4 Sept, honey supers off, none before 17 Oct"), "from 4 Sept: 32"),
    (SPAIN, instead("in Italy it is not left out, as law asks for one without brood", "leave it out"), "law asks"),
    (ENGLAND, instead("a caging moves nowhere: it falls away", "late summer's course moves"), "a caging that moves"),
    (UTAH, answered("23 Oct", "too late in the year: wash on the first day that is warm enough"), "passed over"),
    (NORTH_ISLAND, instead("Late summer's course stands", "Late summer's course and the winter dose stand"), "planned"),
    (UTAH, answered("23 Oct", "amitraz strips from 23 Oct, honey supers off, none before 18 Dec"), "sit still"),
]


@pytest.mark.parametrize(("where", "spoil", "words"), PAGES)
def test_a_page_that_says_what_it_must_not_is_seen(
    where: tuple[str, str], spoil: Callable[[str], str], words: str
) -> None:
    made, text = words_of(*where)
    year_checks.check_page(made, text)
    assert spoil(text) != text
    with pytest.raises(AssertionError, match=words):
        year_checks.check_page(made, spoil(text))


@pytest.mark.parametrize(("where", "spoil", "words"), ANSWERS)
def test_an_answer_that_must_not_be_given_is_seen(
    where: tuple[str, str], spoil: Callable[[str], str], words: str
) -> None:
    made, text = words_of(*where)
    page_checks.check_answers(made, text)
    assert spoil(text) != text
    with pytest.raises(AssertionError, match=words):
        page_checks.check_answers(made, spoil(text))
