"""What a year of courses must never do, whatever is chosen: what an apiarist would cross out without reckoning.

In: a ``YearPlan``. Out: nothing; AssertionError where it fails. Each is a family of faults that readers of year plans
found; days and figures are those of the rules, with their sources.
"""

from __future__ import annotations

import re
from itertools import pairwise

from planning.count_gaps import longest, too_far
from planning.mites.page_checks import check_answers

from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import count_setting, plan_counts
from ipmcal.planning.advise.led import Led
from ipmcal.planning.advise.second import seconds
from ipmcal.planning.decide.tally import Yardstick, announced
from ipmcal.planning.mites.base import in_good_time
from ipmcal.planning.mites.plan import Planned, YearPlan, fails_at_first, first_over, least_courses
from ipmcal.saying.year.products import called, named_in, product_line


def check_year(made: YearPlan) -> None:
    """All of them."""
    no_acid_alone_over_brood(made)
    late_summer_is_in_time(made)
    formic_acid_is_warm_enough(made)
    counts_are_near_each_other(made)
    courses_are_told_by_counts(made)
    as_many_as_months_with_brood_ask_for(made)
    law_is_kept(made)
    second_choices_are_of_the_same_time(made)
    nothing_before_the_flow_unasked(made)
    breaks_are_decided_before_the_caging(made)
    nothing_is_cut_in_a_quiet_course(made)
    nothing_weak_on_full_brood(made)
    one_registration_has_its_rest(made)
    nothing_slow_begins_late(made)


def rounds_by_count_are_told(made: YearPlan, by_count: Led) -> None:
    """A round that waits for a count has it on a day of counting, warm enough for a wash, and begins soon after it."""
    asked = made.known.asked
    reach = round(asked.book.planning.year_plans.enough.excused.value.middle) - 1
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0
    for one in by_count.rounds:
        assert one.count in plan_counts(made), "no count decides on it"
        assert 0 <= one.course.day - one.count <= reach, "too long after its count"
        assert made.known.setting.high(one.count) >= warm, "its count is by board"
        assert one.mites >= 1, "given whatever is counted"
    assert by_count.one <= first_over(made) + 0.1, "worse with its counts acted on"


def breaks_are_decided_before_the_caging(made: YearPlan) -> None:
    """A count tells before the queen is caged, not while she is."""
    rhythm = made.known.asked.book.planning.year_plans.counts
    for one in made.courses:
        if one.rests is None or made.known.asked.stock.young is not None:
            continue
        opens, closes = one.rests.caged - round(rhythm.before.value.high or 0), one.rests.caged
        if any(opens <= day <= closes for day in made.known.asked.days):
            assert any(opens <= day <= closes for day in plan_counts(made)), "counted after the caging"


def nothing_is_cut_in_a_quiet_course(made: YearPlan) -> None:
    """No trap comb is cut from the day before a course that wants the hive left shut to its end."""
    asked = made.known.asked
    for one in made.courses:
        label = label_for(asked.book.treatments[one.course.answer.product], asked.jurisdiction, asked.book)
        assert label is not None
        if label.limits.quiet is None:
            continue
        inside = range(one.course.day, one.course.answer.use.last)
        assert not any(trap.cut in inside for trap in asked.stock.traps), "a trap comb is cut in it"


def nothing_weak_on_full_brood(made: YearPlan) -> None:
    """What spares cells and is soon spent is given once brood has shrunk, or before drones are reared."""
    rule, setting = made.known.setting.walls.little_brood, made.known.setting
    first, last = setting.mark("winter_bee_rearing_start"), setting.mark("drone_rearing_start")
    for one in made.courses:
        if one.course.answer.class_ in rule.classes:
            day = one.course.day
            spent = day < last if day < first else day >= first + round(rule.after.value.middle)
            assert spent, f"{one.course.answer.product} on full brood"


def one_registration_has_its_rest(made: YearPlan) -> None:
    """Two courses of one registered product, used in one way or in two, keep the label's days between them."""
    asked = made.known.asked
    for one, after in pairwise(made.courses):
        label, then = (
            label_for(asked.book.treatments[c.course.answer.product], asked.jurisdiction, asked.book)
            for c in (one, after)
        )
        assert label is not None
        assert then is not None
        numbers = {str(each.registration.value) for each in (label, then) if each.registration is not None}
        told = all(re.search("[0-9]", number) for number in numbers)  # "its number is on the label" is none
        if len(numbers) == 1 and told and then.limits.rest is not None:
            gap, least = after.course.day - one.course.answer.use.last, then.limits.rest.value.value.high or 0
            assert gap >= least, f"{after.course.answer.product}: {gap} days after the same product"


def nothing_slow_begins_late(made: YearPlan) -> None:
    """Beside the base, no strips that spare cells begin less than three weeks before bees draw together."""
    setting = made.known.setting
    if made.known.asked.region.rarely_broodless:
        return
    for one in made.courses:
        kills = made.known.asked.book.treatments[one.course.answer.product].common
        slow = kills.kills.in_cells.value == "no" and not one.course.quick and not one.round
        late = one.course.day > setting.mark("winter_bee_rearing_start") and setting.high(one.course.day + 21) < 15.0
        assert not slow or not late, f"{one.course.answer.product}: begun too late for bees that sit still"


def no_acid_alone_over_brood(made: YearPlan) -> None:
    """A dose that reaches no cell is for the least brood, for a package, or for a break whose work stands with it."""
    drone = made.known.asked.book.biology.castes.drone.emerges.value.high or 0
    for one in made.courses:
        if not one.course.quick or one.round == "package" or _is_winter(made, one):
            continue
        assert one.rests is not None, f"{one.course.answer.product} over brood"
        assert one.rests.released - one.rests.caged >= drone, "let out with drones in their cells"
        assert one.course.day == one.rests.released, "not on the visit on which she is let out"
        assert {one.rests.caged, one.rests.released} <= set(made.known.asked.days), "not on days of the keeper's"


def _is_winter(made: YearPlan, one: Planned) -> bool:
    slots = {served.slot.name: served.slot for served in made.known.rounds}
    slot = slots.get(one.round)
    return slot is not None and (slot.dose or slot.either) and one.rests is None


def late_summer_is_in_time(made: YearPlan) -> None:
    """A plan that is called enough begins late summer's course by the published day."""
    slot = next(served.slot for served in made.known.rounds if served.slot.name == "late_summer")
    young = made.known.asked.stock.young
    if made.enough and slot.by is not None and young is None:
        setting = made.known.setting
        timely = [
            one for one in made.courses if slot.first <= one.course.day and in_good_time(setting, slot, one.course)
        ]
        assert timely, "late summer is late"


def formic_acid_is_warm_enough(made: YearPlan) -> None:
    """Never below the usual high at which it evaporates, and warmer where nobody's advice is behind its day."""
    floors = [one for one in made.known.setting.walls.floors if "formic" in one.classes and one.published is not None]
    published, ours = floors[0].published, floors[0].after_flow
    assert published is not None
    assert ours is not None
    for one in made.courses:
        if one.course.answer.class_ == "formic":
            high = made.known.setting.high(one.course.day)
            assert high >= (published.value.low or 0), f"formic acid at {high:.0f} °C"
            after = one.course.day > made.known.setting.ends("flow_main")
            assert one.round or not after or high >= (ours.value.low or 0), f"formic acid at {high:.0f} °C in autumn"


def counts_are_near_each_other(made: YearPlan) -> None:
    """No stretch of the season of brood is too long without a count, nor the whole year where law asks for that."""
    setting = count_setting(made)
    counts = plan_counts(made)
    if made.known.asked.stock.young is None:
        assert list(too_far(setting, counts)) == [], "too long without a count"
    asked = made.known.asked.region.base.counts
    if asked is not None and asked.all_year is not None:
        assert longest(setting, counts) <= (asked.all_year.value.high or 0), "longer without a count than law lets"


def courses_are_told_by_counts(made: YearPlan) -> None:
    """Each course that reaches what a dose in a break does not is counted before, and after its end."""
    rhythm = made.known.asked.book.planning.year_plans.counts
    counts, days = plan_counts(made), made.known.asked.days
    for one in made.courses:
        if one.course.quick or made.known.asked.stock.young is not None:
            continue
        first, last = one.course.day, one.course.answer.use.last
        soonest = 0 if made.known.asked.few else rhythm.before.value.low or 0  # few drives: on the course's own day
        before = (first - (rhythm.before.value.high or 0), first - soonest)
        after = (last + (rhythm.after.value.low or 0), last + (rhythm.after.value.high or 0))
        for opens, closes in (before, after):
            if any(opens <= day <= closes for day in days):
                assert any(opens <= day <= closes for day in counts), f"no count for {one.course.answer.product}"


def as_many_as_months_with_brood_ask_for(made: YearPlan) -> None:
    """A plan of fewer courses than months with brood ask for is not called enough."""
    assert not made.enough or len(made.courses) >= least_courses(made.known), "fewer courses than are asked for"


def law_is_kept(made: YearPlan) -> None:
    """Where the base has a round of the law's, one course at least begins in its days."""
    slots = [served.slot for served in made.known.rounds if served.slot.either and served.candidates]
    for slot in slots:
        assert any(slot.first <= one.course.day <= slot.last for one in made.courses), "against the law"


def second_choices_are_of_the_same_time(made: YearPlan) -> None:
    """The last day of a course, and its second choice, lie before the next course; the choice after the one before."""
    for (one, second), (after, then) in pairwise(zip(made.courses, seconds(made), strict=True)):
        days = [second.last, *(day for day in (second.day, second.until) if day is not None)]
        assert max(days) < after.course.day, f"{one.course.answer.product}: in the next one's time"
        early = then.day is not None and then.day <= one.course.answer.use.last
        assert not early, f"{after.course.answer.product}: in the last one's time"


def nothing_before_the_flow_unasked(made: YearPlan) -> None:
    """Where advisers have no course before the main flow without a count, there is none."""
    if made.known.asked.region.base.before_flow is not None and made.known.asked.stock.young is None:
        ends = made.known.setting.ends("flow_main")
        asked_for = all(one.course.day > ends or one.round == "late_summer" for one in made.courses)
        assert asked_for, "a course before the main flow that no count asked for"


# What the page of a year must never say ------------------------------------------------------------------------------


def check_page(made: YearPlan, text: str) -> None:
    """All that holds for the words of a year."""
    over_the_line_is_answered(made, text)
    lines_are_the_nearest_authoritys(made, text)
    what_is_named_has_its_label(made, text)
    nothing_stands_for_the_caging(text)
    formic_acid_is_looked_after(made, text)
    nothing_waits_without_end(text)
    most_hives_failing_is_said_first(made, text)
    boards_without_a_line_ask_nothing(text)
    check_answers(made, text)


def rows_of_counts(made: YearPlan, text: str) -> dict[int, str]:
    """The line of each count, by its day."""
    lines = text.split("\n")
    return {day: next(line for line in lines if line.startswith(f"- {month_day(day)}, ")) for day in plan_counts(made)}


WAITS = ("no label here fits", "nothing on this list", "too late in the year", "too cold yet")
"""What is said where nothing may be given."""


def over_the_line_is_answered(made: YearPlan, text: str) -> None:
    """A count that has a line says what is given that day; no course further off than four weeks is the only answer."""
    book, far = made.known.asked.book, 28
    for day, row in rows_of_counts(made, text).items():
        if not re.search("treat at [0-9]", row):
            continue
        found = re.search(r"At (?:or over it|[0-9]+ or more in [0-9]+): (.+)", row)
        assert found, f"{month_day(day)}: over the line, and no word of what to do"
        waits = any(words in row for words in WAITS)
        dose = "as soon as nothing is capped" in row
        nxt = next((one.course.day for one in made.courses if one.course.day > day), day)
        least = made.known.asked.season.marks["brood_minimum"].begins.usual
        near = nxt - day <= far or day >= least - far
        assert not waits or dose or near, f"{month_day(day)}: waits for {nxt - day} days"
        assert any(called(book, name) in row for name in book.treatments) or "cage the queen" in row or waits


def lines_are_the_nearest_authoritys(made: YearPlan, text: str) -> None:
    """Where an authority of the region itself has a line for a wash on a day, that number is printed."""
    asked = made.known.asked
    for name in asked.region.thresholds:
        stick = Yardstick(asked.season, asked.book.counting, ((name, asked.book.thresholds[name]),))
        for day, row in rows_of_counts(made, text).items():
            found = announced(day, stick, "overwintered", 300)
            if found is not None and "wash:" in row:
                assert f"{found[1]} or more in 300" in row, f"{month_day(day)}: not the line of {name}"


def what_is_named_has_its_label(made: YearPlan, text: str) -> None:
    """Each product that work or a count names has a line of its label."""
    asked = made.known.asked
    work = text.partition("\nTreatments\n")[2].partition("\nProducts, by their labels\n")
    for name in named_in(asked.book, asked.jurisdiction, work[0]):
        assert f"- {product_line(asked.book, asked.jurisdiction, name)}" in work[2], f"no label of {name}"


def nothing_stands_for_the_caging(text: str) -> None:
    """A second dose beside a caging says that the queen is caged all the same; another course, that she is not."""
    for line in text.split("\n"):
        assert "cage the queen on" not in line or "Or instead" not in line, "may be read as replacing the caging"


def formic_acid_is_looked_after(made: YearPlan, text: str) -> None:
    """Of strips given one after the other the second has its day; where a queen may be lost, eggs are looked for."""
    single = "formic acid, one strip and then another"
    for line in text.partition("\nTreatments\n")[2].partition("\nProducts, by")[0].split("\n"):
        for found in re.finditer(rf"{single}(?: from|, in on) [0-9]+ [A-Z][a-z]+(.{{0,9}})", line):
            assert found[1].startswith(", again"), f"a second strip without a day: {line[:80]}"
        begins = re.match(r"- [A-Z][^:]*: formic acid[^:]*, in on ", line)
        looked = "Eggs have to be there" in line or "look for the queen herself" in line
        assert not begins or "Only if" in line or looked, "no look for eggs"


def nothing_waits_without_end(text: str) -> None:
    """What waits has a last day."""
    for line in text.split("\n"):
        assert "it may wait" not in line or "at the latest" in line or "not after" in line, (
            "a course that waits for ever"
        )


def most_hives_failing_is_said_first(made: YearPlan, text: str) -> None:
    """Where more than half of the hives are over the line if nobody counts, it is said first, and what to do."""
    first = next(line for line in text.split("\n") if line.startswith(("NOT ENOUGH", "YEAR", "SHORT", "Enough")))
    if fails_at_first(made):
        assert "YEAR ONE FAILS" in first, first[:60]
        assert "What to do: " in text


def boards_without_a_line_ask_nothing(text: str) -> None:
    """A count without a line is no count over the line."""
    for line in text.split("\n"):
        assert "no line is published" not in line or "At or over it" not in line, "over a line that nobody has"
