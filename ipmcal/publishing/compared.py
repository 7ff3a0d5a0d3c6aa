"""Programs side by side: a table in words, a page with a picture for each, and the same as data.

In: ``ProgramYear`` values of one yard. Out: rows, HTML, JSON. No number is put on what two bands don't tell apart.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from markupsafe import Markup

from ipmcal.model.plan.compared import ProgramYear
from ipmcal.model.plan.mites import MiteYear
from ipmcal.model.values.words import counted, duration, joined, month_day
from ipmcal.publishing.asdata.forms import (
    COUNT,
    INTEGER,
    REAL,
    TEXT,
    Field,
    Shape,
    Tables,
    list_of,
    or_null,
    part,
)
from ipmcal.publishing.asdata.mites import MITE_SHAPES
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.paper.ink.miteschart import mites_chart, mites_panels, scale_of
from ipmcal.publishing.paper.outlook.mites import band_words, ten_words
from ipmcal.publishing.paper.page import filled
from ipmcal.publishing.paper.pdf import engine, render

LINELESS = "no line for mites on bees"
BESIDE = 2
"""So many pictures stand beside each other on one key; more are drawn one below the other, or they grow too narrow."""
ALIKE = "The loads lie within each other's bands: no difference that a count could show."

OVER = {"this": "this year", "next_": "next year", "settled": "kept up for years"}
"""The years of which is told how many hives would be over the line."""


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """A row of the table: what it is about, and a cell for each program."""

    about: str
    cells: tuple[str, ...]


def compared_rows(years: Sequence[ProgramYear]) -> tuple[ComparedRow, ...]:
    """The table of a yard: what each program takes, and what comes of it. A cell may have several lines."""
    rows = [
        ComparedRow("visits", tuple(str(one.visits) for one in years)),
        ComparedRow("in the yard", tuple(duration(one.minutes) for one in years)),
        ComparedRow("days on which mites are counted", tuple(str(one.counts) for one in years)),
        ComparedRow("days on which trap combs are cut", tuple(str(one.cuts) for one in years)),
        ComparedRow("courses", tuple("\n".join(_courses(one)) or "none" for one in years)),
        ComparedRow("to read first", tuple(counted(one.conflicts, "conflict") for one in years)),
    ]
    for place in range(max(len(one.mites) for one in years)):
        rows += _mites_rows(years, place)
    return tuple(rows)


def _courses(one: ProgramYear) -> Iterator[str]:
    found: dict[tuple[int, str], None] = {}
    for year in one.mites:
        for bar in year.courses:
            given = "" if bar.planned else ", given"
            found[bar.first, f"{month_day(bar.first, (one.season,))} {bar.title}{given}"] = None
    yield from (words for _, words in sorted(found))


def _mites_rows(years: Sequence[ProgramYear], place: int) -> Iterator[ComparedRow]:
    known = next(one.mites[place] for one in years if place < len(one.mites))
    head = hives_words(known)
    when = f"mites in 100 bees on {month_day(known.winter[0], (years[0].season,))}, first winter bees ({head})"
    yield ComparedRow(when, tuple(_on_winter(one, place) for one in years))
    for name, about in OVER.items():
        yield ComparedRow(f"hives over the line, {about} ({head})", tuple(_share(one, place, name) for one in years))


def _share(one: ProgramYear, place: int, name: str) -> str:
    share = _over(one, place, name)
    return LINELESS if share is None else ten_words(share)


def _over(one: ProgramYear, place: int, name: str) -> float | None:
    """The share of hives over the line, in a year of that name; None without a line."""
    odds = one.odds[place] if place < len(one.odds) else None
    return None if odds is None else float(getattr(odds, name))


def hives_words(one: MiteYear) -> str:
    """The hives of a picture."""
    return f"{'hive' if len(one.hives) == 1 else 'hives'} {joined(one.hives)}"


def _on_winter(one: ProgramYear, place: int) -> str:
    load = one.mites[place].on_winter if place < len(one.mites) else None
    return "not there yet" if load is None else band_words(load)


def are_alike(years: Sequence[ProgramYear]) -> bool:
    """Whether the loads at winter bees lie within each other's bands, program by program, for all hives, and no row of
    hives over the line differs by more than one in ten, as printed.
    """
    for place in range(max(len(one.mites) for one in years)):
        for name in OVER:
            tens = [round(10 * share) for one in years if (share := _over(one, place, name)) is not None]
            if tens and max(tens) - min(tens) > 1:
                return False
        loads = [load for one in years if place < len(one.mites) and (load := one.mites[place].on_winter) is not None]
        if any(not b.low <= a.median <= b.high for a in loads for b in loads):
            return False
    return True


# On a page ------------------------------------------------------------------------------------------------------------


def compared_html(groups: Sequence[Sequence[ProgramYear]], as_of: int, paper: str) -> str:
    """A page: for each yard the table, and the pictures of the same hives side by side where there are two, else one
    below the other, on one scale.
    """
    return filled(
        "compared.html.j2",
        as_of,
        paper,
        made_on=as_of,
        groups=[_group(group) for group in groups],
        programs=joined([one.title for one in groups[0]]) if groups else "",
        alike=ALIKE,
    )


def _group(group: Sequence[ProgramYear]) -> tuple[object, ...]:
    titles = [one.title for one in group]
    return group[0], titles, compared_rows(group), tuple(_charts(group)), are_alike(group)


def _charts(group: Sequence[ProgramYear]) -> Iterator[tuple[str, Markup]]:
    every = [year for one in group for year in one.mites]
    days = (min((year.first for year in every), default=0), max((year.last for year in every), default=0))
    top = max((scale_of(year)[0] for year in every), default=0.0)
    for place in range(max(len(one.mites) for one in group)):
        named = [(one.title, one.mites[place]) for one in group if place < len(one.mites)]
        if len(named) == BESIDE:
            hives = hives_words(named[0][1])
            yield f"{hives[:1].upper()}{hives[1:]}", mites_panels(named, days, top)
        else:
            yield from ((f"{title}: {hives_words(year)}", mites_chart(year, days, top)) for title, year in named)


def publish_compared(
    groups: Sequence[Sequence[ProgramYear]], as_of: int, paper: str, out: Path
) -> tuple[list[str], str]:
    """Writes page, PDF and data; what was written, and why there is no PDF ("" where there is). Raises OSError."""
    html = compared_html(groups, as_of, paper)
    files = {"compared.html": html.encode(), "compared.json": compared_json(groups).encode("utf-8", "replace")}
    no_pdf = engine()
    if not no_pdf:
        files["compared.pdf"] = render(html)
    write_all({out / name: content for name, content in files.items()})
    return sorted(files), no_pdf or ""


# As data --------------------------------------------------------------------------------------------------------------

_BY_YEAR: Final = Shape(
    "odds_by_year",
    "The share of hives over the line, 0 to 1, on the day on which most are.",
    (
        Field("this", REAL, "This year."),
        Field("next", REAL, "Next year, with the same courses.", lambda odds: odds.next_),
        Field("settled", REAL, "Kept up for years."),
    ),
)
_YEAR: Final = Shape(
    "program_year",
    "A yard's season under a program.",
    (
        Field("program", TEXT, "The program, by its rule file's name."),
        Field("title", TEXT, "The same in words."),
        Field("yard", TEXT, "Key of the yard."),
        Field("yard_name", TEXT, "Its name."),
        Field("season", INTEGER, "The season, by the year in which it begins."),
        Field("visits", COUNT, "Visits planned."),
        Field("minutes", COUNT, "Minutes in the yard."),
        Field("counts", COUNT, "Days on which mites are counted."),
        Field("cuts", COUNT, "Days on which trap combs are cut."),
        Field("conflicts", COUNT, "What has to be read first."),
        Field("mites", list_of(part("mite_year")), "The mites of each kind of hives."),
        Field("odds", list_of(or_null(part("odds_by_year"))), "With each of these, the odds; null without a line."),
    ),
)
_SHAPES: Final = {shape.name: shape for shape in (*MITE_SHAPES, _BY_YEAR, _YEAR)}


def compared_json(groups: Sequence[Sequence[ProgramYear]]) -> str:
    """All yards and programs as JSON, keys sorted; the same comparison gives the same text."""
    tables = Tables(_SHAPES)
    data = [_YEAR.write(one, tables) for group in groups for one in group]
    return json.dumps({"programs": data}, sort_keys=True, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
