"""Choosing: what was chosen, second, excluded and left, in words. In: plans of small yards."""

from __future__ import annotations

from dataclasses import replace

from planning.yards import colony, lines, outfit, plan, shipped, yard

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.views import Choosing


def told(*treatments: str, hives: int = 2, as_of: str = "01-01", jurisdiction: str = "us", **more: object) -> Choosing:
    """What is told of a yard in upstate New York's climate, under the labels of ``jurisdiction``."""
    there = yard(*(colony(str(i)) for i in range(1, hives + 1)), program="first_year")
    kept: Outfit = outfit(replace(there, jurisdiction=jurisdiction, treatments=treatments), **more)  # type: ignore[arg-type]
    (found,) = plan(kept, as_of, book=shipped()).choosing
    return found


def test_a_course_is_told_with_its_hives_its_day_and_what_it_is_for() -> None:
    found = told("formic_strips_pair", "oxalic_trickle")
    assert found.yard == "yard"
    assert any(
        words.startswith("Formic acid, paired strips (1, 2) from ") and "late summer round" in words
        for words in found.chosen
    )
    assert any("least brood of the year" in words for words in found.chosen)


def test_what_came_second_is_not_what_was_chosen() -> None:
    found = told("thymol_gel", "formic_strips_pair", "oxalic_trickle")
    assert found.second
    assert not set(found.second) & set(found.chosen)


def test_each_product_that_was_not_chosen_says_why() -> None:
    found = told("thymol_gel", "amitraz_strip", "oxalic_trickle")
    assert found.excluded
    for words in found.excluded:
        assert words.rpartition(": ")[2], words


def test_of_a_product_that_is_given_nobody_says_that_it_is_kept_off() -> None:
    """Over the line in August: what the count asks for is chosen; the year's own rounds have words of their own."""
    journal = lines("07-10 supers_off", "08-05 count 30/300")
    for liked in (("thymol_gel", "formic_strips_pair"), ("formic_strips_pair", "thymol_gel"), ("amitraz_strip",)):
        found = told(*liked, "oxalic_trickle", as_of="08-06", journal=journal)
        given = [words.partition(" (")[0] for words in found.chosen]
        assert given
        for words in found.excluded:
            own = ", for counted" in words  # of what a count asks for, beside a round of the year that has it
            assert own or not any(words.startswith(title) for title in given), words
            assert "Because" not in words
            assert "nothing forbids" not in words


def test_what_no_product_serves_is_left_with_what_would_help() -> None:
    """Over the line in July, supers on, and nothing but strips that want them off."""
    journal = lines("07-10 supers_on 1", "07-19 count 30/300")
    found = told("hop_acid_strip", as_of="07-20", journal=journal, jurisdiction="de")
    assert not found.chosen
    assert any("no course fits for" in words or words.startswith("not enough") for words in found.left)


def test_supplies_are_summed_over_the_hives_with_the_day_they_are_needed() -> None:
    """35 g to 1.2 L-kg syrup: 50 mL a hive at most (the label's own figures stand in rules/treatments)."""
    found = told("oxalic_trickle", hives=3, as_of="11-01", journal=())
    (need,) = [words for words in found.supplies if words.startswith("Oxalic acid, trickled")]
    assert "15 to 150 mL for 3 hives" in need
    assert ", from Sat " in need
    assert any(words.startswith("to mix on Sat ") and "white sugar" in words for words in found.supplies)


def test_where_nothing_is_named_but_a_course_is_under_way_its_trays_are_on_the_list() -> None:
    found = told(jurisdiction="us", hives=1, as_of="08-08", journal=lines("08-07 strips_in thymol_gel 1 lot K by AB"))
    assert (found.chosen, found.second, found.excluded) == ((), (), ())
    assert found.supplies == ("Thymol gel 25 %, 50 g tray: 1 tray for 1 hive, from Sat 21 Aug",)
