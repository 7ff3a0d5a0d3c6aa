"""Answers: what to do at the hive for each finding, and when to be back. Worked out before the drive, not at the hive.

In: where a trap frame stands, the day of the visit. Out: an ``Answer`` a finding. Pure.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Answer, Choice, Choices
from ipmcal.model.rules.files import Finding
from ipmcal.model.rules.methods import Act, FindingRule, Step
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.model.values.forms import Amount
from ipmcal.planning.days.frame import Cursor, Frame, after, opening_at, step_after
from ipmcal.planning.owed.ground import Ground

OUT = "Take the frame out: no day of yours is in time for it."
"""What is done with a frame that nobody could empty in time."""


def answers(
    frame: Frame, cursor: Cursor, day: int, findings: dict[str, Finding], emptied: Collection[str], *, any_day: bool
) -> tuple[Answer, ...]:
    """What to do on ``day`` for each finding of the step at ``cursor``.

    ``emptied`` are the groups of events that the clock counts from; with ``any_day`` the keeper has no fixed days, and
    gets a range.
    """
    step = frame.method.steps[cursor.step]
    asker = _Asker(frame, cursor, day, emptied, any_day)
    return tuple(asker.answer(finding, findings[finding].title) for finding in step.findings)


def building_over(frame: Frame, day: int) -> bool:
    """True where no whole cycle fits any more between a day and the end of building: what is empty then comes out."""
    repeated = next((name for name, step in frame.method.steps.items() if step.again is not None), None)
    return repeated is not None and frame.too_late(repeated, day)


class _Asker:
    """Answers for one trap frame on one day."""

    def __init__(self, frame: Frame, cursor: Cursor, day: int, emptied: Collection[str], any_day: bool) -> None:
        self.frame, self.cursor, self.day, self.emptied, self.any_day = frame, cursor, day, emptied, any_day
        self.days: KeeperDays = frame.days

    def answer(self, finding: str, title: str) -> Answer:
        """The answer to one finding."""
        found: FindingRule = self.frame.method.found[finding]
        if found.act is Act.WAIT:
            return self._wait(finding, title, found)
        if found.act is Act.VOID and building_over(self.frame, self.day):
            do = because_words(Because(Code.NO_CYCLE_LEFT))
            return Answer(finding, title, self.day, Act.VOID, do, forced=True)
        following = self._anew() if found.act is Act.VOID else after(self.frame, self.cursor, self.day)
        return self._closed(Answer(finding, title, self.day, found.act, found.do), self._owed(following))

    def _closed(self, answer: Answer, following: Cursor | None) -> Answer:
        """The answer where the frame is empty from today on. If nobody could be back in time, it comes out."""
        closed = self._back(answer, following)
        if not self._unattended(closed):
            return closed
        do = OUT if answer.act is Act.VOID else f"{answer.do} {OUT}"
        return replace(answer, do=do, forced=True)

    def _unattended(self, answer: Answer) -> bool:
        """True where the frame would have to be emptied, and no day of the keeper's is in time."""
        return answer.cut_by is not None and not self.days.every(self.day + 1, answer.cut_by)

    def _wait(self, finding: str, title: str, found: FindingRule) -> Answer:
        """Leave it, if a day of the keeper's is in time; else it has to go now."""
        seen = Sighting(self.day, finding, Event(self.day, "", None, finding))
        narrowed = replace(self.cursor, sightings=(*self.cursor.sightings, seen))
        answer = self._back(Answer(finding, title, self.day, Act.WAIT, found.do), narrowed)
        if answer.cut_by is None or self._unattended(answer):
            do = next(f.do for f in self.frame.method.found.values() if f.act is Act.CLOSE)
            closed = self._owed(after(self.frame, self.cursor, self.day))
            return self._closed(Answer(finding, title, self.day, Act.CLOSE, do, forced=True), closed)
        return answer

    def _anew(self) -> Cursor:
        """The same step, its clock counted from today: the frame is empty, though this was no cut."""
        span = Span.exact(self.day)
        today = {word: Known(self.day, Reason(Rule.PLANNED, word, span)) for word in sorted(self.emptied)}
        return replace(self.cursor, facts=dict(self.cursor.facts) | today, sightings=(), begun=True)

    def _owed(self, cursor: Cursor | None) -> Cursor | None:
        """The step that is owed next: a repeated step that may not begin anew gives way to the one behind it."""
        if cursor is None:
            return None
        step = self.frame.method.steps[cursor.step]
        found = opening_at(self.frame, cursor)
        if step.again is None or found is None:
            return cursor
        if self.frame.over(cursor, found.days):
            following = step_after(self.frame.method, cursor.step)
            return replace(cursor, step=following, n=1) if following else None
        return cursor

    def _back(self, answer: Answer, cursor: Cursor | None) -> Answer:
        """The answer with the days to be back: from when, by when, and the keeper's day among them.

        Where none of the keeper's days lies in the window, the last one before it has to do.
        """
        found = opening_at(self.frame, cursor) if cursor else None
        if found is None or found.days.hard_stop is None or found.days.hard_stop <= self.day:
            return answer
        first, last = max(found.days.opens, self.day + 1), found.days.hard_stop
        inside = self.days.of(self.days.at_need(first, last) or _highest(self.days.at_need(self.day + 1, last)))
        if not inside:
            return replace(answer, back_from=first, back_by=last, cut_by=last)
        if self.any_day:
            return replace(answer, back_from=inside[0], back_by=inside[-1], cut_by=last)
        back_on = min(inside, key=lambda d: (abs(d - found.days.best), d))
        return replace(answer, back_on=back_on, back_from=min(first, back_on), back_by=last, cut_by=last)


def _highest(days: int) -> int:
    """The last day of a DaySet."""
    return 1 << days.bit_length() - 1 if days else 0


# Answers that are the same in each hive -------------------------------------------------------------------------------


def choices_on(ground: Ground, step: Step, day: int) -> Choices | None:
    """A step's table of what to do by what is found, with the days on which to be back after ``day``."""
    if step.table is None:
        return None
    table = ground.book.tables[step.table]
    where = "africanized" if ground.book.regions[ground.yard.region].africanized else "elsewhere"
    rows = [row for row in table.rows if row.where in (None, where)]
    made = (Choice(row.found, row.do, _back(ground, row.back.value if row.back else None, day)) for row in rows)
    return Choices(table.title, table.lead or "", tuple(made))


def _back(ground: Ground, after_days: Amount | None, day: int) -> tuple[int, int] | None:
    """The days between which to be back; where the keeper has fixed days, the first of these, if there is one."""
    if after_days is None:
        return None
    first, last = day + int(after_days.low or 0), day + int(after_days.upper_end)
    days = ground.days.of(ground.days.at_need(first, last) or _highest(ground.days.at_need(day + 1, last)))
    if ground.yard.weekdays is None or not days:
        return first, last
    return days[0], days[0]
