"""Entries: what was said on the command line about one colony (or one yard), as an event for the journal.

In: whose, the words, the day of work, and what is known of the outfit. Out: an ``Typed``, with remarks to read before
it is written; or an ``EntryError`` that says what is missing and how to say it. No files, no terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from ipmcal.model.outfit.outfit import Colony, Event, Outfit
from ipmcal.model.outfit.strips import Naming, Strips, strips_of
from ipmcal.model.outfit.yardfile import ColonyFile
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.count import Unit
from ipmcal.model.values.lines import dose_line, sample_of
from ipmcal.model.values.text import FORBIDDEN, nearest, quoted
from ipmcal.model.values.words import short_day
from ipmcal.reading.journal.keys import MAKES, key_problem, made_by, said, slots_of
from ipmcal.reading.journal.values import Keys, check_trap, event_rule, event_value, other_of, value_text
from ipmcal.reading.source.shape import field_problem

UNKNOWN = "unknown"
"""What may be written for a lot that nobody knows any more."""


class EntryError(ValueError):
    """Something can't be entered. ``asks`` is "lot" or "by" where only that is missing."""

    def __init__(self, what: str, asks: str = "") -> None:
        self.asks = asks
        super().__init__(what)


@dataclass(frozen=True, slots=True)
class Facts:
    """What entries are read against. ``journal`` holds the lines that stand; ``today`` is the last day of work."""

    outfit: Outfit
    book: Rulebook
    keys: Keys
    today: int
    journal: tuple[Event, ...] = ()
    by: str = ""

    def after(self, events: Sequence[Event]) -> Facts:
        """The same, with more lines in the journal."""
        return replace(self, journal=(*self.journal, *events))

    def colony(self, key: str) -> Colony | None:
        """A colony of the yard files."""
        return next((c for yard in self.outfit.yards for c in yard.colonies if c.key == key), None)

    def made(self) -> dict[str, Event]:
        """The colonies that no yard file has, each with the line that made it."""
        return made_by(self.journal, self.keys, self.book)

    def lines(self, colony: str | None) -> Iterator[Event]:
        """The lines of a colony, from its yard file's history and the journal, in the order of their days."""
        file = self.colony(colony) if colony is not None else None
        told = [*(file.history if file else ()), *(e for e in self.journal if e.colony == colony)]
        yield from sorted(told, key=lambda e: e.day)

    def yard_of(self, colony: str, day: int) -> str:
        """Where a colony stands on a day, as the yard files and ``moved`` lines have it; "" for one not known."""
        first = self.made().get(colony)
        home = next((y.key for y in self.outfit.yards for c in y.colonies if c.key == colony), "")
        yard = home or (first.yard if first else "")
        for event in self.lines(colony):
            if event.day <= day and self.book.events[event.word].effect == "moves":
                yard = event.value
        return yard


@dataclass(frozen=True, slots=True)
class Typed:
    """An event to write, the number of its line on the sheet (0 for none), and what has to be said with it.

    ``known`` is the same line where it stands in the journal already: then nothing is written.
    """

    event: Event
    line: int = 0
    remarks: tuple[str, ...] = ()
    known: Event | None = None


def entry(facts: Facts, who: str, words: Sequence[str], day: int, note: str = "", yard: str = "") -> Typed:
    """``3 trap_cut T1`` or ``@orchard entrances_small``, done on ``day``, as an entry. Raises EntryError.

    ``6@mill_field caught`` says where a colony was made that is not known yet; without it, in its parent's yard, in
    ``yard``, or in the only one.
    """
    key, _, place = who.rpartition("@")
    if key and any(place == one.key for one in facts.outfit.yards):
        who, yard = key, place
    try:
        return _entry(facts, who, words, day, note, yard)
    except EntryError:
        raise
    except ValueError as error:
        raise EntryError(str(error)) from None


def _entry(facts: Facts, who: str, words: Sequence[str], day: int, note: str, yard: str) -> Typed:
    word, text = words[0].lower(), " ".join(" ".join(words[1:]).split())
    rule = event_rule(word, facts.book)
    hidden = FORBIDDEN.search(f"{text}{note}")
    if hidden:
        raise EntryError(f"a hidden character (U+{ord(hidden[0]):04X}) stands in it; write it without")
    colony = _whose(facts, who, rule, word)
    if rule.effect == "voids":
        return Typed(_void(facts, who, colony, text, day, note))
    _check_day(facts, day)
    text = _completed(facts, rule, text)
    trap, value = event_value(word, text, facts.book, facts.keys)
    if facts.by and rule.value != "treatment":
        note = "; ".join(part for part in (note, f"by {facts.by}") if part)
    event = Event(day, who[1:], colony, word, trap, value, note)
    known = next((e for e in facts.journal if _same(e, event)), None)
    if known is not None:
        return Typed(replace(event, yard=known.yard), remarks=tuple(_remarks(rule, event)), known=known)
    if colony is not None:
        event = replace(event, yard=_yard(facts, colony, rule, event, yard))
        _check_colony(facts, event)
    _check_strips(facts, rule, event)
    return Typed(event, remarks=tuple(_remarks(rule, event)))


def _same(a: Event, b: Event) -> bool:
    """The same line; a colony stands in one yard only, whichever the line names."""
    return (a.day, a.colony, said(a)) == (b.day, b.colony, said(b)) and (a.colony is not None or a.yard == b.yard)


# Whose, where, when ---------------------------------------------------------------------------------------------------


def _whose(facts: Facts, who: str, rule: EventRule, word: str) -> str | None:
    """The colony's key; None for the yard itself."""
    if not who.startswith("@"):
        return who
    yards = [yard.key for yard in facts.outfit.yards]
    if who[1:] not in yards:
        raise EntryError(f"there is no yard {quoted(who[1:])}{nearest(who[1:], yards)}")
    if rule.about != "yard" and rule.value not in ("step", "line"):
        raise EntryError(f"'{word}' is about a hive, not about the yard; write the hive's key instead of '{who}'")
    return None


def _check_day(facts: Facts, day: int) -> None:
    if day > facts.today:
        today = date.fromordinal(facts.today)
        raise EntryError(
            f"{date.fromordinal(day)} is still to come (today is {today}); "
            "give the day on which the work was done: --on DATE (or --as-of, if today is another day)"
        )


def _yard(facts: Facts, colony: str, rule: EventRule, event: Event, yard: str) -> str:
    """Where a colony stands on the day of its line."""
    here = facts.yard_of(colony, event.day)
    if here and rule.effect == "moves" and event.value == here:
        raise EntryError(f"hive {colony} stands in {here} already; give the yard to which it was moved")
    if here:
        return here
    if rule.effect not in MAKES:
        raise EntryError(key_problem(colony, event.day, facts.keys.colonies(), facts.made()))
    parent = other_of(event, facts.book)
    problem = key_problem(parent, event.day, facts.keys.colonies(), facts.made()) if parent else ""
    if problem:
        raise EntryError(problem)
    where = yard or (facts.yard_of(parent, event.day) if parent else "")
    if not where and len(facts.outfit.yards) == 1:
        where = facts.outfit.yards[0].key
    if not where:
        yards = ", ".join(y.key for y in facts.outfit.yards)
        raise EntryError(f"in which yard is it? write its key so: {colony}@YARD; the yards are {yards}")
    return where


def _check_colony(facts: Facts, event: Event) -> None:
    """The colony is there on that day, and so is what the line says of it."""
    assert event.colony is not None
    rule, made = facts.book.events[event.word], facts.made()
    if rule.effect in MAKES and facts.colony(event.colony) is None:
        first = made.get(event.colony)
        if first is not None and not _same(first, event):
            raise EntryError(f"hive {event.colony} is there already, since {short_day(first.day)} ('{said(first)}')")
        problem = field_problem(ColonyFile, "key", event.colony)
    else:
        problem = key_problem(event.colony, event.day, facts.keys.colonies(), made) or _too_early(facts, event)
    other = other_of(event, facts.book)
    if other and not problem:
        problem = key_problem(other, event.day, facts.keys.colonies(), made)
    if other == event.colony:
        problem = f"{quoted(other)} is the hive itself; write the other one"
    if problem:
        raise EntryError(problem)
    check_trap(event, slots_of(facts.journal, facts.keys, facts.book).get(event.colony, {}), facts.book)


def _too_early(facts: Facts, event: Event) -> str:
    """A colony of which the yard file says on which day it began has no lines before that day."""
    colony = facts.colony(event.colony or "")
    if colony is None or event.day >= colony.began or not colony.began_text.startswith(str(_iso(colony.began))):
        return ""
    return (
        f"{_iso(event.day)} is before hive {colony.key} began ({colony.began_text}, {colony.place}); "
        "give the day on which the work was done: --on DATE, or mend 'began' in the yard file"
    )


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()


# Values ---------------------------------------------------------------------------------------------------------------


def _completed(facts: Facts, rule: EventRule, text: str) -> str:
    """The value with what the keeper may leave out or write in another way."""
    if rule.value == "trap_finding":
        trap, _, name = text.partition(" ")
        return f"{trap} {finding(name, facts.book) or name}"
    return _dose(facts, rule, text) if rule.value == "treatment" else text


def finding(name: str, book: Rulebook) -> str:
    """The finding with this id, this word on the sheet, or this beginning of one of them; "" where there is none.

    Capitals don't matter; a beginning has three letters at least, and belongs to one finding only.
    """
    wanted = "_".join(name.lower().split())
    names = {
        key: (key, *("_".join(w.lower().split()) for w in (f.circle, f.title))) for key, f in book.findings.items()
    }
    exact = [key for key, words in names.items() if wanted in words]
    begun = [key for key, words in names.items() if len(wanted) > 2 and any(w.startswith(wanted) for w in words)]
    found = exact or begun
    return found[0] if len(found) == 1 else ""


def _dose(facts: Facts, rule: EventRule, text: str) -> str:
    """A treatment answered in full: how much, of which lot where it was put in, and by whom."""
    dose = dose_line(text)
    if rule.effect != "strips_out" and not dose.lot:
        raise EntryError(f"of which lot? Write 'lot K21' behind the amount, or 'lot {UNKNOWN}'", "lot")
    if not dose.by and not facts.by:
        raise EntryError("by whom? Write 'by AB' behind it, or give --by", "by")
    return text if dose.by else f"{text} by {facts.by}"


def _check_strips(facts: Facts, rule: EventRule, event: Event) -> None:
    """No more comes out of a hive than was put in, by product. Raises EntryError with the numbers."""
    if rule.effect != "strips_out":
        return
    colony, dose = event.colony or "", dose_line(event.value)
    runs = strips(facts).of(colony, facts.outfit.treatment(dose.product))
    given = [one for run in runs for one in run.given]
    later = {line.day for one in given for line, _ in one.taken if line.day > event.day}
    # What came out later has to have been in: this may take no more than would leave enough for that.
    left = min(left_in(facts, colony, dose.product, day) for day in {event.day, *later})
    if dose.amount > left:
        put_in, taken = (one.dose.amount for one in given), (part for one in given for _, part in one.taken)
        more, there, total, out = (f"{float(n):g}" for n in (dose.amount, left, sum(put_in), sum(taken)))
        raise EntryError(
            f"takes {more} of {dose.product} out of hive {event.colony}, and {there} are in it "
            f"(all told, put in: {total}, taken out: {out}); enter what was put in first, or mend the number or day"
        )


def strips(facts: Facts, day: int | None = None) -> Strips:
    """What went into the hives and came out of them, up to a day."""
    histories = (e for yard in facts.outfit.yards for c in yard.colonies for e in c.history)
    lines = (e for e in (*histories, *facts.journal) if day is None or e.day <= day)
    return strips_of(lines, Naming(facts.book, facts.outfit))


def left_in(facts: Facts, colony: str, product: str, day: int) -> Fraction:
    """How much of a product is in a hive on a day, as written."""
    return strips(facts, day).left_in(colony, facts.outfit.treatment(product))


def _remarks(rule: EventRule, event: Event) -> Iterator[str]:
    if rule.value == "count":
        sample = sample_of(event.value, Unit(rule.unit))
        if sample.unit is Unit.BEES and sample.mites > sample.size:
            yield "more mites than bees: that can be; look at the sheet again"
        if sample.unit is Unit.DRONE_CELLS and sample.mites > sample.size:
            yield "more cells with mites than cells opened: look at the sheet again"


# Taking a line back ---------------------------------------------------------------------------------------------------


def _void(facts: Facts, who: str, colony: str | None, text: str, day: int, note: str) -> Event:
    """The line that takes back the last line of that day which says this, or begins so."""
    words = " ".join(text.split())
    mine: Callable[[Event], bool] = lambda e: e.colony == colony and (colony is not None or e.yard == who[1:])  # noqa: E731
    here = [e for e in facts.journal if e.day == day and mine(e)]
    meant = [e for e in here if said(e) == words] or [e for e in here if words and said(e).startswith(words)]
    if not meant or len({said(e) for e in meant}) > 1:
        lines = "; ".join(dict.fromkeys(said(e) for e in meant or here))
        other = "; ".join(f"{_iso(e.day)}" for e in facts.journal if mine(e) and said(e) == words)
        hint = f"; that day's are: {lines}" if lines else f"; it stands at {other}: --on" if other else ""
        whose = f"hive {who}" if colony is not None else who
        raise EntryError(f"no line of {whose} on {_iso(day)} that still stands says {quoted(words)}{hint}")
    last = meant[-1]
    return Event(day, last.yard, colony, facts.book.word("voids"), None, said(last), note)


# In words -------------------------------------------------------------------------------------------------------------


def told(event: Event, book: Rulebook) -> str:
    """An event in the words of the rules: ``hive 3: trap comb cut: T1``."""
    rule = book.events[event.word]
    who = f"hive {event.colony}" if event.colony is not None else event.yard
    value = value_text(event)
    if rule.value == "trap_finding":
        value = f"{event.trap} {book.findings[event.value].title}"
    return f"{who}: {rule.title}" + (f": {value}" if value else "")
