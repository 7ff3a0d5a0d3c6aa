"""What was found holds in any plan: a dead hive has no live work, a yard that looks sick exchanges nothing; where a
virgin or cells may be nobody shakes or washes; no acid on the brood that is still capped by what was found; no combs
are lifted for a count on days that are usually colder than the sheet itself bears."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date

from planning.hive_invariants import treatment_of

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.rules.labels import applications, label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import short_day

LIVE = {"trap_hung", "supers_on", "split", "united", "test_comb", "cell_given", "introduced"}
"""What no hive of a closed yard gets: common practice under a standstill."""
IN_A_DEAD_HIVE = {"shut", "dead_look", "strips_out"}
"""All that is done in a dead hive."""
IN_A_SICK_HIVE = {
    "treated", "strips_in", "strips_out", "released", "cage_out", "supers_off", "trap_cut", "trap_swapped", "trap_out",
    "fed", "winter_fed", "winter_ready", "hefted", "board_in", "drop",
}  # fmt: skip
"""What does not lift its combs, and what has to come out of it."""
ROUGH = {
    "count", "early_count", "weighed_count", "pupa_look", "health_look", "autumn_look", "trap_cut", "trap_swapped",
    "trap_out", "trap_hung", "trap_moved",
}  # fmt: skip
"""What shakes or washes bees, or handles drone comb."""
YOUNG = {"swarmed": 18, "dequeened": 22, "cell_given": 11}
"""Days from a line to the first egg of the queen that is raised, as teaching pages count them: cells are sealed when a
swarm goes, she is out 8 d later (12 d after the loss of a queen, 1 d after a ripe cell was given), flies at 7 d, lays
3 d after that (``rules/biology.yaml`` has the sources)."""
SETTLED = {"queen laying", "queen seen", "introduced", "released", "caged", "swarmed", "dequeened", "cell_given"}
HAS_QUEEN = {"queen laying", "queen seen", "introduced", "requeened", "released"}
LOOKS = {
    "cell_look", "inspected", "egg_look", "brood_look", "health_look", "autumn_look", "room_look", "growth_look",
    "flow_look", "late_look",
}  # fmt: skip
LIFTED = {"hefted", "stores_look"}
VAPOURS = {
    "formic_evaporator_60", "formic_pads_65", "formic_strips_7_day", "formic_strips_pair", "formic_strips_single",
    "thymol_gel", "thymol_mix_tablet", "thymol_wafer",
}  # fmt: skip
"""What works by its vapour, for days or weeks."""
FELLED = 14
"""Days for which mites fall by a dose that is given once: common practice, and its label's count waits as long."""
WORKER = 20
"""The earliest day on which a worker emerges (Fukuda & Sakagami 1968): before it what was laid last is still capped."""
DOUBT = 1.5
"""°C by which straight lines between the middles of months may lie beside the smooth curve through them."""
ENDED = {"died", "found_dead", "sold", "absconded", "united"}


def found_holds(plan: Plan, outfit: Outfit, book: Rulebook) -> None:
    """Everything that holds for what was found in the hives of any plan."""
    for yard in outfit.yards:
        lines = {c.key: lines_of(c.key, yard, outfit, plan.as_of) for c in yard.colonies}
        mine = [t for t in plan.tasks if t.yard == yard.key and t.planned is not None and t.method != "own"]
        dead_hives_rest(mine, lines, book)
        one_wash_a_visit(mine)
        one_lift_a_visit(mine)
        circled_once(mine, book)
        no_wash_in_the_cold(plan, yard, mine, book)
        boards_go_in_before(mine)
        sick_yards_are_closed(plan, yard, mine, lines, book)
        for key, some in lines.items():
            young_queens_are_left_alone([t for t in mine if t.colony == key], some)
            no_vapour_over_a_young_queen([t for t in mine if t.colony == key], some, yard, book)
            gone_queens_are_not_looked_for([t for t in mine if t.colony == key], some)
            no_test_comb_where_one_lays([t for t in mine if t.colony == key], some)
            no_acid_on_the_last_brood([t for t in mine if t.colony == key], some)
        queens_are_looked_for_in_time(plan, mine)


def lines_of(key: str, yard: Yard, outfit: Outfit, as_of: int) -> list[Event]:
    """All that was written of a hive up to a day, by day."""
    told = [e for c in yard.colonies if c.key == key for e in c.history]
    written = [e for e in outfit.journal or () if e.colony == key]
    return sorted((e for e in (*told, *written) if e.day <= as_of and e.trap is None), key=lambda e: e.day)


def dead_hives_rest(tasks: Sequence[Task], lines: Mapping[str, Sequence[Event]], book: Rulebook) -> None:
    """A hive that is gone has no live work; one that died is shut and looked at, whatever the program."""
    for key, some in lines.items():
        words = {e.word for e in some}
        if words & ENDED:
            live = [t.id for t in tasks if t.colony == key and t.logs not in IN_A_DEAD_HIVE]
            assert not live, f"{live} in a hive that is gone"
        for task in tasks:
            if task.colony == key and task.logs in ("shut", "dead_look"):
                assert words & {"died", "found_dead"}, f"{task.id} in a hive that lives"
            if task.logs == "shut":
                assert task.rain_date is None, f"{task.id} waits for better weather"


def sick_since(lines: Sequence[Event]) -> int | None:
    since = None
    for event in lines:
        if event.word in ("healthy", "cleared"):
            since = None
        elif event.word == "suspect" and since is None:
            since = event.day
    return since


def sick_yards_are_closed(
    plan: Plan, yard: Yard, tasks: Sequence[Task], lines: Mapping[str, Sequence[Event]], book: Rulebook
) -> None:
    """Nothing goes in or out of a yard with a hive that looks sick; that hive is opened last, and for little."""
    sick = {key for key, some in lines.items() if sick_since(some) is not None}
    if not sick:
        return
    out = [t.id for t in tasks if t.logs in LIVE]
    assert not out, f"{out} in a yard where {sorted(sick)} look sick"
    for task in tasks:
        course = task.method in book.treatments or task.method.rpartition("_")[0] in book.treatments
        if task.colony in sick and task.logs not in IN_A_DEAD_HIVE:
            assert course or task.logs in IN_A_SICK_HIVE, f"{task.id} in a hive that looks sick"
    for view in (v for v in plan.yards if v.key == yard.key):
        order = [c.key in sick for c in view.colonies]
        assert order == sorted(order), f"{sorted(sick)} look sick, and are not opened last"
        assert all(key in view.sick_words for key in sick), f"{view.sick_words}: not all of {sorted(sick)}"


def word_of(event: Event) -> str:
    return f"{event.word} {event.value}" if event.word == "queen" else event.word


def young_queens_are_left_alone(tasks: Sequence[Task], lines: Sequence[Event]) -> None:
    """From the loss of a queen to the eggs of hers that is raised, and from cells to the next look."""
    for event in lines:
        last = event.day + YOUNG.get(event.word, 0)
        last = last if event.word != "cells_found" else event.day + 7
        last = last if word_of(event) != "queen virgin" else event.day + 2
        ends = SETTLED | (LOOKS if event.word == "cells_found" else set())
        later = [e.day for e in lines if e.day > event.day and word_of(e) in ends]
        same = [e for e in lines if e.day == event.day and e is not event and word_of(e) in SETTLED]
        last = min([last, *(day - 1 for day in later)])
        if event.day < last and not same and not event.assumed:
            rough = [t.id for t in tasks if t.logs in ROUGH and t.planned is not None and event.day < t.planned < last]
            assert not rough, f"{rough} where a virgin or cells may be, since '{word_of(event)}'"


def no_vapour_over_a_young_queen(tasks: Sequence[Task], lines: Sequence[Event], yard: Yard, book: Rulebook) -> None:
    """Nothing that evaporates is begun in a hive whose young queen does not lay yet, nor in the week after cells were
    found, before they were looked at again (common practice)."""
    for event in lines:
        ends = SETTLED | (LOOKS if event.word == "cells_found" else set())
        after = event.day + (1 if event.word == "cells_found" else 0)
        later = [e.day for e in lines if e is not event and e.day >= after and word_of(e) in ends]
        last = min([event.day + {**YOUNG, "cells_found": 7}.get(event.word, 0), *later])
        for task in tasks:
            name = treatment_of(task, book)
            label = label_for(book.treatments[name], yard.jurisdiction, book) if name in VAPOURS else None
            if label is None or event.assumed or task.step != next(iter(applications(label, book))):
                continue
            assert not event.day < (task.planned or 0) < last, f"{task.id} on a queen to come, since '{word_of(event)}'"


def queens_are_looked_for_in_time(plan: Plan, tasks: Sequence[Task]) -> None:
    """Whether a young queen lays in a hive that has swarmed, and whether a second swarm would go, is looked for in its
    time, over whatever lies on the bars: a queen that failed is found while it can be mended (common practice)."""
    looks = (t for t in tasks if t.method == "after_swarm" and t.logs in ("egg_look", "cell_look"))
    for task in (t for t in looks if t.planned is not None):
        in_time = (task.planned or 0) <= task.window.closes or any(task.id in c.tasks for c in plan.conflicts)
        assert in_time, f"{task.id} waits until {date.fromordinal(task.planned or 0)}, and she may have failed"


def gone_queens_are_not_looked_for(tasks: Sequence[Task], lines: Sequence[Event]) -> None:
    """Whose queen went with a swarm, or was taken away, is not gone through for swarm cells: it stays shut until hers
    that is raised should lay (``YOUNG``), but for the looks that are for her."""
    for event in lines:
        last = event.day + YOUNG.get(event.word, 0)
        later = [e.day for e in lines if e.day >= event.day and e is not event and word_of(e) in SETTLED]
        last = min([last, *later])
        through = [t.id for t in tasks if _through(t) and t.planned is not None and event.day < t.planned < last]
        assert not through or event.assumed, f"{through} since '{word_of(event)}': it was to be left shut"


def no_test_comb_where_one_lays(tasks: Sequence[Task], lines: Sequence[Event]) -> None:
    """Once a line says that a queen lays, or was given, nobody is asked to find out whether there is one."""
    looked = max((e.day for e in lines if e.word == "no_eggs"), default=None)
    if looked is not None and any(e.day >= looked and word_of(e) in HAS_QUEEN for e in lines):
        asked = [t.id for t in tasks if t.logs == "test_comb" or t.method == "queenless_autumn"]
        assert not asked, f"{asked}, and a line since {short_day(looked)} tells of a queen"


def _through(task: Task) -> bool:
    """Whether a look at every comb is not for a young queen, nor for cells that were found."""
    return task.method.startswith("swarm_check") or task.logs in ("growth_look", "flow_look")


def no_acid_on_the_last_brood(tasks: Sequence[Task], lines: Sequence[Event]) -> None:
    """No eggs in autumn, and the queen seen: the last brood is capped for weeks, and winter's acid waits for that."""
    words = {(e.day, word_of(e)) for e in lines}
    for day, word in words:
        caged = max((e.day for e in lines if e.word == "caged" and e.day < day), default=day)
        out = any(caged < e.day < day and word_of(e) in ("released", "queen laying") for e in lines)
        if caged < day - WORKER and not out:
            continue  # she laid nowhere but in her cage: the last brood is out long since
        if word == "no_eggs" and (day, "queen seen") in words:
            said = ("What for: least brood of the year", "What for: no eggs on ")
            winter = [t for t in tasks if any(n.startswith(said) for n in t.notes)]
            early = [t.id for t in winter if t.planned is not None and day < t.planned < day + WORKER - 3]
            assert not early, f"{early} over brood that is still capped: no eggs were found some days before"


def one_wash_a_visit(tasks: Sequence[Task]) -> None:
    """Nobody washes a hive twice on a day, nor puts two boards below it, nor reads two."""
    for logs in ("count", "board_in", "drop"):
        counts = [(t.colony, t.planned) for t in tasks if t.logs == logs]
        twice = sorted({one for one in counts if counts.count(one) > 1}, key=str)
        assert not twice, f"{twice} are asked twice: {logs}"


def one_lift_a_visit(tasks: Sequence[Task]) -> None:
    """Nobody lifts a hive twice on a day to tell its stores, unless the one is late."""
    lifts = [(t.colony, t.planned) for t in tasks if t.logs in LIFTED and (t.planned or 0) <= t.window.closes]
    twice = sorted({one for one in lifts if lifts.count(one) > 1}, key=str)
    assert not twice, f"{twice} are lifted twice"


def circled_once(tasks: Sequence[Task], book: Rulebook) -> None:
    """No word is to be circled twice of a hive on a visit, but for what leaves its own line undone."""
    asked: dict[tuple[str | None, int | None], list[str]] = {}
    for task in tasks:
        if task.trap is None:
            asked.setdefault((task.colony, task.planned), []).extend(w for w in task.circle if book.circled[w].done)
    for (hive, day), words in asked.items():
        twice = sorted({word for word in words if words.count(word) > 1})
        assert not twice, f"hive {hive}, {day}: {twice} to be circled twice"


def usual_high(yard: Yard, book: Rulebook, day: int) -> float:
    """The high of a day, °C: as read or forecast; else by straight lines between the middles of the months."""
    if day in yard.readings:
        return yard.readings[day][0]
    normals = [value.value for value in book.regions[yard.region].normals.high]
    on = date.fromordinal(day)
    along = on.month - 1 + (on.day - 15) / 30
    first = int(along // 1)
    return float(normals[first % 12] + (normals[(first + 1) % 12] - normals[first % 12]) * (along - first))


def bears(words: Sequence[str]) -> float | None:
    """The temperature, °C, below which a sheet says to close up and go home."""
    for one in words:
        found = re.fullmatch(r"below (-?[0-9]+) °([CF])", one)
        if found:
            return float(found[1]) if found[2] == "C" else (float(found[1]) - 32) / 1.8
    return None


def no_wash_in_the_cold(plan: Plan, yard: Yard, tasks: Sequence[Task], book: Rulebook) -> None:
    """Every sheet with a wash says from which warmth combs are lifted, and is not for a day that is usually colder.

    A health look on the same sheet wants 15 °C, and waits for a warm day of its own; a wash bears 13 (Bee Craft).
    """
    washed = {t.planned for t in tasks if t.logs == "count"}
    for visit in (v for v in plan.visits if v.yard == yard.key and v.day in washed):
        least = bears(visit.stop_if)
        assert least is not None, f"{visit.id} has a wash, and says nothing of the cold"
        high = usual_high(yard, book, visit.day)
        assert high >= min(least, 13.0) - DOUBT, f"{visit.id}: a wash at {high:.1f} °C, and the sheet bears {least:.1f}"


def boards_go_in_before(tasks: Sequence[Task]) -> None:
    """A board that takes a wash's place is read on a later visit than it went in on, days after."""
    inside = {(t.colony, t.season, t.n): t.planned for t in tasks if (t.method, t.step) == ("cold_count", "put_in")}
    for task in tasks:
        if (task.method, task.step) == ("cold_count", "read") and (task.colony, task.season, task.n) in inside:
            put_in, read = inside[task.colony, task.season, task.n], task.planned
            assert put_in is not None
            assert read is not None
            assert read - put_in >= 3, f"{task.id} on the day after its board went in"
            doses = [t.planned for t in tasks if t.colony == task.colony and t.logs == "treated" and t.planned]
            under = [day for day in doses if day < read and put_in < day + FELLED]
            assert not under, f"{task.id}: the board counts what the dose of {short_day(under[0])} fells"
