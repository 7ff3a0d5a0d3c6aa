"""Drives: yards that are visited on one drive, and the order in which, with its reason.

In: yards, their views, the visits. Out: groups of yards to be packed together, ``Drive`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.plan import Drive
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.plan.views import YardView

SICK = "{} last: a hive there looks sick"
AS_FILED = "in the order of your files"


def groups(yards: Sequence[Yard]) -> list[list[Yard]]:
    """Yards that share a drive, together; each other yard by itself. In the order of the yards."""
    found: dict[str, list[Yard]] = {}
    for yard in yards:
        found.setdefault(yard.drive or f"@{yard.key}", []).append(yard)
    return list(found.values())


def drives(yards: Sequence[Yard], views: Sequence[YardView], visits: Sequence[Visit], mind: str) -> Iterator[Drive]:
    """The drives to more than one yard, by day. A yard with a hive that looks sick comes last; each says ``mind``."""
    sick = {view.key: any(colony.mind for colony in view.colonies) for view in views}
    names = {yard.key: yard.name for yard in yards}
    named: dict[tuple[int, str], list[Visit]] = {}
    drive_of = {yard.key: yard.drive for yard in yards}
    place = {yard.key: i for i, yard in enumerate(yards)}
    for visit in visits:
        if drive_of.get(visit.yard):
            named.setdefault((visit.day, drive_of[visit.yard]), []).append(visit)
    for (day, name), some in sorted(named.items()):
        if len(some) > 1:
            order = sorted(some, key=lambda v: (sick.get(v.yard, False), place[v.yard]))
            last = [names[v.yard] for v in order if sick.get(v.yard)]
            reason = SICK.format(" and ".join(last)) if last else AS_FILED
            yield Drive(name, day, tuple(v.id for v in order), sum(v.minutes for v in order), reason, mind)
