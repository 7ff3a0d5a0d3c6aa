"""A day of another year than the one that a page is about has its year with it: whatever text it stands in."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from examples import AS_OF, example
from icalendar import Calendar

from ipmcal.model.values.words import DAYS, MONTHS, SHORT_MONTHS, month_day, rough_range, with_years

EXAMPLES = ("first_season.yaml", "hollow_lane", "ridge_road.yaml")
NAMED = re.compile(r"\b([A-Z][a-z]{2,8}) (\d{1,2}) ([A-Z][a-z]{2,8})\b(?! \d{4})")
ROOMS = ("sheets", "seasons", "handouts")


def days_without_year(text: str) -> Iterator[tuple[str, int, int]]:
    """Days that are named with their weekday and no year: the weekday's first letters, month, day."""
    for weekday, day, month in NAMED.findall(text):
        months = SHORT_MONTHS if month in SHORT_MONTHS else MONTHS
        if month in months and any(name.startswith(weekday) for name in DAYS):
            yield weekday[:3], months.index(month) + 1, int(day)


def astray(text: str, years: set[int]) -> list[tuple[str, int, int]]:
    """Those of them that have another weekday in each of the years."""
    return [
        (weekday, month, day)
        for weekday, month, day in days_without_year(text)
        if weekday not in {DAYS[date(year, month, day).weekday()][:3] for year in years if (month, day) != (2, 29)}
    ]


def read(path: Path) -> str:
    """The text of a page, without what an attribute says."""
    body = re.sub(r"(?s)<style.*?</style>|<title>.*?</title>", "", path.read_text(encoding="utf-8"))
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", body)).split())


def about(path: Path, text: str) -> set[int]:
    """The years that a page says it is about: a sheet by its day, the others by their title."""
    if path.parent.name == "sheets":
        return {int(re.findall(r"-(\d{4})-\d\d-\d\d-", path.name)[0])}
    first, second = re.findall(r"(?:season|bees in) (\d{4})(?:(?:/| and (?=20))(\d+))?", text)[0]
    return {int(first)} | ({int(f"20{second[-2:]}")} if second else set())


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_day_of_another_year_has_its_year(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    home = example(name, tmp_path_factory)
    pages = [path for room in ROOMS for path in sorted(home.glob(f"out/*/{room}/*.html"))]
    assert {path.parent.name for path in pages} == set(ROOMS)
    for path in pages:
        text = read(path)
        assert astray(text, about(path, text)) == [], path.name
    for path in home.glob("out/*/dates.html"):
        assert astray(read(path), {int(AS_OF[:4])}) == [], path.name


@pytest.mark.parametrize("name", EXAMPLES)
def test_so_it_has_in_a_calendar(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    events = 0
    for path in example(name, tmp_path_factory).glob("out/*/feeds/all-yards.ics"):
        for event in Calendar.from_ical(path.read_bytes()).walk("VEVENT"):
            said, years = f"{event['SUMMARY']}\n{event['DESCRIPTION']}", {event.start.year, event.end.year}
            assert astray(said, years) == [], said
            events += 1
    assert events


def test_next_year_s_work_is_on_the_wall_with_its_year(tmp_path_factory: pytest.TempPathFactory) -> None:
    (path,) = example("first_season.yaml", tmp_path_factory).glob("out/*/handouts/*.html")
    wall = re.findall(r'<th scope="row">([^<]+)</th>', path.read_text(encoding="utf-8"))
    assert re.fullmatch(r"\d+ (Jan|Feb) 2028", wall[-1])
    assert not any("20" in day[-4:] for day in wall if "Jan" not in day and "Feb" not in day)


@pytest.mark.parametrize(
    ("text", "years", "said"),
    [
        ("be back Sat 8 Jan", (2027,), "be back Sat 8 Jan 2028"),
        ("be back Sat 8 Jan", (2027, 2028), "be back Sat 8 Jan"),
        ("Saturday 8 January, Fri 31 Dec", (2027,), "Saturday 8 January 2028, Fri 31 Dec"),
        ("since Wed 30 Sept", (2027,), "since Wed 30 Sept 2026"),
        ("since Wed 30 Sept 2026", (2027,), "since Wed 30 Sept 2026"),
        ("Thu 29 Feb or Tue 29 Feb", (2027,), "Thu 29 Feb 2024 or Tue 29 Feb 2028"),
        ("Mark 8 May", (2027,), "Mark 8 May"),
    ],
)
def test_the_weekday_tells_the_year(text: str, years: tuple[int, ...], said: str) -> None:
    assert with_years(text, years) == said


def test_days_without_a_weekday_are_asked_for_their_year() -> None:
    late, early = date(2027, 12, 30).toordinal(), date(2028, 1, 2).toordinal()
    assert month_day(early, (2027,)) == "2 Jan 2028"
    assert rough_range(late, early, (2027,)) == "30 Dec to 2 Jan 2028"
    assert rough_range(late, early) == "30 Dec to 2 Jan"
