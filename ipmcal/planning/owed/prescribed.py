"""Treat: the steps that a course owes, as errands: to renew, re-space, take out by its last day, count and look after.

In: a yard's ground, a colony, a treatment's label, what was done of the course, or the days on which it may begin.
Out: errands. Pure. A course is a method whose steps are its label's; its days follow from the day it began.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.outfit.strips import TREATS
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.labels import applications
from ipmcal.model.rules.methods import Method, Needs, Step
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount, Bound
from ipmcal.model.values.text import Text
from ipmcal.model.values.words import MEASURED, counted, joined, sentence
from ipmcal.planning.days.bounds import Opening, event_reason
from ipmcal.planning.days.chain import Ease
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.labels.amounts import Application, asks_for, need_words, shopping, size_on
from ipmcal.planning.labels.weather import TEMPERATURES
from ipmcal.planning.owed.cursors import DoneStep, became
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.ground import Ground, Prescribed
from ipmcal.planning.recall.broodless import SEEN
from ipmcal.planning.recall.courses import Course

Names = Mapping[str, str]
"""The keeper's own names of products, each with the id of its treatment."""


def prescribed(ground: Ground, product: str, names: Names) -> Prescribed | None:
    """The treatment and label of a product; None where no rule file, or no label for this country, is known."""
    name = names.get(product, product)
    return ground.labelled(name)


def course_frame(ground: Ground, one: Prescribed, number: int) -> Frame:
    """The frame of a treatment's ``number``-th course of a season in this yard."""
    name = course_name(one.name, number)
    known = ground.memo.frames.get(name)
    return ground.frame(name, _method(ground, one)) if known is None else known


def course_name(name: str, number: int) -> str:
    """The method of a course: the treatment, and a number from the second course of a season on."""
    return name if number == 1 else f"{name}_{number}"


def _method(ground: Ground, one: Prescribed) -> Method:
    """A label as a method: what the treatment and its label have to say stands with each application."""
    given = set(applications(one.label, ground.book))
    cautions = (*one.treatment.cautions, *one.label.cautions)
    steps = {
        name: step.model_copy(
            update={
                "cautions": tuple(dict.fromkeys((*cautions, *step.cautions))),
                "notes": (*step.notes, *one.label.notes),
            }
        )
        if name in given
        else step
        for name, step in one.label.steps.items()
    }
    return Method.model_construct(
        title=one.treatment.title, per="colony", needs=Needs(), clock={}, seen={}, found={}, steps=steps, asked=False
    )


# A course that has begun ----------------------------------------------------------------------------------------------


def begun(ground: Ground, state: ColonyState, courses: Sequence[Course], names: Names) -> Iterator[Errand]:
    """What the courses of this season still owe in a colony, and what was done of them."""
    numbers: dict[str, int] = {}
    for course in courses:
        one = prescribed(ground, course.product, names)
        if one is None or (course.ended is not None and course.ended < ground.season.first):
            continue  # what was never taken out is owed in the next season too
        number = numbers[one.name] = numbers.get(one.name, 0) + 1
        yield from _begun(ground, state, course, one, number)


def _begun(ground: Ground, state: ColonyState, course: Course, one: Prescribed, number: int) -> Iterator[Errand]:
    label = course_frame(ground, one, number)
    done = _done(ground, state, course, list(label.method.steps), label)
    frame = _early_first(ground, label, done, _still_in(ground, course, label))
    steps = list(frame.method.steps)
    past: list[DoneStep] = []
    facts: dict[str, Known] = {}
    cursor: Cursor | None = None
    # what lies in the hive has to come out, also where later steps were done meanwhile
    owed = _still_in(ground, course, frame)
    last = max((i for i, name in enumerate(steps[:owed]) if name in done), default=-1)
    for i, name in enumerate(steps):
        here = Cursor(name, 1, dict(facts), (), begun=True)
        found = opening_at(frame, here) if facts else opening_at(frame, replace(here, begun=False))
        if name in done and i < owed:
            if found is not None:
                past.append(DoneStep(here, found, became(found.window, done[name]), done[name].day))
            facts[name] = done[name]
        # passed over, or its time went by: nobody knows. With a hard stop it stays owed, for it may do harm
        elif i < last or (found is not None and found.window.hard_stop is None and ground.gone_by(found.window)):
            if found is not None:
                past.append(DoneStep(here, found, Status.UNKNOWN))
                facts[name] = Known(found.window.best, found.window.why_best)
        elif found is not None:
            cursor = here
            gone = list(_gone_by(ground, frame, cursor, steps[i + 1 :]))
            past += [DoneStep(Cursor(look, 1, dict(facts), (), begun=True), at, Status.UNKNOWN) for look, at in gone]
            frame = _in_front(ground, frame, [look for look, _ in gone], i)
            break
    chain = ground.chain(frame, cursor) if cursor else None
    # no day is left for a step that must be done: told as a conflict, never dropped
    stuck = cursor is not None and chain is None and frame.method.steps[cursor.step].hard_stop is not None
    if chain is not None or past or stuck:
        whole = cursor or Cursor(steps[0], 1, facts)
        key = f"{state.colony.key}/{label.name}"
        left = f"{float(course.left):g}" if course.left > 0 else ""
        yield Errand(
            key, label.name, state, None, frame, whole, chain or NOTHING, (), tuple(past), stuck, one.name, left
        )


def _early_first(ground: Ground, frame: Frame, done: Mapping[str, Known], owed: int) -> Frame:
    """The frame with the looks that were done before the step that they go along with in front of what is owed.

    That is what lies in the hive and has to come out, the ``owed``-th step, or the first that is not done yet: a look
    passes over nothing.
    """
    steps = frame.method.steps
    names = list(steps)
    first = min([i for i, name in enumerate(names[:owed]) if name not in done and not steps[name].along], default=owed)
    early = [name for name in names[first:] if name in done and steps[name].along]
    return _in_front(ground, frame, early, first)


def _gone_by(ground: Ground, frame: Frame, cursor: Cursor, later: Sequence[str]) -> Iterator[tuple[str, Opening]]:
    """The looks behind a step that is still owed whose own time went by meanwhile: what they would tell is past."""
    for name in later:
        found = opening_at(frame, replace(cursor, step=name))
        if found is not None and frame.method.steps[name].along and ground.gone_by(found.window):
            yield name, found


def _in_front(ground: Ground, frame: Frame, names: Sequence[str], place: int) -> Frame:
    """The frame with some of its steps before the one at a place."""
    if not names:
        return frame
    steps = frame.method.steps
    rest = [name for name in steps if name not in names]
    order = [*rest[:place], *names, *rest[place:]]
    method = frame.method.model_copy(update={"steps": {name: steps[name] for name in order}})
    return ground.frame(f"{frame.name}, {', '.join(names)}", method)


def _still_in(ground: Ground, course: Course, frame: Frame) -> int:
    """The place of the step that takes out what is still in the hive: whatever was done since, that is owed first."""
    steps = list(frame.method.steps.values())
    out = [i for i, step in enumerate(steps) if ground.book.events[step.logs].effect == "strips_out"]
    return out[0] if course.ended is None and out else len(steps)


def _done(ground: Ground, state: ColonyState, course: Course, steps: Sequence[str], frame: Frame) -> dict[str, Known]:
    """The days of the steps that were done, first come first. What is taken out is out when nothing is left."""
    found: dict[str, Known] = {}
    at = since = 0
    own = {id(event) for event in course.lines}
    mine = {id(event) for event in state.events}
    came = (e for e in course.lines if id(e) not in mine)  # with a hive that was united with this one
    lines = sorted((*state.events, *came), key=lambda e: e.day)
    lines = [e for e in lines if e.trap is None and e.day >= course.began]
    for name in steps:
        step = frame.method.steps[name]
        effect = ground.book.events[step.logs].effect
        if effect == "strips_out" and course.ended is None:
            continue
        # a look of the day on which strips come out is another's
        first = _opens(frame, name, found) if step.along else since + (effect not in TREATS)
        if first is None:
            continue
        behind = ((i, e) for i, e in enumerate(lines) if (step.along or i >= at) and e.day >= first)
        events = [(i, e) for i, e in behind if _tells(ground, e, step) and _belongs(e, effect, own)]
        if not events:
            continue
        i, event = events[-1] if effect == "strips_out" else events[0]
        found[name] = Known(event.day, event_reason(event))
        if not step.along:
            at, since = i + 1, event.day
    return found


def _opens(frame: Frame, step: str, found: Mapping[str, Known]) -> int | None:
    """The first day of what goes along, None where its bounds have no day: it counts from its own bounds.

    It may be written before the step that it goes along with, and a look of an earlier day is another task's.
    """
    opening = opening_at(frame, Cursor(step, 1, dict(found), (), begun=True))
    return None if opening is None else opening.window.opens


def _tells(ground: Ground, event: Event, step: Step) -> bool:
    """Whether a line tells of a step: it has its word; or she was seen, where a look asks for her and her eggs."""
    if event.word == step.logs:
        return True
    seen = ground.book.effect(event.word) == "queen" and event.value in SEEN
    return seen and step.along and ground.book.events[step.logs].look


def _belongs(event: Event, effect: str, own: set[int]) -> bool:
    return id(event) in own if effect in TREATS else True


# What it takes --------------------------------------------------------------------------------------------------------


def use_on(ground: Ground, errand: Errand, step: str, day: int) -> Application | None:
    """An application on a day as what it takes; None for any other step."""
    effect = ground.book.events[errand.frame.method.steps[step].logs].effect
    if not errand.course or errand.colony is None or effect not in ("treats", "strips_in"):
        return None
    yard, size = ground.yard, size_on(errand.colony, day, ground.book.biology)
    return Application(yard.key, errand.colony.colony.key, yard.jurisdiction, errand.course, day, size)


def dose_words(ground: Ground, use: Application) -> Iterator[str]:
    """What one colony gets: "4 strips"; or what to count first, and the label's cap; then what the label notes."""
    (need,) = shopping([use], ground.book)
    told = need_words(need).partition(": ")[2]
    one = prescribed(ground, use.treatment, {})
    assert one is not None
    assert one.label.dose is not None  # checked at load
    if one.label.dose.packs:
        told = asks_for(one.label.dose)
    yield because_words(Because(Code.FOR_THIS_HIVE, (told.replace(" for 1 hive", ""),)))
    if one.label.dose.note:
        yield sentence(one.label.dose.note)


def warmth_words(ground: Ground, treatment: str) -> Iterator[str]:
    """When it is too cold or too warm to give a product today, by its label's limits of that day, in the yard's unit.

    Of several limits the strictest ends hold, and the days after that a limit is about are told with it. An end is
    rounded into the limit, so that what is printed never lets more than the label.
    """
    one = prescribed(ground, treatment, {})
    limits = [t for t in (one.label.limits.temperature if one else ()) if t.days.value is None or not t.days.value.low]
    for kind in TEMPERATURES:
        some = [(t.days.value, value.value) for t in limits if (value := getattr(t, kind)) is not None]
        if one is not None and some:
            lows, highs = ([v for _, a in some if (v := end(a)) is not None] for end in (_low, _high))
            most = Amount(max(lows, default=None), None, min(highs, default=None), "°C")
            later = max((span.high for span, _ in some if span is not None), default=0)
            days = f"today or in the next {counted(later, 'day')}" if later else "today"
            out = joined(outside(most, fahrenheit=ground.yard.fahrenheit), "or")
            yield f"for {one.treatment.title[:1].lower()}{one.treatment.title[1:]}: the {kind} {days} {out}"


def _low(amount: Amount) -> float | None:
    return amount.low


def _high(amount: Amount) -> float | None:
    return amount.high


def outside(limit: Amount, *, fahrenheit: bool) -> Iterator[str]:
    """The degrees outside of a range of °C, in words: "below 10 °C", "above 29.5 °C"."""
    for word, end, whole in (("below", limit.low, ceil), ("above", limit.high, floor)):
        if end is not None:
            degrees = whole(end * 9 / 5 + 32 + (-1e-6 if whole is ceil else 1e-6)) if fahrenheit else round(end, 1)
            yield f"{word} {degrees:g} °{'F' if fahrenheit else 'C'}"


def dose_value(ground: Ground, use: Application) -> str:
    """What one colony gets as the journal would say it, at the label's most; 1 of what has to be counted first."""
    (need,) = shopping([use], ground.book)
    amount = 1 if need.open_ else float(need.amount.high)
    return f"{use.treatment} {amount:g}" + (f" {need.unit}" if need.unit in MEASURED else "")


# A course to come -----------------------------------------------------------------------------------------------------


OPENS, BEST, CLOSES = "course.opens", "course.best", "course.closes"
"""What the first step of a course to come counts from: the days on which its label allows it."""


@dataclass(frozen=True)
class Beginning:
    """When a course may begin: the days ``allowed``, but for ``bans`` among them; and ``best``.

    ``why`` says what it is for, ``until`` why on no later day.
    """

    allowed: tuple[int, ...]
    best: int
    why: str
    bans: tuple[int, ...] = ()
    until: str = ""


def to_come(ground: Ground, state: ColonyState, one: Prescribed, number: int, begins: Beginning) -> Errand | None:
    """The ``number``-th course of a product in a colony; None where no chain of days holds it."""
    name = course_name(one.name, number)
    key = ("to_come", name, begins)
    frame, cursor = ground.once(key, lambda: _begins(ground, one, name, begins))
    chain = ground.chain(frame, cursor)
    if chain is None or chain.ease is not Ease.STRICT:
        return None
    return Errand(f"{state.colony.key}/{name}", name, state, None, frame, cursor, chain, course=one.name)


def _begins(ground: Ground, one: Prescribed, name: str, begins: Beginning) -> tuple[Frame, Cursor]:
    """Where a course to come stands, the same in each hive that may have it on these days."""
    allowed, best, ahead = begins.allowed, begins.best, f"{name}, to come"
    frame = ground.memo.frames.get(ahead) or ground.frame(ahead, _ahead(_method(ground, one)))
    step = next(iter(frame.method.steps))
    facts = {
        anchor: Known(day, _limit_reason(one, day, why))
        for anchor, day, why in (
            (OPENS, allowed[0], begins.why),
            (BEST, min(max(best, allowed[0]), allowed[-1]), begins.why),
            (CLOSES, allowed[-1], begins.until or begins.why),
        )
    }
    return frame, Cursor(step, 1, facts, (), False, None, tuple((day, day) for day in begins.bans))


def _ahead(method: Method) -> Method:
    """A course whose first step is bound to the days that its label allows."""
    first = next(iter(method.steps))
    step = method.steps[first].model_copy(
        update={"opens": (_bound(OPENS),), "best": (_bound(BEST),), "closes": (_bound(CLOSES),), "hard_stop": None}
    )
    return method.model_copy(update={"steps": {**method.steps, first: step}})


def _bound(anchor: str) -> Bound:
    return Bound(None, anchor, 0, (), Text(anchor))


def _limit_reason(one: Prescribed, day: int, why: str) -> Reason:
    """A day on which the label's limits allow a course, with the values that it was held against."""
    limits = one.label.limits
    values = (limits.supers.during if limits.supers else None, limits.brood.state if limits.brood else None)
    warmth = (v for t in limits.temperature for v in (t.high, t.low, t.mean))
    cited = tuple(value for value in (*values, *warmth) if value is not None)
    return Reason(Rule.LIMIT, one.name, Span.exact(day), cited, (), why)


def counted_after(ground: Ground, courses: Mapping[str, Sequence[Course]], names: Names) -> frozenset[str]:
    """The products, as written, whose labels' own steps count mites afterwards."""
    products = {course.product for some in courses.values() for course in some}
    found = {product: prescribed(ground, product, names) for product in products}
    return frozenset(product for product, one in found.items() if one is not None and _counts(ground, one.label))


def _counts(ground: Ground, label: Label) -> bool:
    return any(ground.book.events[step.logs].value == "count" for step in label.steps.values())
