"""What is found is answered: a sick hive closes its yard, a dead one is shut, young queens are left alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from planning.invariants import check_plan
from planning.yards import YEAR, colony, lines, on, outfit, shipped, short, told, yard

from ipmcal.model.outfit.outfit import Colony, Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.planning.choose.known import Setting, standing_of
from ipmcal.planning.plan import make_plan, season_of
from ipmcal.planning.recall.state import recall


def hive(key: str, *texts: str, **kept: object) -> Colony:
    return colony(key, history=lines(*texts, colony=key), strength=8, **kept)  # type: ignore[arg-type]


SATURDAYS = (5,)


def made(*hives: Colony, as_of: str, program: str = "full", days: tuple[int, ...] | None = SATURDAYS) -> Plan:
    """A plan of Saturdays, if not said otherwise, with everything that holds for any plan."""
    kept: Outfit = outfit(yard(*hives, weekdays=days, program=program), journal=())
    found = make_plan(kept, shipped(), on(as_of), YEAR)
    check_plan(found, kept, shipped())
    return found


def planned(of: Plan, key: str) -> dict[str, Task]:
    return {t.id: t for t in of.tasks if t.colony == key and t.status is Status.PLANNED}


def day(of: Plan, task: str) -> str:
    found = of.task(task).planned
    assert found is not None
    return f"{date.fromordinal(found):%m-%d}"


def words(of: Plan) -> str:
    return "\n".join([*of.notes, *(because_words(c.what) for c in of.conflicts)])


# Sick -----------------------------------------------------------------------------------------------------------------

SICK = "05-10 suspect ropy"


def test_a_sick_hive_closes_its_yard_until_healthy_is_written() -> None:
    """No comb, super or bee in or out: what foulbrood leaflets of all lands ask for while an inspector is awaited."""
    well = hive("2", traps=[short()], added=("make_split",))
    closed = made(hive("1", SICK), well, as_of="05-12")
    refused = {(r.subject, r.method): [because_words(w) for w in r.whys] for r in closed.refusals}
    why = ["hive 1 looks sick since Mon 10 May: no comb, super or bee goes in or out of this yard"]
    assert refused["2", "make_split"] == refused["2", "supers"] == why
    assert closed.yards[0].colonies[-1].key == "1", "opened last"
    open_ = made(hive("1", SICK, "05-11 healthy"), well, as_of="05-12")
    assert any(t.logs == "supers_on" for t in open_.tasks if t.planned)
    assert {t.method for t in planned(open_, "2").values()} >= {"make_split", "supers"}


def test_in_the_sick_hive_routine_work_stops_and_mite_treatment_does_not() -> None:
    closed = made(hive("1", SICK), hive("2"), as_of="05-12")
    sick, well = ({t.method for t in planned(closed, key).values()} for key in ("1", "2"))
    assert not sick & {"swarm_check", "mite_count", "spring_health", "supers", "autumn_health"}
    assert "swarm_check" in well
    assert any(name in shipped().treatments for name in sick)


def test_a_trap_that_hangs_is_cut_in_a_closed_yard_and_its_comb_stays_there() -> None:
    hung = hive("2", "04-24 trap_hung T1 2", traps=[short()])
    closed = made(hive("1", SICK), hung, as_of="05-12")
    cut = closed.task("2.T1/trap_comb_cut/2027/cut/1")
    assert "A hive here looks sick: what comes out stays in this yard, bagged; nothing goes in for it." in cut.notes


def test_what_was_united_or_is_to_come_in_a_closed_yard_is_told() -> None:
    coming = colony("3", f"{YEAR}-06-01", "package")
    told = words(made(hive("1", SICK), hive("2", "05-11 split"), coming, as_of="05-12"))
    assert "'a part taken off it', while hive 1 looks sick since Mon 10 May and the yard is closed" in told
    assert "bees to come on Tue 1 June, and hive 1 looks sick since Mon 10 May: the yard is closed" in told


# Dead -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["found_dead", "died"])
@pytest.mark.parametrize("program", ["full", "trap_combs", "counting_only"])
def test_a_dead_hive_is_shut_today_looked_at_and_its_neighbours_are_counted(word: str, program: str) -> None:
    gone = hive("1", "08-01 strips_in amitraz_strip 2 lot K by AB", f"08-20 {word}", traps=[short()])
    of = made(gone, hive("2"), as_of="08-20", program=program, days=None)
    assert {t.logs for t in planned(of, "1").values()} == {"shut", "dead_look", "strips_out"}
    assert day(of, "1/dead_out/2027/shut_it/1") == "08-20"
    assert of.task("1/dead_out/2027/shut_it/1").rain_date is None
    (out,) = (t for t in planned(of, "1").values() if t.logs == "strips_out")
    assert out.planned is not None
    assert out.planned <= on("09-03"), "with the look at its combs, not when its label's weeks are over"
    counts = [t for t in planned(of, "2").values() if t.logs == "count"]
    assert any(t.planned is not None and t.planned <= on("09-03") for t in counts), "within 14 days"


def test_a_dead_hive_that_nobody_shut_is_asked_for_on_the_next_day_and_then_it_is_done() -> None:
    late = made(hive("1", "08-20 died"), hive("2"), as_of="08-23", days=None)
    assert day(late, "1/dead_out/2027/shut_it/1") == "08-23"
    shut = made(hive("1", "08-20 died", "08-20 shut"), hive("2"), as_of="08-23", days=None)
    assert shut.task("1/dead_out/2027/shut_it/1").status is Status.DONE
    done = made(hive("1", "08-20 died", "08-20 shut", "08-24 dead_look mites"), hive("2"), as_of="08-25")
    assert planned(done, "1") == {}
    assert [c.key for c in done.yards[0].colonies] == ["2"], "its record is closed"


# Young queens ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "as_of", "first"),
    [
        (("06-01 swarmed",), "06-02", "06-26"),  # 10 + 10 + 5 days at the latest
        (("06-01 dequeened",), "06-02", "07-02"),  # 16 + 10 + 5
        (("06-01 cell_given",), "06-02", "06-19"),  # 3 + 10 + 5
        (("06-01 queen virgin",), "06-02", "06-16"),  # 10 + 5
        (("06-01 queen mated",), "06-02", "06-06"),  # 5
        (("06-01 swarmed", "06-20 queen laying"), "06-21", "06-21"),
    ],
)
def test_no_count_and_no_drone_comb_before_a_young_queen_lays(texts: tuple[str, ...], as_of: str, first: str) -> None:
    """Days: ``rules/biology.yaml``, where their sources stand."""
    of = made(hive("1", "05-15 trap_hung T1 2", *texts, traps=[short()]), as_of=as_of)
    rough = [t for t in planned(of, "1").values() if t.logs in shipped().planning.rough_work]
    assert rough
    assert min(t.planned for t in rough if t.planned is not None) >= on(first)


def test_the_trap_of_a_hive_with_a_virgin_is_late_and_says_why() -> None:
    of = made(hive("1", "05-01 trap_hung T1 2", "05-22 swarmed", traps=[short()]), as_of="05-24")
    (told,) = (c for c in of.conflicts if c.subject == "1 T1")
    assert because_words(told.what).endswith(": a virgin or queen cells may be in it")
    assert because_words(told.helps) == "leave it shut until she lays; then do it, and count"


def test_cells_that_were_found_are_left_alone_until_the_next_look() -> None:
    found = made(hive("1", "05-28 cells_found"), as_of="05-29")
    looked = made(hive("1", "05-28 cells_found", "06-03 inspected no cells"), as_of="06-04")
    counts = [min(t.planned or 0 for t in planned(of, "1").values() if t.logs == "count") for of in (found, looked)]
    assert counts[0] > on("06-20") > counts[1]


# No eggs --------------------------------------------------------------------------------------------------------------


def test_over_the_line_with_cells_waits_for_the_next_look_at_them_and_takes_no_look_along() -> None:
    """Cells on Saturday 22 May and 13 mites in 300: strips that evaporate wait for the look within the week (common
    practice), and the neighbour's check of that week does not go with the days on which they were to lie first."""
    told = ("05-22 supers_on 1", "05-22 health_look healthy")
    cells = hive("2", *told, "05-22 inspected cells", "05-22 cells_found", "05-22 count 13/300")
    well = hive("1", *told, "05-22 inspected no cells", "05-22 count 2/300")
    there = yard(well, cells, weekdays=(2, 5), program="full", region="canada_ontario")
    kept = outfit(replace(there, jurisdiction="ca"), journal=())
    found = make_plan(kept, shipped(), on("05-24"), YEAR)
    check_plan(found, kept, shipped())
    assert day(found, "2/cells_found/2027/again/1") == "05-29"
    assert day(found, "2/formic_strips_pair/2027/apply/1") == day(found, "1/formic_strips_pair/2027/apply/1") == "06-02"
    assert day(found, "1/swarm_check/2027/check/2") == "05-29"
    assert "lifted while it is in" not in words(found)


@pytest.mark.parametrize(("text", "first"), [("08-07 cells_found", "08-15"), ("08-01 swarmed", "08-20")])
def test_thymol_waits_for_the_eggs_of_a_young_queen(text: str, first: str) -> None:
    """Trays are not begun over cells before the next look at them, nor over a virgin (common practice)."""
    there = yard(hive("1", text, "08-07 count 30/300"), region="england_south_midlands", program="full", weekdays=None)
    kept = outfit(replace(there, treatments=("thymol_gel",), jurisdiction="uk"), journal=())
    found = make_plan(kept, shipped(), on("08-10"), YEAR)
    check_plan(found, kept, shipped())
    assert day(found, "1/thymol_gel/2027/tray_1/1") >= first


def test_no_eggs_asks_for_a_test_comb_but_not_where_the_queen_was_seen() -> None:
    assert "1/no_eggs/2027/give_comb/1" in planned(made(hive("1", "06-12 no_eggs"), as_of="06-13"), "1")
    seen = made(hive("1", "06-12 no_eggs", "06-12 queen seen"), as_of="06-13")
    assert not [t for t in planned(seen, "1") if "no_eggs" in t]


@pytest.mark.parametrize("line", ["queen laying", "queen seen", "introduced", "requeened 2027"])
@pytest.mark.parametrize("found", ["06-12", "10-02"])
def test_nothing_is_asked_for_want_of_eggs_once_a_later_line_tells_of_a_queen(found: str, line: str) -> None:
    later = told(on(found) + 4)
    of = made(hive("1", f"{found} no_eggs", f"{later} {line}"), hive("2"), as_of=told(on(found) + 5))
    assert not [t for t in planned(of, "1") if "no_eggs" in t or "queenless" in t]


def test_in_autumn_a_hive_without_eggs_and_queen_is_united() -> None:
    of = made(hive("1", "10-02 no_eggs"), hive("2"), as_of="10-03")
    assert "1/queenless_autumn/2027/unite/1" in planned(of, "1")
    assert not [t for t in planned(of, "1") if "/no_eggs/" in t]


def test_no_eggs_and_the_queen_seen_in_autumn_open_the_broodless_days_from_what_was_seen() -> None:
    """The last egg some days before (eggs take 3 d to hatch), the last worker out 21 d after it (BEEBOOK: 22)."""
    of = made(hive("1", "11-20 no_eggs", "11-20 queen seen"), as_of="11-21")
    (acid,) = (t for t in planned(of, "1").values() if t.product)
    assert acid.planned is not None
    assert on("11-20") - 3 + 21 <= acid.planned
    looked = ("middle combs that day: nothing capped", "Best where there is nothing capped: look first.")
    assert any(words in note for note in acid.notes for words in looked), acid.notes
    counts = [t for t in planned(of, "1").values() if t.logs == "count"]
    assert not [t.id for t in counts if on("12-08") < (t.planned or 0) < on("12-31")], "no brood to judge them by"


# Counts ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "first"), [("package", "06-05"), ("nucleus", "05-22"), ("swarm", "05-29"), ("split", "05-22")]
)
def test_young_colonies_are_not_washed(kind: str, first: str) -> None:
    """With six frames of bees only (New South Wales), and by brood: a package 35 days, when its first own bees are out
    (practice), the others 21; a swarm 28 (7 + 21)."""
    of = made(colony("1", f"{YEAR}-05-01", kind), as_of="05-01")
    washes = [t.planned for t in planned(of, "1").values() if t.logs == "count" and t.planned is not None]
    assert washes
    assert min(washes) >= on(first)


def test_frames_of_bees_decide_what_a_wash_and_a_label_ask() -> None:
    few, many = (made(hive("1", f"06-12 frames_covered {n}"), as_of="06-13") for n in (4, 9))
    counts = [min(t.planned or 0 for t in planned(of, "1").values() if t.logs == "count") for of in (few, many)]
    assert counts[0] >= on("06-12") + 21 > counts[1]


def test_a_board_read_before_its_time_leaves_the_step_open_and_names_the_day_to_repeat_it() -> None:
    """The fall that decides for winter has its window from 49 days before winter bees are reared."""
    boards = replace(hive("1"), added=("mite_drop_board",))
    of = made(boards, as_of="05-01")
    opens = of.task("1/mite_drop_board/2027/summer_out/1").window.opens
    early = f"{date.fromordinal(opens - 4):%m-%d}"
    told = replace(hive("1", f"{early} drop 2/3"), added=("mite_drop_board",))
    again = made(told, as_of=f"{date.fromordinal(opens - 3):%m-%d}").task("1/mite_drop_board/2027/summer_out/1")
    assert again.status is Status.PLANNED


def test_a_count_without_brood_leaves_the_step_open() -> None:
    """25 d after she was caged nothing is capped: all mites sit on the bees (BEEBOOK 4.7)."""
    texts = ("05-20 caged", "06-14 count 9/300", "06-15 released")
    again = made(hive("1", *texts), as_of="06-16").task("1/mite_count/2027/regular/2")
    assert again.status is Status.PLANNED
    assert "Counted on Mon 14 June without brood, and not judged: again." in again.notes


def test_comb_honey_and_frames_of_bees_of_the_file_reach_the_labels() -> None:
    """What ``reading/yards`` reads of `comb_honey` and `bees` is what a label is asked with."""
    (there,) = outfit(yard(replace(hive("1"), comb_honey=True, bees=5.0)), journal=()).yards
    season = season_of(there, shipped(), on("06-01"), YEAR)
    of = recall(there.colonies[0], (), season, on("06-01"), shipped())
    at = standing_of(of, Setting(there, season, shipped(), on("06-01"), {}), ())
    assert (at.comb_honey, at.bee_frames) == (True, 8.0), "never fewer frames of bees than of brood"


# Traps ----------------------------------------------------------------------------------------------------------------


def test_honey_or_nothing_at_the_last_cut_means_the_frame_comes_out() -> None:
    of = made(hive("1", "04-24 trap_hung T1 2", traps=[short()]), as_of="05-10")
    rows = {a.finding: a for a in of.task("1.T1/trap_comb_cut/2027/take_out/1").answers}
    for finding in ("honey", "worker", "nothing"):
        assert rows[finding].do == "Take the frame out: no whole cycle fits before building ends."
        assert rows[finding].cut_by is None
    first = {a.finding: a for a in of.task("1.T1/trap_comb_cut/2027/cut/1").answers}
    assert first["nothing"].cut_by is not None
    out = made(hive("1", "04-24 trap_hung T1 2", "06-26 found T1 honey", traps=[short()]), as_of="06-27")
    assert not [t for t in planned(out, "1") if "trap" in t], "no clock starts"


def test_a_late_trap_has_a_blank_to_count_on_its_own_line() -> None:
    """Drones that chew out take their mites with them (common practice): count, on the spot or on the next visit."""
    hung = ("04-24 trap_hung T1 2",)
    cut = made(hive("1", *hung, traps=[short()]), as_of="05-10").task("1.T1/trap_comb_cut/2027/cut/1")
    assert cut.planned is not None
    washed = {t.planned for t in made(hive("1", *hung, traps=[short()]), as_of="05-10").tasks if t.logs == "count"}
    assert cut.beside == (() if cut.planned in washed else ("LATE: mites", "bees"))
    trapped = replace(hive("1", *hung, traps=[short()]), declined=("mite_count",))
    alone = made(trapped, as_of="05-10", program="trap_combs")
    found = [t for t in alone.tasks if t.logs == "trap_cut" and t.planned is not None]
    with_count = {t.planned for t in alone.tasks if t.logs == "count"}
    assert {t.beside for t in found if t.planned not in with_count} == {("LATE: mites", "bees")}
    assert {t.beside for t in found if t.planned in with_count} <= {()}, "one wash a hive and visit"
    late = (*hung, "04-25 count 0/300", "05-29 found T1 emerging", "05-29 trap_cut T1")
    told, counted = (
        planned(made(hive("1", *late, *more, traps=[short()]), as_of="05-30", program="trap_combs"), "1")
        for more in ((), ("05-29 count 3/300",))
    )
    (asked,) = (t for t in told.values() if any("was emptied after its last good day" in note for note in t.notes))
    assert (asked.logs, asked.planned) == ("count", on("06-05")), "the next visit"
    assert not [t.id for t in counted.values() if t.method == asked.method]


def test_frames_of_bees_have_a_blank_where_a_label_or_a_count_asks_for_them() -> None:
    """Formic strips: six frames of bees (US label); a wash with six frames of bees only (New South Wales)."""
    of = made(hive("1"), as_of="05-10")
    strips = [t for t in of.tasks if t.method == "formic_strips_pair" and t.product and t.planned is not None]
    assert strips
    assert {t.beside for t in strips} == {("frames of bees",)}
    first = min(t.planned or 0 for t in strips)
    before = [t for t in of.tasks if t.logs == "count" and (t.planned or first) < first]
    assert before
    assert all("frames of bees" in t.beside for t in before), "so that the plan knows before the day"
    after = [t for t in of.tasks if t.logs == "count" and (t.planned or 0) > first]
    assert not any("frames of bees" in t.beside for t in after)
    young = made(colony("2", f"{YEAR}-05-01", "nucleus"), as_of="05-01")
    assert all("frames of bees" in t.beside for t in young.tasks if t.logs == "count" and t.planned is not None)


# Crippled wings -------------------------------------------------------------------------------------------------------


def test_crippled_wings_are_counted_on_and_after_midsummer_treated_if_not() -> None:
    """Snyder, parasitic mite syndrome: count today; after midsummer a colony that shows it does not come through."""
    seen = made(hive("1", "08-06 crippled_wings"), as_of="08-07")
    assert "1/crippled_wings/2027/wings_count/1" in planned(seen, "1")
    late = made(hive("1", "08-06 crippled_wings"), as_of="08-13")
    words = "What for: crippled wings in hive 1 on Fri 6 Aug, and no mites counted since."
    assert any(words in t.notes for t in late.tasks if t.product), [t.notes for t in late.tasks if t.product]
    counted = made(hive("1", "08-06 crippled_wings", "08-08 count 1/300"), as_of="08-13")
    assert not any(words in t.notes for t in counted.tasks)
    early = made(hive("1", "05-08 crippled_wings"), as_of="05-15")
    assert not any("What for: crippled wings" in note for t in early.tasks for note in t.notes)


@pytest.mark.parametrize("when", ["08-07", "08-14"])
def test_whether_the_young_queen_lays_is_looked_for_in_time_over_trays_that_lie(when: str) -> None:
    """She lays 6 to 10 + 7 to 15 days after the swarm; found to have failed in mid September, nothing mends it."""
    lines_ = ("08-06 strips_in thymol_gel 1", f"{when} swarmed")
    of = made(hive("1", *lines_), as_of=f"08-{int(when[3:]) + 1:02}", program="first_year")
    look = next(t for name, t in planned(of, "1").items() if name.endswith("after_swarm/2027/eggs/1"))
    assert (look.planned or 0) <= look.window.closes
    assert "After the swarm" not in words(of)


# Light ----------------------------------------------------------------------------------------------------------------


def test_a_hive_found_light_is_fed_within_days_and_only_until_it_was() -> None:
    """In spring a hive that lifts easily may starve within days (common practice)."""
    light = planned(made(hive("1", "03-06 stores_look light", "03-06 found_light"), as_of="03-07"), "1")
    feed = light["1/found_light/2027/feed_now/1"]
    assert (feed.logs, feed.window.closes) == ("fed", on("03-09"))
    fed = made(hive("1", "03-06 found_light", "03-06 fed 1 kg fondant"), as_of="03-07")
    assert "1/found_light/2027/feed_now/1" not in planned(fed, "1")
    again = made(hive("1", "02-06 found_light", "02-07 fed", "03-06 found_light"), as_of="03-07")
    assert [t.window.closes for t in planned(again, "1").values() if t.method == "found_light"] == [on("03-09")]
    nothing = planned(made(hive("1"), as_of="03-07"), "1")
    assert not [t for t in nothing.values() if t.method == "found_light"]


@pytest.mark.parametrize("program", sorted(shipped().programs))
def test_every_program_feeds_what_was_found_light(program: str) -> None:
    of = made(hive("1", "03-06 found_light"), as_of="03-07", program=program)
    assert [t.status for t in of.tasks if t.method == "found_light"] == [Status.PLANNED]


def test_a_frame_that_was_emptied_when_nobody_laid_waits_for_the_first_eggs() -> None:
    """The queen left on the day of the cut: no drone is laid before the young one lays (days: rules/biology.yaml), so
    its last good day is weeks off. What was laid in the comb before that keeps the days that it had.
    """
    cut = ("04-24 trap_hung T1 2", "05-19 trap_cut T1")
    as_ever = made(hive("1", *cut[:1], traps=[short()]), as_of="05-08")
    gone = made(hive("1", *cut, "05-19 swarmed", traps=[short()]), as_of="05-20")
    later = made(hive("1", *cut, "05-25 swarmed", traps=[short()]), as_of="05-26")
    first, second = ("1.T1/trap_comb_cut/2027/cut/1", "1.T1/trap_comb_cut/2027/cut/2")
    assert gone.task(first).window == as_ever.task(first).window
    assert gone.task(second).window.by >= on("06-22")
    assert gone.task(second).do == "Trap T1: cut the comb"
    assert later.task(second).window.by <= on("06-15"), "laid in before she left"


# Room -----------------------------------------------------------------------------------------------------------------


def test_a_super_that_was_given_for_room_comes_off_before_thymol_goes_in() -> None:
    """Its label wants supers off (VMD, thymol gel 25 %): SUPER GIVEN has one on, a brood box given has none."""
    for given, off in (
        (("07-13 room_look super given", "07-13 supers_on 1"), True),
        (("07-13 room_look box given",), False),
    ):
        young = replace(
            colony("1", f"{YEAR}-06-12", "nucleus"), history=lines("06-19 queen laying", *given, "08-05 count 30/300")
        )
        kept = outfit(yard(young, weekdays=SATURDAYS, program="first_year"), journal=())
        of = planned(make_plan(kept, shipped(), on("08-06"), YEAR), "1")
        taken = [t.planned or 0 for t in of.values() if t.logs == "supers_off"]
        trays = [t.planned or 0 for t in of.values() if t.method == "thymol_gel" and t.logs == "strips_in"]
        assert bool(taken) == off
        assert trays or off
        assert all(min(taken) <= day for day in trays if taken)


def test_beside_a_hive_that_died_in_winter_one_board_is_asked_for() -> None:
    """In January two seasons are planned side by side; what a death asks for belongs to one of them."""
    there = yard(hive("1", "01-05 found_dead"), hive("2"), region="england_south_midlands", weekdays=None)
    kept = outfit(there, journal=())
    found = make_plan(kept, shipped(), on("01-06"))
    check_plan(found, kept, shipped())
    assert len({view.season for view in found.yards}) == 2
    boards = [t for t in found.tasks if t.colony == "2" and t.logs == "board_in" and t.window.opens < on("02-01")]
    assert len(boards) == 1
