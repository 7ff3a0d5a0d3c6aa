"""Which step a line of the journal was, where several could be."""

from __future__ import annotations

from planning.yards import colony, lines, outfit, plan, statuses, yard


def test_supers_changed_in_winter_are_not_taken_for_those_of_autumn() -> None:
    """Off and on again on one day: that they are on is true, that they came off in their time is not. Invented."""
    changed = lines("01-01 supers_off", "01-01 supers_on 1")
    found = statuses(plan(outfit(yard(colony("1")), journal=changed), "01-02"))
    supers = {task: status for task, status in found.items() if "/supers/" in task}
    assert supers == {"1/supers/2027/put_on/1": "done", "1/supers/2027/take_off/1": "planned"}
