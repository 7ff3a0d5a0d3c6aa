"""The year's work in words: courses, a break in the brood, rounds that wait for a count, trap combs.

In: a ``YearPlan``, its rounds by count. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.led import Led
from ipmcal.planning.advise.second import Second, seconds
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.base import BaseRound
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.saying.year.excuse import excuse
from ipmcal.saying.year.products import called

NAMES = {
    "spring": "Spring",
    "summer": "Summer",
    "late_summer": "Late summer",
    "autumn": "Autumn, by law",
    "winter": "Winter",
    "break": "In the brood break",
    "package": "Once installed",
    "": "Extra round",
}


def course_lines(plan: YearPlan) -> Iterator[str]:
    """Each course: its days, supers, what to do where the day can't be kept, a second choice."""
    for one, second in zip(plan.courses, seconds(plan), strict=True):
        yield f"{_name(plan, one)}: {_what(plan, one)}.{_if_missed(plan, one, second)}{_excused(plan, one)}"
    if not plan.courses:
        yield "No treatment is planned."


def _slot(plan: YearPlan, one: Planned) -> BaseRound | None:
    return next((served.slot for served in plan.known.rounds if served.slot.name == one.round), None)


def _name(plan: YearPlan, one: Planned) -> str:
    slot = _slot(plan, one)
    if slot is not None and slot.either and one.course.quick:
        return "Autumn, by law, and the winter dose"
    name = NAMES[one.round]
    if slot is None or slot.by is None or one.round in ("break", "package"):
        return name
    late = "LATE: " if one.course.day > slot.by else ""
    if slot.acted is not None and slot.acted <= slot.by:
        return f"{name} ({late}advisers want it to have worked by {month_day(slot.acted)})"
    acted = "" if slot.acted is None else f", to have worked by {month_day(slot.acted)}"
    return f"{name} ({late}advisers have it begin by {month_day(slot.by)}{acted})"


def _what(plan: YearPlan, one: Planned) -> str:
    answer = one.course.answer
    what = called(plan.known.asked.book, answer.product)
    if one.round == "package":
        return (
            f"{what}, about the fifth day after installing, the queen laying and nothing capped yet (installed on this "
            f"page's day, {month_day(answer.day)}); where something is capped, leave it out and count at five weeks"
        )
    if one.rests is not None:
        caged, out = month_day(one.rests.caged), month_day(one.rests.released)
        return (
            f"cage the queen on {caged}; on {out}, the last drone cell empty (look), let her out and give {what} the "
            f"same day{_supers(plan, answer)}. Eggs have to be there a week later: none, look again after four days, "
            "then a comb with eggs or a new queen. It costs four weeks' brood: bees that would fly in the month after "
            f"{out}"
        )
    if one.course.quick:
        return f"{what} on {month_day(answer.day)}, nothing capped (look first; {_still_capped(plan, one)})"
    days = f"in on {month_day(answer.day)}, {_again(plan, answer)}out on {month_day(out_day(plan, answer))}"
    beside = f"{_in_heat(plan, answer)}{_notes(plan, one)}{_eggs(plan, answer)}"
    return f"{what}, {days}{_out_by(plan, answer)}{_supers(plan, answer)}{beside}"


def _in_heat(plan: YearPlan, answer: AllowedCourse) -> str:
    """What the label's dose says of warmth: nobody gives all of it in the heat by the course's line alone."""
    asked = plan.known.asked
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    note = None if label is None or label.dose is None else label.dose.note
    return f". {note.rstrip('.')}" if note is not None and "°" in note else ""


def _eggs(plan: YearPlan, answer: AllowedCourse) -> str:
    """A look for eggs behind what may cost a queen, as the model charges for it."""
    queens = plan.known.asked.book.treatments[answer.product].common.toll.queens
    costs = queens is not None and (queens.value.low or 0) > 0
    return ". Eggs have to be there two to three weeks after it went in: none, a new queen or unite" if costs else ""


def _still_capped(plan: YearPlan, one: Planned) -> str:
    """What is done where something is capped on the day of a winter dose, and until when it waits."""
    slot = _slot(plan, one)
    last = one.course.day if slot is None else max(slot.last, one.course.day)
    caged = round(plan.known.asked.book.biology.castes.drone.emerges.value.high or 0)
    return (
        f"where something is, wait a week, until {month_day(last)} at the latest; capped even then: cage the queen for "
        f"{caged} days and give it as she comes out, or leave it out and wash on the first mild day"
    )


def _again(plan: YearPlan, answer: AllowedCourse) -> str:
    """Further applications, as words that end in a comma."""
    words = _again_words(plan, answer)
    return f"{words.removeprefix(', ')}, " if words else ""


def _again_words(plan: YearPlan, answer: AllowedCourse) -> str:
    """Further applications, on days of the keeper's where they fall within the label's."""
    days = []
    for day in answer.use.applications[1:]:
        step = next((s for s in answer.use.steps if s.opens <= day <= (s.hard_stop or s.closes)), None)
        last = day if step is None else step.hard_stop or step.closes
        mine = [] if step is None else [d for d in plan.known.asked.days if step.opens <= d <= last]
        days.append(min(mine, key=lambda d: abs(d - day), default=day))
    return f", again on {joined([month_day(day) for day in days])}" if days else ""


def out_day(plan: YearPlan, answer: AllowedCourse) -> int:
    """The keeper's first day on which what lies in the hive may come out; the label's where none is in time."""
    last = _stop(answer)
    return min((d for d in plan.known.asked.days if answer.use.last <= d <= last), default=answer.use.last)


def _stop(answer: AllowedCourse) -> int:
    stops = [s.hard_stop for s in answer.use.steps if s.hard_stop is not None and s.opens <= answer.use.last]
    return max([*stops, answer.use.last])


def _out_by(plan: YearPlan, answer: AllowedCourse) -> str:
    """The label's last day on which what lies in the hive is taken out."""
    last = _stop(answer)
    return f" (never later than {month_day(last)})" if last > out_day(plan, answer) else ""


def _notes(plan: YearPlan, one: Planned) -> str:
    """What advisers say beside a round."""
    base = plan.known.asked.region.base.rounds
    notes = next((round_.notes for name, round_ in base.items() if name == one.round), ())
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
    wait = 0 if limit.after is None else round(limit.after.value.high or 0)
    lost = f" ({answer.lost} days of flow given up)" if answer.lost else ""
    off = "no honey supers on"
    if answer.supers_off is not None:
        off = f"honey supers off by {month_day(answer.supers_off)}{lost}"
    return f", {off}, none before {month_day(out_day(plan, answer) + wait + (1 if wait == 0 else 0))}"


def _if_missed(plan: YearPlan, one: Planned, second: Second) -> str:
    """What to do where the day is too hot, too cold or missed."""
    day, book = one.course.day, plan.known.asked.book
    if one.round == "package":
        return ""
    other = ""
    if second.product is not None and second.day is not None and second.product != one.course.answer.product:
        choice = next(c for c in plan.known.candidates if (c.answer.product, c.day) == (second.product, second.day))
        given = f"{called(book, second.product)} from {month_day(second.day)}{_again_words(plan, choice.answer)}"
        other = f" Or instead: {given}."
        if one.rests is not None:
            other = f" Or, the queen caged all the same: {given}." if choice.quick else f" Without caging: {given}."
    if one.rests is not None:
        lost = " Queen not found: look again on the next day you come; not found then, a course without caging."
        return f"{lost} Not there on the day of release: the next one you come, no later.{other}"
    if one.course.quick:
        return f" Too cold, or missed: the next mild day you come, brood looked for again.{other}"
    good = f" ({month_day(second.last)} is the last that still does all of it)" if second.last > day else ""
    next_ = "Outside the label's warmth, or missed: the next day you come that is inside it"
    return f" {next_}{good}; later is worth less, not nothing.{other}"


def _excused(plan: YearPlan, one: Planned) -> str:
    """What a low count before a course excuses, and until when."""
    found = excuse(plan, one)
    if found is None:
        return ""
    told = f" {found.most} or fewer in {SAMPLE} in every hive on {month_day(found.day)}:"
    if found.left:
        return f"{told} leave it out this year, and count again four weeks later."
    slot = _slot(plan, one)
    last = None if slot is None else slot.by if slot.name == "late_summer" and slot.by is not None else slot.last
    if last is None or last <= one.course.day:
        return ""
    advised = " (advisers there wait then)" if one.round == "late_summer" else ""
    ends = f"on {month_day(last)} at the latest" if one.round == "late_summer" else f"not after {month_day(last)}"
    return (
        f"{told} it may wait{advised} while you count every two weeks, and begins at the first count of "
        f"{found.most + 1} or more, {ends}."
    )


def led_lines(plan: YearPlan, by_count: Led) -> Iterator[str]:
    """Rounds that wait for a count: given only where it is over the line."""
    for one in by_count.rounds:
        answer = one.course.answer
        out = f", out on {month_day(out_day(plan, answer))}" if answer.use.last > answer.day else ""
        yield (
            f"Only if the wash of {month_day(one.count)} finds {one.mites} or more in {SAMPLE} in any hive: "
            f"{called(plan.known.asked.book, answer.product)}, in on {month_day(answer.day)}"
            f"{_again_words(plan, answer)}{out}"
            f"{_supers(plan, answer)}. Fewer in every hive: not this year."
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
