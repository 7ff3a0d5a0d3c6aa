"""What is no conflict: work that comes late since its hive stays shut, be the day before it a holiday."""

from __future__ import annotations

from dataclasses import replace

from planning.yards import YEAR, colony, lines, on, outfit, shipped, told, yard

from ipmcal.model.outfit.outfit import PublicDays
from ipmcal.planning.plan import make_plan


def test_a_look_waits_for_strips_also_where_its_first_day_is_a_holiday() -> None:
    """Due on 19 June, a holiday, or on the 26th, when strips go in that want the nest left alone: it waits for them."""
    package = replace(colony("1", kind="package", boxes=["deep"]), began=on("05-01"), began_text="2027-05-01 package")
    holiday = PublicDays("here", lambda year: frozenset({on("06-19")}))
    one = replace(yard(package, program="first_year"), holidays=holiday, treatments=("formic_strips_pair",))
    journal = lines("05-08 released", "06-05 growth_look", "06-12 growth_look", "06-12 early_count 15/300")
    made = make_plan(outfit(one, journal=journal), shipped(), on("06-13"), YEAR)
    given = next(t for t in made.tasks if t.product)
    assert told(given.planned or 0) == "06-26"
    assert made.conflicts == ()
    assert [note for note in made.notes if "Looks of a first season, due by " in note and ": waits until " in note]
