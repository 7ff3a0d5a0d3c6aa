"""Invented plans for the tests of paper: four hives that show everything, and yards of any number of hives.

Nothing in here is a figure of the trade: days, names and words are made up to fill a page as a real plan would.
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
from ipmcal.model.values.days import Span

AS_OF = date(2027, 5, 19).toordinal()
SATURDAY = date(2027, 5, 22).toordinal()
CIRCLE = ("CAPPED", "PART", "OPEN", "LATE", "HONEY", "WORKER", "NONE")
WHY = Reason(Rule.REGION_MARK, "sample")


def ordinal(month: int, day: int, year: int = 2027) -> int:
    """A day of the sample season."""
    return date(year, month, day).toordinal()


def window(opens: int, best: int, closes: int, stop: int | None = None) -> Window:
    """A window with no reasons worth printing."""
    return Window(opens, best, closes, stop, WHY, WHY, WHY)


def answers(day: int, rain: int | None, weeks: int, back_on: bool = True, forced: bool = False) -> tuple[Answer, ...]:
    """What to do below a short frame on both days; comb that is all open today is to be looked at after ``weeks``."""
    found: list[Answer] = []
    for today in (d for d in (day, rain) if d is not None):
        stop = today + 7 * weeks + 1
        back = {"back_on": stop - 1} if back_on else {"back_from": stop - 7, "back_by": stop}
        again = {"cut_by": today + 23, **({"back_on": today + 21} if back_on else {})}
        found += [
            Answer("all_capped", "ALL CAPPED", today, Act.CLOSE, "cut into the bucket, hang the frame again", **again),
            Answer(
                "part_capped", "PART CAPPED", today, Act.CLOSE, "cut into the bucket, hang the frame again", **again
            ),
            Answer("all_open", "ALL OPEN", today, Act.CLOSE, "cut now", forced=True, **again)
            if forced
            else Answer("all_open", "ALL OPEN", today, Act.WAIT, "leave it", cut_by=stop, **back),
            Answer("emerging", "DRONES COMING OUT", today, Act.LATE, "cut now, circle LATE, count mites in this hive"),
            Answer("honey", "HONEY", today, Act.VOID, "no catch: cut it off for the kitchen, hang the frame again"),
            Answer("worker", "WORKER", today, Act.VOID, "no catch: leave it, circle what you saw"),
            Answer("nothing", "NOTHING", today, Act.VOID, "no catch: leave it, circle what you saw"),
        ]
    order = list(dict.fromkeys(answer.finding for answer in found))
    return tuple(sorted(found, key=lambda answer: (order.index(answer.finding), answer.day)))


def trap_task(
    yard: str,
    hive: str,
    trap: str,
    day: int,
    rain: int | None,
    stop: int,
    **more: object,
) -> Task:
    """Look at a trap frame and cut it."""
    task = Task(
        id=f"{hive}.{trap}/trap_comb_cut/2027/cut/{day - AS_OF}",
        yard=yard,
        colony=hive,
        trap=trap,
        method="trap_comb_cut",
        step="cut",
        n=1,
        season=2027,
        do="look, cut the comb",
        window=window(day - 3, day, stop, stop),
        planned=day,
        rain_date=rain,
        status=Status.PLANNED,
        look=True,
        harm="Comb left longer releases more mites than it caught.",
        notes=("Find the queen first, or be sure she is not on it.",),
        circle=CIRCLE,
        bring=("hive tool", "lidded bucket"),
        minutes=8,
        logs="trap_cut",
        answers=answers(day, rain, 1 + (stop - day) // 7),
    )
    return replace(task, **more)  # type: ignore[arg-type]


def plain_task(yard: str, hive: str | None, what: str, day: int, rain: int | None, **more: object) -> Task:
    """A step with no finding to answer; ``what`` is one of STEPS."""
    do, logs, fields = STEPS[what]
    task = Task(
        id=f"{hive or yard}/{what}/2027/do/{day - AS_OF}",
        yard=yard,
        colony=hive,
        trap=None,
        method=what,
        step="do",
        n=1,
        season=2027,
        do=do,
        window=window(day - 7, day, day + 10),
        planned=day,
        rain_date=rain,
        status=Status.PLANNED,
        minutes=10,
        logs=logs,
    )
    return replace(task, **{**fields, **more})  # type: ignore[arg-type]


STEPS: dict[str, tuple[str, str, dict[str, object]]] = {
    "mite_wash": (
        "count mites: nurse bees, from a brood frame",
        "count",
        {
            "notes": ("Treat the yard at 6 or more in 300 bees.",),
            "how": ("Treat the yard at 6 or more in 300 bees.",),
            "cautions": ("Queen safe first: look for her before the cup goes in.",),
            "blanks": ("mites", "bees"),
        },
    ),
    "strips_out": (
        "take 2 strips out",
        "strips_out",
        {
            "notes": ("Supers may go on from Tue 8 June.",),
            "cautions": ("Gloves. Used strips go home in the bag, as the label says.",),
            "blanks": ("out",),
        },
    ),
    "strips_in": (
        "lay two strips on the bars",
        "strips_in",
        {
            "product": "Invented strips",
            "notes": (
                "Flat on the top bars, a hand apart. Entrance open over its whole width. Open the pack last.",
                "The day's high 10 to 29 °C, on the day and the three days after: the forecast says so or not.",
                "Supers may be on. Nobody opens the hive for three days after.",
                "For this hive: 2 strips.",
            ),
            "cautions": (
                "The label on the pack in your hand is the law. Where it says otherwise, this sheet is wrong.",
                "It burns: gloves, goggles, sleeves and trousers long; water within reach before it is opened.",
                "Stand upwind. Some brood and some bees die in the first days; in heat, many more.",
            ),
            "blanks": ("highs of today and the next three days", "put in", "lot"),
        },
    ),
    "supers": ("supers on", "supers_on", {"blanks": ("supers",), "notes": ("Before they hang out at the door.",)}),
    "swarm_check": (
        "look for swarm cells",
        "found",
        {"circle": ("NO CELLS", "CUPS", "CELLS", "EGGS", "QUEEN")},
    ),
    "board": (
        "read the board under every hive",
        "found",
        {"blanks": ("mites", "days")},
    ),
}


def colony(
    key: str,
    stand: str,
    traps: tuple[TrapView, ...] = (),
    supers: int = 1,
    last: str = "",
) -> ColonyView:
    """A hive of two deep boxes with ten frames."""
    boxes = (BoxView("deep", 10), BoxView("deep", 10))
    return ColonyView(
        key,
        key,
        stand,
        "2026",
        boxes,
        supers,
        traps,
        "2026, marked",
        last or "strong, count 2.",
    )


def marks() -> tuple[MarkView, ...]:
    """A season's marks, invented."""

    def mark(name: str, title: str, low: int, usual: int, high: int, ends: int | None = None) -> MarkView:
        end = None if ends is None else Span(ends - (usual - low), ends, ends + (high - usual))
        return MarkView(name, title, Span(low, usual, high), end, WHY)

    return (
        mark(
            "first_pollen",
            "First pollen",
            ordinal(3, 14),
            ordinal(3, 25),
            ordinal(4, 5),
        ),
        mark(
            "build_up",
            "Colonies build up",
            ordinal(4, 1),
            ordinal(4, 12),
            ordinal(4, 23),
        ),
        mark(
            "drones",
            "Drones reared",
            ordinal(4, 10),
            ordinal(4, 20),
            ordinal(4, 30),
            ordinal(8, 5),
        ),
        mark(
            "swarming",
            "Swarming",
            ordinal(4, 30),
            ordinal(5, 10),
            ordinal(5, 20),
            ordinal(6, 25),
        ),
        mark(
            "flow_main",
            "Main flow",
            ordinal(5, 17),
            ordinal(5, 25),
            ordinal(6, 2),
            ordinal(7, 15),
        ),
        mark("supers_off", "Supers off", ordinal(8, 7), ordinal(8, 15), ordinal(8, 23)),
        mark(
            "winter_bees",
            "Winter bees reared",
            ordinal(8, 10),
            ordinal(8, 20),
            ordinal(8, 30),
            ordinal(10, 1),
        ),
        mark(
            "broodless",
            "Broodless",
            ordinal(11, 10),
            ordinal(11, 25),
            ordinal(12, 10),
            ordinal(12, 31),
        ),
    )


def yard(colonies: tuple[ColonyView, ...], **more: object) -> YardView:
    """The invented yard."""
    view = YardView(
        key="orchard",
        name="Orchard yard",
        latitude=42.11,
        longitude=-76.06,
        directions="Gate on the mill lane, then left along the hedge",
        region="invented region",
        jurisdiction="us",
        paper="letter",
        fahrenheit=False,
        days_title="Saturdays and Sundays",
        any_day=False,
        season=2027,
        begins=ordinal(1, 1),
        ends=ordinal(12, 31),
        language="en",
        colonies=colonies,
        marks=marks(),
        highs=(0.2, 1.4, 6.5, 14.0, 20.1, 24.6, 27.0, 26.1, 21.9, 15.2, 8.4, 2.6),
        notes=("Water stands at the hedge; the neighbour's horses are east of it.",),
    )
    return replace(view, **more)  # type: ignore[arg-type]


BRING = (
    BringItem("hive_bag", "hive tool"),
    BringItem("hive_bag", "smoker and fuel"),
    BringItem("hive_bag", "drinking water"),
    BringItem("comb_kit", "lidded bucket", 1),
    BringItem("comb_kit", "uncapping fork"),
    BringItem("comb_kit", "short frames", 2),
    BringItem("count_kit", "half-cup and jar"),
    BringItem("count_kit", "alcohol, labelled"),
    BringItem("treatment_box", "gloves"),
    BringItem("treatment_box", "bag for used strips"),
)


def visit(
    tasks: tuple[Task, ...],
    day: int,
    rain: int | None,
    yard_key: str = "orchard",
    **more: object,
) -> Visit:
    """A visit that does these tasks; those with a hard stop within three days can't wait."""
    urgent = [t for t in tasks if t.window.hard_stop is not None and t.window.hard_stop - day <= 3]
    made = Visit(
        id=f"{yard_key}/{day}",
        yard=yard_key,
        day=day,
        rain_date=rain,
        earliest=day,
        latest=day + 2,
        tasks=tuple(t.id for t in tasks),
        minutes=sum(t.minutes for t in tasks) + 20,
        bring=BRING,
        prepare=(
            "Charge the phone, tell someone where you are going.",
            "Clear the freezer: room for 3 combs.",
        ),
        must=tuple(t.id for t in sorted(urgent, key=lambda t: t.window.hard_stop or 0)),
        short=tuple(t.id for t in urgent[:5]),
        stop_if=("below 13 °C", "rain", "robbing"),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def plan(
    tasks: tuple[Task, ...],
    visits: tuple[Visit, ...],
    yards: tuple[YardView, ...],
    **more: object,
) -> Plan:
    """A plan of these."""
    made = Plan(
        outfit="sample",
        outfit_name="Sample outfit",
        as_of=AS_OF,
        yards=yards,
        tasks=tasks,
        visits=visits,
        conflicts=(),
        refusals=(),
        notes=("Region: invented region, moved 40 m up and 20 km south.",),
        rules_checked=(
            "trap_comb_cut, checked 24 November 2026",
            "mite_wash, checked 24 November 2026",
        ),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def four_hives() -> Plan:
    """Hive 3 with two traps at different stages, one of them hung in the wrong slot; a count; strips to take out."""
    day, rain = SATURDAY, SATURDAY + 1
    hives = (
        colony(
            "3",
            "stand A, left",
            (TrapView("T1", 2, 2, 2), TrapView("T2", 2, 3, 9)),
            last="1 May, T2 hung, count 2.",
        ),
        colony(
            "5",
            "stand A, right",
            (TrapView("T1", 2, 9, 9),),
            supers=2,
            last="1 May, strong, queen unseen.",
        ),
        colony("8", "stand B, left", supers=0, last="10 April, 2 strips in."),
        colony("11", "stand B, right", last="1 May, swarmed?"),
    )
    first = (
        plain_task("orchard", None, "board", day, rain),
        trap_task("orchard", "3", "T1", day, rain, ordinal(5, 24)),
        trap_task("orchard", "3", "T2", day, rain, ordinal(6, 5)),
        plain_task("orchard", "3", "swarm_check", day, rain),
        trap_task(
            "orchard",
            "5",
            "T1",
            day,
            rain,
            ordinal(5, 25),
            answers=answers(day, rain, 1, forced=True),
        ),
        plain_task("orchard", "5", "mite_wash", day, rain),
        plain_task(
            "orchard",
            "8",
            "strips_out",
            day,
            rain,
            window=window(day - 7, day, day + 3, day + 3),
        ),
    )
    later = season_tasks("orchard", ("3", "5", "8"), day + 14)
    visits = (visit(first, day, rain), *later[1])
    refusals = (
        Refusal(
            "orchard",
            "11",
            "trap_comb_cut",
            "Trap comb, cut",
            (Because(Code.TOO_FEW_FRAMES, (4.0, 6.0)), Because(Code.QUEEN_IS, ("missing",))),
            (Because(Code.STRENGTHEN), Because(Code.WRITE_LAYING)),
        ),
        Refusal("orchard", "8", "trap_comb_cut", "Trap comb, cut", (Because(Code.BROOD_SICK),)),
    )
    conflicts = (
        Conflict(
            "orchard",
            "hive 5",
            Because(Code.EARLY_NO_DAY, ("Trap comb, cut", (ordinal(6, 12),))),
            Because(Code.DAY_IN, (((ordinal(6, 16), ordinal(6, 16)),),)),
        ),
    )
    return plan(first + later[0], visits, (yard(hives),), refusals=refusals, conflicts=conflicts)


def season_tasks(yard_key: str, hives: tuple[str, ...], start: int) -> tuple[tuple[Task, ...], tuple[Visit, ...]]:
    """Thirteen more visits, two or three weeks apart, with something for each hive."""
    tasks: list[Task] = []
    visits: list[Visit] = []
    for i in range(13):
        day = start + 14 * i
        some = [
            trap_task(yard_key, hive, "T1", day, day + 1, day + 2)
            if i < 5 and place % 3 < 2
            else plain_task(yard_key, hive, "mite_wash" if i % 2 else "swarm_check", day, day + 1)
            for place, hive in enumerate(hives)
        ]
        tasks += some
        visits.append(visit(tuple(some), day, day + 1, yard_key))
    return tuple(tasks), tuple(visits)


def yard_of(hives: int, stages: int = 1) -> Plan:
    """A yard of so many hives, each with one trap; ``stages`` > 1 puts the traps at as many different stages."""
    day, rain = SATURDAY, SATURDAY + 1
    names = [str(i) for i in range(1, hives + 1)]
    views = tuple(
        colony(name, f"stand {'ABCDEFGHIJKLMNOP'[i // 4]}", (TrapView("T1", 2, 2, 2),)) for i, name in enumerate(names)
    )
    tasks: list[Task] = []
    for i, name in enumerate(names):
        tasks.append(
            trap_task("orchard", name, "T1", day, rain, day + 2 + 5 * (i % stages))
            if stages > 1
            else trap_task("orchard", name, "T1", day, rain, day + 2)
        )
        if i % 4 == 1:
            tasks.append(plain_task("orchard", name, "mite_wash", day, rain))
        if i % 3 == 2:
            tasks.append(plain_task("orchard", name, "swarm_check", day, rain))
    return plan(tuple(tasks), (visit(tuple(tasks), day, rain),), (yard(views),))


def visit_of(kind: str, hives: int) -> Plan:
    """A visit to a yard of so many hives, of one kind: the same in each hive but for "usual", where a trap frame, a
    count and supers are spread over them as on a day in May."""
    day, rain = SATURDAY, SATURDAY + 1
    names = [str(i) for i in range(1, hives + 1)]
    traps = {name: (TrapView("T1", 2, 2, 2),) for i, name in enumerate(names) if kind == "traps" or not i % 4}
    tasks: list[Task] = []
    for i, name in enumerate(names):
        if kind == "traps" or (kind == "usual" and not i % 4):
            tasks.append(trap_task("orchard", name, "T1", day, rain, day + 2))
        tasks += [plain_task("orchard", name, what, day, rain) for what in KINDS[kind]]
    shown = tuple(colony(name, f"stand {i // 4 + 1}", traps.get(name, ())) for i, name in enumerate(names))
    return plan(tuple(tasks), (visit(tuple(tasks), day, rain),), (yard(shown),))


KINDS: dict[str, tuple[str, ...]] = {
    "checks": ("swarm_check",),
    "traps": (),
    "usual": ("mite_wash", "supers"),
    "strips in": ("strips_in",),
    "strips out": ("mite_wash", "strips_out"),
}


def hostile(text: str) -> Plan:
    """The four hives, with ``text`` wherever a keeper or a rule may write."""
    base = four_hives()
    tasks = tuple(
        replace(
            t, do=text, notes=(text,), cautions=(text,), circle=(text, "OPEN"), blanks=(text,), harm=text,
            answers=tuple(replace(a, title=text, do=text) for a in t.answers),
        )
        for t in base.tasks
    )  # fmt: skip
    visits = tuple(
        replace(
            v,
            bring=(BringItem(text, text, 2),),
            prepare=(text,),
            stop_if=(text,),
            forced_by=text,
            because=text,
            rain_date=None,
        )
        for v in base.visits
    )
    colonies = tuple(
        replace(
            c, name=text, stand=text, last=text, notes=(text,), boxes=(BoxView(text, 10), BoxView(text, 10)),
            traps=tuple(replace(t, name=text) for t in c.traps),
        )
        for c in base.yards[0].colonies
    )  # fmt: skip
    view = replace(
        base.yards[0], name=text, directions=text, days_title=text, notes=(text,), cautions=(text,), colonies=colonies,
        marks=tuple(replace(m, title=text) for m in base.yards[0].marks),
    )  # fmt: skip
    said = Because(Code.FULL_TOO_LATE, (text, ordinal(5, 1), ordinal(5, 2)))
    return replace(
        base,
        outfit_name=text,
        yards=(view,),
        tasks=tasks,
        visits=visits,
        refusals=tuple(replace(r, title=text, subject=text, whys=(said,), helps=(said,)) for r in base.refusals),
        conflicts=tuple(replace(c, subject=text, what=said, helps=said) for c in base.conflicts),
        notes=(text,),
        rules_checked=(text,),
    )
