"""Treating: the courses of a yard's season, chosen under the labels' limits, as errands; and checked once placed.

In: a yard that is ready, the keeper's products. Out: errands by colony, what excluded the rest, what gives way. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.plan import Conflict, Refusal
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.labels import applications, last_step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.words import joined, sentence, short_day
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.known import Setting, standing_of
from ipmcal.planning.choose.offer import Hive, Question
from ipmcal.planning.choose.outcome import Outcome, SupersOff, Terms, ask_for, decided, outcome, window_of
from ipmcal.planning.choose.search import Chosen
from ipmcal.planning.choose.signs import uncounted_signs
from ipmcal.planning.choose.wants import Want, begin_days, paid_by_breaks
from ipmcal.planning.days.chain import Cursor, opening_at, pruned
from ipmcal.planning.decide.decide import Call
from ipmcal.planning.decide.worked import Working, classes_out, courses_found, working
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.owed.cursors import start
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.fitness import fitness, methods_of
from ipmcal.planning.owed.placed import out_as_placed, supers_as_placed
from ipmcal.planning.owed.prescribed import Beginning, prescribed, to_come
from ipmcal.planning.ready import Ready

Bans = Mapping[tuple[str, int], str]
"""Treatments and days (ordinals) on which they may not begin in this yard, with the limits that broke, in words.

With ``END_SOON`` for a day: it may begin, and what went in comes out as soon as its label lets it.
"""

END_SOON = 0
"""Stands for a day in bans."""

Earlier = Mapping[str, Sequence[CourseSpell]]
NONE_EARLIER: Earlier = {}

ROUNDS = 4
"""So often courses are chosen anew after a limit broke on the days that packing chose; then it is a conflict."""


@dataclass(frozen=True)
class Treated:
    """What is chosen for a yard: the question, what came of it, the errands by colony, what has to be told.

    ``chosen`` has by errand the course of which it is one hive's part. ``off_by`` has by colony the day by which a
    course wants supers off that are not on yet. ``unplaced`` are products with days on which a course would begin whose
    steps the keeper's days can't hold.
    """

    ask: Question | None = None
    made: Outcome | None = None
    errands: Mapping[str, Sequence[Errand]] = field(default_factory=dict)
    chosen: Mapping[str, Chosen] = field(default_factory=dict)
    off_by: Mapping[str, Known] = field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()
    unplaced: Mapping[tuple[str, int], str] = field(default_factory=dict)


def treat(one: Ready, outfit: Outfit, bans: Bans, earlier: Earlier = NONE_EARLIER) -> Treated:
    """The courses that fit the year best, by the keeper's order; nothing where no product is named to plan with.

    ``earlier`` are courses that are planned for the season before, by colony. A course whose steps the keeper's days
    can't hold is none: its days are left out, and another is chosen.
    """
    left_out: dict[tuple[str, int], str] = dict(bans)
    while True:
        made = _treated(one, outfit, left_out, earlier)
        if made.unplaced.keys() <= left_out.keys():
            return made
        left_out |= made.unplaced


def _treated(one: Ready, outfit: Outfit, bans: Bans, earlier: Earlier) -> Treated:
    ask = _ask(one, outfit, bans, earlier)
    if ask is None or not ask.needs:
        return Treated()
    ask, made = _made(ask)
    errands: dict[str, list[Errand]] = {}
    chosen: dict[str, Chosen] = {}
    unplaced: dict[tuple[str, int], str] = {}
    moves = int(one.ground.book.planning.course_moves.value.middle)
    for course in sorted(made.winner.courses, key=lambda course: course.day):  # courses of a product count by day
        window = window_of(ask, made.winner, course, moves)
        for dose in course.doses:
            errand = _errand(one, course, dose, window, bans, errands.get(dose.key, ()))
            if errand is not None:
                errands.setdefault(dose.key, []).append(errand)
                chosen[errand.key] = course
            elif dose.treatment is not None:
                days = one.ground.days.of(one.ground.days.between(*window))
                unplaced |= {(dose.treatment, day): "no day of the keeper's for its steps" for day in days}
    off_by: dict[str, Known] = {}
    for off in sorted(made.supers_off, key=lambda off: off.day):
        for key in off.keys:
            if key not in off_by:  # two courses may want them off by one day
                off_by[key] = _asked(one, off)
                errands.setdefault(key, []).extend(_off(one, off, key))
    return Treated(ask, made, errands, chosen, off_by, tuple(_told(one, ask, made)), unplaced)


def _made(ask: Question) -> tuple[Question, Outcome]:
    """The outcome where breaks serve what falls into their time; where one can't be used, each need for itself."""
    paid = replace(ask, needs=paid_by_breaks(ask.needs, [hive.key for hive in ask.hives]))
    made = decided(paid)
    if paid == ask or not any(name.startswith(BREAK) for name, _ in made.reservoirs):
        return paid, made
    return ask, decided(ask)


def planned_courses(one: Ready, treated: Treated) -> dict[str, list[CourseSpell]]:
    """The courses that were chosen for a season, by colony, as the labels of the next season's see them."""
    found: dict[str, list[CourseSpell]] = {}
    for dose in (dose for course in (treated.made.winner.courses if treated.made else ()) for dose in course.doses):
        if dose.treatment is not None and dose.use is not None:
            kind = one.ground.book.treatments[dose.treatment].class_
            found.setdefault(dose.key, []).append(CourseSpell(dose.treatment, kind, dose.use.first, dose.use.last))
    return found


def _ask(one: Ready, outfit: Outfit, bans: Bans, earlier: Earlier) -> Question | None:
    """The question to ``outcome``; None where nobody is there, or no product is named."""
    ground = one.ground
    yard, book = ground.yard, ground.book
    products = products_of(one).kept
    if not products or not one.treated:
        return None
    hives = [Hive(s.colony.key, _standing(one, s, outfit, earlier), s.colony.began) for s in one.treated]
    as_of = max(ground.as_of, ground.season.first)
    banned = {day for _, day in bans if day != END_SOON}
    days = [day for day in ground.days if day not in banned and not ground.days.rests(day)]
    ask = ask_for(yard, ground.season, book, as_of, hives, Terms(days, _told_to_treat(one), products))
    counted = next((need for need in ask.needs if need.name == COUNTED), None)
    needs = tuple(_let_out(one, need) for need in ask.needs if not _spared(one, need, counted))
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


def _standing(one: Ready, state: ColonyState, outfit: Outfit, earlier: Earlier) -> Standing:
    ground = one.ground
    had = one.courses.get(state.colony.key, ())
    there = Setting(ground.yard, ground.season, ground.book, ground.as_of, outfit.products, ground.written)
    made = standing_of(state, there, had)
    courses = _until(made.courses, one.out.get(state.colony.key, {}), ground.as_of)
    return replace(made, courses=(*courses, *earlier.get(state.colony.key, ())))


def _told_to_treat(one: Ready) -> list[tuple[int, str]]:
    """The day on which counts said to treat, with the words for it."""
    if one.decision.call is not Call.TREAT:
        return list(uncounted_signs(one))
    day = max(d.count.day for d in one.decision.decisions)
    return [(day, f"counted over the line in {joined(one.decision.over)} on {short_day(day)}")]


COUNTED, BEFORE_WINTER, BREAK = "counted", "before_winter_bees", "brood_break"


def _spared(one: Ready, need: Want, counted: Want | None) -> bool:
    """True for the course before winter bees, where counts of its time have said that the yard is below its line.

    Where they have said to treat, that course comes first, and the count after it says whether another is needed.
    """
    if need.name != BEFORE_WINTER:
        return False
    if counted is not None:
        return counted.last >= need.first
    newest = max((d.count.day for d in one.decision.decisions), default=0)
    return one.decision.call is Call.BELOW and newest >= need.first


# One course of one hive -----------------------------------------------------------------------------------------------


def _errand(
    one: Ready, course: Chosen, dose: Offer, window: tuple[int, int], bans: Bans, earlier: Sequence[Errand]
) -> Errand | None:
    """A hive's course as an errand, with the days behind the chosen one on which its label allows it as well."""
    if dose.treatment is None or dose.verdict is None:
        return None
    known = prescribed(one.ground, dose.treatment, {})
    state = next(state for state in one.treated if state.colony.key == dose.key)
    days = one.ground.days.of(one.ground.days.between(*window))
    allowed = [day for day in days if (dose.treatment, day) not in bans]
    if known is None or not allowed:
        return None
    season = one.ground.season.first
    had = sum(
        c.product == dose.treatment and (c.ended is None or c.last >= season) for c in one.courses.get(dose.key, ())
    )
    number = 1 + had + sum(errand.course == dose.treatment for errand in earlier)
    gaps = [day for day in days if day not in allowed and allowed[0] < day < allowed[-1]]
    begins = Beginning(allowed, course.day, course.need.why, gaps)
    errand = to_come(one.ground, state, known, number, begins)
    if errand is None:
        return None
    waits = course.need.name == BEFORE_WINTER and one.decision.call is not Call.TREAT
    errand = replace(errand, till_counted=waits)
    return _soon(errand, last_step(known.label, one.ground.book)) if (dose.treatment, END_SOON) in bans else errand


def _soon(errand: Errand, end: str) -> Errand:
    """A course that ends on the first day on which it may, whenever it began."""
    chain = errand.chain
    stops = (chain.first, *(node.then for node in chain.nodes if node.then is not None))
    soonest = {min(stop.nodes, key=lambda i: chain.nodes[i].at) for stop in stops if stop.nodes}
    made = pruned(chain, lambda i: chain.steps[i][0] != end or i in soonest)
    return errand if made is None else replace(errand, chain=made)


def _off(one: Ready, off: SupersOff, key: str) -> Iterator[Errand]:
    """Supers off by the day on which a course begins, in a hive that has any on."""
    state = next(state for state in one.treated if state.colony.key == key)
    if not state.supers:
        return
    ground, name = one.ground, one.ground.book.planning.supers_off_by
    frame = ground.frame(name, ground.book.methods[name])
    cursor = Cursor(next(iter(frame.method.steps)), 1, {ASKED: _asked(one, off)})
    chain = ground.chain(frame, cursor)
    if chain is not None:
        yield Errand(f"{key}/{name}", name, state, None, frame, cursor, chain, (sentence(f"why: {off.words}"),))


def _asked(one: Ready, off: SupersOff) -> Known:
    return Known(
        off.day, Reason(Rule.LIMIT, off.treatment, Span.exact(off.day), _limit_values(one, off), (), off.words)
    )


def _limit_values(one: Ready, off: SupersOff) -> tuple[Cited[object], ...]:
    known = prescribed(one.ground, off.treatment, {})
    assert known is not None
    assert known.label.limits.supers is not None
    return (known.label.limits.supers.during,)


# What has to be told --------------------------------------------------------------------------------------------------


def _told(one: Ready, ask: Question, made: Outcome) -> Iterator[Conflict]:
    """Hives that counts said to treat, and that are left without a course."""
    if not any(name == COUNTED for name, _ in made.reservoirs):
        return
    for left in left_out(ask, outcome(ask, made.winner)):
        if left.need == COUNTED:
            yield Conflict(one.ground.yard.key, ", ".join(left.hives), left.what, left.helps)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A need without a course in some ``hives`` (none named: in all): what to say, and what could give way."""

    need: str
    what: Because
    helps: Because
    hives: tuple[str, ...]


def left_out(ask: Question, made: Outcome) -> Iterator[LeftOut]:
    """Needs without a course in some hives.

    Days, supers and time may give way; never a label.
    """
    needs = {need.name: need for need in ask.needs}
    for name, keys in made.reservoirs:
        ways = tuple(way.words for way in made.give_way if way.need == name)[:MOST_WAYS]
        everyone = len(keys) == len([hive for hive in ask.hives if needs[name].wants(hive.key)])
        why = needs[name].why
        what = Because(Code.NO_COURSE, (why,)) if everyone else Because(Code.NO_COURSE_IN, (tuple(keys), why))
        helps = Because(Code.WAYS_OUT, (ways,)) if ways else Because(Code.OTHER_PRODUCT)
        yield LeftOut(name, what, helps, () if everyone else tuple(keys))


MOST_WAYS = 3
"""So many ways out are told."""


def breaking(one: Ready, breaches: Bans) -> Iterator[Conflict]:
    """Limits that break on the days of this plan: never worked around, always told."""
    for (name, day), words in breaches.items():
        title = one.ground.book.treatments[name].title
        what = Because(Code.LIMITS_BREAK_ON, (title, day, words))
        if day == END_SOON:
            what = Because(Code.LIMITS_BREAK, (title, words))
        yield Conflict(one.ground.yard.key, "", what, Because(Code.DO_NOT_TREAT))


# Checked on the days that packing chose -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Laid:
    """A course of a hive on the days that packing chose, and the hive as it stands then; ``use`` None: cut short."""

    hive: str
    errand: Errand
    standing: Standing
    use: Use | None


def as_placed(
    one: Ready, treated: Treated, errands: Iterable[Errand], paths: Mapping[str, Sequence[int]]
) -> Iterator[Laid]:
    """The courses to come on the days really planned, with the real days of supers, other work and other courses."""
    if treated.ask is None or not treated.errands:
        return
    by_hive: dict[str, list[Errand]] = {}
    for errand in errands:
        if errand.colony is not None and errand.key in paths:
            by_hive.setdefault(errand.colony.colony.key, []).append(errand)
    for hive in treated.ask.hives:
        mine = {errand.key for errand in treated.errands.get(hive.key, ())}
        # Those that were packed: their days were narrowed, and their nodes numbered anew, after they were chosen.
        packed = (e for e in by_hive.get(hive.key, ()) if e.unmarked in mine and paths[e.key])
        uses = {e.key: (e, _use(one, e, paths)) for e in packed}
        out = out_as_placed(one.ground, by_hive.get(hive.key, ()), paths).get(hive.key, {})
        had = _until(hive.standing.courses, out, one.ground.as_of)
        for errand, use in uses.values():
            others = [(e, at) for e, at in uses.values() if e is not errand and at is not None]
            opened = {d for e in by_hive.get(hive.key, ()) if e.key != errand.key for d in _days(one, e, paths)}
            supers = supers_as_placed(one.ground, hive.key, hive.standing.supers, by_hive.get(hive.key, ()), paths)
            opened -= set(use.applications) if use is not None else set()
            standing = replace(hive.standing, openings=tuple(sorted(opened)), supers=supers, courses=had)
            yield Laid(hive.key, errand, standing.with_course(*(_past(one, e, at) for e, at in others)), use)


def _until(courses: Sequence[CourseSpell], out: Mapping[str, int], as_of: int) -> tuple[CourseSpell, ...]:
    """Courses, those that are not over with the days on which they really come ``out``, where these are known."""
    lies = [c.treatment in out and (c.ended is None or c.ended >= as_of) for c in courses]
    return tuple(replace(c, ended=out[c.treatment]) if in_ else c for c, in_ in zip(courses, lies, strict=True))


def broken(
    one: Ready, treated: Treated, errands: Iterable[Errand], paths: Mapping[str, Sequence[int]], bans: Bans
) -> dict[tuple[str, int], str]:
    """Courses whose limits break on the days really planned: treatment and first day, with the limits' words.

    Where it has not been tried yet to end the course sooner, that comes before another day to begin.
    Other work in the hive on its quiet days counts, and the real days of supers, renewals and other courses.
    ``errands`` are those of the season of ``treated``, as placed: paths run through their chains.
    """
    found: dict[tuple[str, int], str] = {}
    for laid in as_placed(one, treated, errands, paths):
        if laid.use is None or treated.ask is None:
            continue
        errand = laid.errand
        words = _breach(treated.ask, errand, laid.standing, laid.use)
        if words:
            soon = (errand.course, END_SOON)
            again = soon in bans or len(errand.chain.steps) == 1
            found[(errand.course, laid.use.first) if again else soon] = words
    return found


def _breach(ask: Question, errand: Errand, standing: Standing, use: Use) -> str:
    made = verdict(errand.course, Where(ask.jurisdiction, ask.weather, ask.book), standing, use, search=False)
    near = too_near(errand.course, use, standing.courses, ask.book)
    against = [r for r in (*made.reasons, *near) if r.weight is Weight.FORBIDS and not r.by_hand]
    return "; ".join(dict.fromkeys(f"{r.limit}: {r.says}" for r in against))


def _days(one: Ready, errand: Errand, paths: Mapping[str, Sequence[int]]) -> list[int]:
    return [one.ground.days.ordinals[errand.chain.nodes[node].at] for node in paths.get(errand.key, ())]


def _use(one: Ready, errand: Errand, paths: Mapping[str, Sequence[int]]) -> Use | None:
    """The days of a course as planned; None where it is none, or cut short."""
    known = prescribed(one.ground, errand.course, {}) if errand.course else None
    if known is None:
        return None
    given, end = set(applications(known.label, one.ground.book)), last_step(known.label, one.ground.book)
    steps = [errand.chain.steps[node][0] for node in paths.get(errand.key, ())]
    on = dict(zip(steps, _days(one, errand, paths), strict=True))
    days = tuple(day for step, day in on.items() if step in given)
    return Use(days, on[end]) if days and end in on else None


def _past(one: Ready, errand: Errand, use: Use) -> CourseSpell:
    return CourseSpell(errand.course, one.ground.book.treatments[errand.course].class_, use.first, use.last)
