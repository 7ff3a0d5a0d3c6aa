"""Recall: what the keeper wrote, replayed into the state of a colony.

In: a colony, the lines about it, the season and the day on which the plan is made. Out: ``ColonyState``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ipmcal.model.outfit.outfit import Colony, Event, TrapFrame
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState, Known, Sighting, TrapState
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import event_reason
from ipmcal.planning.recall.broodless import GONE, breaks_of, brood_days

LAYS, CAGED = "laying", "caged"
"""What is known of a queen once she was let out or given; shut in. ``GONE``: taken away, or gone with a swarm."""


def recall(colony: Colony, lines: Iterable[Event], season: Season, as_of: int, book: Rulebook) -> ColonyState:
    """The colony's state on ``as_of``, as far as lines of that day and earlier tell it; later ones are left out."""
    events = tuple(sorted((e for e in (*colony.history, *lines) if e.day <= as_of), key=lambda e: e.day))
    effects = {word: rule.effect for word, rule in book.events.items()}
    own = [e for e in events if e.trap is None]
    word = book.word("begins")
    began = Known(colony.began, Reason(Rule.COLONY, word, Span.exact(colony.began), (), (), colony.began_text))
    kind = "overwintered" if colony.began < season.first else colony.kind
    days = {word: began} | known_days(own, book.groups)
    for pause in breaks_of(colony, kind, own, book)[-1:]:
        days |= brood_days(pause, book.biology)
    days |= _supers_days(colony, began, own, effects)
    traps = {t.name: _trap(t, [e for e in events if e.trap == t.name], effects, season, book) for t in colony.traps}
    return ColonyState(
        colony=colony,
        began=days[word],
        kind=kind,
        alive=not any(effects[e.word] == "ends" for e in own),
        queen=_queen(colony, own, book),
        suspect=_last_of(own, effects, ("suspects", "clears")) == "suspects",
        strength=_number(own, effects, "strength", colony.strength),
        supers=_supers(colony, own, effects),
        days=days,
        done=_counts(own, season),
        traps=traps,
        events=events,
        contradictions=tuple(_contradictions(colony, events, effects)),
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
        if effect == "takes_trap_out":
            slot, emptied, kept = None, None, []
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


def _queen(colony: Colony, events: Sequence[Event], book: Rulebook) -> frozenset[str]:
    state = colony.queen.state
    for event in events:
        rule = book.events[event.word]
        if rule.effect == "queen":
            state = LAYS if event.value == "seen" else event.value
        elif rule.effect == "starts_laying":
            state = LAYS
        elif rule.effect == "stops_laying":
            state = CAGED if rule.laying_again == "let_out" else GONE
    words = {state, "clipped" if colony.queen.clipped else "unclipped"}
    return frozenset(words | ({"marked"} if colony.queen.marked else set()))


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


def _last_of(events: Sequence[Event], effects: Mapping[str, str], wanted: tuple[str, ...]) -> str:
    return next((effects[e.word] for e in reversed(events) if effects[e.word] in wanted), "")


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
            yield Because(Code.BEFORE_IT_BEGAN, (str(event.place), event.word, colony.began_text))
    for frame in colony.traps:
        hung = False
        for event in events:
            if event.trap != frame.name:
                continue
            if effects[event.word] in HANGING and not hung:
                yield Because(Code.NOT_HUNG_BEFORE, (str(event.place), event.word, frame.name))
                hung = True  # say it once
            hung = hung or effects[event.word] == "hangs_trap"
