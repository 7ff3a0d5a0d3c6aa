"""Pick: a day and a product for each need that no year knows of. In: small yards, shipped labels.

Labels are shipped ones, for their real limits; hives, days and needs are made up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import on, shipped

from ipmcal.model.plan.verdict import Allowed, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Question, barred, harvesting, offer_of, offered, taken_off
from ipmcal.planning.choose.outcome import decided, excluded, gives_way, runners_up, window_of
from ipmcal.planning.choose.pick import Chosen, picked
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell, Standing, Stay, use_of
from ipmcal.planning.labels.verdict import Where, verdict
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
COUNTED = Want("counted", on("06-20"), on("09-01"), on("08-14"), takes_supers=True)
BREAK = Want("brood_break", on("11-20"), on("12-31"), on("12-11"), broodless=True)
BROODLESS = BroodSpell("none", on("11-15"), on("12-31"), "found")


def ask(
    *hives: Hive, needs: tuple[Want, ...] = (COUNTED, BREAK), days: tuple[int, ...] = WEEKS, **more: object
) -> Question:
    facts: dict[str, object] = {"jurisdiction": "uk", "weather": Weather(), **more}
    return Question(needs, hives, days, book=shipped(), **facts)  # type: ignore[arg-type]


def given_of(courses: Sequence[Chosen], need: str) -> tuple[str, str]:
    """The main product of a need, and what each hive gets, in their order; empty where it is not served."""
    one = next((course for course in courses if course.need.name == need), None)
    return ("", "") if one is None else (one.main, " ".join(dose.treatment or "none" for dose in one.doses))


# Against every day and product ----------------------------------------------------------------------------------------


def allowed(question: Question, hive: Hive, i: int) -> dict[tuple[int, str], Offer]:
    """What a label allows a hive for a need, by day and product: asked one by one."""
    need, found = question.needs[i], {}
    for name in question.products or sorted(question.book.treatments):
        label = label_for(question.book.treatments[name], question.jurisdiction, question.book)
        if label is None or not need.wants(hive.key) or not need.suits(label):
            continue
        for day in question.days:
            use = use_of(label, day, question.book)
            holds = need.holds(use) and not barred(question, hive, name, use)
            dose = offer_of(question, hive, name, label, use, need) if holds else None
            if dose is not None:
                found[day, name] = dose
    return found


PRODUCTS = ("amitraz_strip", "thymol_gel", "oxalic_trickle", "formic_strips_pair", "tau_fluvalinate_strip")
DAYS = tuple(on(day) for day in ("06-26", "07-17", "08-14", "08-21", "11-27", "12-18"))


@st.composite
def standings(draw: st.DrawFn) -> Standing:
    """A hive of some size, with or without supers, that had this or that before."""
    before = draw(
        st.lists(
            st.sampled_from(
                [
                    CourseSpell("amitraz_strip", "amidine", on("02-01"), on("03-20")),
                    CourseSpell("tau_fluvalinate_strip", "pyrethroid", on("2026-09-01"), on("2026-10-20")),
                    CourseSpell("formic_strips_pair", "formic", on("06-10"), on("06-24")),
                    CourseSpell("amitraz_strip", "amidine", on("2026-08-20"), on("2026-10-05")),
                    CourseSpell("thymol_gel", "terpene", on("08-01"), None),
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
def questions(draw: st.DrawFn) -> Question:
    hives = tuple(Hive(str(i), draw(standings())) for i in range(draw(st.integers(1, 2))))
    needs = draw(st.sampled_from([(COUNTED,), (COUNTED, BREAK), (replace(COUNTED, takes_supers=False), BREAK)]))
    if draw(st.booleans()):
        needs = (*needs, Want("brood_break_2", on("07-10"), on("08-21"), on("07-17"), colonies=("0",)))
    products = tuple(draw(st.lists(st.sampled_from(PRODUCTS), min_size=1, max_size=3, unique=True)))
    days = tuple(sorted(draw(st.sets(st.sampled_from(DAYS), min_size=1, max_size=4))))
    return ask(*hives, needs=needs, days=days, products=products)


@settings(max_examples=60, deadline=None)
@given(questions())
def test_whether_anything_is_offered_is_what_is_offered(question: Question) -> None:
    """With every product that has a label there, whatever the yard's own are."""
    for hive, need, day in product(question.hives, question.needs, question.days):
        for name, label in replace(question, products=()).names():
            use = question.use(name, label, day)
            made = offer_of(question, hive, name, label, use, need)
            told = "" if made is None else "as_is" if made.supers_off is None else "off"
            assert offered(question, hive, name, label, use, need) == told, f"{name} on {day}"


@settings(max_examples=60, deadline=None)
@given(questions())
def test_no_day_and_product_would_leave_fewer_hives_of_the_weightiest_need_without(question: Question) -> None:
    """Every day by every product, asked one by one: with what else each hive may have then."""
    question = replace(question, needs=question.needs[:1])
    may = [allowed(question, hive, 0) for hive in question.hives]
    served = [sum(any(on_ == day for on_, _ in some) for some in may) for day in question.days]
    best = max(served, default=0)
    assert sum(len(one.treated) for one in picked(question)) == best


@settings(max_examples=60, deadline=None)
@given(questions())
def test_no_dose_is_ever_against_its_label_whatever_else_is_planned(question: Question) -> None:
    """Asked anew, with every other course of the hive in its standing, and the supers off where it says so."""
    courses = picked(question)
    for course in courses:
        first, last = window_of(question, courses, course)
        assert first <= course.day <= last
        for dose in (d for d in course.doses if d.treatment is not None):
            hive = next(h for h in question.hives if h.key == dose.key)
            others = [d for c in courses if c is not course for d in c.doses if d.key == dose.key]
            standing = hive.standing.with_course(
                *(
                    CourseSpell(d.treatment, question.book.treatments[d.treatment].class_, d.use.first, d.use.last)
                    for d in others
                    if d.treatment is not None and d.use is not None
                )
            )
            for day in (first, last):
                at = standing if dose.supers_off is None else taken_off(standing, day)
                where = Where("uk", Weather(), question.book)
                found = verdict(dose.treatment or "", where, harvesting(at), day, search=False)
                assert not [r for r in found.reasons if r.weight is Weight.FORBIDS and not r.by_hand]


# What a hive gets -----------------------------------------------------------------------------------------------------


def test_a_hive_whose_label_refuses_the_yards_product_gets_another_on_the_same_day() -> None:
    """Formic strips are not for nuclei: the nucleus gets thymol on the day on which the others get formic acid."""
    hives = (Hive("1", PLAIN), Hive("2", PLAIN), Hive("3", replace(PLAIN, kind="nucleus")))
    alone = (Hive("1", PLAIN), Hive("2", PLAIN))
    liked = ("formic_strips_pair", "thymol_mix_tablet")
    made = decided(ask(*hives, needs=(COUNTED,), products=liked))
    (course,) = made.courses
    assert given_of(made.courses, "counted") == (
        "formic_strips_pair",
        "formic_strips_pair formic_strips_pair thymol_mix_tablet",
    )
    assert {d.use.first for d in course.doses if d.use} == {course.day}
    assert made.left == ()
    assert given_of(picked(ask(*alone, needs=(COUNTED,), products=liked[::-1])), "counted")[0] == "thymol_mix_tablet"


def test_over_the_line_it_begins_within_a_week_however_much_honey_each_day_of_waiting_would_save() -> None:
    """Treat all hives within days (common practice); supers would be on until mid September, so waiting always pays."""
    now = Want("counted", on("07-01"), on("07-15"), on("07-01"), takes_supers=True)
    supers = (Stay(on("05-10"), on("09-15")),)
    hive, days = Hive("1", replace(PLAIN, supers=supers)), tuple(range(on("07-01"), on("07-16")))
    products = ("thymol_gel", "formic_strips_pair")
    (course,) = picked(ask(hive, needs=(now,), days=days, products=products, since=on("07-02")))
    assert course.main == "thymol_gel"
    assert course.day <= on("07-09")


def test_over_the_line_supers_that_come_off_within_the_week_are_waited_for() -> None:
    now = Want("counted", on("07-01"), on("07-15"), on("07-01"), takes_supers=True)
    supers = (Stay(on("05-10"), on("07-05")),)
    hive, days = Hive("1", replace(PLAIN, supers=supers)), tuple(range(on("07-01"), on("07-16")))
    made = decided(ask(hive, needs=(now,), days=days, products=("thymol_gel",)))
    assert on("07-05") <= made.courses[0].day <= on("07-08")


def test_a_hive_that_nothing_is_allowed_in_is_named_as_the_reservoir_that_it_remains() -> None:
    hives = (Hive("1", PLAIN), Hive("2", replace(PLAIN, bee_frames=3, kind="nucleus")))
    made = decided(ask(*hives, needs=(COUNTED,), products=("formic_strips_pair",)))
    assert given_of(made.courses, "counted") == ("formic_strips_pair", "formic_strips_pair none")
    assert made.left == (("counted", ("2",)),)


def test_one_hives_supers_that_hold_up_the_yard_are_said() -> None:
    hives = (Hive("1", PLAIN), Hive("2", PLAIN), Hive("3", replace(PLAIN, supers=(Stay(on("05-10"), None),))))
    need = replace(COUNTED, takes_supers=False)
    question = ask(*hives, needs=(need,), products=("amitraz_strip", "formic_strips_pair"), jurisdiction="us")
    made = decided(question)
    assert made.left == ()
    (why,) = [e for e in excluded(question, ()) if e.treatment == "amitraz_strip"]
    assert (why.keys, why.words) == (("3",), "only 3 in the way of it: supers")


def test_supers_come_off_for_a_course_where_nothing_else_serves_it() -> None:
    hive = Hive("1", replace(PLAIN, supers=SUPERS))
    made = decided(ask(hive, needs=(COUNTED,), products=("amitraz_strip",), jurisdiction="fr"))
    (course,), (off,) = made.courses, made.supers_off
    assert course.day == off.day
    assert "42 days from first to last" in off.words


def test_where_nothing_fits_it_says_what_could_give_way_and_never_a_label() -> None:
    need = replace(COUNTED, last=on("08-10"), takes_supers=False)
    question = ask(Hive("1", replace(PLAIN, supers=SUPERS)), needs=(need,), products=("amitraz_strip",))
    made = decided(question)
    assert (made.courses, made.left) == ((), (("counted", ("1",)),))
    assert {(g.what, g.treatment) for g in gives_way(question, dict(made.left))} == {("supers", "amitraz_strip")}
    in_flow = replace(PLAIN, supers=(Stay(on("05-10"), None),), kind="nucleus", bee_frames=2)
    flow = replace(in_flow, flows={"main": ((on("06-01"), on("12-31")),)})  # a label's limits: nothing gives way
    barred = ask(Hive("1", flow), needs=(need,), products=("amitraz_strip",))
    assert list(gives_way(barred, {"counted": ("1",)})) == []


def test_a_day_that_is_none_of_the_keepers_is_offered_where_only_that_would_do() -> None:
    need = replace(COUNTED, first=on("08-15"), last=on("08-20"), best=on("08-15"))
    question = ask(Hive("1", PLAIN), needs=(need,), products=("amitraz_strip",))
    assert [(g.what, g.day) for g in gives_way(question, dict(decided(question).left))] == [("days", on("08-15"))]


def test_the_keepers_order_of_products_decides_before_advice_does() -> None:
    names = ("tau_fluvalinate_strip", "amitraz_strip")
    for order in (names, names[::-1]):
        made = picked(ask(Hive("1", PLAIN), needs=(COUNTED,), products=order))
        assert given_of(made, "counted")[0] == order[0]


def test_a_synthetic_class_is_not_given_again_before_it_has_rested_whatever_is_counted() -> None:
    before = CourseSpell("amitraz_strip", "amidine", on("2027-01-10"), on("2027-02-21"))
    question = ask(Hive("1", replace(PLAIN, courses=(before,))), needs=(COUNTED,), products=("amitraz_strip",))
    assert picked(question) == ()
    assert [one.words for one in excluded(question, ())] == ["its class has not rested since it was given"]


def test_a_break_in_brood_is_paid_for_with_oxalic_acid() -> None:
    """A queen caged on 1 July: nothing capped from 26 July; laying since 27 July: nothing capped until 3 August."""
    spell = BroodSpell("none", on("07-26"), on("08-03"), "caged")
    need = Want("brood_break", on("07-26"), on("08-03"), on("07-26"), colonies=("1",), broodless=True)
    hives = (Hive("1", replace(PLAIN, brood=(spell,))), Hive("2", PLAIN))
    (course,) = picked(ask(*hives, needs=(need,), products=("amitraz_strip", "oxalic_trickle")))
    assert course.main == "oxalic_trickle"
    assert need.first <= course.day <= need.last
    assert [(d.key, d.verdict.verdict if d.verdict else None) for d in course.doses] == [("1", Allowed.ALLOWED)]


def test_a_dose_that_does_not_reach_the_cells_comes_after_one_that_lasts_while_there_is_brood() -> None:
    """Oxalic acid on bees with brood is worth little, however much advice there is against formic acid in a dearth."""
    dearth = replace(PLAIN, flows={"dearth": ((on("06-01"), on("09-30")),)})
    made = picked(ask(Hive("1", dearth), needs=(COUNTED,), products=("oxalic_trickle", "formic_strips_pair")))
    assert given_of(made, "counted")[0] == "formic_strips_pair"


def test_supers_that_were_off_long_before_are_no_task() -> None:
    hive = Hive("1", replace(PLAIN, supers=SUPERS, brood=(BROODLESS,)))
    made = decided(ask(hive, needs=(BREAK,), products=("oxalic_trickle",)))
    assert [course.main for course in made.courses] == ["oxalic_trickle"]
    assert made.supers_off == ()


def test_two_products_are_never_in_a_hive_at_once() -> None:
    soon = Want("counted", on("07-24"), on("07-24"), on("07-24"))
    then = Want("then", on("08-07"), on("08-07"), on("08-07"))
    made = picked(ask(Hive("1", PLAIN), needs=(soon, then), products=("amitraz_strip", "thymol_gel")))
    assert [course.need.name for course in made] == ["counted"]  # six weeks leave no room a fortnight later


def test_the_second_choice_is_another_product_for_the_same_hives() -> None:
    two = ("amitraz_strip", "thymol_mix_tablet")
    question = ask(Hive("1", PLAIN), Hive("2", PLAIN), needs=(COUNTED,), products=two)
    courses = picked(question)
    (other,) = runners_up(question, courses)
    assert (courses[0].main, other.main) == two
    assert other.treated == courses[0].treated == {"1", "2"}
    only = replace(question, products=("amitraz_strip",))
    assert list(runners_up(only, picked(only))) == []
