"""Where what is made stands below an outfit's folder: a person finds sheets, seasons and calendars by name.

In: names. Out: places, with ``/`` between folder and file; and what older programs left beside them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from ipmcal.model.outfit.outfit import EVERY_YARD
from ipmcal.model.values.days import day

SHEETS, ANSWERS, SEASONS, HANDOUTS, FORMS = "sheets", "answers", "seasons", "handouts", "forms"
REVIEWS = "reviews"
FEEDS, DATA, RECORD = "feeds", "data", "record"
INDEX, PRINT_JOB = "index.html", "print.pdf"
DATES = "dates"
"""The page of all yards by date, without its ending."""
AT_TOP = (PRINT_JOB, f"{DATES}.pdf")
"""The PDFs that stand in the outfit's folder itself."""
PLAN, ALL_YARDS = f"{DATA}/plan.json", f"{FEEDS}/{EVERY_YARD}.ics"


def sheet_place(yard: str, ordinal: int, code: str) -> str:
    """Where the sheet of a visit stands, without its ending."""
    return f"{SHEETS}/{yard}-{day(ordinal).isoformat()}-{code}"


def fillable_place(sheet: str) -> str:
    """Where a sheet stands as a form, by the sheet's own place; both without their ending."""
    return f"{sheet}-fillable"


def answers_place(yard: str) -> str:
    """Where the page stands on which a phone answers a yard's sheets, without its ending."""
    return f"{ANSWERS}/{yard}-answers"


def season_place(yard: str, season: int) -> str:
    """Where the page of a yard's season stands, without its ending."""
    return f"{SEASONS}/{yard}-season-{season}"


def review_place(yard: str, season: int) -> str:
    """Where the page of a season that is over stands, without its ending."""
    return f"{REVIEWS}/{yard}-review-{season}"


def handout_place(yard: str, season: int) -> str:
    """Where the hand-out of a yard's season stands, without its ending."""
    return f"{HANDOUTS}/{yard}-handout-{season}"


def forms_place(yard: str) -> str:
    """Where the blank forms of a yard stand, without the ending."""
    return f"{FORMS}/{yard}-forms"


def leftovers(out: Path, yards: Iterable[str]) -> Iterator[Path]:
    """What stands in the outfit's folder itself as it was laid out before there were folders in it, ``plan.json``
    last: while that is there, somebody may have been stopped while taking the rest away."""
    if not out.is_dir():
        return
    names = "|".join(map(re.escape, (*yards, EVERY_YARD)))
    paper = re.compile(rf"({names})-([0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}-[A-Z0-9]+|season-[0-9]{{4}})\.(html|pdf)")
    feed = re.compile(rf"({names})\.ics")
    yield from (path for path in sorted(out.iterdir()) if paper.fullmatch(path.name) or feed.fullmatch(path.name))
    if (out / "plan.json").is_file():
        yield from (path for name in ("tasks.csv", "counts.csv") if (path := out / name).is_file())
        yield out / "plan.json"


def tidy(out: Path, yards: Iterable[str], as_of: int) -> int:
    """Takes away what stands as it was laid out before; sheets of days that are over move into their folder. How many
    files that were. Raises OSError."""
    today, found = day(as_of).isoformat(), 0
    for path in leftovers(out, yards):
        dated = re.search(r"-([0-9]{4}-[0-9]{2}-[0-9]{2})-[A-Z0-9]+\.", path.name)
        to = out / SHEETS / path.name
        if dated and dated[1] < today and not to.exists():
            to.parent.mkdir(exist_ok=True)
            path.rename(to)
        else:
            path.unlink(missing_ok=True)
        found += 1
    return found
