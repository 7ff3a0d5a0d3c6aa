"""All yards by date, for the screen: day, yards in driving order, what must be done, sheet codes, what to load.

In: a plan, the codes of its sheets. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import duration, short_day, year
from ipmcal.publishing.paper.dates import DatedDay, SheetCodes, dated_days, loaded_always
from ipmcal.publishing.paper.naming import WorkLine


def date_lines(plan: Plan, codes: SheetCodes) -> Iterator[str]:
    """A head, what is loaded every time, then the days from the plan's own on."""
    yield f"{plan.outfit_name}, {short_day(plan.as_of)}: all yards by date"
    always, days = loaded_always(dated_days(plan, codes))
    if always:
        yield f"  load every time: {', '.join(always)}"
    for day in days:
        yield from _day_lines(day, plan.as_of)
    if not days:
        yield "  no visit is planned"


def _day_lines(day: DatedDay, as_of: int) -> Iterator[str]:
    later = "" if year(day.day) == year(as_of) else f" {year(day.day)}"
    yards = ", then ".join(f"{stop.yard}{f' ({stop.code})' if stop.code else ''}" for stop in day.stops)
    yield f"  {short_day(day.day)}{later}: {yards}{f', {duration(day.minutes)}' if day.minutes else ''}"
    if day.reason:
        yield f"    in this order: {day.reason.rstrip('.')}.{f' {day.mind}' if day.mind else ''}"
    for stop in day.stops:
        at = f"{stop.yard}: " if len(day.stops) > 1 else ""
        if stop.musts:
            yield f"    {at}must: {_said(stop.musts)}"
        if stop.others:
            yield f"    {at}also: {_said(stop.others)}"
    if day.load:
        yield f"    load: {', '.join(title for _, titles in day.load for title in titles)}"


def _said(works: Iterable[WorkLine]) -> str:
    return "; ".join(
        f"{f'{work.who}: ' if work.who else ''}{work.do.rstrip('.')}"
        + (f", by {short_day(work.by)}" if work.by is not None else "")
        for work in works
    )
