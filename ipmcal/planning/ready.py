"""Ready: a yard with all that is known of it before anything is placed: season, days, colonies, counts, courses.

In: a yard, the journal's lines, the rulebook. Out: ``Ready``. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.decide.decide import Decision, YardDecision, decide_all, decide_yard
from ipmcal.planning.decide.requests import Ask, asks
from ipmcal.planning.decide.tally import counts, yardstick
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import begun, counted_after
from ipmcal.planning.recall.courses import Course, courses
from ipmcal.planning.recall.situate import keeper_days, season_of
from ipmcal.planning.recall.state import recall

Lines = Mapping[tuple[str, str], Sequence[Event]]
"""The journal's lines: ("colony", key) has those about a colony, wherever it stood; ("yard", key) all of a yard."""


def by_subject(journal: Sequence[Event]) -> Lines:
    """Lines by whom they are about."""
    about: dict[tuple[str, str], list[Event]] = {}
    for event in journal:
        about.setdefault(("yard", event.yard), []).append(event)
        if event.colony is not None:
            about.setdefault(("colony", event.colony), []).append(event)
    return about


@dataclass(frozen=True)
class Ready:
    """A yard before its steps are placed.

    ``here`` are the colonies that live and have begun, in the order of ``states``. ``courses`` are all that each had,
    by colony; ``decided`` what each count of the season says, ``decision`` what they say together; ``asks`` the counts
    that the plan asks for; ``under_way`` the steps that courses still owe.
    """

    ground: Ground
    states: tuple[ColonyState, ...]
    here: tuple[ColonyState, ...]
    courses: Mapping[str, Sequence[Course]]
    decided: tuple[Decision, ...]
    decision: YardDecision
    asks: Mapping[str, Sequence[Ask]]
    under_way: Mapping[str, Sequence[Errand]]


def ready(yard: Yard, about: Lines, outfit: Outfit, book: Rulebook, as_of: int, year: int | None) -> Ready:
    """Situate and recall: the yard on the morning of ``as_of``, in the season that begins in ``year``."""
    recorded = outfit.journal is not None
    lines = about.get(("yard", yard.key), ())
    season = season_of(yard, book, as_of, year, [*lines, *(e for c in yard.colonies for e in c.history)])
    first = max(season.first, as_of) if recorded else season.first
    written = tuple(e for e in lines if e.colony is None and e.day <= as_of)
    days, past = keeper_days(yard, first, season.last), keeper_days(yard, season.first, first - 1)
    stick = yardstick(season, yard.jurisdiction, book)
    ground = Ground(yard, book, season, days, as_of, recorded, past, stick, written)
    recalled = (recall(c, about.get(("colony", c.key), ()), season, as_of, book) for c in yard.colonies)
    states = tuple(sorted(recalled, key=lambda state: state.suspect))  # a hive that looks sick is opened last
    here = tuple(state for state in states if state.alive and state.colony.began <= as_of)
    had = {state.colony.key: courses(state.events, book) for state in here}
    decided = tuple(_decided(ground, here, had))
    decision = decide_yard(decided, len(here), stick)
    follow_up = int(book.planning.follow_up.value.low or 0)
    names = outfit.products
    return Ready(
        ground=ground,
        states=states,
        here=here,
        courses=had,
        decided=decided,
        decision=decision,
        asks=asks(decision, here, had, follow_up, counted_after(ground, had, names)),
        under_way={s.colony.key: tuple(begun(ground, s, had[s.colony.key], names)) for s in here if had[s.colony.key]},
    )


def _decided(ground: Ground, states: Sequence[ColonyState], had: Mapping[str, Sequence[Course]]) -> list[Decision]:
    """What each count of this season says, colony by colony."""
    made: list[Decision] = []
    for state in states:
        if any(ground.book.events[e.word].value == "count" for e in state.events):
            began = [course.began for course in had[state.colony.key] if course.began >= ground.season.first]
            made.extend(decide_all(counts(state, ground.season, ground.book, began), ground.stick))
    return made
