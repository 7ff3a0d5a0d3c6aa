"""Recall: what the keeper wrote, replayed into the state of a colony.

In: a colony, the lines about it, the season and the day on which the plan is made. Out: ``ColonyState``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ipmcal.model.outfit.outfit import Colony, Event, TrapFrame
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState, Known, Rest, Sighting, TrapState
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.anchors import GAP_IN_AUTUMN
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import (
    Clockwork,
    Footing,
    beginning,
    beginning_reason,
    bound_days,
    event_reason,
    span_of,
)
from ipmcal.planning.recall.broodless import CELLS, GONE, MATED, SEEN, VIRGIN, breaks_of, brood_days

LAST_YEAR = 365
"""From a winter to the last."""
LAYS, CAGED = "laying", "caged"
"""What is known of a queen once she was let out or given; shut in. ``GONE``: taken away, or gone with a swarm."""
COUNTS_AS = {"seen": (LAYS,), MATED: (MATED, VIRGIN), CELLS: (CELLS, GONE)}
"""Words for a queen that count as others do: who mated and does not lay yet counts as a virgin for whatever asks."""


def recall(colony: Colony, lines: Iterable[Event], season: Season, as_of: int, book: Rulebook) -> ColonyState:
    """The colony's state on ``as_of``, as far as lines of that day and earlier tell it; later ones are left out."""
    told = (e for e in (*colony.history, *lines) if e.day <= as_of and not _let_out_long_ago(e, season, book))
    events = tuple(sorted(told, key=lambda e: e.day))
    effects = {word: rule.effect for word, rule in book.events.items()}
    own = [e for e in events if e.trap is None]
    word = book.word("begins")
    began = Known(colony.began, beginning_reason(colony, word))
    kind = "overwintered" if colony.began < season.first else colony.kind
    days = {word: began} | known_days(own, book.groups)
    days |= _first_end(own, book)
    rests = tuple(_rests(season, book))
    for pause in breaks_of(colony, kind, own, book, rests)[-1:]:
        days |= brood_days(pause, book.biology)
    days |= _supers_days(colony, began, own, effects)
    days = _without_eggs(days, own, book, rests)
    traps = {t.name: _trap(t, [e for e in events if e.trap == t.name], effects, season, book) for t in colony.traps}
    return ColonyState(
        colony=colony,
        began=days[word],
        kind=kind,
        alive=not any(effects[e.word] == "ends" for e in own),
        queen=_queen(colony, own, book),
        sick_since=_sick_since(own, effects),
        strength=_number(own, effects, "strength", colony.strength),
        supers=_supers(colony, own, effects),
        days=days,
        done=_counts(own, season),
        traps=traps,
        events=events,
        contradictions=tuple(_contradictions(colony, events, effects)),
        rests=rests,
        bees=_bees(colony, own, effects, as_of - int(book.planning.bees_hold.value.middle)),
        dead=days[book.planning.dead].day if book.planning.dead in days else None,
    )


def known_days(events: Sequence[Event], groups: Mapping[str, Sequence[str]]) -> dict[str, Known]:
    """The latest day of each word, and of each group of words."""
    days = {e.word: Known(e.day, event_reason(e)) for e in events}
    for group, words in groups.items():
        members = [days[w] for w in words if w in days]
        if members:
            days[group] = max(members, key=lambda k: k.day)
    return days


def _trap(
    frame: TrapFrame, events: Sequence[Event], effects: Mapping[str, str], season: Season, book: Rulebook
) -> TrapState:
    """A trap frame's slot, its latest events, and what was seen in it since it was last hung or emptied.

    A finding that empties the frame without counting as a cut (honey, worker comb, nothing) starts its clock anew,
    where it is known to hang.
    """
    slot: int | None = None
    emptied: Event | None = None
    kept: list[Event] = []
    for event in events:
        effect = effects[event.word]
        if effect in ("hangs_trap", "moves_trap"):
            slot = int(event.value)
        if effect in ("hangs_trap", "empties_trap") or (emptied and _restarts(event, book)):
            emptied = event
        if effect == "takes_trap_out" or (_restarts(event, book) and event.day > _building_until(season, book)):
            slot, emptied, kept = None, None, []  # what is empty once no cycle fits any more comes out, as printed
        kept.append(event)
    begun = emptied.day if emptied else None
    sightings = [
        Sighting(e.day, e.value, e)
        for e in kept
        if effects[e.word] == "narrows_clock" and begun is not None and e.day > begun
    ]
    cycles = sum(1 for e in events if effects[e.word] == "empties_trap" and e.day >= season.first)
    days = known_days(kept, book.groups)
    if emptied is not None and _restarts(emptied, book):
        days |= {g: Known(emptied.day, event_reason(emptied)) for g in book.groups if g in days}
    return TrapState(frame, slot, days, tuple(sightings), cycles, emptied)


def _building_until(season: Season, book: Rulebook) -> int:
    """The last day on which a cycle of a trap frame may begin this season, by the methods of trap frames."""
    again = (step.again for m in book.methods.values() if m.per == "trap_frame" for step in m.steps.values())
    work = Clockwork(season, {}, {}, {})
    ends = (bound_days(work, one.until, Footing({}, {}), Rule.LATEST_OF) for one in again if one is not None)
    return max((span_of(end).usual for end in ends if end is not None), default=season.last)


def _restarts(event: Event, book: Rulebook) -> bool:
    finding = book.findings.get(event.value)
    return book.events[event.word].effect == "narrows_clock" and finding is not None and finding.clock == "restarts"


def full_on(state: ColonyState, biology: Biology) -> Reason | None:
    """The day from which a new colony's box counts as full; None for one that came through winter."""
    lag = biology.box_full.get(state.kind)
    if lag is None or state.kind == "overwintered" or not lag.value.high:
        return None
    began = state.began.why
    assert began.span is not None
    usual = Span.exact((began.span + lag.value).usual)
    return Reason(Rule.NEED, "box full", usual, (lag,), (began,), f"a {state.kind} has its box full by then")


def _let_out_long_ago(event: Event, season: Season, book: Rulebook) -> bool:
    """Whether a caging was printed in an earlier season and never heard of: whether she was let out is asked there, and
    no queen sits in a cage from one season into the next."""
    rule = book.events[event.word]
    return event.assumed and event.day < season.first and rule.laying_again == "let_out"


def _queen(colony: Colony, events: Sequence[Event], book: Rulebook) -> frozenset[str]:
    """What is known of the queen. Once hers was lost and another lays, that one is neither marked nor clipped: what is
    known of a new queen is written as such."""
    known: tuple[str, ...] = (colony.queen.state,)
    own, gone = True, False
    for event in events:
        rule = book.events[event.word]
        if rule.effect == "queen":
            known = COUNTS_AS.get(event.value, (event.value,))
        elif rule.effect == "starts_laying":
            known = (LAYS,)
        elif rule.laying_again == "ripe_cell":
            known = COUNTS_AS[CELLS]
        elif rule.effect == "stops_laying":
            known = (CAGED if rule.laying_again == "let_out" else GONE,)
        elif rule.effect == "requeens":
            own, gone = True, False
        gone = gone or bool({GONE, VIRGIN} & {*known})
        own = own and not (gone and LAYS in known)
    words = {*known, "clipped" if colony.queen.clipped and own else "unclipped"}
    return frozenset(words | ({"marked"} if colony.queen.marked and own else set()))


def _rests(season: Season, book: Rulebook) -> Iterable[Rest]:
    """This winter and the last, where queens stop laying at this place: from when bees for it are reared, and the last
    drones are out."""
    reared, least = season.marks.get("winter_bee_rearing_start"), season.marks.get("brood_minimum")
    drones = season.marks.get("drone_rearing_end")
    if reared is None or drones is None or least is None or least.ends is None:
        return
    first = max(reared.begins.usual, drones.begins.usual + book.biology.castes.drone.emerges.value.high)
    for shift in (-LAST_YEAR, 0):
        yield Rest(first + shift, least.ends + shift, least.why_ends or least.why_begins)


def _supers(colony: Colony, events: Sequence[Event], effects: Mapping[str, str]) -> int:
    supers = colony.supers
    for event in events:
        if effects[event.word] == "supers_on":
            supers = int(event.value) if event.value.isdigit() else max(supers, 1)
        elif effects[event.word] == "supers_off":
            supers = 0
    return supers


def _supers_days(colony: Colony, began: Known, events: Sequence[Event], effects: Mapping[str, str]) -> dict[str, Known]:
    """``supers.on`` while there are any, else ``supers.off``, where it is known since when."""
    on, off = began if colony.supers else None, None
    for event in events:
        if effects[event.word] == "supers_on":
            on, off = Known(event.day, event_reason(event)), None
        elif effects[event.word] == "supers_off":
            on, off = None, Known(event.day, event_reason(event))
    return {name: known for name, known in (("supers.on", on), ("supers.off", off)) if known is not None}


def _number(events: Sequence[Event], effects: Mapping[str, str], effect: str, default: float | None) -> float | None:
    for event in events:
        if effects[event.word] == effect and event.value.isdigit():
            default = float(event.value)
    return default


def _bees(colony: Colony, events: Sequence[Event], effects: Mapping[str, str], since: int) -> tuple[int, float] | None:
    """The frames of bees as last written, with their day; what is older than ``since`` tells nothing any more."""
    seen = [(e.day, float(e.value)) for e in events if effects[e.word] == "bees" and e.value.isdigit()]
    if not seen and colony.bees is not None:
        return colony.began, colony.bees
    return seen[-1] if seen and seen[-1][0] >= since else None


def _without_eggs(
    days: dict[str, Known], events: Sequence[Event], book: Rulebook, rests: Sequence[Rest]
) -> dict[str, Known]:
    """The days without the one on which no eggs were found, where the queen was seen with it or a later line tells of
    one; in autumn it is another: then no queen is raised any more."""
    found = next((e for e in reversed(events) if book.effect(e.word) == "no_eggs"), None)
    if found is None:
        return days
    seen = any(e.day >= found.day and _has_queen(e, book) for e in events)
    autumn = any(rest.first <= found.day <= rest.back.low for rest in rests)
    left = {word: known for word, known in days.items() if word != found.word or not (seen or autumn)}
    return left if seen or not autumn else {**left, GAP_IN_AUTUMN: days[found.word]}


def _has_queen(event: Event, book: Rulebook) -> bool:
    """Whether a line says that a queen is in the hive who lays, or soon will."""
    effect = book.effect(event.word)
    return event.value in SEEN if effect == "queen" else effect in ("starts_laying", "requeens")


def _sick_since(events: Sequence[Event], effects: Mapping[str, str]) -> int | None:
    """The first day on which it looked sick, since it last looked healthy."""
    since: int | None = None
    for event in events:
        if effects[event.word] == "clears":
            since = None
        elif effects[event.word] == "suspects" and since is None:
            since = event.day
    return since


def _first_end(events: Sequence[Event], book: Rulebook) -> dict[str, Known]:
    """A colony dies once: of all lines that say so, the first tells the day."""
    first = next((e for e in events if e.word in book.groups.get(book.planning.dead, ())), None)
    return {} if first is None else {book.planning.dead: Known(first.day, event_reason(first))}


def _counts(events: Sequence[Event], season: Season) -> dict[str, int]:
    counts: dict[str, int] = {}
    for event in events:
        if season.first <= event.day <= season.last:
            counts[event.word] = counts.get(event.word, 0) + 1
    return counts


HANGING = ("empties_trap", "narrows_clock", "moves_trap", "takes_trap_out")
"""The effects of what can be done only with a trap frame that hangs."""


def _contradictions(colony: Colony, events: Sequence[Event], effects: Mapping[str, str]) -> Iterable[Because]:
    for event in events:
        if event.day < colony.began:
            yield Because(Code.BEFORE_IT_BEGAN, (str(event.place), event.word, beginning(colony)))
    for frame in colony.traps:
        hung = False
        for event in events:
            if event.trap != frame.name:
                continue
            if effects[event.word] in HANGING and not hung:
                yield Because(Code.NOT_HUNG_BEFORE, (str(event.place), event.word, frame.name))
                hung = True  # say it once
            hung = hung or effects[event.word] == "hangs_trap"
