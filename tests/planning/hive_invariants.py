"""What holds for what lies in the hives of any plan: on every sheet, for supers, counts, doses, warmth, winter bees."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from planning.told_invariants import comes

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.plan.verdict import Verdict, Weight
from ipmcal.model.rules.labels import applications, label_for, last_step, removals
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.lines import dose_line
from ipmcal.model.values.words import MEASURED, sentence, short_day
from ipmcal.planning.labels.of_hive import quiet_days
from ipmcal.planning.labels.standing import wait_after
from ipmcal.planning.recall.courses import renamed
from ipmcal.publishing.paper.naming import short_name
from ipmcal.publishing.paper.sheet import make_sheet

NOT_PUT_OFF = ("inspected", "egg_look", "cell_look")
"""A swarm waits for nothing, and a queen that failed is found in time or never mended: common practice."""
FORTNIGHT = 14
"""Days for which supers are worth their carrying: common practice."""
Spell = tuple[str, str, int, int]
"""A treatment that lies in a hive: its id, the hive, the day after it went in, the day on which it comes out."""


def treatment_of(task: Task, book: Rulebook) -> str:
    """The treatment of a course's task, "" for any other."""
    name = task.method if task.method in book.treatments else task.method.rpartition("_")[0]
    return name if task.method not in book.methods and name in book.treatments else ""


def hives_hold(plan: Plan, outfit: Outfit, yard: Yard, book: Rulebook) -> None:
    """Everything that holds for what lies in the hives of a yard."""
    mine = [t for t in plan.tasks if t.yard == yard.key]
    journal = tuple(renamed(e, outfit, book) for e in outfit.journal or ())
    past = [e for e in (*(e for c in yard.colonies for e in c.history), *journal) if e.day <= plan.as_of]
    alive = {c.key for view in plan.yards if view.key == yard.key for c in view.colonies}
    counted = counted_through(past, book)
    every_strip_is_known(plan, {k: v for k, v in counted.items() if k[0] in alive}, past, book)
    spells = list(lying(mine, past, counted, yard, book))
    for visit in (v for v in plan.visits if v.yard == yard.key):
        stands_first(plan, visit, [s for s in spells if s[2] <= visit.day <= s[3]], yard, book)
        says_the_warmth(plan, visit, yard, book)
    entrances_stay_wide(mine, spells, yard, book)
    for task in mine:
        if task.planned is not None and task.colony:
            nest_rests(plan, task, mine, yard, book)
            fed_apart(plan, task, spells, yard, book)
            swarm_checks_go_on(plan, task, [t for t in mine if t.colony == task.colony], yard, book)
            doses_say_all(task, yard, book)
            inside_its_reason(task)
            supers_from_then_on(task, yard, book)
    supers_go_on_once(mine, book)
    supers_stay_a_fortnight(mine, book)
    one_trickle(plan, mine, past, yard, book)
    supers_too_early(plan, yard, counted, past, book)


def supers_go_on_once(mine: Sequence[Task], book: Rulebook) -> None:
    """What is put on is one step's: supers of spring are not those that are wanted back in autumn, nor the other way
    round."""
    seen: dict[tuple[str | None, int], str] = {}
    for task in mine:
        if task.done is not None and book.events[task.logs].effect == "supers_on":
            other = seen.setdefault((task.colony, task.done), task.id)
            assert other == task.id, f"{task.id} was done with the supers of {other}"


def supers_stay_a_fortnight(mine: Sequence[Task], book: Rulebook) -> None:
    """No supers are planned to go on that are planned to come off within two weeks: they are carried for nothing."""
    carried = [(t.planned, book.effect(t.logs), t) for t in mine if t.planned is not None and t.colony]
    for on, effect, task in carried:
        if effect == "supers_on":
            later = (day for day, word, t in carried if (word, t.colony) == ("supers_off", task.colony) and day >= on)
            off = min(later, default=None)
            assert off is None or off - on >= FORTNIGHT, f"{task.id} on {short_day(on)}, off on {short_day(off)}"


def _label(name: str, yard: Yard, book: Rulebook) -> Label | None:
    return label_for(book.treatments[name], yard.jurisdiction, book) if name in book.treatments else None


def entrances_stay_wide(mine: Sequence[Task], spells: Sequence[Spell], yard: Yard, book: Rulebook) -> None:
    """Who is told to make entrances small is told of the hives in which something lies that wants them wide."""
    for task in mine:
        if task.planned is None or book.events[task.logs].effect != "narrows_entrance":
            continue
        for name, hive, after, out in spells:
            label = _label(name, yard, book)
            wide = label is not None and label.limits.entrance is not None
            if wide and label.limits.entrance.width.value == "full" and after - 1 <= task.planned < out:  # type: ignore[union-attr]
                told = [note for note in task.notes if "whole width" in note and hive in re.split(r"[ ,.:]+", note)]
                assert told, f"{task.id} makes the entrance of {hive} small, where {name} wants it wide"


# Counted until the last is out ----------------------------------------------------------------------------------------

Counted = Mapping[tuple[str, str], Fraction]
"""What lies in a hive by its lines, by hive and product."""


def counted_through(past: Sequence[Event], book: Rulebook) -> Counted:
    """A count in, a count out, and where two hives become one, both: the plainest way to keep the books."""
    inside: dict[tuple[str, str], Fraction] = {}
    for event in sorted(past, key=lambda e: e.day):
        effect, hive = book.events[event.word].effect, event.colony or ""
        if effect in ("strips_in", "strips_out"):
            dose = dose_line(event.value)
            if dose.unit not in MEASURED:
                key = hive, dose.product
                more = dose.amount if effect == "strips_in" else -dose.amount
                inside[key] = max(Fraction(0), inside.get(key, Fraction(0)) + more)
        elif effect == "ends":
            for key in [key for key in inside if key[0] == hive]:
                left = inside.pop(key)
                if book.events[event.word].value == "colony":
                    inside[event.value, key[1]] = inside.get((event.value, key[1]), Fraction(0)) + left
    return {key: left for key, left in inside.items() if left}


def every_strip_is_known(plan: Plan, counted: Counted, past: Sequence[Event], book: Rulebook) -> None:
    """The plan knows of as many strips in each hive as its lines put in and did not take out."""
    over = book.planning.course_over.value.middle
    for (hive, product), left in counted.items():
        days = [e.day for e in past if dose_line_of(e, book) == product]
        if plan.as_of - max(days) > over or max(b - a for a, b in zip([days[0], *days], days, strict=False)) > over:
            continue  # taken for gone
        known = sum(
            Fraction(c.left) for c in plan.courses if (c.colony, c.product) == (hive, product) and c.left.isdigit()
        )
        assert known == left, f"{hive}: {left} of {product} are in it, and the plan knows of {known}"


def dose_line_of(event: Event, book: Rulebook) -> str:
    """The product of a line about strips, "" for any other."""
    effect = book.events[event.word].effect
    return dose_line(event.value).product if effect in ("strips_in", "strips_out") else ""


# On every sheet -------------------------------------------------------------------------------------------------------


def lying(
    tasks: Sequence[Task], past: Sequence[Event], counted: Counted, yard: Yard, book: Rulebook
) -> Iterator[Spell]:
    """What lies in each hive from the morning after it went in until it comes out, by lines and as planned."""
    for task in tasks:
        name = treatment_of(task, book)
        label = _label(name, yard, book) if name else None
        if label is None or task.planned is None or task.step not in set(removals(label, book)):
            continue
        steps = list(label.steps)
        whose = (task.colony, task.method, task.season)
        course = [t for t in tasks if (t.colony, t.method, t.season) == whose]
        went_in = [
            t.planned
            for t in course
            if t.logs == "strips_in" and t.planned is not None and steps.index(t.step) < steps.index(task.step)
        ]
        if went_in:
            yield name, task.colony or "", min(went_in) + 1, task.planned
        elif (task.colony, name) in counted:
            yield name, task.colony or "", 0, task.planned


def _names(several: str, hive: str) -> bool:
    """Whether words for several hives name this one."""
    return several.startswith("all") or re.search(rf"(?<!\w){re.escape(short_name(hive))}(?!\w)", several) is not None


def stands_first(plan: Plan, visit: Visit, spells: Sequence[Spell], yard: Yard, book: Rulebook) -> None:
    """What lies in a hive stands on the sheet of the day, and what is worn for it is packed."""
    if not spells:
        return
    sheet = make_sheet(plan, visit)
    for name, hive, _, _ in spells:
        title = book.treatments[name].title
        said = [w for b in sheet.blocks if b.key == hive and not b.more for w in b.lying]
        said += [w for key, w in sheet.elsewhere if key == short_name(hive)]
        said += [w for several, some in sheet.lying if _names(several, hive) for w in some]
        words = " ".join(w for w in said if w.startswith("In it:") and title[1:] in w)
        assert words, f"{visit.id}: {title} lies in {hive}, and the sheet does not say so"
        assert "OUT BY" in words, f"{visit.id}: {words}"
        assert "since" in words or "put in" in words, f"{visit.id}: {words}"
        label = _label(name, yard, book)
        assert label is not None
        asked = {item for step in label.steps.values() for item in step.bring if book.planning.items[item].worn}
        if any(plan.task(i).colony == hive for i in visit.tasks):
            packed = {item.title for item in visit.bring}
            for item in asked:
                assert book.planning.items[item].title in packed, f"{visit.id}: {item} is not packed for {title}"


def nest_rests(plan: Plan, task: Task, tasks: Sequence[Task], yard: Yard, book: Rulebook) -> None:
    """No brood comb is lifted on the day of what asks for quiet, nor over what lies on the bars; or it is told."""
    if task.logs not in book.planning.nest_work or task.planned is None:
        return
    mine = [t for t in tasks if t.colony == task.colony and t.method != task.method and treatment_of(t, book)]
    for method, season in {(t.method, t.season) for t in mine}:
        course = [t for t in mine if (t.method, t.season) == (method, season)]
        name = treatment_of(course[0], book)
        label = _label(name, yard, book)
        assert label is not None
        given = [d for t in course if t.step in set(applications(label, book)) and (d := day_of(t)) is not None]
        out = max((d for t in course if t.step in set(removals(label, book)) and (d := day_of(t))), default=None)
        lies = book.treatments[name].lies
        over = lies is not None and lies.value == "on_bars" and out is not None and given
        lies_there = (
            over and given[0] < task.planned < (out or 0) and task.planned not in given
        )  # changed: off the bars
        if (label.limits.quiet is not None and task.planned in given) or lies_there:
            goes_in = given if label.limits.quiet is not None else ()
            named = lies_there and task.planned not in goes_in and task.logs in NOT_PUT_OFF
            named = named or any(task.id in c.tasks for c in plan.conflicts)
            assert named, f"{task.id} lifts brood combs in the days of {method}, and no conflict says so"
            handled = task.planned in given or task.planned == out  # the order of the visit's tasks says which is first
            assert handled or re.search(r"^(First lift|Before|A quiet day)", "\n".join(task.notes), re.M), (
                f"{task.id}: {task.notes}"
            )


def fed_apart(plan: Plan, task: Task, spells: Sequence[Spell], yard: Yard, book: Rulebook) -> None:
    """No hive is fed while that lies in it whose label lets nobody feed, nor so shortly before that food is left."""
    for name, hive, after, out in spells if task.logs in book.planning.feeding else ():
        label = _label(name, yard, book)
        limit = None if label is None else label.limits.feeding
        if limit is None or limit.during.value != "no" or hive != task.colony:
            continue
        before = 0 if limit.before is None else int(limit.before.value.upper_end)
        if after - 1 - before <= (task.planned or 0) < out:
            told = any(task.id in conflict.tasks for conflict in plan.conflicts)
            assert told, f"{task.id} on {short_day(task.planned or 0)}: fed over {name}, {short_day(after - 1)} on"


def swarm_checks_go_on(plan: Plan, task: Task, tasks: Sequence[Task], yard: Yard, book: Rulebook) -> None:
    """A swarm check is late for a course only where no day of the keeper's in its time is without what the label asks:
    the days that it wants quiet, and the day on which it goes in."""
    late = task.planned is not None and task.planned > task.window.closes
    if not late or not task.method.startswith("swarm_check") or yard.hours is not None:
        return
    own = [day_of(t) or 0 for t in tasks if t.id.rsplit("/", 2)[0] == task.id.rsplit("/", 2)[0] and t.n < task.n]
    shut: set[int] = set()
    for other in tasks:
        name, day = treatment_of(other, book), day_of(other)
        label = _label(name, yard, book) if name else None
        if label is not None and day is not None and other.step in set(applications(label, book)):
            limit = label.limits.quiet
            shut |= {day} if limit is None else {day, *(d for d, _ in quiet_days(limit, [day]))}
    first = max([task.window.opens, plan.as_of + 1, *(day + 1 for day in own)])
    free = [d for d in range(first, task.window.closes + 1) if comes(yard, d) and d not in shut]
    assert not free, f"{task.id} on {short_day(task.planned or 0)}: {short_day(free[0])} was in time"


def day_of(task: Task) -> int | None:
    return task.planned if task.planned is not None else task.done


# Doses, warmth, reasons -----------------------------------------------------------------------------------------------


def doses_say_all(task: Task, yard: Yard, book: Rulebook) -> None:
    """What a label notes of a dose stands with it; where packs differ, only the pack's own number counts."""
    label = _label(treatment_of(task, book), yard, book)
    if not task.product or label is None or label.dose is None:
        return
    dose = label.dose
    (told,) = [note for note in task.notes if note.startswith("For this hive:")]
    assert dose.note is None or sentence(dose.note) in task.notes, f"{task.id}: its label notes {dose.note}"
    assert bool(dose.packs) == told.startswith("For this hive: as your pack says:"), f"{task.id}: {told}"


def says_the_warmth(plan: Plan, visit: Visit, yard: Yard, book: Rulebook) -> None:
    """What is given on a day says on its sheet when it is too cold or too warm for it, in the yard's unit alone."""
    for task in map(plan.task, visit.tasks):
        label = _label(treatment_of(task, book), yard, book)
        for limit in label.limits.temperature if task.product and label is not None else ():
            if limit.days.value is None or limit.days.value.low == 0:
                said = [words for words in visit.stop_if if task.product[1:] in words]
                assert said, f"{visit.id}: no warmth is said for {task.product}"
                wrong = "°C" if yard.fahrenheit else "°F"
                assert not any(wrong in words for words in said), f"{visit.id}: {said}"


def notes_of_the_day(task: Task, made: Verdict) -> None:
    """What the label asks for on the day is printed for the day on which the task stands."""
    for one in made.conditions:
        if one.limit in ("temperature", "supers") and one.known:
            words = sentence(one.plain or (f"{one.says}: {one.known}" if one.says else one.known))
            assert " chance of " not in words, f"{task.id}: odds are for the desk, not for paper: {words}"
            parts = words.rstrip(".").rpartition(": ")  # of several ranges the same end is said once
            told = any(parts[0].casefold() in note.casefold() and parts[2] in note for note in task.notes)
            assert told, f"{task.id} on {short_day(task.planned or 0)} does not say: {words}"
    for one in (one for one in made.reasons if one.weight is Weight.ADVISES):
        words = one.plain or (f"{one.says}: {one.known}" if one.says and one.known else one.says or one.known)
        told = any(words.rstrip(".").casefold() in note.casefold() for note in task.notes)
        assert told, f"{task.id} on {short_day(task.planned or 0)}: options advises against it, no sheet says: {words}"


def inside_its_reason(task: Task) -> None:
    """A course that is for days without capped brood begins in them."""
    for note in task.notes if task.product else ():
        found = re.search(r"^What for: nothing capped in .+ from (\w+ \d+ \w+) to (\w+ \d+ \w+)", note)
        if found and task.planned is not None:
            around = range(task.planned - 400, task.planned + 400)
            first, last = (next(d for d in around if short_day(d) == text) for text in found.groups())
            assert first <= task.planned <= last, f"{task.id} on {short_day(task.planned)}: {note}"


# Supers, winter bees --------------------------------------------------------------------------------------------------


def supers_from_then_on(task: Task, yard: Yard, book: Rulebook) -> None:
    """Where the last strip comes out stands from when supers may go on."""
    label = _label(treatment_of(task, book), yard, book)
    if label is None or task.logs != "strips_out" or task.step != last_step(label, book) or task.planned is None:
        return
    supers, wait = label.limits.supers, wait_after(label)
    if supers is not None and supers.during.value == "off":
        day = task.planned + int(wait.value.high or 0 if wait is not None else 0)
        assert f"Supers may go on from {short_day(day)}." in task.notes, f"{task.id}: {task.notes}"


def supers_too_early(plan: Plan, yard: Yard, counted: Counted, past: Sequence[Event], book: Rulebook) -> None:
    """Supers over what lies in a hive and wants them off are told: in the plan and in the hive's block."""
    view = next(v for v in plan.yards if v.key == yard.key)
    over = book.planning.course_over.value.middle
    for colony in view.colonies:
        for product in {name for hive, name in counted if hive == colony.key and colony.supers}:
            label = _label(product, yard, book)
            days = [e.day for e in past if dose_line_of(e, book) == product]
            if label is None or label.limits.supers is None or plan.as_of - max(days) > over:
                continue
            if label.limits.supers.during.value == "off":
                told = [words for words in causes_words(colony.warnings) if words.startswith("Supers are on")]
                assert told, f"{colony.key}: supers are on over {product}, and nothing says so"
                assert any(told[0] in because_words(c.what) for c in plan.conflicts), told


def one_trickle(plan: Plan, tasks: Sequence[Task], past: Sequence[Event], yard: Yard, book: Rulebook) -> None:
    """No acid is trickled twice over the same winter bees, last winter's lines included, or a conflict says so."""
    marks = {m.mark: m.begins.usual for v in plan.yards if v.key == yard.key for m in v.marks}
    if not {"winter_bee_rearing_start", "first_pollen"} <= set(marks):
        return
    counts = {n for n, t in book.treatments.items() if any(x.limits.winter is not None for x in t.labels.values())}
    reared, pollen = marks["winter_bee_rearing_start"], marks["first_pollen"]
    gone = pollen + (365 if pollen < reared else 0) + int(book.planning.winter_bees_gone.value.middle)
    planned = [(t.colony, t.planned) for t in tasks if t.product and t.planned and treatment_of(t, book) in counts]
    given = [(e.colony, e.day) for e in past if book.events[e.word].effect == "treats" and e.value.split()[0] in counts]
    for shift in (0, -365):
        for hive, day in planned:
            others = [d for who, d in (*planned, *given) if who == hive and d != day]
            same = [d for d in others if reared + shift <= min(d, day) and max(d, day) <= gone + shift]
            told = any("limits do not hold" in because_words(c.what) for c in plan.conflicts)
            assert not same or told, f"{hive}: acid on {short_day(day)} and {short_day(same[0])}, on the same bees"
