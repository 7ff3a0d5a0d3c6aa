"""A small invented plan for the tests of feed, ledger and plan.json: two yards, four hives, three visits.

No day and no word in here is a figure of the trade.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.plan import Conflict, Plan, Refusal
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.tasks import Answer, BringItem, Status, Task, Visit
from ipmcal.model.plan.views import BoxView, ColonyView, MarkView, TrapView, YardView
from ipmcal.model.rules.methods import Act
from ipmcal.model.values.cited import Basis, Citation, Cited, Place
from ipmcal.model.values.days import Span


def day(month: int, day_of_month: int, year: int = 2027) -> int:
    """The ordinal of a day of the invented season."""
    return date(year, month, day_of_month).toordinal()


AS_OF = day(4, 1)

CITED: Cited[object] = Cited(
    14, (Citation("invented_2020", "p. 3", Basis.READ),), Place("rules/methods/x.yaml", 7, 3), "clock.x", "14 d"
)
WHY = Reason(
    Rule.DEVELOPMENT,
    "x",
    Span(day(5, 1), day(5, 3), day(5, 9)),
    (CITED,),
    (Reason(Rule.EVENT, "trap_hung", Span.exact(day(4, 2))),),
    "as found",
)


def window(opens: int, closes: int, hard_stop: int | None = None) -> Window:
    """A window whose best day is its first."""
    return Window(opens, opens, closes, hard_stop, WHY, WHY, WHY)


def task(task_id: str, yard: str, do: str, planned: int, hard_stop: int | None = None) -> Task:
    """A planned task; colony and trap are read off its id."""
    place, method, season, step, n = task_id.split("/")
    colony, _, trap = place.partition(".")
    return Task(
        id=task_id,
        yard=yard,
        colony=None if colony == "yard" else colony,
        trap=trap or None,
        method=method,
        step=step,
        n=int(n),
        season=int(season),
        do=do,
        window=window(planned - 3, planned + 3, hard_stop),
        planned=planned,
        rain_date=planned + 1,
        status=Status.PLANNED,
        harm="Late comb does more harm than good." if hard_stop else "",
        minutes=10,
        why_planned=(Reason(Rule.KEEPER_DAY, "planned", Span.exact(planned)),),
    )


def visit(visit_id: str, yard: str, on: int, tasks: tuple[str, ...]) -> Visit:
    """A visit that may be moved two days each way."""
    bring = (BringItem("car", "short frame", 2), BringItem("belt", "hive tool"))
    return Visit(visit_id, yard, on, on + 1, on - 2, on + 2, tasks, 10 * len(tasks), bring, ("Charge the lamp.",))


COLONIES = (
    ColonyView(
        *("1", "1", "east end", "2026"), (BoxView("deep", 10),), 0, (TrapView("T1", 1, 2, 2),), "laying", "seen 1 April"
    ),
    ColonyView("2", "Blue door", "west end", "2026", (BoxView("deep", 10), BoxView("shallow", 10)), 1, (), "", ""),
)
MARK = MarkView("first_pollen", "First pollen", Span(day(3, 1), day(3, 5), day(3, 9)), None, WHY)
ALDER = YardView(
    *("alder", "Alder Yard", 1.25, -2.5, "over the bridge", "invented", "invented", "a4", False, "Saturdays"),
    any_day=False,
    season=2027,
    begins=day(1, 1),
    ends=day(12, 31),
    language="en",
    colonies=COLONIES,
    marks=(MARK,),
    highs=(1.0,) * 12,
)
QUARRY = replace(ALDER, key="quarry", name="Quarry", any_day=True, colonies=(replace(COLONIES[0], key="7", name="7"),))

CUT = "1.T1/trap_comb_cut/2027/cut/1"
COUNT_1, COUNT_2 = "1/count/2027/count/1", "2/count/2027/count/1"
STRIPS, STRIPS_OUT = "yard/strips/2027/hang/1", "2/strips/2027/take_out/1"
AWAY = "7/trap_comb_cut/2027/hang/1"

TASKS = (
    task(COUNT_1, "alder", "Count mites.", day(5, 8)),
    task(COUNT_2, "alder", "Count mites.", day(5, 8)),
    replace(
        task(CUT, "alder", "Cut the comb off.", day(5, 8), day(5, 13)),
        look=True,
        lid="CUT BY",
        answers=(
            Answer("all_open", "All open", day(5, 8), Act.WAIT, "Come back.", back_on=day(5, 22), cut_by=day(5, 30)),
        ),
    ),
    task(AWAY, "quarry", "Hang the frame.", day(5, 9)),
    replace(task(STRIPS, "alder", "Hang the strips.", day(8, 14)), cautions=("Read the label in your hand.",)),
    task(STRIPS_OUT, "alder", "Take the strips out.", day(8, 14), day(8, 20)),
)
VISITS = (
    visit("alder/1", "alder", day(5, 8), (CUT, COUNT_1, COUNT_2)),
    visit("quarry/1", "quarry", day(5, 9), (AWAY,)),
    visit("alder/2", "alder", day(8, 14), (STRIPS, STRIPS_OUT)),
)
WEAK = Because(Code.TOO_FEW_FRAMES, (2.0, 4.0))
PLAN = Plan(
    outfit="invented_club",
    outfit_name="Invented Club",
    as_of=AS_OF,
    yards=(ALDER, QUARRY),
    tasks=TASKS,
    visits=VISITS,
    conflicts=(
        Conflict("alder", "hive 2", Because(Code.NO_DAY_TO_EMPTY), Because(Code.A_DAY_SOON), (COUNT_2,), (WHY,)),
    ),
    refusals=(Refusal("alder", "hive 2", "trap_comb_cut", "Trap comb", (WEAK,), (Because(Code.STRENGTHEN),), (WHY,)),),
    notes=("Past taken as done.",),
    rules_checked=("trap_comb_cut 2026-11-24",),
)


def moved(plan: Plan, visit_id: str, days: int) -> Plan:
    """The plan with a visit and its tasks moved by some days."""
    there = next(v for v in plan.visits if v.id == visit_id)
    on = there.day + days
    new = replace(there, day=on, rain_date=on + 1, earliest=there.earliest + days, latest=there.latest + days)
    tasks = tuple(
        replace(t, planned=t.planned + days, rain_date=t.planned + days + 1)
        if t.id in there.tasks and t.planned is not None
        else t
        for t in plan.tasks
    )
    return replace(plan, visits=tuple(new if v.id == visit_id else v for v in plan.visits), tasks=tasks)


def changed(plan: Plan, task_id: str, **fields: object) -> Plan:
    """The plan with some fields of a task changed."""
    return replace(plan, tasks=tuple(replace(t, **fields) if t.id == task_id else t for t in plan.tasks))  # type: ignore[arg-type]


def without(plan: Plan, visit_id: str) -> Plan:
    """The plan without a visit and its tasks."""
    there = next(v for v in plan.visits if v.id == visit_id)
    return replace(
        plan,
        visits=tuple(v for v in plan.visits if v.id != visit_id),
        tasks=tuple(t for t in plan.tasks if t.id not in there.tasks),
    )
