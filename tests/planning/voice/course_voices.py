"""Voices of courses: what is given, what may stand in its place and until when, and what a count says of it.

`options` is asked as its command asks it: it knows what was written, and of what is planned the supers that come off
for courses and the cagings, not the other courses. What it says of these is left out where the plan has such work.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planning.course_invariants import told
from planning.invariants import can_come

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.verdict import Limited, Verdict, Weight
from ipmcal.model.plan.views import YardView
from ipmcal.model.rules.labels import treatment_of
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import month_day, short_day
from ipmcal.planning.options import options_for

AGAINST = "Advised against all the same: "
OF_COURSES = frozenset({"rest", "course", "winter", "class", "together"})
OF_SUPERS = frozenset({"supers", "flow"})
OF_QUEENS = frozenset({"queen", "brood"})
OF_WORK = frozenset({"quiet", "feeding", "entrance", "floor", "strength", "chambers"})
TOO_NEAR = "too near to the next course"
GOOD_UNTIL = re.compile(
    r"(?P<title>.+): begin it by (?P<last>\w{3} \d+ \w+); "
    r"(?:or instead (?P<other>.+?) (?:from (?P<day>\w{3} \d+ \w+), at the latest|on) (?P<until>\w{3} \d+ \w+)"
    r"|nothing else of yours would do)"
)
KEPT_OFF = re.compile(r"(?P<title>.+), for the rounds of the year: kept off (?P<off>\d+) of (?P<days>\d+) days: .+")


@dataclass(frozen=True, slots=True)
class Ahead:
    """A course of one hive that is to begin: its treatment, its title, its tasks that lie ahead."""

    colony: str
    treatment: str
    title: str
    season: int
    tasks: tuple[Task, ...]

    @property
    def first(self) -> Task:
        """The task with which it begins."""
        return min(self.tasks, key=lambda task: task.planned or 0)

    @property
    def day(self) -> int:
        """The day on which it begins."""
        return self.first.planned or 0


class Asked:
    """`options` of an outfit as of one day, asked once for each day on which something begins."""

    def __init__(self, plan: Plan, outfit: Outfit, book: Rulebook) -> None:
        self.plan, self.outfit, self.book = plan, outfit, book
        self._made: dict[int, dict[tuple[str, str], dict[str, Verdict]]] = {}

    def of(self, view: YardView, colony: str, treatment: str, day: int) -> Verdict | None:
        """What it says of a treatment in one hive; None where it knows no such hive."""
        if day not in self._made:
            every = options_for(self.outfit, self.book, day, self.plan.as_of)
            self._made[day] = {
                (one.yard, key): {v.treatment: v for v in some} for one in every for key, some in one.verdicts.items()
            }
        return self._made[day].get((view.name, colony), {}).get(treatment)


def courses_ahead(plan: Plan, view: YardView, book: Rulebook) -> list[Ahead]:
    """The courses of a yard's season that are still to begin, in the order of their days."""
    found: dict[tuple[str, str], list[Task]] = {}
    for task in plan.tasks:
        if (task.yard, task.season) == (view.key, view.season) and task.colony and treatment_of(task.method, book):
            found.setdefault((task.colony, task.method), []).append(task)
    made = []
    for (colony, method), some in found.items():
        if any(task.done is not None for task in some):
            continue
        ahead = tuple(task for task in some if task.planned is not None)
        if any(task.product for task in ahead):
            name = treatment_of(method, book)
            made.append(Ahead(colony, name, book.treatments[name].title, view.season, ahead))
    return sorted(made, key=lambda one: (one.day, one.colony))


def left_to_the_plan(plan: Plan, course: Ahead, book: Rulebook) -> frozenset[str]:
    """The limits of which the plan of a hive knows more than is written: its other work comes first."""
    found = set[str]()
    for task in (t for t in plan.tasks if t.colony == course.colony and t.planned is not None):
        word = book.effect(task.logs)
        if treatment_of(task.method, book) and (task.method, task.season) != (course.first.method, course.season):
            found |= OF_COURSES
        if word in ("stops_laying", "starts_laying"):
            found |= OF_QUEENS
        if word != "none":
            found |= OF_WORK
    if any(one.colony == course.colony for one in plan.lying):
        found |= OF_COURSES
    return frozenset(found)


# What `options` says of a course that is planned ---------------------------------------------------------------------


def as_options_say(plan: Plan, outfit: Outfit, book: Rulebook) -> Iterator[str]:
    """What is planned is not forbidden on its day, but where that is told; what `options` advises against is printed
    with the course, and nothing else is."""
    asked = Asked(plan, outfit, book)
    for view in plan.yards:
        for course in courses_ahead(plan, view, book):
            made = asked.of(view, course.colony, course.treatment, course.day)
            where = f"{course.first.id} on {short_day(course.day)}"
            if made is None:
                yield f"{where}: options knows no such hive"
                continue
            apart = left_to_the_plan(plan, course, book)
            yield from (f"{where}: {words}" for words in _differs(plan, view, course, made, apart))


def _differs(plan: Plan, view: YardView, course: Ahead, made: Verdict, apart: frozenset[str]) -> Iterator[str]:
    conflict = told(plan, view.key, course.colony, course.title, "limits do not hold")
    for reason in (r for r in made.reasons if r.limit not in apart):
        said = any(_words(reason).rstrip(".").casefold() in note.casefold() for note in course.first.notes)
        if reason.weight is Weight.FORBIDS and not reason.by_hand and not conflict:
            yield f"options forbids it, and the plan has it: {reason.limit}: {_words(reason)}"
        elif reason.weight is Weight.ADVISES and not said and not conflict:
            yield f"options advises against it, and it is not printed: {reason.limit}: {_words(reason)}"
    for note in course.first.notes if not apart & OF_COURSES else ():
        if note.startswith(AGAINST):
            words = note.removeprefix(AGAINST).rstrip(".").casefold()
            if not any(words == _words(reason).rstrip(".").casefold() for reason in made.reasons):
                yield f"its note advises against it, and options does not: {note}"


def _words(reason: Limited) -> str:
    """A reason as paper has it."""
    return reason.plain or ": ".join(filter(None, (reason.says, reason.known)))


# What may stand in its place -----------------------------------------------------------------------------------------


def seconds_stand(plan: Plan, outfit: Outfit, book: Rulebook) -> Iterator[str]:
    """A second choice is of a course that is planned, which is begun while it is still enough and never later; what may
    stand in its place is another product, is not called kept off, and on its own days no label forbids it."""
    asked = Asked(plan, outfit, book)
    titles = {one.title.lower(): name for name, one in book.treatments.items()}
    for view in plan.yards:
        one = next((c for c in plan.choosing if (c.yard, c.season) == (view.key, view.season)), None)
        if one is None:
            continue
        ahead = courses_ahead(plan, view, book)
        off = {m["title"].lower() for words in one.excluded if (m := KEPT_OFF.fullmatch(words))}
        for words in one.second:
            found = GOOD_UNTIL.fullmatch(words)
            if found is None:
                continue
            course = _meant(found["title"], _day(plan, found["last"]), ahead)
            if course is None:
                yield f"{view.key}: of no course that is planned: {words}"
                continue
            yield from _still_enough(plan, view, course, asked, words)
            if found["other"]:
                if found["other"] in off or found["other"] == found["title"].lower():
                    yield f"{view.key}: kept off all days, and a second choice: {words}"
                yield from _allowed(plan, view, course, (titles[found["other"]], asked), words)


def _meant(title: str, last: int, ahead: Sequence[Ahead]) -> Ahead | None:
    """The course that a second choice is of: of its product, the last to begin by that day, or the first of all."""
    mine = [one for one in ahead if one.title == title]
    return max((one for one in mine if one.day <= last), key=lambda one: one.day, default=mine[0] if mine else None)


def _still_enough(plan: Plan, view: YardView, course: Ahead, asked: Asked, words: str) -> Iterator[str]:
    """It is begun, and its window closes, while it is still enough; and nothing stands against it until then."""
    last, window = _day(plan, GOOD_UNTIL.fullmatch(words)["last"]), course.first.window  # type: ignore[index]
    where = f"{course.first.id}, begun on {short_day(course.day)}, by {short_day(window.closes)}"
    if max(course.day, window.closes) > last:
        yield f"{where}: and {words}"
    elif window.closes < last:
        if TOO_NEAR in window.why_closes.note:
            yield f"{where}, {window.why_closes.note}: and {words}"
        apart = left_to_the_plan(plan, course, asked.book) | OF_SUPERS
        for reason in _forbids(asked.of(view, course.colony, course.treatment, last), apart):
            yield f"{where}: options forbids it later: {reason.limit}: {_words(reason)}: and {words}"


def _allowed(plan: Plan, view: YardView, course: Ahead, other: tuple[str, Asked], words: str) -> Iterator[str]:
    name, asked = other
    found = GOOD_UNTIL.fullmatch(words)
    assert found is not None
    apart = left_to_the_plan(plan, course, asked.book) | OF_SUPERS
    there = next(yard for yard in asked.outfit.yards if yard.key == view.key)
    for text in dict.fromkeys(filter(None, (found["day"], found["until"]))):
        day = _day(plan, text)
        if day < plan.as_of or not can_come(there, day):
            yield f"{view.key}: {text} is over, or none of the keeper's days: {words}"
            continue
        for reason in _forbids(asked.of(view, course.colony, name, day), apart):
            yield f"{course.colony}: options forbids it on {text}: {reason.limit}: {_words(reason)}: {words}"


def _forbids(made: Verdict | None, apart: frozenset[str]) -> Iterator[Limited]:
    """The reasons that forbid a course, but for those of which the plan knows more, and what is mended at the hive."""
    for reason in made.reasons if made is not None else ():
        if reason.weight is Weight.FORBIDS and not reason.by_hand and reason.limit not in apart:
            yield reason


def _day(plan: Plan, text: str) -> int:
    """The day that is printed so, from a week before a plan on."""
    return next(day for day in range(plan.as_of - 7, plan.as_of + 800) if short_day(day) == text)


# What a count says ---------------------------------------------------------------------------------------------------


def counts_call(plan: Plan) -> Iterator[str]:
    """Where the counts of a yard say to treat, something is given soon or was begun since, or it is told that nothing
    is; where they say that it is below, no sheet says that its hives are to be treated for it."""
    for call in plan.calls:
        given = {t.colony for t in plan.tasks if t.yard == call.yard and t.product and t.planned is not None}
        for colony in call.over if call.call == "treat" else ():
            begun = any(c.colony == colony and c.began >= (call.day or 0) for c in plan.courses)
            if colony not in given and not begun and not any(c.yard == call.yard for c in plan.conflicts):
                yield f"{colony} is over its line, nothing is given, and nobody says so: {call.words}"


def lines_stay(was: Plan, now: Plan) -> Iterator[str]:
    """A count is judged by the line that its sheet printed beforehand: as many mites, in as many bees."""
    printed = {(t.colony, t.planned): t for t in was.tasks if t.planned is not None}
    for count in (count for call in now.calls for count in call.counts):
        task = printed.get((count.colony, count.day))
        told_ = [m for note in task.notes if (m := re.search(r"(\d+) or more mites in (\d+)", note))] if task else []
        judged = re.search(r"treat at (\d+) or more", count.line)
        sample = re.search(r"in (\d+)", count.found)
        if told_ and judged and sample and sample[1] == told_[0][2] and judged[1] != told_[0][1]:
            yield f"{task.id if task else ''}: its sheet says treat at {told_[0][1]}, judged: {count.line}"


def begins_as_said(plan: Plan, book: Rulebook) -> Iterator[str]:
    """The season page has each course from the day on which its first hive gets it on a sheet."""
    for view in plan.yards:
        one = next((c for c in plan.choosing if (c.yard, c.season) == (view.key, view.season)), None)
        days = {(c.title, month_day(c.day, view.years)) for c in courses_ahead(plan, view, book)}
        for words in one.chosen if one is not None else ():
            found = re.fullmatch(r"(.+?) from (\d+ \w+(?: \d{4})?): .+", words)
            if found is None:
                yield f"{view.key}: {words}"
            elif not any(day == found[2] and title in found[1] for title, day in days) and not begun(plan, found[1]):
                yield f"{view.key}: no sheet has it: {words}"


def begun(plan: Plan, words: str) -> bool:
    """Whether one of the treatments named has begun."""
    return any(t.product and t.done is not None and t.product in words for t in plan.tasks)
