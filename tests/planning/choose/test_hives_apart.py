"""A hive that is not as the others of its yard: its queen gone or caged, or treated alone. In: invented yards.

That formic acid is not given to a hive whose queen is not laying yet is common practice; it stands in the rule files.
"""

from __future__ import annotations

from dataclasses import replace

from planning.choose.test_treat import first_doses, planned, there
from planning.yards import line, on, outfit, shipped

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.verdict import Limited
from ipmcal.planning.options import options_for

NECTAR = ("formic_strips_pair", "thymol_gel", "oxalic_slow_strip")
"""Two that take no harvest where they are labelled, and one that does."""


def kept(*journal: Event, hives: int = 3, treatments: tuple[str, ...] = NECTAR) -> Outfit:
    """A yard with supers on, and its journal."""
    return replace(outfit(there(hives=hives, treatments=treatments, supers=1), journal=journal), since=on("01-01"))


def of_the_queen(of: Outfit, as_of: str, day: str, product: str = "formic_strips_pair") -> list[Limited]:
    """What options say of a queen's limit for a product, to hive 2."""
    (asked,) = options_for(of, shipped(), on(day), on(as_of), "2")
    (made,) = [one for one in asked.verdicts["2"] if one.treatment == product]
    return [reason for reason in made.reasons if reason.limit == "queen"]


OVER = (line("05-19 count 12/300", "2"), line("05-19 swarmed", "2"))


def test_a_hive_whose_queen_has_gone_gets_no_formic_acid_and_the_others_do() -> None:
    """What the rule file advises against is not planned: she gets what her bees may have, without loss of harvest."""
    made = planned(kept(*OVER), as_of="05-21")
    assert [first_doses(made, key)[0] for key in "123"] == [
        "05-22 formic_strips_pair",
        "05-22 oxalic_slow_strip",
        "05-22 formic_strips_pair",
    ]
    assert of_the_queen(kept(*OVER), "05-21", "05-22")


def test_once_the_young_queen_should_lay_her_eggs_are_looked_for_first() -> None:
    (before,), (after,) = (of_the_queen(kept(*OVER), "05-21", day) for day in ("06-13", "06-14"))
    assert (before.look, after.look) == (False, True)
    assert after.plain == "look for eggs first: they should be there by Sun 13 June"
    assert before.known in after.known


def test_of_a_queen_in_her_cage_no_day_is_known_before_she_is_let_out() -> None:
    (said,) = of_the_queen(kept(line("07-10 caged", "2")), "07-12", "09-25")
    assert not said.look
    assert said.until is None
    assert not of_the_queen(kept(line("07-10 caged", "2"), line("08-04 released", "2")), "08-05", "09-25")


# A caging that the plan itself asks for -------------------------------------------------------------------------------


def test_no_formic_acid_is_planned_for_a_queen_whom_the_plan_has_in_her_cage() -> None:
    """Nor before her eggs should be there again: she is let out two days before she lays (see ``biology.yaml``)."""
    made = planned(there("uk", "acids_and_handwork", treatments=("formic_strips_pair", "oxalic_trickle")))
    ahead = [t for t in made.tasks if t.planned is not None]
    (caged,), (out,) = ([t.planned or 0 for t in ahead if t.logs == word] for word in ("caged", "released"))
    given = [t for t in made.tasks if t.logs == "strips_in" and t.planned is not None]
    assert caged < out
    assert not [t.id for t in given if caged < (t.planned or 0) <= out + 2]
    doses = [t.planned for t in ahead if t.method.startswith("oxalic_trickle") and t.logs == "treated"]
    assert out in doses, "late summer's course is the dose that is given as she is let out"
    assert barred_on(("formic_strips_pair", "oxalic_trickle"), caged + 3), "options know of it before it is written"


def test_no_queen_is_caged_where_no_dose_would_be_given_as_she_is_let_out() -> None:
    """Caging alone takes too few mites (Buechler et al. 2020, 370 colonies): no program does that."""
    made = planned(there("uk", "acids_and_handwork", treatments=("formic_strips_pair",)))
    assert not [t.id for t in made.tasks if t.logs == "caged"]
    assert [t.id for t in made.tasks if t.logs == "strips_in" and "late summer" in " ".join(t.notes)]
    (said,) = [one for one in made.refusals if one.method == "brood_break_caging"]
    assert "no queen is caged for nothing" in because_words(said.whys[0])
    assert not barred_on(("formic_strips_pair",), on("07-15")), "nor do options bar anything for a caging that is none"


def barred_on(treatments: tuple[str, ...], day: int) -> bool:
    """Whether options bar formic acid for its queen in the yard of acids, asked on the season's first day."""
    mine = outfit(there("uk", "acids_and_handwork", treatments=treatments))
    (asked,) = options_for(mine, shipped(), day, on("01-01"))
    (made,) = [one for one in asked.verdicts["1"] if one.treatment == "formic_strips_pair"]
    return any(reason.limit == "queen" for reason in made.reasons)


# A course begun in some hives -----------------------------------------------------------------------------------------

LATE = (line("07-24 strips_in amitraz_strip 4 lot K by AB", "1"),)
"""Late summer's course as chosen, in one of two hives."""


def late(as_of: str, *more: Event) -> Plan:
    """A plan of two hives of which one has late summer's strips; no supers are on."""
    yard = there(hives=2, treatments=("amitraz_strip", "formic_strips_pair"))
    return planned(replace(outfit(yard, journal=(*LATE, *more)), since=on("01-01")), as_of=as_of)


def left_of(made: Plan) -> list[str]:
    """What the year leaves undone, in words."""
    return [words for one in made.choosing for words in one.left]


def test_what_one_hive_was_given_in_late_summer_the_other_is_given_too() -> None:
    made = late("08-01")
    assert first_doses(made, "2")[0][:5] < "08-22", "by the day by which advisers begin the round"
    assert not first_doses(made, "1") or first_doses(made, "1")[0][:5] > "08-22", "and not the first one again"
    assert not [words for words in left_of(made) if " 2" in words]


def test_once_its_time_is_over_the_hive_that_was_passed_by_is_named_until_it_is_given_something() -> None:
    (told,) = [words for words in left_of(late("08-29")) if "and not in 2" in words]
    assert "count there" in told
    given = line("08-28 strips_in formic_strips_pair 2 lot K by AB", "2")
    assert not [words for words in left_of(late("08-29", given)) if "and not in 2" in words]


def test_strips_that_follow_in_the_other_hive_are_the_same_course_of_the_yard() -> None:
    """They do not count as a second course of the year: the year is not asked anew for them."""
    second = line("08-07 strips_in amitraz_strip 4 lot K by AB", "2")
    alone, both = late("08-08"), late("08-08", second)
    later = [words for made in (alone, both) for words in first_doses(made, "1")]
    assert len(later) == 2 * len(set(later)), "hive 1 goes on alike"


def test_over_the_line_while_its_course_is_in_a_hive_is_told_to_wait_for_its_end_and_the_other_is_treated() -> None:
    made = late("08-08", line("08-07 count 15/300", "1"), line("08-07 count 12/300", "2"))
    (call,) = made.calls
    assert call.over == ("1", "2")
    assert first_doses(made, "2")
    (told,) = [c for c in made.conflicts if c.subject == "1"]
    assert because_words(told.what) == "Amitraz strips is in 1 since Sat 24 July: nothing more goes in beside it"
    assert not [words for words in left_of(made) if "and not in 2" in words]
