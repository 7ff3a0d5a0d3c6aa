"""Voices of pages: sheet, its boxes, season page and `why`, each held against the plan that all are made from."""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import day as date_of
from ipmcal.model.values.signs import DIGITS, LETTERS
from ipmcal.model.values.words import sentence, short_day
from ipmcal.publishing.paper.answering import answer_sheets
from ipmcal.publishing.paper.leaf import late_once
from ipmcal.publishing.paper.naming import act_words, hive_name, up_to_colon
from ipmcal.publishing.paper.season import HELD_TO, SeasonPage, make_season
from ipmcal.publishing.paper.sheet import SheetPage, make_sheet, sheet_lines, yard_of
from ipmcal.saying.reasons import why_lines

A_CODE = LETTERS[0] + DIGITS[0]
"""The code of a sheet; here any will do."""


def sheets_agree(plan: Plan) -> Iterator[str]:
    """Each task of a visit has one line of its sheet, in its hive, with its last good day; and all that it notes,
    warns of or wants done stands on that sheet."""
    for visit in plan.visits:
        sheet = make_sheet(plan, visit)
        lines = [(block.key, line) for block in sheet.blocks for line in (*block.lines, *block.below)]
        if sorted(line.task.id for _, line in lines) != sorted(visit.tasks):
            yield f"{visit.id}: its lines are not its tasks"
            continue
        for hive, line in lines:
            task = plan.task(line.task.id)
            if (hive, line.by) != (task.colony or "", task.window.hard_stop):
                yield f"{task.id}: its line says hive {hive}, by {line.by}"
            if up_to_colon(line.words) != up_to_colon(task.do):
                yield f"{task.id}: its line says {line.words}, and it is {task.do}"
            for words in (*late_once(task).notes, *task.cautions):
                if words not in said_at(sheet, hive, task):
                    yield f"{task.id}: its sheet does not say: {words}"
        for must in sheet.musts:
            if must.by != must.task.window.by:
                yield f"{visit.id}: {must.do} by {short_day(must.by)} on its head"


def said_at(sheet: SheetPage, hive: str, task: Task) -> set[str]:
    """All that a sheet says of a task: at its line, at its hive, above the hives that it is one of, on the back."""
    found = {sheet.stores, *sheet.yard.cautions, *sheet.yard.each_hive}
    for block in sheet.blocks:
        given = [one for one in block.giving if (task.method, task.step) in one.steps]
        found |= {words for one in given for words in (*one.notes, *one.cautions)}
        if block.key == hive:
            found |= {*block.facts, *block.lying, *block.cautions}
            found |= {n for line in (*block.lines, *block.below) if line.task.id == task.id for n in line.notes}
    found |= {words for _, texts in sheet.several for words in texts}
    return found | {words for one in sheet.told for words in (*one.how, *one.cautions)}


def boxes_answer(plan: Plan) -> Iterator[str]:
    """The boxes of a fillable sheet, and the page for the phone, number the lines as the ledger and the paper do, and
    say the same hive, work and last good day."""
    for view in _views(plan):
        codes = {visit.id: A_CODE for visit in plan.visits if visit.yard == view.key}
        visits = sorted((v for v in plan.visits if v.id in codes), key=lambda v: v.day)
        for visit, answers in zip(visits, answer_sheets(plan, view, codes), strict=True):
            numbered = {line.number: line for b in make_sheet(plan, visit).blocks for line in (*b.lines, *b.below)}
            for number, (name, box) in enumerate(zip(sheet_lines(plan, visit), answers.lines, strict=True), 1):
                task, line = plan.task(name), numbered.get(number)
                if line is None or line.task.id != name or box.number != number:
                    yield f"{visit.id} line {number}: the paper has another task than its box"
                    continue
                stop = task.window.hard_stop
                if (stop is not None) != bool(box.by) or (stop is not None and short_day(stop) not in box.by):
                    yield f"{name}: its box says {box.by}"
                if (hive_name(task, view) or "Yard") not in box.who or box.do != task.do:
                    yield f"{name}: its box says {box.who}: {box.do}"


def season_agrees(plan: Plan) -> Iterator[str]:
    """The season page has the visits of the sheets, with the same work and last good days; courses and counts as the
    plan has them; and each course's second choice stands with its own product."""
    for view in plan.yards:
        page = make_season(plan, view)
        mine = [v for v in plan.visits if v.yard == view.key and _of(plan, v, view)]
        if [row.visit.id for row in page.visits] != [visit.id for visit in mine]:
            yield f"{view.key}: its season page has other visits"
            continue
        for row in page.visits:
            yield from _row_agrees(plan, view, row.visit, {w.do: (w.who, w.by) for w in row.works})
        yield from _stops_agree(plan, view, page)
        yield from _courses_agree(page)
        for call, line, counts in page.calls:
            said = [count for some in counts for count in some.counts]
            if sorted(c.colony for c in said) != sorted(c.colony for c in call.counts):
                yield f"{view.key}: its season page has other counts"
            whose = line.removeprefix(HELD_TO)
            if line and any(count.line and whose not in count.line for count in said):
                yield f"{view.key}: counts are held against other lines than {line}"


def _views(plan: Plan) -> list[YardView]:
    return [yard_of(plan, key) for key in dict.fromkeys(view.key for view in plan.yards)]


def _of(plan: Plan, visit: Visit, view: YardView) -> list[Task]:
    return [task for task in map(plan.task, visit.tasks) if task.season == view.season]


def _row_agrees(plan: Plan, view: YardView, visit: Visit, works: dict[str, tuple[str, int | None]]) -> Iterator[str]:
    everyone = {colony.key for colony in view.colonies}
    by_act: dict[str, list[Task]] = {}
    for task in _of(plan, visit, view):
        by_act.setdefault(act_words(task), []).append(task)
    for act, some in by_act.items():
        who, by = works.get(act) or works.get(up_to_colon(act)) or (None, None)
        stop = min((t.window.hard_stop for t in some if t.window.hard_stop is not None), default=None)
        if who is None or by != stop:
            yield f"{visit.id}: {act}, by {stop}: its season page says {who}, by {by}"
        elif who == "" and {t.colony for t in some} not in (everyone, {None}):
            yield f"{visit.id}: {act} is not for all hives, and its season page names none"


def _stops_agree(plan: Plan, view: YardView, page: SeasonPage) -> Iterator[str]:
    ahead = [t for v in plan.visits if v.yard == view.key for t in _of(plan, v, view)]
    want = {(act_words(t), t.window.hard_stop, t.planned) for t in ahead if t.window.hard_stop is not None}
    told = {(stop.do, day.by, day.planned) for stop in page.stops for day in stop.days}
    for do, by, planned in want ^ told:
        yield f"{view.key}: {do}, by {by}, planned on {planned}: not the same last good days on its season page"


def _courses_agree(page: SeasonPage) -> Iterator[str]:
    chosen = page.choosing.chosen if page.choosing is not None else ()
    if [one.chosen for one in page.courses if one.chosen] != list(chosen):
        yield f"{page.title}: not the courses that were chosen"
    for words in page.choosing.second if page.choosing is not None else ():
        title, _, rest = words.partition(": ")
        told = (f"{rest}.", sentence(rest))
        own = any(one.chosen.startswith(f"{title} ") and any(t in one.second for t in told) for one in page.courses)
        same = any(one.chosen.endswith(f": {rest}") and title in one.second for one in page.courses)
        alone = any(not one.chosen and words in one.second for one in page.courses)
        if not (own or same or alone):
            yield f"{page.title}: a second choice stands with another course, or with none: {words}"


def reasons_agree(plan: Plan, book: Rulebook) -> Iterator[str]:
    """`why` tells the day, rain date and last good day of a task as its sheet does."""
    rain = {task: visit.rain_date for visit in plan.visits for task in visit.tasks}
    for task in plan.tasks:
        if task.planned is None:
            continue
        lines = list(why_lines(task, book.sources))
        told = next((line for line in lines if line.startswith("planned ")), "")
        want = f"planned {_full(task.planned)}, "
        want += f"rain date {_full(rain[task.id] or 0)}" if rain.get(task.id) else "no rain date"
        if told != want:
            yield f"{task.id}: why says {told}, its sheet {want}"
        closes = next((line for line in lines if line.startswith("closes ")), "").removesuffix(", CUT BY")
        if closes != f"closes {_full(task.window.by)}":
            yield f"{task.id}: why says {closes}, its sheet by {_full(task.window.by)}"


def _full(ordinal: int) -> str:
    return f"{short_day(ordinal)} {date_of(ordinal).year}"
