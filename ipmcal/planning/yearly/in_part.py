"""In part: courses of a year that some hives of a yard were given and others were not: until when they go on in those.

In: a yard's season, what was chosen, what was given. Out: courses with a later last day. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.labels.standing import CourseSpell, use_of
from ipmcal.planning.mites.walls import is_quick, worked_by
from ipmcal.planning.yearly.asked import YearOfYard
from ipmcal.planning.yearly.followed import Followed, is_it, spells_given

IN_PART = "in_part"
"""Stands for the round of what was given in some hives before the year was asked anew."""


def gone_on(year: YearOfYard, found: Followed) -> Iterator[YearCourse]:
    """The courses that were begun in a hive that leads, as they go on in the hives that still lack them: to the day by
    which advisers begin their round, and for as long as the hives of one yard are treated together.

    Those of the last answer; and those given before the year was asked anew, but for doses: a hive may have had one in
    a break of its own.
    """
    for one in found.done:
        begun = min(spell.began for spell, _ in spells_given(year) if is_it(year, one, spell))
        yield replace(one, last=max(one.last, one.by or 0, _together(year, begun)))
    given = {(spell.treatment, spell.began) for spell, _ in spells_given(year)}
    for spell in found.asked.fixed:
        if (spell.treatment, spell.began) in given:
            yield from _as_given(year, spell)


def _together(year: YearOfYard, begun: int) -> int:
    """The last day on which hives of a yard are treated together with those begun on a day: the keeper's next day
    counts, however late it is.
    """
    following = next((day for day in year.days if day > begun), begun)
    return max(following, begun + int(year.ground.book.planning.treat_within.value.upper_end))


def _as_given(year: YearOfYard, spell: CourseSpell) -> Iterator[YearCourse]:
    book = year.ground.book
    treatment = book.treatments[spell.treatment]
    label = label_for(treatment, year.ground.yard.jurisdiction, book)
    use = None if label is None else use_of(label, spell.began, book)
    if label is None or use is None or is_quick(treatment, use, book):
        return
    worked, out = worked_by(treatment, label, use) - spell.began, use.last - spell.began
    last = _together(year, spell.began)
    yield YearCourse(IN_PART, spell.treatment, spell.began, spell.began, last, worked, out, supers_off=False)
