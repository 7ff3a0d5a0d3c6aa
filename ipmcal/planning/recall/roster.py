"""Roster: which colonies there are, and in which yard each stands, as the journal tells it.

In: an outfit as read, the rulebook, a day. Out: the outfit with colonies that lines made, moved, requeened or rehived,
as they stand on the morning of that day. Lines about a colony belong to it wherever it stood. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ipmcal.model.outfit.outfit import BEGINNINGS, Box, Colony, Event, Outfit, Queen, Yard
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.lines import hived_of

KINDS = {"made_from": "split", "made": "swarm"}
"""How a colony counts that a line made, by the form of that line's value."""


@dataclass(frozen=True, slots=True)
class Roster:
    """The yards with their colonies, and the colonies that no yard file has: each with the line that made it."""

    yards: tuple[Yard, ...]
    made: Mapping[str, Event]


def roster(outfit: Outfit, book: Rulebook, as_of: int) -> Roster:
    """The colonies of an outfit on the morning of ``as_of``. Walking order: a colony that came goes to the end."""
    lines = [e for e in outfit.journal or () if e.day <= as_of and e.colony is not None]
    known = {c.key: (yard.key, c) for yard in outfit.yards for c in yard.colonies}
    made: dict[str, Event] = {}
    for event in lines:
        if event.colony not in known and begins(event, book):
            colony = _made(event, known, outfit, book)
            if colony is not None:
                known[colony.key], made[colony.key] = (event.yard, colony), event
    moved: dict[str, list[str]] = {yard.key: [] for yard in outfit.yards}
    if lines:
        _follow(lines, known, moved, book)
    return Roster(tuple(_with(yard, known, moved[yard.key]) for yard in outfit.yards), made)


def begins(event: Event, book: Rulebook) -> bool:
    """True for a line that may bring a colony into being."""
    return book.events[event.word].effect in ("made", "begins")


def _made(event: Event, known: Mapping[str, tuple[str, Colony]], outfit: Outfit, book: Rulebook) -> Colony | None:
    """A colony out of the line that made it; its hive, if not told, is like its parent's, or the yard's first."""
    assert event.colony is not None
    form = book.events[event.word].value
    told = hived_of("" if form == "beginning" else event.value, form)
    like = known[told.parent][1] if told.parent in known else _first(outfit, event.yard)
    if like is None:
        return None
    hive = told.hive or like.hive
    boxes = boxes_of(told.hive, told.boxes, book) if told.boxes else like.boxes[:1]
    kind = KINDS.get(form) or (event.value if event.value in BEGINNINGS else "nucleus")
    text = f"{date.fromordinal(event.day).isoformat()} {kind}"
    return Colony(
        event.colony, "", "", 0, event.day, kind, text, hive, boxes, 0, (), Queen(), None, (), (), (), "", event.place
    )


def _first(outfit: Outfit, yard: str) -> Colony | None:
    return next((c for y in outfit.yards if y.key == yard for c in y.colonies), None)


def boxes_of(hive: str, kinds: Sequence[str], book: Rulebook) -> tuple[Box, ...]:
    """The boxes of a hive by their kinds, from the bottom up."""
    frames = book.hives.hives[hive].frames  # the hive is known: checked when the line is read
    return tuple(Box(kind, frames) for kind in kinds)


def _follow(
    lines: Iterable[Event], known: dict[str, tuple[str, Colony]], moved: dict[str, list[str]], book: Rulebook
) -> None:
    """What later lines say of a colony itself: where it was moved, its new hive, its new queen."""
    for event in lines:
        key = event.colony
        if key is None or key not in known:
            continue
        yard, colony = known[key]
        effect = book.events[event.word].effect
        if effect == "moves" and event.value in moved:
            for keys in moved.values():
                if key in keys:
                    keys.remove(key)
            moved[event.value].append(key)
            known[key] = event.value, colony
        elif effect == "rehives":
            told = hived_of(event.value, "hive")
            boxes = boxes_of(told.hive, told.boxes, book)
            traps = tuple(replace(trap, box=min(trap.box, len(boxes))) for trap in colony.traps)
            known[key] = yard, replace(colony, hive=told.hive, boxes=boxes, traps=traps)
        elif effect == "requeens":
            known[key] = yard, replace(colony, queen=_queen(event))


def _queen(event: Event) -> Queen:
    """The new queen, as far as a line tells of her: ``2027 marked clipped``."""
    words = event.value.split()
    year = next((int(word) for word in words if re.fullmatch(r"20[0-9]{2}", word)), date.fromordinal(event.day).year)
    return Queen(year, "marked" in words, "clipped" in words)


def _with(yard: Yard, known: Mapping[str, tuple[str, Colony]], came: Sequence[str]) -> Yard:
    """A yard with the colonies that stand in it: its own that stayed, then the ones that came, as they came."""
    here = [key for key, (where, _) in known.items() if where == yard.key]
    own = [c.key for c in yard.colonies if c.key in here and c.key not in came]
    made = [key for key in here if key not in own and key not in came]
    colonies = [known[key][1] for key in (*own, *made, *came)]
    if [c.key for c in colonies] == [c.key for c in yard.colonies] and all(
        a is b for a, b in zip(colonies, yard.colonies, strict=True)
    ):
        return yard
    last = max((c.walk for c in yard.colonies), default=0)
    walked = [c if c.key in own else replace(c, walk=last + i) for i, c in enumerate(colonies, 1)]
    return replace(yard, colonies=tuple(walked))
