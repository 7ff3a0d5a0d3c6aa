"""Seasons lived day by day: what is planned is done, found, left out or skipped, hives come and go, re-planned daily.

After each visit the plan is made anew, all invariants are checked, and no task may be lost without a cause.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from planning.invariants import check_plan, steps_of
from planning.yards import (
    FORMS,
    SUN,
    YEAR,
    colony,
    drawn,
    kept_as_planned,
    on,
    outfit,
    outfits,
    remaining,
    rules,
    season_begins,
    shipped,
    short,
    yard,
)
from sweeps import some_of

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task, Visit
from ipmcal.model.values.cited import Place
from ipmcal.planning.days.frame import A_WEEK
from ipmcal.planning.plan import make_plan
from ipmcal.planning.recall.roster import roster

FIRST, LAST = on("01-01"), on("12-31")
ENDS = ("died", "sold", "absconded")
MADE = ("langstroth_10 deep", "langstroth_10 deep deep", "")
KEPT = settings(max_examples=some_of(8), deadline=None, derandomize=True, database=None, phases=[Phase.generate])
OWED = (Status.PLANNED, Status.UNKNOWN, Status.IMPOSSIBLE)
TROUBLE = ("queen missing", "queen laying", "swarmed", "caged", "released", "supers_on 1", "supers_off", "strength 6")


def two_yards() -> Outfit:
    """Two yards an hour apart: trap frames of both kinds in one, a package and an old colony in the other."""
    home = yard(colony("1", traps=[short(), drawn("T2", home=9)]), colony("2", traps=[short()]), key="home")
    away = yard(colony("3", traps=[short()]), colony("4", "2027-04-24", "package"), key="away", weekdays=(SUN,))
    return outfit(home, away, journal=())


# All done as planned ------------------------------------------------------------------------------------------------


@KEPT
@given(outfits(history=False, programs=("full",), most=2))
def test_who_does_all_as_planned_keeps_the_plan_from_visit_to_visit(
    case: tuple[Outfit, int],
) -> None:
    """After each visit the rest of the plan is what it was.

    Where there are no fixed days, or splits, the plan may be packed otherwise (see test_plan.py); what comes late is
    left out: a late count is taken for the next one where that is due by then.
    """
    kept = case[0]
    (there,) = kept.yards
    assume(there.weekdays is not None and all(c.kind != "split" for c in there.colonies))
    season = season_begins(there.region)
    first = made = make_plan(replace(kept, journal=()), rules(), season, YEAR)
    assume(not [c for c in first.conflicts if "late" in because_words(c.what)])
    assume(not any(": waits until " in note for note in first.notes))  # late, too: for brood, or for more bees
    for visit in first.visits:
        journal = (*kept_as_planned(first, visit.day + 1),)
        later = make_plan(replace(kept, journal=journal), rules(), visit.day + 1, YEAR)
        assert remaining(later, visit.day + 1) == remaining(made, visit.day + 1)
        made = later
    assert {t.status for t in made.tasks} <= {Status.DONE}


@KEPT
@given(outfits(history=False, programs=("full", "first_year"), most=2), st.integers(0, 60))
def test_with_all_shipped_methods_what_was_done_as_planned_stays_done(case: tuple[Outfit, int], chosen: int) -> None:
    """Courses and supers with it. What is left may be packed otherwise: only the fewest visits are proved."""
    (there,) = case[0].yards
    season = season_begins(there.region)
    old = [
        replace(c, kind="overwintered", began=season - 300, began_text=f"{day(season - 300)} overwintered")
        for c in there.colonies
    ]
    kept = replace(case[0], yards=(replace(there, colonies=tuple(old)),), journal=())
    first = make_plan(kept, shipped(), season, YEAR)
    inside = [v for v in first.visits if v.day < first.yards[0].ends]  # a board of the days after is the next season's
    assume(inside and not [c for c in first.conflicts if "late" in because_words(c.what)])
    morning = inside[chosen % len(inside)].day + 1
    later = make_plan(replace(kept, journal=tuple(kept_as_planned(first, morning))), shipped(), morning, YEAR)
    check_plan(later, replace(kept, journal=tuple(kept_as_planned(first, morning))), shipped())
    was = {t.id for t in first.tasks if t.planned is not None and t.planned < morning}
    assert was <= {t.id for t in later.tasks if t.status is Status.DONE}
    assert not [t.id for t in later.tasks if t.status is Status.UNKNOWN]


def test_two_yards_done_as_planned_end_with_everything_done_and_nothing_asked() -> None:
    kept = two_yards()
    first = made = make_plan(kept, rules(), FIRST, YEAR)
    for day_ in sorted({v.day for v in first.visits}):
        made = make_plan(replace(kept, journal=tuple(kept_as_planned(first, day_ + 1))), rules(), day_ + 1, YEAR)
        check_plan(made, kept, rules())
        assert remaining(made, day_ + 1) == remaining(first, day_ + 1)
    assert {t.id for t in made.tasks} == {t.id for t in first.tasks}
    assert {t.status for t in made.tasks} == {Status.DONE}


# Anything may happen ------------------------------------------------------------------------------------------------


class Seasons(RuleBasedStateMachine):
    """One keeper's season. ``today`` is the last day worked; the plan is that of the morning after."""

    @initialize()
    def spring(self) -> None:
        self.outfit = two_yards()
        self.today = FIRST - 1
        self.made = 0
        self.lines = 0
        self.plan = make_plan(self.outfit, rules(), FIRST, 2027)

    # What a keeper does ----------------------------------------------------------------------------------------------

    @precondition(lambda self: self._next() is not None)
    @rule(chance=st.randoms(use_true_random=False), share=st.sampled_from([0, 2, 5, 9, 10]))
    def visit(self, chance: object, share: int) -> None:
        """The next visit: ``share`` in ten of its tasks are worked at, the others are not written about."""
        visit = self._next()
        assert visit is not None
        self.today = visit.day
        events = []
        for task in map(self.plan.task, visit.tasks):
            if chance.randrange(10) < share:  # type: ignore[attr-defined]
                events.extend(self._worked(task, chance))
        self._tell(*events)

    @precondition(lambda self: self._next() is not None)
    @rule(gap=st.integers(1, 40))
    def nobody_comes(self, gap: int) -> None:
        """Days or weeks go by; nothing is written."""
        self.today = min(self.today + gap, LAST - 1)
        self._tell()

    @rule(chance=st.randoms(use_true_random=False), word=st.sampled_from(TROUBLE))
    def something_is_seen(self, chance: object, word: str) -> None:
        key = chance.choice(self._alive() or [""])  # type: ignore[attr-defined]
        if key:
            name, _, value = word.partition(" ")
            self._tell(self._line(key, name, value))

    @rule(chance=st.randoms(use_true_random=False), how=st.sampled_from([*ENDS, "united"]))
    def one_ends(self, chance: object, how: str) -> None:
        alive = self._alive()
        if len(alive) > 1:
            key, other = chance.sample(alive, 2)  # type: ignore[attr-defined]
            self._tell(self._line(key, how, other if how == "united" else ""))

    @rule(chance=st.randoms(use_true_random=False), how=st.sampled_from(["split_from", "caught", "began"]))
    def one_more(self, chance: object, how: str) -> None:
        alive = self._alive()
        if self.made < 3 and alive:
            self.made += 1
            hive = chance.choice(MADE)  # type: ignore[attr-defined]
            parent = chance.choice(alive)  # type: ignore[attr-defined]
            value = {"split_from": f"{parent} {hive}".strip(), "caught": hive, "began": "swarm"}[how]
            where = chance.choice(["home", "away"])  # type: ignore[attr-defined]
            self._tell(self._line(f"new{self.made}", how, value, where))

    @rule(chance=st.randoms(use_true_random=False), to=st.sampled_from(["home", "away"]))
    def one_moves(self, chance: object, to: str) -> None:
        alive = self._alive()
        if alive:
            self._tell(self._line(chance.choice(alive), "moved", to))  # type: ignore[attr-defined]

    @rule(
        chance=st.randoms(use_true_random=False),
        what=st.sampled_from(
            [
                "strips_in amitraz_strip 2 lot K by AB",
                "strips_out amitraz_strip 2",
                "strips_out amitraz_strip 1",
                "treated oxalic_trickle 35 mL lot K by AB",
                "requeened 2027 marked",
                "hive_changed langstroth_10 deep deep",
                "count 0/300",
                "count 12/300",
                "count 5/100",
            ]
        ),
    )
    def one_is_worked(self, chance: object, what: str) -> None:
        alive = self._alive()
        if alive:
            word, _, value = what.partition(" ")
            self._tell(self._line(chance.choice(alive), word, value))  # type: ignore[attr-defined]

    # What holds ------------------------------------------------------------------------------------------------------

    @invariant()
    def holds(self) -> None:
        check_plan(self.plan, self.outfit, rules())

    # Inside ----------------------------------------------------------------------------------------------------------

    def _next(self) -> Visit | None:
        return next((v for v in self.plan.visits if v.day > self.today), None)

    def _alive(self) -> list[str]:
        ended = {e.colony for e in self.outfit.journal or () if rules().events[e.word].effect == "ends"}
        here = [c for y in roster(self.outfit, rules(), max(self.today, FIRST)).yards for c in y.colonies]
        return [c.key for c in here if c.key not in ended and c.began <= self.today]

    def _where(self, key: str) -> str:
        yards = roster(self.outfit, rules(), max(self.today, FIRST)).yards
        return next((y.key for y in yards for c in y.colonies if c.key == key), "home")

    def _line(self, key: str | None, word: str, value: str, where: str = "", trap: str | None = None) -> Event:
        self.lines += 1
        place = Place("journal.csv", self.lines, 1)
        return Event(max(self.today, FIRST), where or self._where(key or ""), key, word, trap, value, "", place)

    def _worked(self, task: Task, chance: object) -> list[Event]:
        """A finding as the sheet asks for it, or done as planned, or crossed out."""
        event = rules().events[task.logs]
        whose = (task.colony, task.yard, task.trap)
        if chance.randrange(8) == 0:  # type: ignore[attr-defined]
            return [self._line(whose[0], "skipped", f"{task.method}/{task.step}/{task.n}", whose[1], whose[2])]
        if event.value == "count":
            value = f"{chance.choice([0, 1, 2, 6, 9, 40])}/{chance.choice([100, 300, 320])}"  # type: ignore[attr-defined]
            return [self._line(whose[0], task.logs, value, whose[1])]
        product = task.method if task.method in rules().treatments else task.method.rpartition("_")[0]
        told = {"supers_on": "1", "done": task.step}.get(task.logs, FORMS.get(event.value, ""))
        value = f"{product} 2 lot K by AB" if event.value == "treatment" else told
        done = self._line(whose[0], task.logs, value, whose[1], whose[2])
        if not task.answers:
            return [done]
        answer = chance.choice([a for a in task.answers if a.day == task.planned])  # type: ignore[attr-defined]
        found = self._line(whose[0], "found", answer.finding, whose[1], whose[2])
        return [found, done] if answer.act in ("close", "late") else [found]

    def _tell(self, *events: Event) -> None:
        """Lines are written, and the plan is made anew the next morning."""
        before = self.plan
        self.outfit = replace(self.outfit, journal=(*(self.outfit.journal or ()), *events))
        self.plan = make_plan(self.outfit, rules(), max(self.today + 1, FIRST), 2027)
        known = {task.id for task in self.plan.tasks}
        lost = [t for t in before.tasks if t.status in OWED and t.id not in known]
        unexplained = [told_of(t) for t in lost if not explained(t, self.plan, self.outfit, events)]
        words = [f"{e.colony} {e.word} {e.trap or ''} {e.value}" for e in events]
        assert not unexplained, f"on {day(self.plan.as_of)} {unexplained} lost by {words}"


def day(ordinal: int | None) -> str:
    return "-" if ordinal is None else date.fromordinal(ordinal).isoformat()


def told_of(task: Task) -> str:
    window = task.window
    return f"{task.id} {task.status} {day(task.planned)} in {day(window.opens)}..{day(window.closes)}"


def explained(task: Task, after: Plan, kept: Outfit, events: Sequence[Event]) -> bool:
    """Why a task that stood in a plan need not stand in the next one.

    Its colony ended. Its method is refused now, with a reason. It is a later turn of something that repeats, and that
    is still planned, asked for, or over and done. An earlier step of its method is asked for. Or it is a count that was
    asked for, and mites were or will be counted, or lines were written that ask no more: time alone takes none away.
    A board that stood in for a count in the cold goes where the count is asked for, or planned. A count whose time
    holds another one of its hive by now, such as that after a course, is that one; one that a young hive was barred to
    until its last week is asked of nobody, and without a queen none is counted.
    """
    lines = [e for e in kept.journal or () if e.colony == task.colony and e.day <= after.as_of]
    if any(rules().events[e.word].effect == "ends" for e in lines):
        return True
    subject = f"{task.colony} {task.trap}" if task.trap else task.colony
    if any(r.subject == subject and r.method == task.method for r in after.refusals):
        return True
    same = [t for t in after.tasks if (t.colony, t.trap, t.method) == (task.colony, task.trap, task.method)]
    if task.logs == "supers_off" and any(e.word == "supers_off" for e in events):
        return True  # on and off on one day
    steps = steps_of(task, kept, rules())
    if steps[task.step].again is not None and task.n > 1:
        return bool(same)
    if task.window.opens > LAST:
        return True  # it has come to be the next season's
    before = [t for t in same if list(steps).index(t.step) < list(steps).index(task.step)]
    if any(t.status in (Status.UNKNOWN, Status.MISSED) for t in before):
        return True
    if task.method == rules().planning.cold_count:  # a board in the cold stands in for a count
        return any(t.colony == task.colony and rules().events[t.logs].value == "count" for t in after.tasks)
    mine = [t for t in after.tasks if t.colony == task.colony and t.logs == task.logs == "count"]
    if any(task.window.opens <= (t.planned or 0) <= task.window.closes for t in mine):
        return True
    hive = next((c for view in after.yards for c in view.colonies if c.key == task.colony), None)
    if task.logs == "count" and hive is not None:
        last_week = (task.planned or 0) > task.window.closes - A_WEEK
        if "missing" in hive.queen or (last_week and "overwintered" not in hive.began):
            return True
    if task.method == rules().planning.asked_count:
        counted = [e.day for e in lines if rules().events[e.word].value == "count"]
        due = [t for t in after.tasks if t.colony == task.colony and t.logs == "count" and t.planned]
        return bool(events or due) or any(d >= task.window.opens for d in counted)
    return False


TestSeasons = Seasons.TestCase
TestSeasons.settings = settings(
    max_examples=some_of(20),
    stateful_step_count=25,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],  # a shorter story is not worth minutes of looking for it
    suppress_health_check=list(HealthCheck),
)
