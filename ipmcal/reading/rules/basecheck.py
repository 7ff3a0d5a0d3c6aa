"""A region's base year checked: its windows run forward in the season, and it has the rounds that its brood asks for.

In: the rulebook, a region, the places of its keys. Out: complaints.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ipmcal.model.rules.anchors import AnchorWords
from ipmcal.model.rules.base import BaseCounts, Round
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.needs import FLOW_DONE
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.forms import Bound, MarkDays, month_and_day
from ipmcal.reading.rules.methodcheck import bound_problem
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Tree

EVERYWHERE = ("late_summer", "winter")
"""Rounds that every region has; others are for where brood hardly stops."""
ORDER = ("opens", "by", "closes", "out")
"""The days of a round, in the order in which they come; the last lies behind the first, wherever the others lie."""
MONTHS_A_YEAR = 12.0
SUMMER_BY = "season.summer_treatment_by"
FLOW_ENDS = "flow_main.ends"
"""What ``FLOW_DONE`` is where no harvest comes before."""


def base_complaints(book: Rulebook, region: Region, first: int, tree: Tree) -> Iterator[Complaint]:
    """Everything that does not fit in a base year. ``first`` is a day on which the region's season begins."""
    base = region.base
    months = base.brood_months.value
    if not months.closed or not 0 < (months.low or 0) <= (months.high or 0) <= MONTHS_A_YEAR:
        what = f"base.brood_months: '{months}' is no number of months from 1 to 12"
        yield Complaint.at(base.brood_months.place, what)
        return
    lack = [name for name in EVERYWHERE if name not in base.rounds]
    if lack:
        yield Complaint.at(
            tree.place(("base", "rounds")), f"base.rounds: {', '.join(lack)} missing; every region has it"
        )
    yield from _how_many(book, region, tree)
    for name, one in base.rounds.items():
        yield from _words(book, region, name, one, tree)
        yield from _forward(region, name, one, first, tree)
    if base.counts is not None:
        yield from _counts(book, region, base.counts)
    for start in (base.starts.dosed, base.starts.unknown, base.starts.undosed) if base.starts else ():
        if start is not None and (not start.value.closed or (start.value.low or 0) <= 0):
            yield Complaint.at(start.place, f"{start.key}: '{start.value}' is open or nothing; write a number above 0")


def _counts(book: Rulebook, region: Region, counts: BaseCounts) -> Iterator[Complaint]:
    """Figures are days above nothing, and days are of the season."""
    for cited in (counts.apart, counts.all_year, counts.after_dose):
        if cited is not None and (not cited.value.closed or (cited.value.low or 0) <= 0):
            yield Complaint.at(cited.place, f"{cited.key}: '{cited.value}' is open or nothing; write such as '31 d'")
    words, first = _marks(book, region), counts.first
    for bounds in (counts.opens, counts.closes, *(() if first is None else (first.opens, first.closes))):
        for bound in bounds or ():
            problem = bound_problem(bound, words)
            if problem:
                yield Complaint.about(bound.text, problem)


def _marks(book: Rulebook, region: Region) -> AnchorWords:
    """The marks that days of a base year may be counted from: the region's, and those of yards."""
    known = {mark: rule.kind for mark, rule in book.marks.items() if mark in region.marks or rule.by_yard}
    return AnchorWords(known, (), ())


def _how_many(book: Rulebook, region: Region, tree: Tree) -> Iterator[Complaint]:
    """As many rounds as the months with brood ask for; a further one only where that, or its advisers' number of
    courses a year, is more than every region has."""
    months = region.base.brood_months.value.middle
    asked = [row.rounds.value.middle for row in book.planning.rounds if months >= row.months.value.middle]
    wanted, have = max(asked, default=0.0), len(region.base.rounds)
    if have < wanted:
        what = f"base.rounds: {months:.14g} months with brood ask for {wanted:.14g} rounds, and there are {have}"
        yield Complaint.at(tree.place(("base", "rounds")), what)
    advised = 0.0 if region.base.a_year is None else region.base.a_year.value.middle
    further = [name for name in region.base.rounds if name not in EVERYWHERE]
    if further and not region.rarely_broodless and max(wanted, advised) <= len(EVERYWHERE):
        what = f"base.rounds.{further[0]}: only where brood hardly stops; say 'rarely_broodless: yes', or leave it out"
        yield Complaint.at(tree.key(("base", "rounds", further[0])), what)


def _words(book: Rulebook, region: Region, name: str, one: Round, tree: Tree) -> Iterator[Complaint]:
    """Its days are marks that the region has, or dates; that of late summer has the published one."""
    words = _marks(book, region)
    for edge in (*ORDER, "acted"):
        for bound in getattr(one, edge) or ():
            problem = bound_problem(bound, words)
            if problem:
                yield Complaint.about(bound.text, problem)
    if name == "late_summer" and SUMMER_BY not in [bound.anchor for bound in one.by or ()]:
        what = f"base.rounds.{name}: lacks its published day; write 'by: usually {SUMMER_BY}'"
        yield Complaint.at(tree.place(("base", "rounds", name)), what)


def _forward(region: Region, name: str, one: Round, first: int, tree: Tree) -> Iterator[Complaint]:
    """No edge of a round comes before the one that it follows, at the region's reference."""
    days = {edge: _day(region, getattr(one, edge), first) for edge in (*ORDER, "acted") if getattr(one, edge)}
    known = {edge: day for edge, day in days.items() if day is not None}
    for before, after in (("opens", "by"), ("by", "closes"), ("opens", "closes"), ("opens", "out"), ("opens", "acted")):
        if before in known and after in known and known[after] < known[before]:
            what = f"base.rounds.{name}.{after}: comes {known[before] - known[after]} d before '{before}'"
            yield Complaint.at(tree.place(("base", "rounds", name, after)), what)
            return


def _day(region: Region, bounds: tuple[Bound, ...], first: int) -> int | None:
    """The usual day of a bound at the reference; None where the region has no such mark, or the word is wrong."""
    days = [day + one.shift for one in bounds if (day := _anchor(region, one.anchor, first)) is not None]
    return max(days, default=None)


def _anchor(region: Region, anchor: str, first: int) -> int | None:
    if re.fullmatch(r"\d\d-\d\d", anchor):
        return month_and_day(anchor).on_or_after(first)
    name, _, edge = anchor.removeprefix("season.").replace(FLOW_DONE, FLOW_ENDS).partition(".")
    mark = region.marks[name].value if name in region.marks else MarkDays(None)
    if mark.begins is None:
        return None
    begins = mark.begins.on_or_after(first)
    return mark.ends.on_or_after(begins) if edge == "ends" and mark.ends else begins
