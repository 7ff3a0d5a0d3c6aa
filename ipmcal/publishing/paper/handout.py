"""The hand-out of a yard: its year for the wall, a card for each skill in it, drawings, and the trade words explained.

In: the plan, the skills of the rules. Out: frozen values; the sentences around them are in ``handout.html.j2``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from math import ceil

from markupsafe import Markup

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.views import YardView
from ipmcal.model.rules.methods import Skill, Wrong
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import plain, year
from ipmcal.publishing.paper.ink.drawings import (
    PLAIN_DRAWINGS,
    SIZED,
    SIZED_LARGE,
    LifeClock,
    TrueSizes,
    clocks,
    true_size,
)
from ipmcal.publishing.paper.leaf import head_words
from ipmcal.publishing.paper.naming import act_words, by_act, hives_of, lone_heads, up_to_colon

BY_LETTERS = 20
"""How many letters of a line a last good day takes; measured."""
ROW_HIGH, BY_HIGH = 0.1, 0.15
"""By how much of a line a row's rule and a last good day's box make a row higher; measured."""
HOURS = 24.0
TRUE_SIZE = "true_size"
"""The drawing that has to be printed as large as it is."""
RINGS = {"today": "Ring today", "week": "Ring this week", "ask": "Ask at the next meeting"}


@dataclass(frozen=True, slots=True)
class Wall:
    """How much a sheet of the wall holds: letters on a line of what is done, on one of why, and lines; measured."""

    does: int
    because: int
    lines: int


HALF_SHEET, LARGE_SHEET = Wall(43, 21, 46), Wall(36, 17, 38)
"""Half a sheet; a whole one in large print."""


@dataclass(frozen=True)
class Teaching:
    """What a hand-out is made from besides the plan: skills by name, life clocks, and how long before capping a mite
    goes into a worker's and a drone's cell, days; ``sizes`` of what is drawn at true size (None: it is not drawn)."""

    skills: Mapping[str, Skill] = field(default_factory=dict)
    lives: tuple[LifeClock, ...] = ()
    mite: tuple[float, float] = (0.0, 0.0)
    sizes: TrueSizes | None = None


@dataclass(frozen=True, slots=True)
class WallLine:
    """What is to be done on a day: for whom, the last good day (None: none, the day is about), and why (said once)."""

    do: str
    who: str
    by: int | None
    because: str
    task: Task


@dataclass(frozen=True, slots=True)
class WallDay:
    """A day of the wall, with what is done on it, and the days next after it on which just that is done ``again``."""

    day: int
    lines: tuple[WallLine, ...]
    again: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A skill's card, with its drawing where it is the first to have it."""

    skill: Skill
    drawing: Markup | None
    true_size: bool


@dataclass(frozen=True, slots=True)
class HandoutPage:
    """All of a hand-out. ``wall`` has the days by sheet of the wall; ``words`` are those trade words that are printed
    in it, with what they mean."""

    days: tuple[WallDay, ...]
    wall: tuple[tuple[WallDay, ...], ...]
    rings: tuple[tuple[str, tuple[Wrong, ...]], ...]
    cards: tuple[Card, ...]
    clocks: Markup | None
    words: tuple[tuple[str, str], ...]


def teaching_of(book: Rulebook) -> Teaching:
    """The part of the rules that hand-outs are made from."""
    castes, hatches = book.biology.castes, float(book.biology.hatches.value.usual)
    named = (("queen", castes.queen), ("worker", castes.worker), ("drone", castes.drone))
    lives = tuple(LifeClock(n, hatches, float(c.capped.value.usual), float(c.emerges.value.usual)) for n, c in named)
    hours = (book.biology.mites[f"enters_{caste}_before_capping"].value for caste in ("worker", "drone"))
    worker, drone = (one.middle / HOURS for one in hours)
    sizes = TrueSizes(**{name: cited.value.middle for name, cited in book.biology.sizes.items()})
    return Teaching(book.skills, lives, (worker, drone), sizes)


def make_handout(plan: Plan, yard: YardView, teaching: Teaching) -> HandoutPage:
    """The view of a yard's hand-out."""
    tasks = {task.id: task for task in plan.tasks if task.yard == yard.key and task.season == yard.season}
    skills = skills_for(tasks.values(), teaching.skills)
    days = tuple(_reasons_once(tuple(_together(_wall(plan, yard, tasks, teaching.skills)))))
    cards = tuple(_cards(skills, teaching.sizes, SIZED_LARGE if yard.large_print else SIZED))
    rings = tuple((title, _signs(skills, when)) for when, title in RINGS.items())
    scale = clocks(teaching.lives, teaching.mite) if teaching.lives else None
    drawn = [card.drawing.striptags() for card in cards if card.drawing] + ([scale.striptags()] if scale else [])
    printed = " ".join((*_texts([days, [card.skill for card in cards]]), *drawn))
    words = {name.replace("_", " "): text for skill in teaching.skills.values() for name, text in skill.words.items()}
    return HandoutPage(
        days=days,
        wall=sheets_of(days, LARGE_SHEET if yard.large_print else HALF_SHEET),
        rings=tuple((title, some) for title, some in rings if some),
        cards=cards,
        clocks=scale,
        words=tuple(sorted(_explained(printed, words).items())),
    )


def skills_for(tasks: Iterable[Task], skills: Mapping[str, Skill]) -> tuple[Skill, ...]:
    """The skills that some tasks need, and those that everybody needs, in their order."""
    some = [task for task in tasks if task.planned is not None]
    first = [card_for(task, skills) for task in some]
    methods = {task.method for task in some}
    wanted = [s for s in skills.values() if s.always or s in first or not methods.isdisjoint(s.methods)]
    return tuple(sorted(wanted, key=lambda skill: (skill.place, skill.title)))


def card_for(task: Task, skills: Mapping[str, Skill]) -> Skill | None:
    """The skill that a task needs: by the word that it logs, else by its method."""
    by_word = (skill for skill in skills.values() if task.logs in skill.logs)
    by_method = (skill for skill in skills.values() if task.method in skill.methods)
    return next(by_word, None) or next(by_method, None)


def _wall(plan: Plan, yard: YardView, tasks: Mapping[str, Task], skills: Mapping[str, Skill]) -> Iterable[WallDay]:
    """The days, each line with its reason; what a day before has in full is named by its words up to the colon."""
    said: set[str] = set()
    lone = lone_heads(tasks.values())
    for visit in plan.visits:
        here = [tasks[name] for name in visit.tasks if name in tasks and visit.yard == yard.key]
        if here:
            acts = by_act(here)
            named = [(_brief(do, here, said, lone), some) for do, some in acts.items()]
            said.update(acts)
            yield WallDay(visit.day, tuple(_line(do, some, yard, skills) for do, some in named))


def _brief(do: str, here: Sequence[Task], said: set[str], lone: frozenset[str]) -> str:
    """What is to be done, as the wall has room for it."""
    if do in said and up_to_colon(do) in lone:
        return up_to_colon(do)
    return head_words(do, here) if any(task.blanks for task in here if act_words(task) == do) else do


def _line(do: str, some: Sequence[Task], yard: YardView, skills: Mapping[str, Skill]) -> WallLine:
    skill = card_for(some[0], skills)
    stops = [task.window.hard_stop for task in some if task.window.hard_stop is not None]
    who = hives_of(some, yard)
    everyone = len({task.colony for task in some if task.colony}) == len(yard.colonies)
    return WallLine(do, "" if everyone else who, min(stops, default=None), skill.because if skill else "", some[0])


def _reasons_once(days: Sequence[WallDay]) -> Iterable[WallDay]:
    """The days with each reason once: on the first day that has room for it beside what is done, else where it takes
    least. Those that could stand on fewest days choose first, so that none is left with a day that is full by then."""
    told: list[list[str]] = [[] for _ in days]
    wheres: dict[str, list[int]] = {}
    for n, day in enumerate(days):
        for because in dict.fromkeys(line.because for line in day.lines if line.because):
            wheres.setdefault(because, []).append(n)
    for because, where in sorted(wheres.items(), key=lambda one: len(one[1])):
        told[min(where, key=lambda n: (_grows(days[n], told[n], because), n))].append(because)
    for day, mine in zip(days, told, strict=True):
        lines, left = [], set(mine)
        for line in day.lines:
            lines.append(line if line.because in left else replace(line, because=""))
            left.discard(line.because)
        yield replace(day, lines=tuple(lines))


def _grows(day: WallDay, told: Sequence[str], because: str) -> int:
    """By how many lines of text a day's row grows for one more reason."""
    has, does = _said(told, HALF_SHEET), _does(day, HALF_SHEET)
    return max(has + _said([because], HALF_SHEET), does) - max(has, does)


def _does(day: WallDay, wall: Wall) -> int:
    """How many lines of text what is done on a day takes."""
    letters = (len(f"{line.do} {line.who}") + BY_LETTERS * (line.by is not None) for line in day.lines)
    return ceil((sum(letters) + len(" · ") * (len(day.lines) - 1)) / wall.does)


def _said(told: Iterable[str], wall: Wall) -> int:
    """How many lines of text some reasons take."""
    return sum(ceil(len(text) / wall.because) for text in told if text)


def _high(day: WallDay, wall: Wall) -> float:
    """How high a day's row is, in lines of text."""
    lines = max(1, _does(day, wall), _said((line.because for line in day.lines), wall))
    return lines + ROW_HIGH + BY_HIGH * sum(line.by is not None for line in day.lines)


def sheets_of(days: Sequence[WallDay], wall: Wall) -> tuple[tuple[WallDay, ...], ...]:
    """The days in as many parts as the wall takes sheets, about as long as each other: none a few rows that spilt."""
    high = [_high(day, wall) for day in days]
    parts = max(1, ceil(sum(high) / wall.lines))
    ends = [sum(high[: n + 1]) for n in range(len(high))]
    part = [min(parts - 1, int((end - tall) * parts / sum(high))) for end, tall in zip(ends, high, strict=True)]
    return tuple(tuple(day for day, at in zip(days, part, strict=True) if at == n) for n in range(parts))


def _together(days: Iterable[WallDay]) -> Iterable[WallDay]:
    """The days, those in one row on which the same is done."""
    waiting: WallDay | None = None
    for day in days:
        if waiting and _same(waiting, day):
            waiting = replace(waiting, again=(*waiting.again, day.day))
            continue
        if waiting:
            yield waiting
        waiting = day
    if waiting:
        yield waiting


def _same(before: WallDay, after: WallDay) -> bool:
    """Whether all that is done on a day was done on the one before, for the same hives, by no last good day."""
    said = [[(line.do, line.who, line.by) for line in day.lines] for day in (before, after)]
    return said[0] == said[1] and not any(line.by is not None for line in after.lines)


def _cards(skills: Sequence[Skill], sizes: TrueSizes | None, points: float) -> Iterable[Card]:
    """The cards of some skills; what is drawn at true size has letters of ``points``."""
    drawn: set[str] = set()
    known = PLAIN_DRAWINGS | ({TRUE_SIZE: lambda: true_size(sizes, points)} if sizes is not None else {})
    for skill in skills:
        name = skill.drawing or ""
        new = name in known and name not in drawn
        drawn.add(name)
        yield Card(skill, known[name]() if new else None, name == TRUE_SIZE)


def _signs(skills: Sequence[Skill], when: str) -> tuple[Wrong, ...]:
    return tuple(wrong for skill in skills for wrong in skill.wrong if wrong.ring == when)


def _texts(value: object) -> Iterable[str]:
    """Every text below a value that is printed, but for the explanations themselves."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Skill):
        yield from _texts([getattr(value, name) for name in type(value).model_fields if name not in ("words", "logs")])
    elif isinstance(value, Wrong):
        yield from (value.sign, value.do)
    elif isinstance(value, WallLine):
        yield from (value.do, value.because)
    elif is_dataclass(value):
        yield from (text for one in fields(value) for text in _texts(getattr(value, one.name)))
    elif isinstance(value, (tuple, list)):
        yield from (text for one in value for text in _texts(one))


def _explained(text: str, words: Mapping[str, str]) -> dict[str, str]:
    """Those words that occur in a text, and in the explanations of those that do."""
    found: dict[str, str] = {}
    look = [text]
    while look:
        here = plain(look.pop()).casefold()
        for word, meaning in words.items():
            if word not in found and occurs(word, here):
                found[word] = meaning
                look.append(meaning)
    return found


def occurs(word: str, text: str) -> bool:
    """True where a word, or more than one of it, stands in a text in small letters."""
    return re.search(rf"(?<!\w){re.escape(word)}(s|es|ing|ed)?(?!\w)", text) is not None


def handout_year(yard: YardView) -> str:
    """The year or years of a yard's season."""
    first, last = year(yard.begins), year(yard.ends)
    return str(first) if first == last else f"{first} and {last}"
