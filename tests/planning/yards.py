"""Small outfits as frozen values, and strategies for random legal ones. In: a few words. Out: ``Outfit``, ``Plan``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

from hypothesis import strategies as st
from planning.invariants import check_plan

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Box, Colony, Event, Outfit, OwnTask, Queen, TrapFrame, Yard
from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis, Citation, Place
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Bound
from ipmcal.model.values.text import Text
from ipmcal.planning.days.bounds import Clockwork
from ipmcal.planning.days.frame import Cursor, Frame, frame_of
from ipmcal.planning.owed.ground import development
from ipmcal.planning.plan import Scope, keeper_days, make_plan, season_of
from ipmcal.reading.rules.rulebook import load_rulebook

YEAR = 2027
FILE = "yard.yaml"
SAT, SUN = 5, 6
NOWHERE = Place(FILE, 0, 0)
SHIPPED_REGIONS = sorted(path.stem for path in (folder("rules") / "regions").glob("*.yaml"))


@cache
def rules() -> Rulebook:
    """The shipped rulebook with programs of few methods (``few_rules/``), so that a test sees what it is about."""
    return load_rulebook(folder("rules"), Path(__file__).parent / "few_rules", "few_rules")


@cache
def shipped() -> Rulebook:
    """The rulebook as it is shipped, with all of its methods and programs."""
    return load_rulebook(folder("rules"))


def on(text: str) -> int:
    """The ordinal of a date: ``2027-05-08``, or ``05-08`` of the tests' year."""
    return date.fromisoformat(text if len(text) > 5 else f"{YEAR}-{text}").toordinal()


def told(ordinal: int) -> str:
    """The month and day of an ordinal of the tests' year, the whole date of any other."""
    found = date.fromordinal(ordinal)
    return f"{found:%m-%d}" if found.year == YEAR else found.isoformat()


# The keeper's side ----------------------------------------------------------------------------------------------------


def line(text: str, colony: str | None = "1", yard: str = "yard", number: int = 0) -> Event:
    """A line as a keeper writes it: ``05-08 found T2 all_open``."""
    when, word, *rest = text.split(maxsplit=2)
    value, trap = rest[0] if rest else "", None
    if rules().events[word].about == "trap":
        trap, _, value = value.partition(" ")
    return Event(on(when), yard, colony, word, trap, value, "", Place(FILE, number, 1))


def lines(*texts: str, colony: str | None = "1", yard: str = "yard") -> tuple[Event, ...]:
    """Lines in the order of a file, numbered from 1."""
    return tuple(line(text, colony, yard, number) for number, text in enumerate(texts, 1))


def short(name: str = "T1", home: int = 2, frame: str = "medium", box: int = 1) -> TrapFrame:
    """A short frame, by default a medium one in a deep box."""
    return TrapFrame(name, "short", frame, box, home)


def drawn(name: str = "T1", home: int = 2, frame: str = "deep", frames: int = 2) -> TrapFrame:
    """A place for drawn drone frames: one hangs, one freezes."""
    return TrapFrame(name, "drawn", frame, 1, home, frames)


def colony(
    key: str = "1",
    began: str = "2025-01-01",
    kind: str = "overwintered",
    traps: Sequence[TrapFrame] = (),
    history: Sequence[Event] = (),
    *,
    hive: str = "langstroth_10",
    boxes: Sequence[str] = ("deep", "deep"),
    supers: int = 0,
    queen: Queen | None = None,
    strength: float | None = None,
    added: tuple[str, ...] = (),
    declined: tuple[str, ...] = (),
) -> Colony:
    """A colony, by default one that came through the winter in two deep boxes."""
    frames = rules().hives.hives[hive].frames
    return Colony(
        key=key,
        name="",
        stand="",
        walk=1,
        began=on(began),
        kind=kind,
        began_text=f"{began} {kind}",
        hive=hive,
        boxes=tuple(Box(box, frames) for box in boxes),
        supers=supers,
        traps=tuple(traps),
        queen=queen or Queen(),
        strength=strength,
        history=tuple(history),
        added=added,
        declined=declined,
        note="",
        place=NOWHERE,
    )


def reference(region: str) -> tuple[float, float, float]:
    """The place at which a region's marks are given: degrees north, degrees east, metres."""
    place = rules().regions[region].place
    return place.latitude, place.longitude, place.elevation


def yard(
    *colonies: Colony,
    region: str = "us_northeast",
    place: tuple[float, float, float] | None = None,
    weekdays: tuple[int, ...] | None = (SAT,),
    away: Sequence[tuple[str, str]] = (),
    program: str = "full",
    observed: dict[str, str] | None = None,
    tasks: Sequence[OwnTask] = (),
    added: tuple[str, ...] = (),
    declined: tuple[str, ...] = (),
    key: str = "yard",
) -> Yard:
    """A yard, by default at its region's reference place, for a keeper who comes on Saturdays."""
    latitude, longitude, elevation = place or reference(region)
    return Yard(
        key=key,
        name=key.capitalize(),
        file=FILE,
        latitude=latitude,
        longitude=longitude,
        elevation=elevation,
        directions="",
        region=region,
        jurisdiction="us",
        program=program,
        added=added,
        declined=declined,
        weekdays=weekdays,
        away=tuple((on(first), on(last)) for first, last in away),
        fahrenheit=False,
        paper="a4",
        observed={mark: on(day) for mark, day in (observed or {}).items()},
        tasks=tuple(tasks),
        colonies=colonies,
        place=NOWHERE,
    )


def own_task(name: str, opens: str, closes: str, *, per_colony: bool = False) -> OwnTask:
    """A task of the keeper's own between two dates."""

    def bound(day: str) -> tuple[Bound, ...]:
        return (Bound(None, day, 0, (Citation("keeper", "", Basis.READ),), Text(day)),)

    return OwnTask(name, name.capitalize(), bound(opens), bound(closes), 10, per_colony, NOWHERE)


def outfit(*yards: Yard, journal: Iterable[Event] | None = None) -> Outfit:
    """An outfit. A journal of no lines is a journal: what is not in it was not done, as far as one knows."""
    return Outfit("outfit", "Outfit", yards, None if journal is None else tuple(journal))


# A method on its own --------------------------------------------------------------------------------------------------


def frame(method: str, weekdays: tuple[int, ...] | None = (5,), away: tuple[tuple[str, str], ...] = ()) -> Frame:
    """A shipped method at the reference of us_northeast, on a keeper's days of 2027."""
    there = yard(weekdays=weekdays, away=away)
    season = season_of(there, rules(), on("01-01"), 2027)
    days = keeper_days(there, season.first, season.last)
    rule = rules().methods[method]
    return frame_of(
        method, rule, Clockwork(season, rule.clock, development(rules().biology), rule.seen), days, rules().groups
    )


def known(word: str, day: str) -> dict[str, Known]:
    return {word: Known(on(day), Reason(Rule.EVENT, word, Span.exact(on(day)), (), (), f"{word} {day}"))}


def cut_from(day: str, n: int = 1) -> Cursor:
    """A trap frame that was hung or cut on a day."""
    return Cursor("cut", n, known("emptied", day), (), begun=True)


# Plans ----------------------------------------------------------------------------------------------------------------


def season_begins(region: str) -> int:
    """The first day of a region's season of the tests' year."""
    return rules().regions[region].season[0].in_year(YEAR)


def plan(of: Outfit | Yard, as_of: str | int = "01-01", season: int = YEAR, book: Rulebook | None = None) -> Plan:
    """The plan as on the morning of ``as_of``, with all invariants checked."""
    kept, by = outfit(of) if isinstance(of, Yard) else of, book or rules()
    made = make_plan(kept, by, as_of if isinstance(as_of, int) else on(as_of), season, scope=Scope(explain=True))
    check_plan(made, kept, by)
    return made


def days(made: Plan, method: str, colony: str = "1", trap: str | None = None) -> list[str]:
    """The planned steps of a method, such as ``05-08 cut/2``, by day."""
    chosen = [t for t in made.tasks if t.method == method and t.colony == colony and (trap is None or t.trap == trap)]
    return [f"{told(t.planned)} {t.step}/{t.n}" for t in chosen if t.planned is not None]


def ahead(made: Plan) -> list[Task]:
    """The tasks that are not behind: planned, asked for, or impossible."""
    return [task for task in made.tasks if task.done is None and task.status is not Status.MISSED]


def remaining(made: Plan, since: int) -> set[tuple[object, ...]]:
    """What of a plan lies on ``since`` or later: each task with its days."""
    return {
        (t.id, t.planned, t.rain_date, t.window.opens, t.window.best, t.window.closes, t.window.hard_stop)
        for t in made.tasks
        if t.planned is not None and t.planned >= since
    }


def kept_as_planned(made: Plan, before: int) -> list[Event]:
    """The journal of a keeper who did everything that was planned before a day, each thing on its day."""
    done = [t for t in made.tasks if t.planned is not None and t.planned < before]
    given = Counter((t.colony, t.method) for t in done if t.logs == "strips_in")
    return sorted((_written(task, given[task.colony, task.method]) for task in done), key=lambda e: e.day)


FORMS = {"count": "0/300", "trap_slot": "2", "colony": "5"}
"""A legal value for each form that needs one."""


def _written(task: Task, given: int) -> Event:
    """The line of a task; what was ``given`` in so many turns comes out together."""
    assert task.planned is not None
    form = shipped().events[task.logs].value
    value = {"done": task.step, "supers_on": "1"}.get(task.logs, FORMS.get(form, ""))
    if form == "treatment":
        product = task.method if task.method in shipped().treatments else task.method.rpartition("_")[0]
        value = f"{product} {2 * given if task.logs == 'strips_out' else 2} lot K by AB"
    return Event(
        task.planned, task.yard, task.colony, task.logs, task.trap, value, "", Place("journal.csv", task.planned, 1)
    )


def statuses(made: Plan) -> dict[str, Status]:
    """What became of each task."""
    return {task.id: task.status for task in made.tasks}


# Random outfits -------------------------------------------------------------------------------------------------------

PLACES = st.tuples(st.floats(-2.9, 2.9), st.floats(-3.0, 3.0), st.integers(-100, 440))
FAR_PLACES = st.tuples(st.floats(-5.9, 5.9), st.floats(-3.0, 3.0), st.integers(-100, 1500))
WEEKDAYS = st.one_of(
    st.sets(st.integers(0, 6), min_size=1, max_size=3).map(lambda chosen: tuple(sorted(chosen))), st.none()
)
BROOD_BOXES = {"langstroth_10": "deep", "langstroth_8": "deep", "national": "bs_brood", "dadant_10": "dadant_brood"}


@st.composite
def aways(draw: st.DrawFn, first: int, most: int = 3) -> tuple[tuple[int, int], ...]:
    """Periods away from home: up to five weeks each, anywhere in the season."""
    periods = draw(st.lists(st.tuples(st.integers(0, 330), st.integers(0, 35)), max_size=most))
    return tuple((first + begin, first + begin + length) for begin, length in periods)


@st.composite
def trap_lines(draw: st.DrawFn, key: str, trap: TrapFrame, began: int, first: int, as_of: int) -> tuple[Event, ...]:
    """The past of a trap frame that is hung after the colony began: found, cut, found again, as it comes."""
    day = max(began, first - 60) + draw(st.integers(0, 150))
    emptied = "trap_cut" if trap.kind == "short" else "trap_swapped"
    events = [Event(day, "yard", key, "trap_hung", trap.name, str(draw(st.integers(1, 8))), "", Place(FILE, day, 1))]
    for gap in draw(st.lists(st.integers(1, 45), max_size=4)):
        day += gap
        finding = draw(st.sampled_from([None, *rules().findings]))
        if finding is not None:
            events.append(Event(day, "yard", key, "found", trap.name, finding, "", Place(FILE, day, 1)))
        if finding is None or draw(st.booleans()):
            events.append(Event(day, "yard", key, emptied, trap.name, "", "", Place(FILE, day, 2)))
    return tuple(e for e in events if e.day <= as_of)


@st.composite
def traps(draw: st.DrawFn, hive: str, boxes: Sequence[str]) -> tuple[TrapFrame, ...]:
    """None to two trap frames, short or drawn."""
    kinds = draw(st.lists(st.sampled_from(["short", "drawn"]), max_size=2))
    slots = draw(st.permutations(range(1, rules().hives.hives[hive].frames + 1)))
    known = rules().hives

    def height(frame: str) -> float:
        return known.frames[frame].height.value.middle

    found = []
    for i, (kind, home) in enumerate(zip(kinds, slots, strict=False), 1):
        box = draw(st.integers(1, len(boxes)))
        frame = boxes[box - 1]
        shorter = [f for f in known.hives[hive].boxes if height(f) < height(frame)]
        if kind == "short" and shorter:
            frame = draw(st.sampled_from(shorter))
        places = draw(st.integers(1, 2))
        found.append(TrapFrame(f"T{i}", "short" if kind == "short" else "drawn", frame, box, home, places))
    return tuple(found)


@st.composite
def colonies(draw: st.DrawFn, key: str, first: int, as_of: int, *, history: bool = True) -> Colony:
    """A colony of any beginning, with a hive, trap frames and a past that can be."""
    kind = draw(st.sampled_from(BEGINNINGS))
    day = first - draw(st.integers(1, 700)) if kind == "overwintered" else first + draw(st.integers(-200, 280))
    hive = draw(st.sampled_from(sorted(BROOD_BOXES)))
    boxes = (BROOD_BOXES[hive],) * draw(st.integers(1, 2))
    frames = draw(traps(hive, boxes))
    past: list[Event] = []
    if history:
        for frame in frames:
            if draw(st.booleans()):
                past.extend(draw(trap_lines(key, frame, day, first, as_of)))
    made = colony(
        key,
        date.fromordinal(day).isoformat(),
        kind,
        frames,
        sorted(past, key=lambda e: e.day),
        hive=hive,
        boxes=boxes,
        supers=draw(st.integers(0, 1)),
        queen=Queen(clipped=draw(st.booleans())),
        strength=draw(st.sampled_from([None, 3.0, 6.0])),
    )
    return replace(made, history=tuple(e for e in made.history if e.day >= day))


@st.composite
def outfits(
    draw: st.DrawFn,
    *,
    far: bool = False,
    history: bool = True,
    away: bool = True,
    programs: Sequence[str] = ("full", "first_year"),
    regions: Sequence[str] = (),
    most: int = 3,
) -> tuple[Outfit, int]:
    """A legal outfit of one yard, without a journal, and a day of its season to plan on."""
    region = draw(st.sampled_from(list(regions) or SHIPPED_REGIONS))
    first = season_begins(region)
    as_of = first + draw(st.integers(0, 300))
    north, east, up = reference(region)
    dnorth, deast, dup = draw(FAR_PLACES if far else PLACES)
    keys = [str(i) for i in range(1, draw(st.integers(1, most)) + 1)]
    kept = yard(
        *[draw(colonies(key, first, as_of, history=history)) for key in keys],
        region=region,
        place=(north + dnorth, east + deast, up + dup),
        weekdays=draw(WEEKDAYS),
        program=draw(st.sampled_from(list(programs))),
    )
    return outfit(replace(kept, away=draw(aways(first)) if away else ())), as_of


def region_of(kept: Outfit) -> Region:
    """The region of an outfit's first yard."""
    return rules().regions[kept.yards[0].region]
