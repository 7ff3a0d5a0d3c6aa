"""What the screen says of a club: a line a keeper that was made, and one for all at the end.

In: what was made, plans. Out: lines of text; the rows of the mentor's page.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import counted, joined, month_day, year
from ipmcal.publishing.lists.mentor import MentorRow
from ipmcal.saying.status import matters_of, next_visit, yards_once

URGENT = ("over the line", "LATE, was due", "conflicts", "count again", "take out", "last good days", "count mites")
"""What is told of a yard, the most urgent first; what is none of these comes behind."""
CHANGES = 3
"""So many changes are told of a keeper; they come with what can do harm first."""


def roster_words(head: str, lines: Sequence[str]) -> Iterator[str]:
    """A keeper that was made, and where their own file differs from the list, also of one that stood."""
    if head:
        yield head
    for line in lines:
        yield f"  {line}"


def roster_end(made: Sequence[tuple[bool, bool]], rows: int, others: Sequence[str]) -> str:
    """The last line. ``made``: of each keeper, whether anything was made, and whether it could not be."""
    fresh, failed = sum(one for one, _ in made), sum(one for _, one in made)
    words = [f"{counted(fresh, 'keeper')} made", f"{len(made) - fresh - failed} unchanged"]
    if rows:
        words.append(f"{counted(rows, 'row')} of the list to put right")
    if failed:
        words.append(f"{counted(failed, 'keeper')} whose own files are to be put right")
    left = f" Columns left alone: {joined(others)}." if others else ""
    return f"{', '.join(words)}.{left}"


def answer_lines(who: str, phone: str, understood: Sequence[str], questions: Sequence[str]) -> Iterator[str]:
    """What became of a message: what was understood, and questions as they may be sent back."""
    yield f"{who}: {understood[0]}"
    yield from understood[1:]
    for question in questions:
        yield f"  to ask{f' ({phone})' if phone else ''}: {question}"


def post_end(counts: Sequence[tuple[int, int]]) -> str:
    """The last line. ``counts``: of each message, the lines written and the questions."""
    written, asked = sum(one for one, _ in counts), sum(one for _, one in counts)
    return (
        f"{counted(len(counts), 'message')}: {counted(written, 'line')} written, {counted(asked, 'question')} to send."
    )


def mentor_row(plan: Plan, counts: frozenset[str], heard: int, changes: Sequence[str]) -> MentorRow:
    """A keeper as their mentor has to know them; ``counts`` are the journal's words for counts of mites, ``heard`` the
    day of the last line of the journal, 0 where there is none."""
    told: dict[str, list[str]] = {}
    yards = yards_once(plan)
    for yard in yards:
        for head, words in matters_of(plan, yard, counts):
            told.setdefault(head, []).append(f"{yard.name}: {words}" if len(yards) > 1 else words)
    treat = any(call.over and call.treated is None for call in plan.calls)
    ranks = [place for place, head in enumerate(URGENT) if head in told and (place or treat)]
    silent = bool(told.get("printed, not heard of")) or not heard
    rank = min(ranks, default=len(URGENT) + (not silent))
    said = {head: "; ".join(parts) for head, parts in told.items()}
    visits = [f"{f'{yard.name}: ' if len(yards) > 1 else ''}{next_visit(plan, yard)}" for yard in yards]
    return MentorRow(
        rank,
        plan.as_of,
        heard,
        plan.outfit_name,
        over=said.get("over the line", ""),
        late=said.get("LATE, was due", ""),
        again=said.get("count again", ""),
        strips=said.get("take out", ""),
        stops=said.get("last good days", ""),
        count=said.get("count mites", ""),
        silent=_silence(heard, said),
        visit="; ".join(visits).replace("next visit ", ""),
        changes="; ".join(changes[:CHANGES]),
    )


def _silence(heard: int, said: Mapping[str, str]) -> str:
    """Since when nothing was heard of a keeper who was to do something; "" where nothing is waited for."""
    since = f"since {month_day(heard)} {year(heard)}" if heard else "at all yet"
    waited = [said[head] for head in ("printed, not heard of", "not in the journal") if head in said]
    if waited:
        return f"{since}; {' and '.join(waited)} printed, none of it taken for done"
    return "" if heard else since
