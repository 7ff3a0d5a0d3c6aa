"""The mentor's page: a row a keeper, who is in need first; as HTML, PDF, CSV and text.

In: rows, as ``saying/club.py`` words them of plans. Out: pages and tables. What is not heard of is said so: nobody who
is silent is taken to have done anything.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from ipmcal.model.values.rows import row_text
from ipmcal.model.values.words import month_day, year
from ipmcal.publishing.paper.page import filled

MENTOR_HEADS = {
    "keeper": "keeper",
    "phone": "phone",
    "over": "over the line",
    "late": "late",
    "again": "count again",
    "strips": "to take out",
    "stops": "last good days",
    "count": "to count",
    "silent": "not heard of",
    "visit": "next visit",
    "changes": "changed",
    "mentor": "mentor",
}
"""The columns of the table, by the fields of a row, and what stands above them."""


@dataclass(frozen=True, slots=True)
class MentorRow:
    """A keeper as their mentor has to know them. ``rank`` orders: the smallest is the most urgent.

    ``day`` is that of the plan; ``heard`` the day of the journal's last line, 0 where there is none.
    """

    rank: int
    day: int
    heard: int
    keeper: str
    phone: str = ""
    mentor: str = ""
    over: str = ""
    late: str = ""
    again: str = ""
    strips: str = ""
    stops: str = ""
    count: str = ""
    silent: str = ""
    visit: str = ""
    changes: str = ""


def urgent_first(rows: Sequence[MentorRow]) -> list[MentorRow]:
    """The rows as they are read: the most urgent first, of equals the one heard of longest ago."""
    return sorted(rows, key=lambda row: (row.rank, row.heard, row.keeper))


def mentor_csv(rows: Sequence[MentorRow]) -> str:
    """The page as a table for spreadsheets; no cell is a formula in one."""
    lines = [row_text(tuple(MENTOR_HEADS.values()), ",")]
    lines += [row_text([str(getattr(row, name)) for name in MENTOR_HEADS], ",") for row in urgent_first(rows)]
    return "\n".join(lines) + "\n"


def mentor_text(rows: Sequence[MentorRow]) -> str:
    """The page as plain text: a block a keeper."""
    return "\n".join(_blocks(urgent_first(rows))) + "\n"


def _blocks(rows: Sequence[MentorRow]) -> Iterator[str]:
    yield f"{len(rows)} keepers, {_as_of(rows)}; those in need first"
    for row in rows:
        yield f"{row.keeper}{f', {row.phone}' if row.phone else ''}"
        yield from (f"  {head}: {getattr(row, name)}" for name, head in _matters(row))


def _matters(row: MentorRow) -> list[tuple[str, str]]:
    """The fields that say something, without those of the block's first line."""
    return [
        (name, head) for name, head in MENTOR_HEADS.items() if name not in ("keeper", "phone") and getattr(row, name)
    ]


def mentor_html(rows: Sequence[MentorRow], paper: str = "a4") -> str:
    """The page as HTML, to be read on a phone, or printed."""
    ordered = urgent_first(rows)
    told = [(row, [(head, getattr(row, name)) for name, head in _matters(row)]) for row in ordered]
    as_of = max((row.day for row in rows), default=date(2000, 1, 1).toordinal())
    return filled("mentor.html.j2", as_of, paper, told=told, days=_as_of(rows))


def _as_of(rows: Sequence[MentorRow]) -> str:
    """The days on which the keepers were planned: one, or the first and the last."""
    days = sorted({row.day for row in rows})
    return " to ".join(f"{month_day(one)} {year(one)}" for one in dict.fromkeys(days[:1] + days[-1:]))
