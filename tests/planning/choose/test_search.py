"""Choose: against brute force over every sequence, and what a year of courses comes to in small yards.

Labels are shipped ones, for their real limits; hives, days and needs are made up.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import on, shipped

from ipmcal.model.plan.verdict import Allowed, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.choose.cost import CRITERIA, Cost, Order, added, nothing, unserved, worth
from ipmcal.planning.choose.doses import Dose
from ipmcal.planning.choose.offer import Ask, Hive, dose_of, taken_off
from ipmcal.planning.choose.outcome import outcome, window_of
from ipmcal.planning.choose.search import Choice, between_reasons, choose, rank
from ipmcal.planning.choose.wants import Need
from ipmcal.planning.labels.standing import BroodSpell, Past, Standing, Stay, use_of
from ipmcal.planning.labels.verdict import verdict
from ipmcal.planning.labels.weather import Weather

PLAIN = Standing(
    kind="overwintered",
    bee_frames=10,
    chambers=1,
    queen=frozenset({"laying"}),
    years=((on("01-01"), on("12-31")),),
    entrance="full",
    floor="closed",
)
SUPERS = (Stay(on("05-10"), on("08-14")),)
WEEKS = tuple(range(on("06-26"), on("12-31"), 7))
BEFORE = Need("before_winter_bees", on("06-20"), on("09-01"), on("08-14"), on("09-05"), takes_supers=True)
WINTER = Need("winter", on("11-20"), on("12-31"), on("12-11"), broodless=True)
BROODLESS = BroodSpell("none", on("11-15"), on("12-31"), "found")


def ask(*hives: Hive, needs: tuple[Need, ...] = (BEFORE, WINTER), days: tuple[int, ...] = WEEKS, **more: object) -> Ask:
    facts: dict[str, object] = {"jurisdiction": "uk", "weather": Weather(), "order": Order(), **more}
    return Ask(needs, hives, days, book=shipped(), **facts)  # type: ignore[arg-type]


# Brute force: every day, main product and dose of every hive ---------------------------------------------------------

Given = dict[tuple[int, str, int, str], Dose]


def allowed(question: Ask, hive: Hive, i: int) -> dict[tuple[int, str], Dose]:
    """What a label allows a hive for a need, by day and product: asked one by one."""
    need, found = question.needs[i], {}
    for name in question.products or sorted(question.book.treatments):
        label = label_for(question.book.treatments[name], question.jurisdiction, question.book)
        if label is None or not need.wants(hive.key) or not need.suits(label):
            continue
        for day in question.days:
            use = use_of(label, day, question.book)
            dose = dose_of(question, hive, name, label, use, need) if need.holds(use) else None
            if dose is not None:
                found[day, name] = dose
    return found


def whole_cost(
    question: Ask, hive: Hive, plans: tuple[tuple[int, str] | None, ...], doses: list[Dose | None]
) -> Cost | None:
    """The cost of what one hive gets; None where one course forbids another."""
    n = len(question.needs)
    total = nothing(question.order, n)
    for i, dose in enumerate(doses):
        need, plan = question.needs[i], plans[i]
        if dose is None:
            total = added(total, unserved(question.order, n, i) if need.wants(hive.key) else nothing(question.order, n))
            continue
        other = plan is None or dose.treatment != plan[1]
        cost = worth(question.order, n, question.book, question.jurisdiction, hive.standing, need, dose, other)
        total = added(total, cost)
    some = [dose for dose in doses if dose is not None]
    for dose in some:
        others = [
            Past(d.treatment or "", question.book.treatments[d.treatment or ""].class_, d.use.first, d.use.last)
            for d in some
            if d is not dose and d.use is not None
        ]
        for reason in between_reasons(question, hive.standing.with_course(*others), dose):
            if reason.weight is Weight.FORBIDS:
                return None
            if reason.weight is Weight.ADVISES:
                total = added(total, question.order.advice(n))
    return total


def brute(question: Ask) -> tuple[Cost, tuple[tuple[str, int, str], ...]]:
    """The best cost of all sequences, and the sequence."""
    n = len(question.needs)
    may = [[allowed(question, hive, i) for i in range(n)] for hive in question.hives]
    rows = [[None, *sorted({key for hive in may for key in hive[i]})] for i in range(n)]
    best: tuple[Cost, tuple[tuple[str, int, str], ...]] | None = None
    for plans in product(*rows):
        total, served = nothing(question.order, n), [False] * n
        for hive, options in zip(question.hives, may, strict=True):
            found = []
            columns = [
                [None, *(d for (day, _), d in options[i].items() if plans[i] is not None and day == plans[i][0])]
                for i in range(n)
            ]
            for doses in product(*columns):
                cost = whole_cost(question, hive, plans, list(doses))
                if cost is not None:
                    found.append((cost, tuple(d.treatment or "~" if d else "~" for d in doses), doses))
            cost, _, doses = min(found, key=lambda item: item[:2])
            total = added(total, cost)
            for i, dose in enumerate(doses):
                served[i] |= dose is not None and plans[i] is not None and dose.treatment == plans[i][1]
        if any(plan is not None and not served[i] for i, plan in enumerate(plans)):
            continue
        told = tuple((question.needs[i].name, p[0], p[1]) for i, p in enumerate(plans) if p is not None)
        if best is None or (total, told) < best:
            best = (total, told)
    assert best is not None
    return best


PRODUCTS = ("amitraz_strip", "thymol_gel", "oxalic_trickle", "formic_strips_pair", "tau_fluvalinate_strip")
DAYS = tuple(on(day) for day in ("06-26", "07-17", "08-14", "08-21", "11-27", "12-18"))


@st.composite
def standings(draw: st.DrawFn) -> Standing:
    """A hive of some size, with or without supers, that had this or that before."""
    before = draw(
        st.lists(
            st.sampled_from(
                [
                    Past("amitraz_strip", "amidine", on("02-01"), on("03-20")),
                    Past("tau_fluvalinate_strip", "pyrethroid", on("2026-09-01"), on("2026-10-20")),
                    Past("formic_strips_pair", "formic", on("06-10"), on("06-24")),
                    Past("amitraz_strip", "amidine", on("2026-08-20"), on("2026-10-05")),
                    Past("thymol_gel", "terpene", on("08-01"), None),
                ]
            ),
            max_size=2,
            unique=True,
        )
    )
    return replace(
        PLAIN,
        bee_frames=draw(st.sampled_from([4, 6, 10])),
        kind=draw(st.sampled_from(["overwintered", "nucleus"])),
        supers=draw(st.sampled_from([(), SUPERS, (Stay(on("05-10"), None),)])),
        brood=draw(st.sampled_from([(), (BROODLESS,)])),
        courses=tuple(before),
        flows={"main": ((on("06-01"), on("07-10")),)} if draw(st.booleans()) else {},
    )


@st.composite
def questions(draw: st.DrawFn) -> Ask:
    hives = tuple(Hive(str(i), draw(standings())) for i in range(draw(st.integers(1, 2))))
    needs = draw(st.sampled_from([(BEFORE,), (BEFORE, WINTER), (replace(BEFORE, takes_supers=False), WINTER)]))
    if draw(st.booleans()):
        needs = (*needs, Need("counted", on("07-10"), on("08-21"), on("07-17"), colonies=("0",)))
    products = tuple(sorted(draw(st.sets(st.sampled_from(PRODUCTS), min_size=1, max_size=3))))
    criteria = tuple(draw(st.permutations(CRITERIA))) if draw(st.booleans()) else CRITERIA
    order = Order(criteria, tuple(draw(st.permutations(products))) if draw(st.booleans()) else ())
    days = tuple(sorted(draw(st.sets(st.sampled_from(DAYS), min_size=1, max_size=4))))
    return ask(*hives, needs=needs, days=days, order=order, products=products)


@settings(max_examples=100, deadline=None)
@given(questions())
def test_it_finds_what_brute_force_over_all_sequences_finds(question: Ask) -> None:
    found = choose(question)
    assert (found.cost, rank(found)) == brute(question)


def mains(found: Choice) -> dict[str, tuple[str, str]]:
    """The product and the hives' own products of each need."""
    return {c.need.name: (c.main, " ".join(d.treatment or "none" for d in c.doses)) for c in found.courses}


# What a year comes to -------------------------------------------------------------------------------------------------


def test_a_hive_whose_label_refuses_the_yards_product_gets_another_on_the_same_day() -> None:
    """Formic strips are not for nuclei: the nucleus gets thymol on the day on which the others get formic acid."""
    hives = (Hive("1", PLAIN), Hive("2", PLAIN), Hive("3", replace(PLAIN, kind="nucleus")))
    liked = ("formic_strips_pair", "thymol_mix_tablet")
    made = outcome(ask(*hives, needs=(BEFORE,), products=liked, order=Order(CRITERIA, liked)))
    (course,) = made.winner.courses
    assert mains(made.winner)["before_winter_bees"] == (
        "formic_strips_pair",
        "formic_strips_pair formic_strips_pair thymol_mix_tablet",
    )
    assert {d.use.first for d in course.doses if d.use} == {course.day}
    assert made.reservoirs == ()


def test_without_a_liking_the_yard_gets_what_all_of_its_hives_may_have() -> None:
    hives = (Hive("1", PLAIN), Hive("2", PLAIN), Hive("3", replace(PLAIN, kind="nucleus")))
    made = choose(ask(*hives, needs=(BEFORE,), products=("formic_strips_pair", "thymol_mix_tablet")))
    assert mains(made)["before_winter_bees"][1] == " ".join(["thymol_mix_tablet"] * 3)


def test_a_hive_that_nothing_is_allowed_in_is_named_as_the_reservoir_that_it_remains() -> None:
    hives = (Hive("1", PLAIN), Hive("2", replace(PLAIN, bee_frames=3, kind="nucleus")))
    made = outcome(ask(*hives, needs=(BEFORE,), products=("formic_strips_pair",)))
    assert mains(made.winner)["before_winter_bees"] == ("formic_strips_pair", "formic_strips_pair none")
    assert made.reservoirs == (("before_winter_bees", ("2",)),)


def test_one_hives_supers_that_hold_up_the_yard_are_said() -> None:
    hives = (Hive("1", PLAIN), Hive("2", PLAIN), Hive("3", replace(PLAIN, supers=(Stay(on("05-10"), None),))))
    need = replace(BEFORE, takes_supers=False)
    made = outcome(ask(*hives, needs=(need,), products=("amitraz_strip", "formic_strips_pair")))
    assert mains(made.winner)["before_winter_bees"][0] == "formic_strips_pair"  # all three can have it
    (why,) = [e for e in made.excluded if e.treatment == "amitraz_strip"]
    assert (why.keys, why.words) == (("3",), "only 3 in the way of it: supers")


def test_supers_come_off_by_the_day_that_leaves_room_for_the_course_before_winter_bees() -> None:
    """Six weeks of amitraz, over by 5 September: it begins by 25 July, and the supers are off by then."""
    made = outcome(ask(Hive("1", replace(PLAIN, supers=SUPERS)), needs=(BEFORE,), products=("amitraz_strip",)))
    (off,) = made.supers_off
    assert made.winner.courses[0].day == off.day == on("07-24")  # the last of the keeper's days before
    assert off.latest == on("07-25")
    assert "42 days from first to last" in off.words
    assert made.winner.courses[0].doses[0].supers_off == off.day


def test_where_nothing_fits_it_says_what_could_give_way_and_never_a_label() -> None:
    need = replace(BEFORE, takes_supers=False)
    made = outcome(ask(Hive("1", replace(PLAIN, supers=SUPERS)), needs=(need,), products=("amitraz_strip",)))
    assert made.winner.courses == ()
    assert made.runner_up is None
    assert made.reservoirs == (("before_winter_bees", ("1",)),)
    assert {(g.what, g.treatment) for g in made.give_way} == {("supers", "amitraz_strip"), ("late", "amitraz_strip")}
    flow = replace(PLAIN, flows={"main": ((on("06-01"), on("12-31")),)})  # a label's limit: nothing gives way
    assert outcome(ask(Hive("1", flow), needs=(need,), products=("amitraz_strip",))).give_way == ()


def test_a_day_that_is_none_of_the_keepers_is_offered_where_only_that_would_do() -> None:
    need = replace(BEFORE, first=on("08-15"), last=on("08-20"), best=on("08-15"), ended_by=None)
    made = outcome(ask(Hive("1", PLAIN), needs=(need,), products=("amitraz_strip",)))
    assert [(g.what, g.day) for g in made.give_way] == [("days", on("08-15"))]


@pytest.mark.parametrize(
    ("last", "class_", "chosen"),
    [("amitraz_strip", "amidine", "tau_fluvalinate_strip"), ("tau_fluvalinate_strip", "pyrethroid", "amitraz_strip")],
)
def test_it_rotates_classes_knowing_last_years(last: str, class_: str, chosen: str) -> None:
    before = Past(last, class_, on("2026-08-20"), on("2026-10-03"))
    hive = Hive("1", replace(PLAIN, courses=(before,)))
    question = ask(hive, needs=(BEFORE,), products=("amitraz_strip", "tau_fluvalinate_strip"))
    assert mains(choose(question))["before_winter_bees"][0] == chosen


def test_the_keepers_order_of_products_decides_before_advice_does() -> None:
    names = ("tau_fluvalinate_strip", "amitraz_strip")
    for order in (names, names[::-1]):
        question = ask(Hive("1", PLAIN), needs=(BEFORE,), products=order, order=Order(CRITERIA, order))
        assert mains(choose(question))["before_winter_bees"][0] == order[0]


def test_a_break_in_brood_is_paid_for_with_oxalic_acid() -> None:
    """A queen caged on 1 July: nothing capped from 26 July; laying since 27 July: nothing capped until 3 August."""
    spell = BroodSpell("none", on("07-26"), on("08-03"), "caged")
    need = Need("brood_break", on("07-26"), on("08-03"), on("07-26"), colonies=("1",), broodless=True)
    hives = (Hive("1", replace(PLAIN, brood=(spell,))), Hive("2", PLAIN))
    made = outcome(ask(*hives, needs=(need,)))
    (course,) = made.winner.courses
    assert course.main == "oxalic_trickle"
    assert need.first <= course.day <= need.last
    assert [(d.key, d.verdict.verdict if d.verdict else None) for d in course.doses] == [("1", Allowed.ALLOWED)]


def test_a_dose_that_does_not_reach_the_cells_comes_after_one_that_lasts_while_there_is_brood() -> None:
    """Oxalic acid on bees with brood is worth little, however much advice there is against formic acid in a dearth."""
    dearth = replace(PLAIN, flows={"dearth": ((on("06-01"), on("09-30")),)})
    made = choose(ask(Hive("1", dearth), needs=(BEFORE,), products=("formic_strips_pair", "oxalic_trickle")))
    assert mains(made)["before_winter_bees"][0] == "formic_strips_pair"


def test_supers_that_were_off_long_before_are_no_task() -> None:
    hive = Hive("1", replace(PLAIN, supers=SUPERS, brood=(BROODLESS,)))
    made = outcome(ask(hive, needs=(WINTER,)))
    assert made.winner.courses[0].main == "oxalic_trickle"
    assert made.supers_off == ()


def test_two_products_are_never_in_a_hive_at_once() -> None:
    soon = Need("counted", on("07-24"), on("07-24"), on("07-24"))
    then = Need("then", on("08-07"), on("08-07"), on("08-07"))
    question = ask(Hive("1", PLAIN), needs=(soon, then), products=("amitraz_strip", "thymol_gel"))
    made = choose(question)
    assert len(made.courses) == 1  # six weeks of either leave no room for the other a fortnight later


def test_the_runner_up_serves_the_needs_with_other_products_and_is_no_better() -> None:
    made = outcome(ask(Hive("1", replace(PLAIN, brood=(BROODLESS,)))))
    assert made.runner_up is not None
    assert made.runner_up.signature != made.winner.signature
    assert made.runner_up.cost >= made.winner.cost


@settings(max_examples=60, deadline=None)
@given(questions())
def test_no_dose_is_ever_against_its_label_whatever_else_is_planned(question: Ask) -> None:
    """Asked anew, with every other course of the hive in its standing, and the supers off where it says so."""
    made = outcome(question)
    for course in made.winner.courses:
        first, last = window_of(question, made.winner, course)
        assert first <= course.day <= last
        for dose in (d for d in course.doses if d.treatment is not None):
            hive = next(h for h in question.hives if h.key == dose.key)
            others = [d for c in made.winner.courses if c is not course for d in c.doses if d.key == dose.key]
            standing = hive.standing.with_course(
                *(
                    Past(d.treatment, question.book.treatments[d.treatment].class_, d.use.first, d.use.last)
                    for d in others
                    if d.treatment is not None and d.use is not None
                )
            )
            for day in (first, last):
                at = standing if dose.supers_off is None else taken_off(standing, day)
                found = verdict(dose.treatment or "", "uk", at, day, Weather(), question.book, search=False)
                assert not [r for r in found.reasons if r.weight is Weight.FORBIDS and not r.by_hand]


def test_an_order_that_leaves_out_a_criterion_is_refused() -> None:
    with pytest.raises(ValueError, match="each criterion once"):
        Order(("served", "same"))
    assert Order(tuple(shipped().planning.preference))


def test_where_advice_weighs_more_than_one_product_each_hive_rotates_by_its_own_past() -> None:
    amitraz, tau = (
        Past("amitraz_strip", "amidine", on("2026-08-20"), on("2026-10-03")),
        Past("tau_fluvalinate_strip", "pyrethroid", on("2026-08-20"), on("2026-10-03")),
    )
    hives = (Hive("1", replace(PLAIN, courses=(amitraz,))), Hive("2", replace(PLAIN, courses=(tau,))))
    products = ("amitraz_strip", "tau_fluvalinate_strip")
    order = Order(("served", "advice", *(c for c in CRITERIA if c not in ("served", "advice"))))
    question = ask(*hives, needs=(BEFORE,), products=products, order=order)
    made = choose(question)
    assert {d.key: d.treatment for d in made.courses[0].doses} == {"1": "tau_fluvalinate_strip", "2": "amitraz_strip"}
    assert (made.cost, rank(made)) == brute(question)
