"""HTML of every document. In: the plan. Out: pages that need nothing else: style inside, nothing fetched.

What comes from rules, yards and journals is escaped, and made printable by ``words.plain``, wherever it is printed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import EVERY_YARD
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.values import words
from ipmcal.model.values.signs import printed_code
from ipmcal.publishing.paper.answering import answer_sheets
from ipmcal.publishing.paper.dates import SheetCodes, dated_days, loaded_always
from ipmcal.publishing.paper.handout import Teaching, handout_year, make_handout
from ipmcal.publishing.paper.outlook.review import make_review
from ipmcal.publishing.paper.season import make_season
from ipmcal.publishing.paper.sheet import make_sheet, sheet_lines, yard_of
from ipmcal.publishing.places import (
    ANSWERS,
    DATA,
    DATES,
    FEEDS,
    FORMS,
    HANDOUTS,
    PRINT_JOB,
    REVIEWS,
    SEASONS,
    SHEETS,
    answers_place,
    forms_place,
    handout_place,
    review_place,
    season_place,
)

__all__ = [
    "answering_html", "cover_html", "dates_html", "filled", "forms_html", "handout_html", "index_html",
    "review_html", "season_html", "sheet_html", "sheet_lines"
]  # fmt: skip

INDEX_GROUPS = {
    f"{DATES}.html": "What is when",
    SHEETS: "Sheets",
    ANSWERS: "From a phone: what was done and found",
    SEASONS: "Seasons, for the wall",
    REVIEWS: "Seasons that are over",
    HANDOUTS: "Hand-outs for the first year, half sheets",
    FORMS: "Blank forms",
    FEEDS: "Calendars",
    DATA: "For programs",
}
"""What stands where in the folder, in words, in the order of reading."""
_ABOUT = "about"
"""What templates know the years by that their page is about."""
PAPERS = {"letter": "Letter", "a4": "A4"}
HALVES = {"letter": "139.7mm 215.9mm", "a4": "A5"}


def sheet_html(plan: Plan, visit: Visit, code: str, printed: int | None = None, *, fillable: bool = False) -> str:
    """The clipboard sheet of a visit. ``code`` is its sheet code; ``printed`` the day of printing (the plan's if None).
    ``fillable`` makes it a form: a box for each tick, word and digit (``model/values/fillable.py`` names them).

    Raises KeyError where the visit names a yard or task that the plan lacks.
    """
    sheet = make_sheet(plan, visit)
    asked = answer_sheets(plan, sheet.yard, {visit.id: code})[0].lines if fillable else ()
    html = _made(
        "sheet.html.j2",
        plan,
        sheet.yard,
        (words.year(visit.day),),
        visit=visit,
        sheet=sheet,
        code=code,
        printed=plan.as_of if printed is None else printed,
        form=f"{printed_code(code)} {date.fromordinal(visit.day)}" if fillable else "",
        rain="" if visit.rain_date is None else str(date.fromordinal(visit.rain_date)),
        filling={line.number: line for line in asked},
        emergency=next((text for text in sheet.yard.cautions if _of_emergency(text)), ""),
        cautions=[text for text in sheet.yard.cautions if not _of_emergency(text)],
    )
    return words.in_fahrenheit(html) if sheet.yard.fahrenheit else html


def season_html(plan: Plan, yard_key: str, season: int | None = None, codes: SheetCodes | None = None) -> str:
    """The page of a yard's season (the first that is planned), for the wall. Raises KeyError where there is none.

    On paper it has what a keeper reads at the wall; the page for screens has the rest too.
    """
    yard = yard_of(plan, yard_key, season)
    named = {visit.id: (codes or {}).get(visit.id, "") for visit in plan.visits}
    return _made("season.html.j2", plan, yard, yard.years, season=make_season(plan, yard), codes=named)


def review_html(plan: Plan, yard_key: str, season: int) -> str:
    """The page that looks back on a yard's season. Raises KeyError where there is none."""
    yard = yard_of(plan, yard_key, season)
    return _made("review.html.j2", plan, yard, yard.years, page=make_review(plan, yard))


def answering_html(plan: Plan, yard_key: str, codes: Mapping[str, str]) -> str:
    """The page on which a phone answers a yard's sheets; ``codes`` by visit. Raises KeyError where there is no yard."""
    yard = yard_of(plan, yard_key)
    html = _made("answering.html.j2", plan, yard, (words.year(plan.as_of),), sheets=answer_sheets(plan, yard, codes))
    return words.in_fahrenheit(html) if yard.fahrenheit else html


def handout_html(plan: Plan, yard_key: str, season: int | None, teaching: Teaching) -> str:
    """The hand-out of a yard's season: half sheets of its paper, or whole ones in large print."""
    yard = yard_of(plan, yard_key, season)
    size = PAPERS[yard.paper] if yard.large_print else HALVES[yard.paper]
    page = make_handout(plan, yard, teaching)
    html = _made("handout.html.j2", plan, yard, yard.years, page=page, years=handout_year(yard), size=size)
    return words.in_fahrenheit(html) if yard.fahrenheit else html


def forms_html(plan: Plan, yard_key: str) -> str:
    """Blank forms of a yard, for those who start with paper: counts, looks, trap combs, treatments."""
    return _made("forms.html.j2", plan, yard_of(plan, yard_key), ())


def dates_html(plan: Plan, codes: SheetCodes, ahead: int | None) -> str:
    """All yards by date: the days of the next ``ahead`` days in full (None: all), the later ones named."""
    days = dated_days(plan, codes)
    near = tuple(day for day in days if ahead is None or day.day < plan.as_of + ahead or day is days[0])
    always, near = loaded_always(near)
    views = {"plan": plan, "always": always, "near": near, "later": days[len(near) :]}
    html = filled("dates.html.j2", plan.as_of, _paper(plan), **views)
    return words.in_fahrenheit(html) if plan.yards and plan.yards[0].fahrenheit else html


def cover_html(plan: Plan) -> str:
    """An empty page: what a print job takes its title and its paper from, and what stands behind an odd page."""
    return filled("cover.html.j2", plan.as_of, _paper(plan), plan=plan)


def index_html(plan: Plan, job: str, documents: Sequence[str], later: int) -> str:
    """The folder's way in, for a screen: what to print (``job`` in words), and links to all ``documents``."""
    pages = [name.removesuffix(".html") for name in documents if name.endswith(".html")]
    titles = _titles(plan)
    groups: dict[str, list[tuple[str, str, str]]] = {title: [] for title in INDEX_GROUPS.values()}
    for name in documents:
        head = name.partition("/")[0]
        stem, _, ending = name.rpartition(".")
        if head in INDEX_GROUPS and not (ending == "pdf" and stem in pages):
            pdf = f"{stem}.pdf" if ending == "html" and f"{stem}.pdf" in documents else ""
            groups[INDEX_GROUPS[head]].append((titles.get(stem) or _sheet_words(plan, stem), name, pdf))
    printed = PRINT_JOB if PRINT_JOB in documents else ""
    views = {"job": printed, "job_words": job, "groups": groups.items(), "later": later}
    return filled("index.html.j2", plan.as_of, _paper(plan), plan=plan, **views)


def _titles(plan: Plan) -> dict[str, str]:
    """By place: what stands there, in words; but for sheets."""
    titles = {DATES: "All yards by date", f"{FEEDS}/{EVERY_YARD}": "All yards"}
    for yard in plan.yards:
        titles |= {
            f"{FEEDS}/{yard.key}": yard.name,
            answers_place(yard.key): f"{yard.name}: tap it in, and send it",
            forms_place(yard.key): f"{yard.name}, blank forms",
            season_place(yard.key, yard.season): f"{yard.name}, season {yard.season}",
            review_place(yard.key, yard.season): f"{yard.name}, {yard.season} looked back on",
            handout_place(yard.key, yard.season): f"{yard.name}, hand-out {yard.season}",
        }
    return titles


def _sheet_words(plan: Plan, place: str) -> str:
    """A sheet's place as words, "Sunday 16 May: Orchard, sheet C3"; a place that is no sheet's as its name."""
    name = place.rpartition("/")[2]
    dated = re.fullmatch(r"(.+)-([0-9]{4}-[0-9]{2}-[0-9]{2})-([A-Z0-9]+)(-fillable)?", name)
    names = {yard.key: yard.name for yard in plan.yards}
    if dated is None or dated[1] not in names:
        return name
    form = ", to fill in" if dated[4] else ""
    return f"{words.long_day(date.fromisoformat(dated[2]).toordinal())}: {names[dated[1]]}, sheet {dated[3]}{form}"


def _paper(plan: Plan) -> str:
    return plan.yards[0].paper if plan.yards else "a4"


def _made(template: str, plan: Plan, yard: YardView, about: Sequence[int], **views: object) -> str:
    return filled(template, plan.as_of, yard.paper, about, plan=plan, yard=yard, **views)


def filled(template: str, as_of: int, paper: str, about: Sequence[int] = (), /, **views: object) -> str:
    """A template filled in, on a paper (``a4``, ``letter``): a page ``about`` some years (none: that of ``as_of``), on
    which days of others have theirs.

    ``as_of`` is the PDF's day of making: never the time of printing, so that equal pages stay equal.
    """
    stamp = f"{date.fromordinal(as_of).isoformat()}T00:00:00Z"
    years = tuple(about) or (words.year(as_of),)
    views |= {"paper": PAPERS.get(paper, "A4"), "stamp": stamp, _ABOUT: years}
    return words.with_years(_environment().get_template(template).render(views), years)


def _of_emergency(caution: str) -> bool:
    """True for the yard's caution that stands on the foot of every page instead of the head of the first."""
    return "emergency" in caution.casefold()


def _printable(value: object) -> object:
    """Plain text on its way into a page; markup of our own is left alone."""
    return words.plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _squares(text: str) -> Markup:
    from ipmcal.publishing.paper.ink.qr import squares  # few pages have an address

    return squares(text)


def _in_years(write: Callable[[Any], str]) -> Callable[[Context, Any], str]:
    """A filter that writes days with their years as the page needs them: its layout asks how long these are."""

    @pass_context
    def written(page: Context, days: Any) -> str:
        return words.with_years(write(days), page[_ABOUT])

    return written


@pass_context
def _month_day(page: Context, day: int) -> str:
    return words.month_day(day, page[_ABOUT])


@pass_context
def _rough_range(page: Context, days: Sequence[int]) -> str:
    return words.rough_range(days[0], days[1], page[_ABOUT])


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(folder("templates")),
        autoescape=True,
        finalize=_printable,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.filters.update(
        because=because_words,
        long_day=_in_years(words.long_day),
        short_day=_in_years(words.short_day),
        dated_day=words.dated_day,
        month_day=_month_day,
        printed_code=printed_code,
        squares=_squares,
        day_range=_in_years(lambda days: words.day_range(*days)),
        rough_range=_rough_range,
        year=words.year,
        duration=words.duration,
        lower_first=lambda text: text[:1].lower() + text[1:],
        upper_first=lambda text: text[:1].upper() + text[1:],
        counted=words.counted,
        joined=words.joined,
        shortened=lambda text, most: words.shortened(words.plain(text), most),
        phrase=lambda text: words.plain(text).rstrip(". "),
        stopped=lambda text: words.plain(text) if text.endswith(("?", "!")) else words.plain(text).rstrip(". ") + ".",
        where=lambda yard: words.position(yard.latitude, yard.longitude),
        weight=lambda name: "" if len(name) <= 3 else " middling" if len(name) <= 8 else " long",
    )
    return environment
