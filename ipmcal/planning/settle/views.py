"""Views: what documents show of a yard and its colonies, beside the tasks.

In: a yard's ground and the states of its colonies. Out: ``YardView``. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.views import AlarmsView, BoxView, ColonyView, MarkView, TrapView, YardView
from ipmcal.model.rules.files import Alarms, Jurisdiction, Region
from ipmcal.model.rules.needs import FLOW_DONE
from ipmcal.model.values.lines import dose_line, hived_of
from ipmcal.model.values.words import WEEKDAY_NAMES, inside, joined, short_day
from ipmcal.planning.owed.fitness import comb_below
from ipmcal.planning.owed.ground import Ground

Warnings = Mapping[str, Sequence[Because]]
"""What has to be told of what is in each hive, by its key."""
NOTHING_TOLD: Warnings = {}


def yard_view(
    ground: Ground,
    states: Sequence[ColonyState],
    notes: Sequence[str] = (),
    warned: Warnings = NOTHING_TOLD,
    dead: Collection[str] = (),
) -> YardView:
    """A yard as documents show it, with what is said of its visits; ``dead`` are hives that still want work."""
    yard, season, book = ground.yard, ground.season, ground.book
    region, jurisdiction = book.regions[yard.region], book.jurisdictions[yard.jurisdiction]
    return YardView(
        key=yard.key,
        name=yard.name,
        latitude=yard.latitude,
        longitude=yard.longitude,
        directions=yard.directions,
        region=region.title,
        jurisdiction=jurisdiction.title,
        paper=yard.paper,
        mentor=yard.mentor,
        large_print=yard.large_print,
        fahrenheit=yard.fahrenheit,
        days_title=_days_title(yard.weekdays),
        any_day=yard.weekdays is None,
        season=season.year,
        begins=season.first,
        ends=season.last,
        language=jurisdiction.language,
        colonies=tuple(_colony_view(ground, s, warned) for s in states if s.alive or s.colony.key in dead),
        marks=tuple(_marks(ground)),
        highs=tuple(value.value for value in region.normals.high),
        notes=(*notes, *season.notes, *_rest(ground), *_law(jurisdiction)),
        sick=tuple((s.colony.key, s.sick_since) for s in states if s.sick_since is not None),
        sick_rule=book.planning.cautions["sick_yard"],
        page=yard.page,
        stores=stores_words(region),
        alarms=_alarms(book.planning.alarms) if yard.alarms else None,
        each_hive=tuple(book.planning.cautions[name] for name in book.planning.each_hive),
        cautions=(book.planning.cautions["foulbrood"], book.planning.emergency),
    )


def _alarms(alarms: Alarms) -> AlarmsView:
    return AlarmsView(alarms.visit.value.middle, alarms.last_good_day.value.middle)


def _marks(ground: Ground) -> Iterator[MarkView]:
    """The marks of the season, earliest first; the day on which the flow is done is another's."""
    for name, mark in sorted(ground.season.marks.items(), key=lambda item: (item[1].begins.usual, item[0])):
        if name != FLOW_DONE:
            yield MarkView(name, ground.book.marks[name].title, mark.begins, mark.ends, mark.why_begins)


def stores_words(region: Region) -> str:
    """How much food a hive of a region wants for winter; "" where nobody says."""
    wanted = region.winter_stores
    if wanted is None:
        return ""
    return because_words(Because(Code.WINTER_STORES, ((wanted.value.lower_end, wanted.value.upper_end),)))


def _rest(ground: Ground) -> Iterator[str]:
    """On which days nobody goes."""
    days = [short_day(d) for d in ground.days.of(ground.days.resting) if d >= ground.as_of]
    if days:
        yield f"Holidays are no visits, unless nothing else is in time: {joined(days)}."


def _law(jurisdiction: Jurisdiction) -> Iterator[str]:
    """Whom to call, what to report, what to mind before moving hives: in general words, and no more than that."""
    if jurisdiction.inspector:
        yield f"Whom to call with sick-looking brood or a strange pest: {jurisdiction.inspector}."
    yield from (text for text in (jurisdiction.note, jurisdiction.movement) if text)


def _days_title(weekdays: tuple[int, ...] | None) -> str:
    return "any day" if weekdays is None else ", ".join(WEEKDAY_NAMES[d] for d in weekdays)


def _colony_view(ground: Ground, state: ColonyState, warned: Warnings) -> ColonyView:
    colony, frames = state.colony, ground.book.hives.frames
    return ColonyView(
        key=colony.key,
        name=colony.name,
        stand=colony.stand,
        began=colony.began_text,
        boxes=tuple(BoxView(frames[b.kind].title, b.frames) for b in colony.boxes),
        supers=state.supers,
        traps=tuple(TrapView(t.frame.name, t.frame.box, t.slot, t.frame.home) for t in state.traps.values()),
        queen=_queen(state),
        last=_last(ground, state),
        notes=tuple(_comb_notes(ground, state)),
        mind=ground.book.planning.cautions["suspect_last"] if state.suspect else "",
        warnings=tuple(warned.get(colony.key, ())),
    )


def _queen(state: ColonyState) -> str:
    queen = state.colony.queen
    words = [
        str(queen.year) if queen.year else "",
        "marked" if queen.marked else "",
        "clipped" if queen.clipped else "",
    ]
    words.extend(
        word.replace("_", " ") for word in ("virgin", "caged", "missing", "drone_mother") if word in state.queen
    )
    return ", ".join(word for word in words if word)


def _last(ground: Ground, state: ColonyState) -> str:
    """What was found or done on the last day of which somebody wrote, in few words; what was printed alone tells
    nothing of a hive."""
    events = [e for e in state.events if ground.book.effect(e.word) != "begins" and not e.assumed]
    if not events:
        return ""
    day = events[-1].day
    told: dict[str, list[str]] = {}
    for event in events:
        if event.day == day:
            told.setdefault(event.trap or "", []).append(_event_words(ground, event))
    for trap, words in told.items():
        where = state.traps.get(trap)
        if where and where.slot is not None and where.slot != where.frame.home:
            words.append(f"in slot {where.slot}")
    parts = (f"{trap} {', '.join(dict.fromkeys(words))}".strip() for trap, words in told.items())
    return f"{short_day(day)}: {'; '.join(parts)}"


FROM_SHEET = re.compile(r"^sheet\s\S+\sline\s\d+(?:;\s)?")
"""What ``log`` notes of a line that was said of a printed sheet: where it comes from is no finding."""


def _event_words(ground: Ground, event: Event) -> str:
    """A line of the journal in a word or two, without the trap's name."""
    rule = ground.book.events[event.word]
    if rule.value == "trap_finding":
        return ground.book.findings[event.value].title.lower()
    if rule.value == "trap_slot":
        return f"{rule.short or rule.title} {event.value}"
    if rule.value in ("made_from", "made", "hive"):
        return f"{rule.short or rule.title} {hived_of(event.value, rule.value).parent}".strip()
    if rule.value == "treatment":
        return _dose_words(ground, event, rule.short or rule.title)
    if rule.effect == "not_done":
        return rule.short or rule.title  # its value names the step to programs
    words = event.value or FROM_SHEET.sub("", event.note)
    if rule.value == "text" and words and not words.isdigit():
        return words
    return f"{rule.short or rule.title} {words}".strip()


def _dose_words(ground: Ground, event: Event, what: str) -> str:
    """What was given or taken out: "2 × amitraz strips in"."""
    dose = dose_line(event.value)
    unit = f" {dose.unit}" if dose.unit else " ×"
    return f"{float(dose.amount):g}{unit} {inside(ground.book.product(dose.product))} {what}"


def _comb_notes(ground: Ground, state: ColonyState) -> Iterator[str]:
    """The comb to expect below each short frame: thousands of cells, grams of wax, rounded."""
    traps: dict[str, list[str]] = {}
    for trap in state.traps.values():
        comb = comb_below(trap.frame, state.colony.boxes[trap.frame.box - 1].kind, ground.book)
        if trap.frame.kind == "short" and comb is not None:
            cells, wax = _hundreds(comb.cells.low, comb.cells.high), _hundreds(comb.wax.low, comb.wax.high, 1)
            traps.setdefault(f"about {cells} drone cells, {wax} g of wax", []).append(trap.frame.name)
    for words, names in traps.items():
        yield f"{', '.join(names)}: {words}{' each' if len(names) > 1 else ''}"


def _hundreds(low: float, high: float, step: int = 100) -> str:
    first, last = (round(x / step) * step for x in (low, high))
    return f"{first:,}" if first == last else f"{first:,} to {last:,}"
