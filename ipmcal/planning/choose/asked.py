"""Asked: what a yard wants treatments for by itself, as a question: hives, days, products, what is banned.

In: a yard that is ready, the keeper's names of products, bans. Out: ``Question``; the products that are planned with.
Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ipmcal.model.altered import altered
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.values.words import joined, short_day
from ipmcal.planning.choose.known import Setting, standing_of
from ipmcal.planning.choose.offer import Hive, Question
from ipmcal.planning.choose.outcome import Terms, ask_for
from ipmcal.planning.choose.signs import uncounted_signs
from ipmcal.planning.choose.wants import Want, begin_days
from ipmcal.planning.days.frame import opening_at
from ipmcal.planning.decide.decide import Call
from ipmcal.planning.decide.worked import Working, classes_out, courses_found, working
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.owed.cursors import start
from ipmcal.planning.owed.fitness import fitness, methods_of
from ipmcal.planning.ready import Ready

Bans = Mapping[tuple[str, int], str]
"""Treatments and days (ordinals) on which they may not begin in this yard, with the limits that broke, in words.

With ``END_SOON`` for a day: it may begin, and what went in comes out as soon as its label lets it.
"""

END_SOON = 0
"""Stands for a day in bans."""

Earlier = Mapping[str, Sequence[CourseSpell]]


def question_of(one: Ready, outfit: Outfit, bans: Bans, earlier: Earlier) -> Question | None:
    """The question to ``decided``; None where nobody is there, or no product is named."""
    ground = one.ground
    yard, book = ground.yard, ground.book
    products = products_of(one).kept
    if not products or not one.treated:
        return None
    there = Setting(yard, ground.season, book, ground.as_of, outfit.products, ground.written)
    hives = [Hive(s.colony.key, _standing(one, s, there, earlier), s.colony.began) for s in one.treated]
    as_of = max(ground.as_of, ground.season.first)
    banned = {day for _, day in bans if day != END_SOON}
    days = [day for day in ground.days if day not in banned and not ground.days.rests(day)]
    ask = ask_for(yard, ground.season, book, as_of, hives, Terms(days, _told_to_treat(one), products))
    needs = tuple(_let_out(one, need) for need in ask.needs)
    return replace(ask, needs=needs, days=begin_days((day for day in days if day >= as_of), needs))


def products_of(one: Ready) -> Working:
    """The yard's products, or its program's, without those whose class has failed here by its counts."""
    yard, book = one.ground.yard, one.ground.book
    products = yard.treatments if yard.treatments is not None else book.programs[yard.program].treatments
    found = tuple(courses_found(one.states, one.courses, one.ground.stick, book)) if products else ()
    return working(products, classes_out(found, book), book)


def failed(one: Ready) -> Iterator[Refusal]:
    """The products that are not planned with since their class has failed here."""
    for name, out in products_of(one).left.items():
        why = Because(Code.CLASS_FAILED, (out.title, round(out.below * 100), out.began))
        title = one.ground.book.treatments[name].title
        yield Refusal(one.ground.yard.key, "", name, title, (why,), (Because(Code.TELL_ADVISER),))


def _let_out(one: Ready, need: Want) -> Want:
    """A break whose queen is in her cage is used on a day on which she is let out, where the keeper comes on one."""
    caged = [s for s in one.here if need.broodless and s.colony.key in (need.colonies or ())]
    closes = [last for state in caged if (last := _out(one, state)) is not None]
    inside = one.ground.days.between(need.first, min(closes, default=need.first - 1))
    days = one.ground.days.of(inside)
    return replace(need, last=min(need.last, (days[:-1] or days)[-1])) if days else need  # the last is held for rain


def _out(one: Ready, state: ColonyState) -> int | None:
    """The last day on which the queen of a colony may be let out; None where none is caged, or no method says so."""
    ground = one.ground
    for name in methods_of(ground.yard, state.colony.added, state.colony.declined, ground.book):
        method = ground.book.methods[name]
        steps = [n for n, step in method.steps.items() if ground.book.events[step.logs].effect == "starts_laying"]
        fit = fitness(method, state, None, ground.season, ground.book)
        if "caged" in state.queen and steps and fit.meant:
            frame = ground.frame(name, method)
            cursor = start(frame, state, None, fit, ground.season)
            found = opening_at(frame, replace(cursor, step=steps[0], begun=True))
            if found is not None:
                return found.window.closes
    return None


def _standing(one: Ready, state: ColonyState, there: Setting, earlier: Earlier) -> Standing:
    made = standing_of(state, there, one.courses.get(state.colony.key, ()))
    courses = until_out(made.courses, one.out.get(state.colony.key, {}), there.as_of)
    return altered(made, courses=(*courses, *earlier.get(state.colony.key, ())))


def _told_to_treat(one: Ready) -> list[tuple[int, str]]:
    """The day on which counts said to treat, with the words for it."""
    if one.decision.call is not Call.TREAT:
        return list(uncounted_signs(one))
    every, over = one.decision.decisions, one.decision.over
    days = sorted({d.count.day for d in every if d.count.colony in over or not over})  # others may be later
    return [(days[-1], f"counted over the line in {joined(over)} on {joined(map(short_day, days))}")]


def until_out(courses: Sequence[CourseSpell], out: Mapping[str, int], as_of: int) -> tuple[CourseSpell, ...]:
    """Courses, those that are not over with the days on which they really come ``out``, where these are known."""
    lies = [c.treatment in out and (c.ended is None or c.ended >= as_of) for c in courses]
    return tuple(replace(c, ended=out[c.treatment]) if in_ else c for c, in_ in zip(courses, lies, strict=True))
