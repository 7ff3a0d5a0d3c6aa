"""Known: a question with all that is known of it, worked out once. In: ``YearQuestion``. Out: ``YearKnown``. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from ipmcal.biology.mites.draws import accepting, draws_for_choice, usual
from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.planning.mites.accept import JudgedYears, Judging, years
from ipmcal.planning.mites.answers import Answers
from ipmcal.planning.mites.asking.field import field_of
from ipmcal.planning.mites.asking.given import given_of
from ipmcal.planning.mites.asking.left import left_over
from ipmcal.planning.mites.asking.let import let
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import Served
from ipmcal.planning.mites.enough import judged_days, lines_of
from ipmcal.planning.mites.living.hazards import Hazards
from ipmcal.planning.mites.living.lived import Lived, lived
from ipmcal.planning.mites.search import SearchField
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    whole_days,
)


@dataclass(frozen=True)
class YearKnown:
    """A question with what the labels let and the walls leave of it, and its numbers."""

    asked: YearQuestion
    answers: Answers
    setting: WallSetting
    candidates: tuple[Candidate, ...]
    rounds: tuple[Served, ...]
    field: SearchField
    choose: tuple[Lived, ...]
    judging: Judging
    middle: Lived
    walled: dict[str, dict[str, int]]
    fixed: tuple[int, ...] = ()

    @cached_property
    def accept(self) -> tuple[Lived, ...]:
        """The draws that accept, which did not choose."""
        stock = self.asked.stock
        return lived(stock, accepting(stock.figures, stock.marks.rarely_broodless))

    @cached_property
    def hazards(self) -> Hazards:
        """Daily hazards of contact products, by the usual colony of the class."""
        return Hazards(self.middle)

    def under(self, places: Sequence[int]) -> JudgedYears:
        """Each draw that accepts, under a set of courses."""
        return years(self.accept, self.givens(places), self.hazards)

    def begins(self, places: Sequence[int]) -> tuple[int, ...]:
        """The days (ordinals) on which courses of a set begin."""
        return tuple(self.candidates[i].day for i in places)

    def givens(self, places: Sequence[int]) -> tuple[MiteCourse, ...]:
        """Courses of the set as the full model takes them."""
        return tuple(one for i in places for one in given_of(self.asked, self.candidates[i]))


def year_known(asked: YearQuestion) -> YearKnown:
    """Asks the labels, holds the walls, and draws the maps."""
    lets, setting, every = let(asked)
    left = left_over(asked, setting, every)
    figures, rarely = asked.stock.figures, asked.stock.marks.rarely_broodless
    *choosing, middle = lived(asked.stock, (*draws_for_choice(figures, rarely), usual(figures, rarely)))
    choose = tuple(choosing)
    judging = _judging(asked)
    field = field_of(asked, setting, left, (choose, middle), judging)
    return YearKnown(
        asked, lets, setting, left.candidates, left.rounds, field, choose, judging, middle, left.walled, left.fixed
    )


def _judging(asked: YearQuestion) -> Judging:
    """The days on which a year is judged, the lines on them, and what excuses a day."""
    enough = asked.book.planning.year_plans.enough
    days = judged_days(asked.season, asked.region, asked.book)
    lines = lines_of(asked.season, asked.jurisdiction, asked.book, days, asked.region)
    excused = whole_days(enough.excused) if asked.region.rarely_broodless else 0
    return Judging(days, lines, enough.settled_most.value.middle, excused)
