"""Answers: what to do at the hive for each finding, and when to be back. Worked out before the drive, not at the hive.

In: where a trap frame stands, the day of the visit. Out: an ``Answer`` a finding. Pure.
"""

from __future__ import annotations

from dataclasses import replace

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Answer
from ipmcal.model.rules.files import Finding
from ipmcal.model.rules.methods import Act, Found
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.planning.days.chain import Cursor, Frame, after, opening_at, step_after

OUT = "Take the frame out: no day of yours is in time for it."
"""What is done with a frame that nobody could empty in time."""


def answers(
    frame: Frame, cursor: Cursor, day: int, findings: dict[str, Finding], emptied: str, *, any_day: bool
) -> tuple[Answer, ...]:
    """What to do on ``day`` for each finding of the step at ``cursor``.

    ``emptied`` is the word that the clock counts from; with ``any_day`` the keeper has no fixed days, and gets a range.
    """
    step = frame.method.steps[cursor.step]
    asker = _Asker(frame, cursor, day, emptied, any_day)
    return tuple(asker.answer(finding, findings[finding].title) for finding in step.findings)


class _Asker:
    """Answers for one trap frame on one day."""

    def __init__(self, frame: Frame, cursor: Cursor, day: int, emptied: str, any_day: bool) -> None:
        self.frame, self.cursor, self.day, self.emptied, self.any_day = frame, cursor, day, emptied, any_day
        self.days: KeeperDays = frame.days

    def answer(self, finding: str, title: str) -> Answer:
        """The answer to one finding."""
        found: Found = self.frame.method.found[finding]
        if found.act is Act.WAIT:
            return self._wait(finding, title, found)
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
        return answer.cut_by is not None and not self.days.between(self.day + 1, answer.cut_by)

    def _wait(self, finding: str, title: str, found: Found) -> Answer:
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
        today = Known(self.day, Reason(Rule.PLANNED, self.emptied, Span.exact(self.day)))
        return replace(self.cursor, facts=dict(self.cursor.facts) | {self.emptied: today}, sightings=(), begun=True)

    def _owed(self, cursor: Cursor | None) -> Cursor | None:
        """The step that is owed next: a repeated step that may not begin anew gives way to the one behind it."""
        if cursor is None:
            return None
        step = self.frame.method.steps[cursor.step]
        found = opening_at(self.frame, cursor)
        if step.again is None or found is None:
            return cursor
        if self.frame.over(cursor, found.window):
            following = step_after(self.frame.method, cursor.step)
            return replace(cursor, step=following, n=1) if following else None
        return cursor

    def _back(self, answer: Answer, cursor: Cursor | None) -> Answer:
        """The answer with the days to be back: from when, by when, and the keeper's day among them.

        Where none of the keeper's days lies in the window, the last one before it has to do.
        """
        found = opening_at(self.frame, cursor) if cursor else None
        if found is None or found.window.hard_stop is None or found.window.hard_stop <= self.day:
            return answer
        first, last = max(found.window.opens, self.day + 1), found.window.hard_stop
        inside = self.days.of(self.days.between(first, last) or _highest(self.days.between(self.day + 1, last)))
        if not inside:
            return replace(answer, back_from=first, back_by=last, cut_by=last)
        if self.any_day:
            return replace(answer, back_from=inside[0], back_by=inside[-1], cut_by=last)
        back_on = min(inside, key=lambda d: (abs(d - found.window.best), d))
        return replace(answer, back_on=back_on, back_from=min(first, back_on), back_by=last, cut_by=last)


def _highest(days: int) -> int:
    """The last day of a DaySet."""
    return 1 << days.bit_length() - 1 if days else 0
