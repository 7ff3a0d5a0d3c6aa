"""Random colonies, handlings and spans for properties of the mites' model."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from biology.mite_places import YEAR, day, figures, marks_at, rules
from hypothesis import strategies as st

from ipmcal.biology.mites import draws, histories
from ipmcal.biology.mites.colony import OVERWINTERED, ColonyDays, colony
from ipmcal.biology.mites.courses import handled
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.handling import UNHANDLED, Handling, MiteCourse, MiteReach, Trap
from ipmcal.biology.mites.run import Begin, Trace, run

FIRST, LAST = day("01-01"), day("12-31", YEAR + 1)
PLACES = ["finland", *sorted(rules().regions)]
SIZES = figures().beginnings
HISTORIES = {
    "overwintered": OVERWINTERED,
    "caged": histories.without_eggs(day("07-10"), day("08-04")),
    "swarmed": histories.swarmed(day("05-20"), day("06-14"), SIZES),
    "split": histories.gave_a_split(day("05-05"), SIZES),
    "split and caged": histories.both(
        histories.gave_a_split(day("05-05"), SIZES), histories.without_eggs(day("07-10"), day("08-04"))
    ),
    "package": histories.package(day("04-15"), day("04-18"), SIZES),
    "swarm": histories.swarm(day("05-20"), day("05-22"), SIZES),
    "nucleus": histories.nucleus(day("05-01"), SIZES),
    "queenless half": histories.queenless_half(day("05-05"), day("06-02"), SIZES, 24000.0),
}


@cache
def draws_at(rarely: bool) -> tuple[Draw, ...]:
    return draws.accepting(figures(), rarely)


@cache
def colony_of(place: str, history: str, i: int) -> ColonyDays:
    marks = marks_at(place)
    return colony(marks, HISTORIES[history], figures(), draws_at(marks.rarely_broodless)[i], (FIRST, LAST))


@dataclass(frozen=True)
class Case:
    """A colony, a draw, and from when to when its mites run."""

    place: str
    history: str
    i: int
    begin: Begin

    @property
    def colony(self) -> ColonyDays:
        return colony_of(self.place, self.history, self.i)

    @property
    def draw(self) -> Draw:
        return draws_at(marks_at(self.place).rarely_broodless)[self.i]

    def run(self, coming: float = 0.0, handling: Handling = UNHANDLED, times: float = 1.0) -> Trace:
        begin = Begin(self.begin.day, self.begin.mites * times, self.begin.last)
        return run(figures().nest, self.colony, self.draw.lives, begin, coming, handling)

    def handled(self, courses: list[MiteCourse], handling: Handling = UNHANDLED) -> Handling:
        return handled(handling, courses, figures(), self.colony, self.draw)


@st.composite
def cases(draw: st.DrawFn, *, histories: tuple[str, ...] = tuple(HISTORIES)) -> Case:
    place, history = draw(st.sampled_from(PLACES)), draw(st.sampled_from(histories))
    i = draw(st.integers(0, 199))
    runs_from = colony_of(place, history, i).runs_from
    begins = draw(st.integers(runs_from, LAST - 60))
    last = draw(st.integers(begins, LAST))
    return Case(place, history, i, Begin(begins, draw(st.floats(1, 2000)), last))


comings = st.floats(0, 20)


def courses(first: int, last: int, reaches: tuple[MiteReach, ...] = tuple(MiteReach)) -> st.SearchStrategy[MiteCourse]:
    return st.builds(
        lambda reach, first, days, low, more, luck: MiteCourse(reach, first, days, low, min(low + more, 0.98), luck),
        st.sampled_from(reaches),
        st.integers(first, last),
        st.integers(1, 56),
        st.floats(0, 0.97),
        st.floats(0, 0.4),
        st.integers(0, 9),
    )


def traps(first: int, last: int) -> st.SearchStrategy[Trap]:
    return st.builds(
        lambda laid, after: Trap(laid, None if after is None else laid + after),
        st.integers(first, last),
        st.none() | st.integers(0, 60),
    )


def handlings(case: Case) -> st.SearchStrategy[Handling]:
    """Courses, traps and counts within the span of a case."""
    first, last = case.begin.day, case.begin.last
    anchors = st.dictionaries(st.integers(first, last), st.floats(0.1, 8), max_size=2)

    def made(some: list[MiteCourse], combs: list[Trap], counts: dict[int, float]) -> Handling:
        return replace(case.handled(some, UNHANDLED.with_traps(combs)), anchors=counts)

    return st.builds(
        made, st.lists(courses(first, last), max_size=3), st.lists(traps(first, last), max_size=4), anchors
    )
