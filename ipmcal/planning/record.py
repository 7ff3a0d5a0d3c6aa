"""The record of treatments: from the lines about what went in and what came out, to one entry an application.

In: the outfit as read, the rulebook, a day, a year. Out: a ``Record``. Pure. Lines of every colony that was ever named
count, wherever it stands now and whatever became of it; nothing is taken from plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from dateutil.relativedelta import relativedelta

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.outfit.record import Record, Removal, TreatmentEntry, YardRecord, order
from ipmcal.model.outfit.strips import TREATS, GivenDose, Naming, Strips, strips_of
from ipmcal.model.rules.files import Jurisdiction, Source
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Unit
from ipmcal.model.values.lines import dose_line, other_colony

UNSURE = (Basis.MEMORY, Basis.ASSUMPTION)


def make_record(outfit: Outfit, book: Rulebook, as_of: int, year: int | None = None) -> Record:
    """The record as the lines up to ``as_of`` tell it: for a calendar year, or for all years.

    A year's record holds every application of which anything happened in it: given, or taken out.
    """
    known = _Known(outfit, book, [e for e in all_lines(outfit) if e.day <= as_of])
    strips = strips_of(known.lines, known.naming)
    entries = [_entry(one, course, known) for course in _courses(strips, known) for one in course]
    if year is not None:
        entries = [entry for entry in entries if year in _years(entry)]
    yards = tuple(_yard_record(yard, entries, book) for yard in outfit.yards)
    return Record(outfit.name, outfit.keeper, year, as_of, yards, tuple(_problems(strips)))


def all_lines(outfit: Outfit) -> list[Event]:
    """The journal's lines and the yard files' histories, by day; lines of one day in their order."""
    histories = [e for yard in outfit.yards for colony in yard.colonies for e in colony.history]
    return sorted([*histories, *(outfit.journal or ())], key=lambda e: e.day)


class _Known:
    """What entries are made from: the outfit, the rulebook, the lines, and the lines of each colony."""

    def __init__(self, outfit: Outfit, book: Rulebook, lines: Sequence[Event]) -> None:
        self.outfit, self.book, self.lines = outfit, book, lines
        self.yards = {yard.key: yard for yard in outfit.yards}
        self.naming = Naming(book, outfit)
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


def _courses(strips: Strips, known: _Known) -> list[list[GivenDose]]:
    """The applications to each colony, course by course, with what came out of it without having been put in."""
    found: list[list[GivenDose]] = []
    at: dict[int, list[GivenDose]] = {}
    for run in (run for runs in strips.runs.values() for run in runs):
        own: dict[str, list[GivenDose]] = {}
        for one in run.given:
            at[id(one)] = own.setdefault(one.colony, [])
            at[id(one)].append(one)
        found.extend(own.values())
    for over in strips.too_much:
        one = GivenDose(over.line, replace(over.dose, amount=over.over), over.treatment, to_remove=True, measured=False)
        one.taken.append((over.line, over.over))
        runs = strips.of(one.colony, over.treatment)
        near = [run for run in runs if run.began <= over.line.day <= run.last + known.gap]
        if near:
            at[id(near[-1].given[-1])].append(one)
        else:
            found.append([one])
    return found


def _problems(strips: Strips) -> Iterator[str]:
    for one in strips.too_much:
        told = f"{one.line.place}: {float(one.over):g} of {one.dose.product} taken out of hive {one.line.colony}"
        yield f"{told}, and no line says when they went in"


def _began(one: GivenDose, known: _Known) -> int | None:
    """The day on which it was given; None where a line tells only of what came out."""
    return None if known.effect(one.line) == "strips_out" else one.line.day


# Entries --------------------------------------------------------------------------------------------------------------


def _entry(one: GivenDose, course: Sequence[GivenDose], known: _Known) -> TreatmentEntry:
    label = known.label(one.treatment, one.line.yard)
    treatment: Treatment | None = known.book.treatments.get(one.treatment)
    ended = None if any(g.left > 0 for g in course) else max(g.last for g in course)
    day, days = _began(one, known), [_began(g, known) for g in course]
    began = None if None in days else min(d for d in days if d is not None)
    wait = label.withdrawal if label else None
    withdrawal = int(wait.value.upper_end) if wait else None
    count, count_day = _count(one, began, known)
    registration, unsure = _registration(label)
    return TreatmentEntry(
        yard=one.line.yard,
        colony=one.colony,
        day=day,
        treatment=one.treatment,
        title=treatment.title if treatment else one.treatment,
        own=one.dose.product if one.dose.product != one.treatment else "",
        active=treatment.active if treatment else "",
        registration=registration,
        unsure=unsure,
        amount=None if day is None else one.dose.amount,
        unit=known.naming.unit(one.dose, one.line.yard),
        lot=one.dose.lot,
        by=one.dose.by,
        to_remove=one.to_remove,
        removals=tuple(_removal(line, part) for line, part in one.taken),
        left=one.left,
        began=began,
        ended=ended,
        withdrawal=withdrawal,
        withdrawal_unsure=wait is not None and wait.basis in UNSURE,
        free_on=None if ended is None or withdrawal is None else ended + withdrawal,
        keep_until=_keep_until(one, ended, known),
        weather=_weather(day, known.yards.get(one.line.yard)),
        count=count,
        count_day=count_day,
        fates=tuple(_fates(one, ended, known)),
        place=one.line.place,
    )


def _years(entry: TreatmentEntry) -> set[int]:
    days = [r.day for r in entry.removals] + ([] if entry.day is None else [entry.day])
    return {date.fromordinal(day).year for day in days}


def _registration(label: Label | None) -> tuple[str, bool]:
    """The label's number, and whether it is from memory. Words that only say where to find the number are no number."""
    if label is None or label.registration is None:
        return "", False
    text = label.registration.value
    has_number = any(sign.isdigit() for sign in text) and "number" not in text
    return (text, label.registration.basis in UNSURE) if has_number else ("", False)


def _removal(line: Event, amount: Fraction) -> Removal:
    return Removal(line.day, amount, line.yard, line.colony or "", dose_line(line.value).by)


def _keep_until(one: GivenDose, ended: int | None, known: _Known) -> int | None:
    """The last day on which the record has to be there, by the strictest of the yards where something was done."""
    years = [known.keep(yard) for yard in {one.line.yard, *(line.yard for line, _ in one.taken)}]
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


def _count(one: GivenDose, began: int | None, known: _Known) -> tuple[str, int | None]:
    """The colony's own last count up to the application, in the same calendar year, and its day.

    A count from before another course says nothing of the mites that this one met.
    """
    day = _began(one, known)
    if day is None or began is None:
        return "", None
    own = [e for e in known.of[one.colony] if e.day <= day]
    treated = [e.day for e in own if known.effect(e) in TREATS and e.day < began]
    since = max([date.fromordinal(day).replace(month=1, day=1).toordinal(), *treated])
    counts = [e for e in own if e.day >= since and known.book.events[e.word].value == "count"]
    if not counts:
        return "", None
    last = counts[-1]
    rule = known.book.events[last.word]
    word = "" if rule.unit == Unit.BEES.value else f"{rule.short or last.word} "
    return f"{word}{last.value}", last.day


def _fates(one: GivenDose, ended: int | None, known: _Known) -> Iterator[tuple[str, int]]:
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
            return  # it ends once, however often it was written


# Yards ----------------------------------------------------------------------------------------------------------------


def _yard_record(yard: Yard, entries: Sequence[TreatmentEntry], book: Rulebook) -> YardRecord:
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
