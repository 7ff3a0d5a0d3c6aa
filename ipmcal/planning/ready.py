"""Ready: a yard with all that is known of it before anything is placed: season, days, colonies, counts, courses.

In: a yard, the journal's lines, the rulebook. Out: ``Ready``. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.outfit.strips import Naming, Strips, strips_of
from ipmcal.model.plan.because import Because
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.decide.decide import Decision, YardDecision, decide_all, decide_yard
from ipmcal.planning.decide.requests import CountRequest, asks, with_neighbours, with_watched
from ipmcal.planning.decide.tally import counts, yardstick
from ipmcal.planning.labels.in_hive import Asked, warnings
from ipmcal.planning.owed.closed import brought, sick_of
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Dosed
from ipmcal.planning.owed.prescribed import begun, counted_after
from ipmcal.planning.recall.courses import Course, courses_of, miscounted
from ipmcal.planning.recall.situate import keeper_days, season_of, seasons_on
from ipmcal.planning.recall.state import recall

JournalLines = Mapping[tuple[str, str], Sequence[Event]]
"""The journal's lines: ("colony", key) has those about a colony, wherever it stood; ("yard", key) all of a yard."""


def by_subject(journal: Sequence[Event]) -> JournalLines:
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

    ``here`` are the colonies that live and have begun, in the order of ``states``, ``coming`` those that begin later in
    the season. ``courses`` are all that each had,
    by colony; ``decided`` what each count of the season says, ``decision`` what they say together; ``asks`` the counts
    that the plan asks for; ``under_way`` the steps that courses still owe; ``out`` the days, by colony and treatment,
    on which packing had what lies in a hive come out, where anything was planned too near to it; ``dosed`` the
    doses that it had below a board.
    """

    ground: Ground
    states: tuple[ColonyState, ...]
    here: tuple[ColonyState, ...]
    coming: tuple[ColonyState, ...]
    courses: Mapping[str, Sequence[Course]]
    decided: tuple[Decision, ...]
    decision: YardDecision
    asks: Mapping[str, Sequence[CountRequest]]
    under_way: Mapping[str, Sequence[Errand]]
    out: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    dosed: Dosed = field(default_factory=dict)

    @property
    def closed(self) -> tuple[Conflict, ...]:
        """What was written of a yard while it was closed for sick-looking brood, and the bees still to come."""
        lines = [e for state in self.states for e in state.events if e.yard == self.ground.yard.key]
        return tuple(brought(self.ground, sick_of(self.states), self.states, lines))

    @property
    def treated(self) -> tuple[ColonyState, ...]:
        """All that courses are chosen for: those that are there, and those that are to come."""
        return (*self.here, *self.coming)


def ready(
    yard: Yard, about: JournalLines, outfit: Outfit, book: Rulebook, as_of: int, year: int | None = None
) -> tuple[Ready, ...]:
    """Situate and recall: the yard on the morning of ``as_of``, once for each season that is planned, the eldest first.

    With ``year`` that season alone. All of them share the keeper's days, so that one visit may serve two seasons.
    """
    lines = about.get(("yard", yard.key), ())
    seen = [*lines, *(e for c in yard.colonies for e in c.history)]
    years = seasons_on(yard, book, as_of) if year is None else (year,)
    seasons = [season_of(yard, book, as_of, one, seen) for one in years]
    runs_on = int(book.planning.season_runs_on.value.middle)
    rest = book.planning.no_visits
    days = keeper_days(yard, max(seasons[0].first, as_of), seasons[-1].last + runs_on, rest)
    written = tuple(e for e in lines if e.colony is None and e.day <= as_of)
    # A journal tells what was done, from its first line on; else nothing is known of the time before the first plan.
    begins = min((line.day for line in outfit.journal or ()), default=as_of)
    since = min(begins, as_of if outfit.since is None else outfit.since)
    made = []
    after = 0  # whatever is not taken out yet is owed in the eldest season
    sticks = tuple(yardstick(season, yard.jurisdiction, book, book.regions[yard.region]) for season in seasons)
    for season, stick in zip(seasons, sticks, strict=True):
        past = keeper_days(yard, season.first, max(season.first, as_of) - 1, rest)
        ground = Ground(yard, book, season, days, as_of, past, stick, written, since, sticks)
        until = days.ordinals[-1] if season is seasons[-1] and len(days) else _reach(season)
        made.append(_ready(ground, about, outfit, (after, until)))
        after = until + 1
    return tuple(made)


def _reach(season: Season) -> int:
    """The last day on which a course that begins belongs to a season: its least brood may end in the next year."""
    least = season.marks.get("brood_minimum")
    return season.last if least is None or least.ends is None else max(season.last, least.ends.usual)


def _ready(ground: Ground, about: JournalLines, outfit: Outfit, begun_in: tuple[int, int]) -> Ready:
    """``begun_in`` are the days on which courses began that owe their steps in this season, and hives died beside which
    mites are counted in it."""
    yard, book, season, as_of = ground.yard, ground.book, ground.season, ground.as_of
    recalled = [recall(c, about.get(("colony", c.key), ()), season, as_of, book) for c in yard.colonies]
    strips = strips_by_hive(recalled, about, outfit, book, as_of)
    wrong, had = miscounted(strips), courses_of(strips)
    told = (replace(s, contradictions=(*s.contradictions, *wrong.get(s.colony.key, ()))) for s in recalled)
    states = tuple(sorted(told, key=lambda state: state.suspect))  # a hive that looks sick is opened last
    here = tuple(state for state in states if state.alive and state.colony.began <= as_of)
    gone = tuple(state for state in states if state.dead is not None)
    had = {state.colony.key: had.get(state.colony.key, ()) for state in (*here, *gone)}
    own = {key: [one for one in some if begun_in[0] <= one.began <= begun_in[1]] for key, some in had.items()}
    lost = [state for state in gone if begun_in[0] <= (state.dead or 0) <= begun_in[1]]
    decided = tuple(_decided(ground, here, had))
    decision = decide_yard(decided, len(here), ground.stick)
    follow_up = int(book.planning.follow_up.value.lower_end)
    names = outfit.products
    asked = asks(decision, here, own, follow_up, counted_after(ground, own, names))
    return Ready(
        ground=ground,
        states=states,
        here=here,
        coming=tuple(state for state in states if state.alive and as_of < state.colony.began <= season.last),
        courses=had,
        decided=decided,
        decision=decision,
        asks=with_neighbours(with_watched(asked, decision, decided, season, book), here, lost),
        under_way={
            s.colony.key: tuple(begun(ground, s, own[s.colony.key], names)) for s in (*here, *gone) if own[s.colony.key]
        },
    )


def strips_by_hive(
    states: Sequence[ColonyState], about: JournalLines, outfit: Outfit, book: Rulebook, as_of: int
) -> Strips:
    """What went into hives and came out, by their own lines and by those of all hives that were united with them."""
    own = {state.colony.key for state in states}
    histories = [e for yard in outfit.yards for c in yard.colonies if c.key not in own for e in c.history]
    written = (e for (whose, key), some in about.items() if whose == "colony" and key not in own for e in some)
    # Others first: on the day on which hives are united, what comes out of the other has come with the one that went.
    lines = [*histories, *written, *(e for state in states for e in state.events)]
    return strips_of((e for e in lines if e.day <= as_of), Naming(book, outfit))


def warned_of(one: Ready) -> dict[str, tuple[Because, ...]]:
    """What has to be told of what is in each hive, by its key."""
    there = Asked(one.ground.yard.jurisdiction, one.ground.book, one.ground.as_of)
    found = {s.colony.key: tuple(warnings(s, one.courses[s.colony.key], there)) for s in one.here}
    return {key: told for key, told in found.items() if told}


def _decided(ground: Ground, states: Sequence[ColonyState], had: Mapping[str, Sequence[Course]]) -> list[Decision]:
    """What each count of this season says, colony by colony."""
    made: list[Decision] = []
    for state in states:
        if any(ground.book.events[e.word].value == "count" for e in state.events):
            began = [course.began for course in had[state.colony.key] if course.began >= ground.season.first]
            made.extend(decide_all(counts(state, ground.season, ground.book, began), ground.stick))
    return made
