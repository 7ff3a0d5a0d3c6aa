"""Telling: a plan in a few lines for the screen: its size, what the counts say, the courses, what has to be read.

In: a plan. Out: lines of text.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan, Refusal
from ipmcal.model.values.words import counted, short_day
from ipmcal.publishing.paper.season import merged
from ipmcal.saying.status import yards_once


def size_words(made: Plan) -> str:
    """How many yards, colonies and visits, in which seasons: those that have visits, where some have."""
    yards = yards_once(made)
    colonies = sum(len(view.colonies) for view in yards)
    visited = {task for visit in made.visits for task in visit.tasks}
    worked = {str(task.season) for task in made.tasks if task.id in visited}
    seasons = " and ".join(sorted(worked or {str(view.season) for view in made.yards}))
    return (
        f"{counted(len(yards), 'yard')}, {counted(colonies, 'colony', 'colonies')}, "
        f"{counted(len(made.visits), 'visit')} in {seasons}"
    )


def finding_lines(made: Plan) -> Iterator[str]:
    """Notes, what the counts say, courses, conflicts, and what is not offered."""
    for note in made.notes:
        yield f"  note: {note}"
    yield from _calls(made)
    seasons = Counter(chosen.yard for chosen in made.choosing)
    for chosen in made.choosing:
        whose = chosen.yard if seasons[chosen.yard] == 1 else f"{chosen.yard}, season {chosen.season}"
        for words in chosen.chosen:
            yield f"  course: {whose}: {words}"
        for words in chosen.left:
            yield f"  left open: {whose}: {words}."
    for conflict in merged(made.conflicts):
        whose = f"{conflict.yard} {conflict.subject}".strip()
        yield f"  conflict: {whose}: {because_words(conflict.what)}. Would help: {because_words(conflict.helps)}."
    yield from _refusals(made.refusals)


def _refusals(refusals: Sequence[Refusal]) -> Iterator[str]:
    """What is not offered, those together who are told the same of the same."""
    same: dict[tuple[str, str], list[str]] = {}
    for one in refusals:
        helps = f". Would help: {'; '.join(causes_words(one.helps))}" if one.helps else ""
        words = f"{one.title}: {'; '.join(causes_words(one.whys))}{helps}"
        same.setdefault((one.yard, words), []).append(one.subject)
    for (yard, words), whose in same.items():
        yield f"  not offered: {yard} {', '.join(dict.fromkeys(filter(None, whose)))}".rstrip() + f": {words}."


def _calls(made: Plan) -> Iterator[str]:
    """What the counts say, with each count and what treatments did."""
    for call in made.calls:
        yield f"  counts: {call.yard}: {call.words}"
        for one in call.counts:
            line = "; ".join(part for part in (one.sure, one.line) if part)
            yield f"    {one.colony}, {short_day(one.day)}: {one.found} ({line}): {one.call}"
        for words in call.efficacy:
            yield f"    {words}"
