"""The record of treatments: from the lines about what went in and what came out, to one entry an application.

In: the outfit as read, the rulebook, a day, a year. Out: a ``Record``. Pure. Lines of every colony that was ever named
count, wherever it stands now and whatever became of it; nothing is taken from plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from dateutil.relativedelta import relativedelta

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.outfit.record import Entry, Record, Removal, YardRecord, order
from ipmcal.model.rules.files import Jurisdiction, Source
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.lines import Dose, dose_of, other_colony
from ipmcal.model.values.words import MEASURED
from ipmcal.planning.recall.courses import TREATS

UNSURE = (Basis.MEMORY, Basis.ASSUMPTION)


def make_record(outfit: Outfit, book: Rulebook, as_of: int, year: int | None = None) -> Record:
    """The record as the lines up to ``as_of`` tell it: for a calendar year, or for all years.

    A year's record holds every application of which anything happened in it: given, or taken out.
    """
    known = _Known(outfit, book, [e for e in all_lines(outfit) if e.day <= as_of])
    given, problems = _replayed(known)
    courses = _courses(given, known.gap)
    entries = [_entry(one, course, known) for course in courses for one in course]
    if year is not None:
        entries = [entry for entry in entries if year in _years(entry)]
    yards = tuple(_yard_record(yard, entries, book) for yard in outfit.yards)
    return Record(outfit.name, outfit.keeper, year, as_of, yards, tuple(problems))


def all_lines(outfit: Outfit) -> list[Event]:
    """The journal's lines and the yard files' histories, by day; lines of one day in their order."""
    histories = [e for yard in outfit.yards for colony in yard.colonies for e in colony.history]
    return sorted([*histories, *(outfit.journal or ())], key=lambda e: e.day)


class _Known:
    """What entries are made from: the outfit, the rulebook, the lines, and the lines of each colony."""

    def __init__(self, outfit: Outfit, book: Rulebook, lines: Sequence[Event]) -> None:
        self.outfit, self.book, self.lines = outfit, book, lines
        self.yards = {yard.key: yard for yard in outfit.yards}
        self.gap = int(book.planning.same_course.value.middle)
        self.of: dict[str, list[Event]] = {}
        for event in lines:
            if event.colony is not None:
                self.of.setdefault(event.colony, []).append(event)

    def effect(self, event: Event) -> str:
        return self.book.events[event.word].effect

    def label(self, treatment: str, yard: str) -> Label | None:
        """What the rule file has for the yard's jurisdiction."""
        found, rule = self.yards.get(yard), self.book.treatments.get(treatment)
        return label_for(rule, found.jurisdiction, self.book) if found and rule else None

    def keep(self, yard: str) -> int | None:
        """How many years the yard's jurisdiction has records kept."""
        law = self.book.jurisdictions.get(self.yards[yard].jurisdiction) if yard in self.yards else None
        return int(law.keep.value.middle) if law and law.keep else None


# What went in, and which of it came out -------------------------------------------------------------------------------


@dataclass
class _Given:
    """An application while the lines are replayed; ``line`` tells of it, or, without ``day``, of what came out only.

    What is ``measured`` (poured, weighed) comes out as a pad or a dish, whatever the number.
    What goes in after ``until`` belongs to another course, whether or not a line says that this one came out.
    """

    line: Event
    day: int | None
    dose: Dose
    treatment: str
    to_remove: bool
    measured: bool = False
    until: int | None = None
    removals: list[Removal] = field(default_factory=list)

    @property
    def colony(self) -> str:
        return self.line.colony or ""

    @property
    def left(self) -> Fraction:
        """What is still in a hive."""
        if not self.to_remove or (self.measured and self.removals):
            return Fraction(0)
        return self.dose.amount - sum((r.amount for r in self.removals), Fraction(0))

    @property
    def last(self) -> int:
        """The latest day on which anything of it happened."""
        return max([self.line.day, *(r.day for r in self.removals)])


def _replayed(known: _Known) -> tuple[list[_Given], list[str]]:
    """Applications with what came out of each, the oldest first; what is in a united hive comes along to the other."""
    given: list[_Given] = []
    inside: dict[str, dict[str, list[_Given]]] = {}
    problems: list[str] = []
    for event in known.lines:
        if event.colony is None:
            continue
        effect, here = known.effect(event), inside.setdefault(event.colony, {})
        if effect == "ends" and known.book.events[event.word].value == "colony":
            there = inside.setdefault(other_colony(event.value), {})
            for treatment, came in inside.pop(event.colony).items():
                there.setdefault(treatment, []).extend(came)
        elif effect in TREATS:
            dose = dose_of(event.value)
            one = _given(event, dose, effect, known)
            if effect == "strips_out":
                over = _take_out(event, dose, here.get(one.treatment, []))
                if not over:
                    continue
                one.removals.append(_removal(event, dose, over))
                one.dose = Dose(dose.product, over, dose.unit)
                told = f"{event.place}: {float(over):g} of {dose.product} taken out of hive {event.colony}"
                problems.append(f"{told}, and no line says when they went in")
            elif one.to_remove:
                here[one.treatment] = [*(g for g in here.get(one.treatment, []) if _in_on(g, event.day)), one]
            given.append(one)
    return given, problems


def _given(event: Event, dose: Dose, effect: str, known: _Known) -> _Given:
    treatment = known.outfit.treatment(dose.product)
    label = known.label(treatment, event.yard)
    day = None if effect == "strips_out" else event.day
    longest = label.limits.course.days if label and label.limits.course else None
    until = None
    if longest is not None and longest.value.high is not None:
        until = event.day + int(longest.value.high) + known.gap
    return _Given(event, day, dose, treatment, effect != "treats", _unit(dose, label) in MEASURED, until)


def _removal(event: Event, dose: Dose, amount: Fraction) -> Removal:
    return Removal(event.day, amount, event.yard, event.colony or "", dose.by)


def _take_out(event: Event, dose: Dose, inside: list[_Given]) -> Fraction:
    """Counts what comes out off what is inside, the oldest first. Returns what is left over."""
    over = dose.amount
    while inside and over > 0:
        one = inside[0]
        part = over if one.measured else min(over, one.left)
        one.removals.append(_removal(event, dose, part))
        over -= part
        if one.left <= 0:
            inside.pop(0)
    return over


def _courses(given: Sequence[_Given], gap: int) -> list[list[_Given]]:
    """Applications of one product to one colony that follow on one another: the one before is still in, or just out."""
    found: list[list[_Given]] = []
    latest: dict[tuple[str, str], list[_Given]] = {}
    for one in given:
        key = one.colony, one.treatment
        before = latest.get(key)
        if before and (any(_in_on(b, one.line.day) for b in before) or one.line.day - max(map(_last, before)) <= gap):
            before.append(one)
        else:
            latest[key] = [one]
            found.append(latest[key])
    return found


def _in_on(one: _Given, day: int) -> bool:
    """True where something of it was still in the hive on a day, as far as lines and label tell."""
    lost = one.until is not None and day > one.until
    return (one.left > 0 and not lost) or any(r.day >= day for r in one.removals)


def _last(one: _Given) -> int:
    return one.last


# Entries --------------------------------------------------------------------------------------------------------------


def _entry(one: _Given, course: Sequence[_Given], known: _Known) -> Entry:
    label = known.label(one.treatment, one.line.yard)
    treatment: Treatment | None = known.book.treatments.get(one.treatment)
    ended = None if any(g.left > 0 for g in course) else max(g.last for g in course)
    began = None if any(g.day is None for g in course) else min(g.line.day for g in course)
    wait = label.withdrawal if label else None
    withdrawal = int(wait.value.middle) if wait else None
    count, count_day = _count(one, began, known)
    registration, unsure = _registration(label)
    return Entry(
        yard=one.line.yard,
        colony=one.colony,
        day=one.day,
        treatment=one.treatment,
        title=treatment.title if treatment else one.treatment,
        own=one.dose.product if one.dose.product != one.treatment else "",
        active=treatment.active if treatment else "",
        registration=registration,
        unsure=unsure,
        amount=None if one.day is None else one.dose.amount,
        unit=_unit(one.dose, label),
        lot=one.dose.lot,
        by=one.dose.by,
        to_remove=one.to_remove,
        removals=tuple(one.removals),
        left=one.left,
        began=began,
        ended=ended,
        withdrawal=withdrawal,
        withdrawal_unsure=wait is not None and wait.basis in UNSURE,
        free_on=None if ended is None or withdrawal is None else ended + withdrawal,
        keep_until=_keep_until(one, ended, known),
        weather=_weather(one.day, known.yards.get(one.line.yard)),
        count=count,
        count_day=count_day,
        fates=tuple(_fates(one, ended, known)),
        place=one.line.place,
    )


def _years(entry: Entry) -> set[int]:
    days = [r.day for r in entry.removals] + ([] if entry.day is None else [entry.day])
    return {date.fromordinal(day).year for day in days}


def _registration(label: Label | None) -> tuple[str, bool]:
    """The label's number, and whether it is from memory. Words that only say where to find the number are no number."""
    if label is None or label.registration is None:
        return "", False
    text = label.registration.value
    has_number = any(sign.isdigit() for sign in text) and "number" not in text
    return (text, label.registration.basis in UNSURE) if has_number else ("", False)


def _unit(dose: Dose, label: Label | None) -> str:
    """As the line has it, else as the label counts."""
    return dose.unit or (label.dose.amount.value.unit if label and label.dose else "")


def _keep_until(one: _Given, ended: int | None, known: _Known) -> int | None:
    """The last day on which the record has to be there, by the strictest of the yards where something was done."""
    years = [known.keep(yard) for yard in {one.line.yard, *(r.yard for r in one.removals)}]
    longest = max((n for n in years if n is not None), default=None)
    return None if ended is None or longest is None else kept_until(ended, longest)


def kept_until(ended: int, years: int) -> int:
    """So many years after a course's last day, counted in one step.

    From 29 February it is 28 February in a year that has no 29th: with that day, the years are full.
    """
    return (date.fromordinal(ended) + relativedelta(years=years)).toordinal()


def _weather(day: int | None, yard: Yard | None) -> str:
    """The day's high and low as the yard reads degrees, where the keeper's own temperatures hold that day."""
    if day is None or yard is None or day not in yard.readings:
        return ""
    high, low = (_degrees(value, yard.fahrenheit) for value in yard.readings[day])
    return f"high {high}, low {low}"


def _degrees(celsius: float, fahrenheit: bool) -> str:
    return f"{celsius * 9 / 5 + 32:.0f} °F" if fahrenheit else f"{celsius:.0f} °C"


def _count(one: _Given, began: int | None, known: _Known) -> tuple[str, int | None]:
    """The colony's own last count up to the application, in the same calendar year, and its day.

    A count from before another course says nothing of the mites that this one met.
    """
    if one.day is None or began is None:
        return "", None
    own = [e for e in known.of[one.colony] if e.day <= one.day]
    treated = [e.day for e in own if known.effect(e) in TREATS and e.day < began]
    since = max([date.fromordinal(one.day).replace(month=1, day=1).toordinal(), *treated])
    counts = [e for e in own if e.day >= since and known.book.events[e.word].value == "count"]
    if not counts:
        return "", None
    last = counts[-1]
    word = "" if last.word == "count" else f"{known.book.events[last.word].short or last.word} "
    return f"{word}{last.value}", last.day


def _fates(one: _Given, ended: int | None, known: _Known) -> Iterator[tuple[str, int]]:
    """Where the colony was moved while the course went on, and how it ended, be that years later."""
    names = {key: yard.name for key, yard in known.yards.items()}
    for event in known.of[one.colony]:
        rule = known.book.events[event.word]
        if event.day < one.line.day:
            continue
        if rule.effect == "moves" and (ended is None or event.day <= ended):
            yield f"moved from {names.get(event.yard, event.yard)} to {names.get(event.value, event.value)}", event.day
        elif rule.effect == "ends":
            united = rule.value == "colony"
            yield f"united with {other_colony(event.value)}" if united else rule.title, event.day


# Yards ----------------------------------------------------------------------------------------------------------------


def _yard_record(yard: Yard, entries: Sequence[Entry], book: Rulebook) -> YardRecord:
    law = book.jurisdictions[yard.jurisdiction]
    here = [e for e in entries if e.yard == yard.key or any(r.yard == yard.key for r in e.removals)]
    return YardRecord(
        key=yard.key,
        name=yard.name,
        latitude=yard.latitude,
        longitude=yard.longitude,
        jurisdiction=law.title,
        fields=tuple(law.record_fields),
        asked=tuple(_asked(law, book)),
        advice=law.record or "",
        keep=int(law.keep.value.middle) if law.keep else None,
        keep_sure=law.keep is not None and law.keep.basis not in UNSURE,
        paper=yard.paper,
        entries=tuple(sorted(here, key=order)),
    )


def _asked(law: Jurisdiction, book: Rulebook) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each source with the fields that it asks for, practice last."""
    groups: dict[str, list[str]] = {}
    for name, cites in law.record_fields.items():
        for cite in cites[:1]:
            groups.setdefault(cite.source, []).append(name)
    for source in sorted(groups, key=lambda s: book.sources[s].kind == "practice"):
        yield _source_words(book.sources[source]), tuple(groups[source])


def _source_words(source: Source) -> str:
    if source.kind == "practice":
        return "good practice"
    return ", ".join(part for part in (source.author, source.year, source.title, source.number) if part)
