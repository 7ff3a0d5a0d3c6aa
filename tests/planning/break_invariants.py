"""What holds for a caging that a plan orders, whatever its yard: its own acid follows it, nothing else meets it.

In: a plan, and what made it. Days are of the trade, with their sources beside them, not of the rules.
"""

from __future__ import annotations

from collections.abc import Sequence

from planning.year_invariants import YearsCourse, products_of, years_courses

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.because import Code
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.mites.walls import is_quick

DRONE = 24
"""Days from the last egg to the last drone out of its cell: teaching pages; no cell hides a mite from then on."""
CAPPED = 10
"""Days from her release to the first cell capped again: she lays 2 d later at the soonest (a university's lecture on
caging), and a worker's cell is capped on day 8 or 9: until then a dose meets all mites (Büchler et al. 2020)."""
EGGS = 2
"""Days from her release to her first eggs, by the same lecture: till then a label that wants a laying queen bars."""


def breaks_hold(plan: Plan, yard: Yard, book: Rulebook) -> None:
    """Everything that holds for the cagings to come of a yard."""
    for colony in yard.colonies:
        mine = [t for t in plan.tasks if t.yard == yard.key and t.colony == colony.key]
        ahead = [t for t in mine if t.planned is not None]
        courses = years_courses(mine, yard, book)
        for cage in (t for t in ahead if book.events[t.logs].laying_again == "let_out"):
            of_it = (t for t in ahead if t.season == cage.season)
            release = next((t for t in of_it if book.effect(t.logs) == "starts_laying"), None)
            assert release is not None, f"{cage.id}: nobody is sent to let her out"
            let_out_over_nothing(plan, release)
            wants_no_laying_queen([one for one in courses if one.ahead], cage, release)
            if products_of(yard, book):
                its_acid_follows(courses, cage, release, book)


def its_acid_follows(courses: Sequence[YearsCourse], cage: Task, release: Task, book: Rulebook) -> None:
    """No queen is caged for nothing: a dose on the bees is given once no cell is capped, and before one is again."""
    assert cage.planned is not None
    assert release.planned is not None
    first, last = cage.planned + DRONE, release.planned + CAPPED
    doses = [one for one in courses if is_quick(book.treatments[one.name], Use(tuple(one.days), one.last), book)]
    assert any(first <= one.first <= last for one in doses), f"{cage.id}: no dose follows on {release.id}"


def wants_no_laying_queen(courses: Sequence[YearsCourse], cage: Task, release: Task) -> None:
    """What wants a laying queen is out before she is caged, and goes in once she lays."""
    assert cage.planned is not None
    assert release.planned is not None
    for one in courses:
        queen = one.label.limits.queen
        if queen is not None and "caged" in {value.value for value in queen.not_}:
            apart = one.last <= cage.planned or release.planned + EGGS < one.first
            assert apart, f"{one.tasks[0].id} wants a laying queen, and {cage.id} has none"


def let_out_over_nothing(plan: Plan, release: Task) -> None:
    """She is let out over no strips that lie on the bars."""
    lies = [c for c in plan.conflicts if c.what.code is Code.COMBS_LIFTED and release.id in c.tasks]
    assert not lies, f"{release.id}: {lies[0].what}"
