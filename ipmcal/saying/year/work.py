"""The year's work in words: courses, a break in the brood, rounds that wait for a count, trap combs.

In: a ``YearPlan``, its rounds by count. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.led import Led
from ipmcal.planning.advise.over import Open, uncaged
from ipmcal.planning.advise.second import Second, seconds
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.base import BaseRound
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.counting import after_dose_words
from ipmcal.saying.year.excuse import excuse
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import extra_visit, frames_words, given_again, off_words, out_day, stop_of, supers_back
from ipmcal.saying.year.winter import second_look, still_capped

NAMES = {
    "spring": "Spring",
    "summer": "Summer",
    "late_summer": "Late summer",
    "early_autumn": "Early autumn",
    "autumn": "Autumn, by law",
    "winter": "Winter",
    "break": "In the brood break",
    "package": "Once installed",
    "": "",
}


def _time(plan: YearPlan, one: Planned) -> str:
    """The time of year of a round beside the base."""
    setting, day = plan.known.setting, one.course.day
    if day <= setting.mark("flow_main"):
        return "spring"
    near = whole_days(plan.known.asked.book.planning.year_plans.offered.near)
    late = min(setting.mark("winter_bee_rearing_start"), setting.mark("summer_treatment_by") + near)
    return "summer" if day < late else "autumn"


def course_lines(plan: YearPlan, opened: Open, laws: Sequence[Jurisdiction]) -> Iterator[tuple[int, str]]:
    """Each course with its day: its days, supers, what to do where the day can't be kept, a second choice."""
    for one, second in zip(plan.courses, seconds(plan), strict=True):
        missed = _if_missed(plan, opened, one, second)
        yield one.course.day, f"{_name(plan, one)}: {_what(plan, one, laws)}.{missed}{_excused(plan, one)}"
    if not plan.courses:
        yield plan.known.asked.season.first, "No treatment is planned."


def _slot(plan: YearPlan, one: Planned) -> BaseRound | None:
    return next((served.slot for served in plan.known.rounds if served.slot.name == one.round), None)


def _name(plan: YearPlan, one: Planned) -> str:
    slot = _slot(plan, one)
    if slot is not None and slot.either and one.course.quick:
        return "Autumn, by law, and the winter dose"
    name = NAMES[one.round] or f"Extra round, {_time(plan, one)}"
    if slot is None or slot.by is None or one.round in ("break", "package"):
        return name
    late = "LATE: " if one.course.day > slot.by else ""
    if slot.acted is not None and slot.acted <= slot.by:
        return f"{name} ({late}advisers want it to have worked by {month_day(slot.acted)})"
    acted = "" if slot.acted is None else f", to have worked by {month_day(slot.acted)}"
    return f"{name} ({late}advisers have it begin by {month_day(slot.by)}{acted})"


def _what(plan: YearPlan, one: Planned, laws: Sequence[Jurisdiction]) -> str:
    answer = one.course.answer
    what = called(plan.known.asked.book, answer.product)
    if one.round == "package":
        began = plan.known.asked.stock.young
        first = answer.day if began is None or began.began is None else began.began.day
        wash = next((day for day in plan_counts(plan)), None)
        then = "" if wash is None else f", and the wash of {month_day(wash)} decides"
        return (
            f"{what}, about the fifth day after installing, the queen laying and nothing capped yet (installed on this "
            f"page's day, {month_day(first)}{extra_visit(plan, answer.day)}); where something is capped, leave it "
            f"out{then}"
        )
    if one.rests is not None:
        caged, out = month_day(one.rests.caged), month_day(one.rests.released)
        return (
            f"cage the queen on {caged}, on a brood comb, in a cage whose bars bees pass through; a week later break "
            f"the queen cells outside it; on {out}, the last drone cell empty (look), let her out and give {what} the "
            f"same day{_supers(plan, answer)}. Eggs have to be there a week later: none, look again after four days, "
            "then a comb with eggs or a new queen. It costs four weeks' brood: bees that would fly in the month after "
            f"{out}{_notes(plan, one)}"
        )
    if one.course.quick:
        back, wait = supers_back(plan, answer), ""
        if back is not None and back > answer.day + 1:
            wait = f", no honey supers before {month_day(back)}"
        capped = still_capped(plan, one, laws)
        young = plan.known.asked.stock.young is not None  # its list of counts ends with this season
        told = after_dose_words(plan, answer.day).rstrip(".") if young and one.round == "winter" else ""
        stop = "." if told else ""
        return f"{what} on {month_day(answer.day)}, nothing capped (look first){wait}. {capped}{stop}{told}"
    days = f"in on {month_day(answer.day)}, {_again(plan, answer)}out on {month_day(out_day(plan, answer))}"
    beside = f"{_in_heat(plan, answer)}{_notes(plan, one)}{_eggs(plan, answer)}"
    frames = frames_words(plan, answer)
    return f"{what}, {days}{_out_by(plan, answer)}{_supers(plan, answer)}{frames}{beside}"


def _in_heat(plan: YearPlan, answer: AllowedCourse) -> str:
    """What the label's dose says of warmth: nobody gives all of it in the heat by the course's line alone."""
    asked = plan.known.asked
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    note = None if label is None or label.dose is None else label.dose.note
    return f". {note.rstrip('.')}" if note is not None and "°" in note else ""


def _eggs(plan: YearPlan, answer: AllowedCourse) -> str:
    """A look for eggs behind what may cost a queen, as the model charges for it; late in the year, for the queen."""
    book = plan.known.asked.book
    queens = book.treatments[answer.product].common.toll.queens
    if queens is None or (queens.value.low or 0) <= 0:
        return ""
    worker = round(book.biology.castes.worker.emerges.value.usual)
    late = round(book.planning.year_plans.counts.autumn.value.low or 0)
    if answer.day + 2 * worker + late >= plan.known.setting.mark("brood_minimum"):
        return (
            ". Two to three weeks after it went in look for the queen herself: so late in the year no eggs say "
            "nothing; not found, look again in spring, or unite"
        )
    return ". Eggs have to be there two to three weeks after it went in: none, a new queen or unite"


def _again(plan: YearPlan, answer: AllowedCourse) -> str:
    """Further applications, as words that end in a comma."""
    words = given_again(plan, answer)
    return f"{words.removeprefix(', ')}, " if words else ""


def _out_by(plan: YearPlan, answer: AllowedCourse) -> str:
    """The label's last day on which what lies in the hive is taken out."""
    last = stop_of(answer)
    return f" (never later than {month_day(last)})" if last > out_day(plan, answer) else ""


def _notes(plan: YearPlan, one: Planned) -> str:
    """What advisers say beside a round."""
    found = next((r for name, r in plan.known.asked.region.base.rounds.items() if name == one.round), None)
    notes = () if found is None else (*found.notes, *found.class_notes.get(one.course.answer.class_, ()))
    return "".join(f". {note.rstrip('.')}" for note in notes)


def _supers(plan: YearPlan, answer: AllowedCourse) -> str:
    """Supers: when they come off, and when they may be back."""
    asked = plan.known.asked
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    limit = None if label is None else label.limits.supers
    if limit is None:
        return ""
    if limit.during.value == "on":
        return ", honey supers may stay"
    lost = f" ({answer.fallow} days of flow given up)" if answer.lost and answer.fallow else ""
    off = "no honey supers on"
    if answer.supers_off is not None:
        off = f"honey supers off by {month_day(answer.supers_off)}{lost}"
    back = supers_back(plan, answer)
    return f", {off}" if back is None else f", {off}, none before {month_day(back)}"


def _if_missed(plan: YearPlan, opened: Open, one: Planned, second: Second) -> str:
    """What to do where the day is too hot, too cold or missed, or the queen is not found."""
    day = one.course.day
    if one.round == "package":
        return ""
    other = _other(plan, one, second)
    if one.rests is not None:
        slot, week = _slot(plan, one), whole_days(plan.known.asked.book.planning.year_plans.offered.at_once)
        lost = " Queen not found: look again a week later, then all is a week later."
        if slot is not None and slot.by is not None and one.rests.released <= slot.by < one.rests.released + week:
            by = month_day(slot.by)
            lost = f" Queen not found that day or the next: no caging this year, a week later would pass {by}."
        lost = f"{lost} {_uncaged(plan, opened, one)}"
        return f"{lost} Not there on the day of release: the next one you come, no later.{other}"
    if one.course.quick:
        last = second_look(plan, one)
        until = "" if last is None else f", {month_day(last)} at the latest"
        return f" Too cold, or missed: the next mild day you come, brood looked for again{until}.{other}"
    slot = _slot(plan, one)
    good = f" ({month_day(second.last)} is the last that still does all of it)" if second.last > day else ""
    if slot is not None and slot.either:
        lawful = max((d for d in plan.known.asked.days if d <= slot.last), default=day)
        good = f" ({month_day(lawful)} at the latest, as law has it)"
    asked = plan.known.asked
    label = label_for(asked.book.treatments[one.course.answer.product], asked.jurisdiction, asked.book)
    if label is not None and not label.limits.temperature:
        return f" Missed: the next day you come{good}; later is worth less, not nothing.{other}"
    next_ = "Outside the label's warmth, or missed: the next day you come that is inside it"
    return f" {next_}{good}; later is worth less, not nothing.{other}"


def _uncaged(plan: YearPlan, opened: Open, one: Planned) -> str:
    """The course without caging: its product, day and supers."""
    found, book = uncaged(plan, opened, one), plan.known.asked.book
    if found is None:
        return "Without caging: no course fits; count on the day of release, and treat at the line."
    other, listed = found
    again, off = given_again(plan, other.answer), off_words(plan, other.answer, ", honey supers may stay")
    label = "" if listed else " (not on this plan's list, but with a label here)"
    name = called(book, other.product)
    return f"Without caging: {name}{label} from {month_day(other.day)}{again}{off}; then a new plan."


def _other(plan: YearPlan, one: Planned, second: Second) -> str:
    """Another product in a course's place: its day, its further applications, supers."""
    asked = plan.known.asked
    if second.product is None or second.day is None or second.product == one.course.answer.product:
        return ""
    choice = next(c for c in plan.known.candidates if (c.answer.product, c.day) == (second.product, second.day))
    name = called(asked.book, second.product)
    off = "" if choice.quick else off_words(plan, choice.answer)
    given = f"{name} from {month_day(second.day)}{given_again(plan, choice.answer)}{off}"
    if one.rests is not None:
        return f" Or, the queen caged all the same: {name} on {month_day(second.day)}." if choice.quick else ""
    return f" Or instead: {given}{_spoils(plan, one, choice.day)}."


def _spoils(plan: YearPlan, one: Planned, day: int) -> str:
    """That a second choice is no equal, where it begins later."""
    at_once = whole_days(plan.known.asked.book.planning.year_plans.offered.at_once)
    return " (later, so it does less)" if day > one.course.day + at_once else ""


def _excused(plan: YearPlan, one: Planned) -> str:
    """What a low count before a course excuses."""
    found = excuse(plan, one)
    if found is None:
        return ""
    told = f" {found.most} or fewer in {SAMPLE} in every hive on {month_day(found.day)}:"
    return f"{told} leave it out this year; the next count below decides."


def led_lines(plan: YearPlan, by_count: Led) -> Iterator[tuple[int, str]]:
    """Rounds that wait for a count, each with its day: given only where it is over the line."""
    for one in by_count.rounds:
        answer = one.course.answer
        out = f", out on {month_day(out_day(plan, answer))}" if answer.use.last > answer.day else ""
        yield (
            answer.day,
            f"Only if the wash of {month_day(one.count)} finds {one.mites} or more in {SAMPLE} in any hive: "
            f"{called(plan.known.asked.book, answer.product)}, in on {month_day(answer.day)}"
            f"{given_again(plan, answer)}{out}"
            f"{_supers(plan, answer)}{frames_words(plan, answer)}. Fewer in every hive: not this year.",
        )


def trap_lines(plan: YearPlan) -> Iterator[str]:
    """The days of trap combs."""
    asked = plan.known.asked
    traps = asked.stock.traps
    if not traps:
        return
    hung = max((day for day in asked.days if day <= traps[0].laid), default=traps[0].laid)
    emerges = round(asked.book.biology.castes.drone.emerges.value.low or 0)
    yield (
        f"Trap comb: hang one drone comb at the edge of the brood nest by {month_day(hung)}; cut it on "
        f"{joined([month_day(t.cut) for t in traps if t.cut is not None])}, and put it back the same day but for the "
        f"last time. Drones come out from day {emerges} on and let the mites out: can't you come, take the comb out "
        "the visit before."
    )
