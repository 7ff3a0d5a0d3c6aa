"""HTML of every document. In: the plan. Out: pages that need nothing else: style inside, nothing fetched.

What comes from rules, yards and journals is escaped, and made printable by ``words.plain``, wherever it is printed.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from ipmcal.data import folder
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.values import words
from ipmcal.model.values.signs import printed_code
from ipmcal.publishing.paper.season import make_season
from ipmcal.publishing.paper.sheet import make_sheet, sheet_lines, yard_of

__all__ = ["filled", "season_html", "sheet_html", "sheet_lines"]

PAPERS = {"letter": "Letter", "a4": "A4"}


def sheet_html(plan: Plan, visit: Visit, code: str, printed: int | None = None) -> str:
    """The clipboard sheet of a visit. ``code`` is its sheet code; ``printed`` the day of printing (the plan's if None).

    Raises KeyError where the visit names a yard or task that the plan lacks.
    """
    sheet = make_sheet(plan, visit)
    html = _made(
        "sheet.html.j2",
        plan,
        sheet.yard,
        visit=visit,
        sheet=sheet,
        code=code,
        printed=plan.as_of if printed is None else printed,
        emergency=next((text for text in sheet.yard.cautions if _of_emergency(text)), ""),
        cautions=[text for text in sheet.yard.cautions if not _of_emergency(text)],
    )
    return words.in_fahrenheit(html) if sheet.yard.fahrenheit else html


def season_html(plan: Plan, yard_key: str, season: int | None = None) -> str:
    """The page of a yard's season (the first that is planned), for the wall. Raises KeyError where there is none."""
    yard = yard_of(plan, yard_key, season)
    return _made("season.html.j2", plan, yard, season=make_season(plan, yard))


def _made(template: str, plan: Plan, yard: YardView, **views: object) -> str:
    return filled(template, plan.as_of, yard.paper, plan=plan, yard=yard, **views)


def filled(template: str, as_of: int, paper: str, **views: object) -> str:
    """A template filled in, on a paper (``a4``, ``letter``).

    ``as_of`` is the PDF's day of making: never the time of printing, so that equal pages stay equal.
    """
    stamp = f"{date.fromordinal(as_of).isoformat()}T00:00:00Z"
    return _environment().get_template(template).render(paper=PAPERS.get(paper, "A4"), stamp=stamp, **views)


def _of_emergency(caution: str) -> bool:
    """True for the yard's caution that stands on the foot of every page instead of the head of the first."""
    return "emergency" in caution.casefold()


def _printable(value: object) -> object:
    """Plain text on its way into a page; markup of our own is left alone."""
    return words.plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _squares(text: str) -> Markup:
    from ipmcal.publishing.paper.qr import squares  # few pages have an address

    return squares(text)


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
        long_day=words.long_day,
        short_day=words.short_day,
        month_day=words.month_day,
        printed_code=printed_code,
        squares=_squares,
        rough_range=lambda days: words.rough_range(*days),
        year=words.year,
        duration=words.duration,
        upper_first=lambda text: text[:1].upper() + text[1:],
        counted=words.counted,
        joined=words.joined,
        shortened=lambda text, most: words.shortened(words.plain(text), most),
        phrase=lambda text: words.plain(text).rstrip(". "),
        where=lambda yard: words.position(yard.latitude, yard.longitude),
        weight=lambda name: "" if len(name) <= 3 else " middling" if len(name) <= 8 else " long",
    )
    return environment
