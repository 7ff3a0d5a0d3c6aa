"""The print job: which sheets are made now, and what goes to the printer as one PDF, in which order.

In: the plan, pages by place, what is known of those that stand. Out: places in order, and words for them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.values.words import counted, joined
from ipmcal.publishing.memory.documents import PdfDigests, digest
from ipmcal.publishing.places import DATES, REVIEWS, SEASONS, SHEETS

SHEETS_AHEAD = 28
"""Days ahead for which sheets are made unless somebody asks for more: what is found re-forms what is later."""

_OF_THE_DAY = re.compile(
    r'<meta name="dcterms.created"[^>]*>|<(header|span) class="(?:strip|made)">.*?</\1>', re.DOTALL
)


@dataclass(frozen=True)
class PrintJob:
    """What is printed together: the places of its pages in order, and what that is in words."""

    places: tuple[str, ...]

    @property
    def words(self) -> str:
        """What is in it, counted."""
        rooms = (SEASONS, REVIEWS, SHEETS)
        number = {room: sum(place.startswith(f"{room}/") for place in self.places) for room in rooms}
        parts = ["all yards by date"] if DATES in self.places else []
        parts += [counted(number[SEASONS], "season page")] if number[SEASONS] else []
        parts += [counted(number[REVIEWS], "page that looks back", "pages that look back")] if number[REVIEWS] else []
        parts += [counted(number[SHEETS], "sheet")] if number[SHEETS] else []
        return joined(parts)


def due_visits(plan: Plan, ahead: int | None) -> tuple[Visit, ...]:
    """The visits of the next ``ahead`` days, the plan's own day among them (None: all), and at least the next day's."""
    first = min((visit.day for visit in plan.visits), default=0)
    return tuple(v for v in plan.visits if ahead is None or v.day < plan.as_of + ahead or v.day == first)


def job_of(pages: Mapping[str, str], sheets: Sequence[str], made: PdfDigests) -> PrintJob:
    """All yards by date, the seasons, what looks back on one, then these sheets in their order; without what stands in
    ``made`` already, but for the day of making."""
    seasons = [place for place in pages if place.startswith(f"{SEASONS}/")]
    reviews = [place for place in pages if place.startswith(f"{REVIEWS}/")]
    order = [place for place in (DATES, *seasons, *reviews, *sheets) if place in pages]
    return PrintJob(tuple(place for place in order if made.get(f"{place}.pdf", ())[2:] != (essence(pages[place]),)))


def essence(html: str) -> str:
    """The digest of a page without the day on which it was made: a page is another only where that differs."""
    return digest(_OF_THE_DAY.sub("", html).encode())
