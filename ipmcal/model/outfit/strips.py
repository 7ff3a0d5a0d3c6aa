"""Strips: what went into hives and what came out of them, replayed from lines: one replay for plan, record and log.

In: lines of one colony or of many, the rulebook. Out: ``Strips``. Pure. "Strips" stands for all that is given: strips,
trays, pads, and what is poured or laid on once. What was in a hive that is united with another is in that one then.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.lines import DoseLine, dose_line, other_colony
from ipmcal.model.values.words import MEASURED

TREATS = ("treats", "strips_in", "strips_out")


@dataclass
class GivenDose:
    """An application: its line, the treatment's id, and what came out of it, each part with its line.

    What is ``measured`` (poured, weighed) comes out as a pad or a dish, whatever the number.
    """

    line: Event
    dose: DoseLine
    treatment: str
    to_remove: bool
    measured: bool
    taken: list[tuple[Event, Fraction]] = field(default_factory=list)

    @property
    def colony(self) -> str:
        """The key of the colony that it was given to."""
        return self.line.colony or ""

    @property
    def last(self) -> int:
        """The latest day on which anything of it happened."""
        return max([self.line.day, *(line.day for line, _ in self.taken)])

    @property
    def left(self) -> Fraction:
        """What of it is still in a hive."""
        if not self.to_remove or (self.measured and self.taken):
            return Fraction(0)
        return self.dose.amount - sum((part for _, part in self.taken), Fraction(0))


@dataclass
class DoseRun:
    """Applications of one treatment that follow on one another in a hive: the one before is still in, or just out."""

    given: list[GivenDose]

    @property
    def treatment(self) -> str:
        """The treatment's id."""
        return self.given[0].treatment

    @property
    def lines(self) -> tuple[Event, ...]:
        """Everything that was written of it, by day; a line that took out of several applications once."""
        found = [line for one in self.given for line in (one.line, *(line for line, _ in one.taken))]
        return tuple(sorted({id(line): line for line in found}.values(), key=lambda line: line.day))

    @property
    def began(self) -> int:
        """The day of its first line."""
        return self.lines[0].day

    @property
    def last(self) -> int:
        """The day of its latest line."""
        return self.lines[-1].day

    @property
    def open(self) -> bool:
        """True while anything of it is in a hive."""
        return any(one.left > 0 for one in self.given)


@dataclass(frozen=True)
class TakenTooMuch:
    """A line by which more came out of a hive than was ``inside``: by so much; and the lines by which that went in."""

    line: Event
    dose: DoseLine
    treatment: str
    over: Fraction
    inside: Fraction
    put_in: tuple[Event, ...]


@dataclass(frozen=True)
class Strips:
    """The courses of every hive, by its key, in the order in which they began there, and what does not add up.

    A course that came with a hive that was united with another stands with the other; one of both stands there once.
    """

    runs: dict[str, list[DoseRun]]
    given: list[GivenDose]
    too_much: list[TakenTooMuch]

    def left_in(self, colony: str, treatment: str) -> Fraction:
        """How many strips, trays or pads of a treatment are in a hive."""
        return sum((one.left for run in self.of(colony, treatment) for one in run.given), Fraction(0))

    def of(self, colony: str, treatment: str) -> list[DoseRun]:
        """A hive's courses of one treatment."""
        return [run for run in self.runs.get(colony, ()) if run.treatment == treatment]


class Naming:
    """What the keeper's lines mean: the treatment behind a name, and the unit behind a bare number."""

    def __init__(self, book: Rulebook, outfit: Outfit | None = None) -> None:
        self.book, self.outfit = book, outfit
        self.places = {yard.key: yard.jurisdiction for yard in outfit.yards} if outfit else {}

    def treatment(self, product: str) -> str:
        """The treatment's id, by the name that a line has."""
        return self.outfit.treatment(product) if self.outfit else product

    def unit(self, dose: DoseLine, yard: str) -> str:
        """As the line has it, else as the label of the place counts; "" where nothing tells."""
        rule = self.book.treatments.get(self.treatment(dose.product))
        label = label_for(rule, self.places[yard], self.book) if rule and yard in self.places else None
        return dose.unit or (label.dose.amount.value.unit if label and label.dose else "")


def strips_of(lines: Iterable[Event], naming: Naming) -> Strips:
    """Replays lines, in the order of their days. What comes out is of what went in first.

    Applications of one treatment within ``same_course`` are one course. What was put in and not written of for longer
    than ``course_over`` is taken for gone as soon as more of it is put in: what follows is a new course, and what comes
    out is of the old one only where nothing of the new one is left.
    """
    made = _Replay(naming)
    for event in sorted(lines, key=lambda line: line.day):
        if event.colony is not None:
            made.read(event, event.colony)
    for runs in made.strips.runs.values():
        runs.sort(key=lambda run: run.began)
    return made.strips


class _Replay:
    """What is in each hive while lines are read."""

    def __init__(self, naming: Naming) -> None:
        self.naming, self.strips = naming, Strips({}, [], [])
        planning = naming.book.planning
        self.gap, self.over = (int(value.value.middle) for value in (planning.same_course, planning.course_over))

    def read(self, event: Event, colony: str) -> None:
        rule = self.naming.book.events[event.word]
        if rule.effect == "ends" and rule.value == "colony":
            self._unite(colony, other_colony(event.value))
        elif rule.effect == "strips_out":
            self._take_out(event, colony)
        elif rule.effect in TREATS:
            self._put_in(event, colony, to_remove=rule.effect == "strips_in")

    def _unite(self, gone: str, other: str) -> None:
        """What is still in goes along, with all of its course; what was over before stays with the hive that went."""
        if gone == other:
            return
        runs, there = self.strips.runs.pop(gone, []), self.strips.runs.setdefault(other, [])
        self.strips.runs[gone] = [run for run in runs if not run.open]
        for run in (run for run in runs if run.open):
            same = next((one for one in reversed(there) if one.treatment == run.treatment and one.open), None)
            if same is None:
                there.append(run)
            else:
                same.given.extend(run.given)

    def _put_in(self, event: Event, colony: str, *, to_remove: bool) -> None:
        dose = dose_line(event.value)
        measured = self.naming.unit(dose, event.yard) in MEASURED
        one = GivenDose(event, dose, self.naming.treatment(dose.product), to_remove, measured)
        self.strips.given.append(one)
        for run in self.strips.of(colony, one.treatment)[-1:]:
            if event.day - run.last <= (self.over if run.open else self.gap):
                run.given.append(one)
                return
        self.strips.runs.setdefault(colony, []).append(DoseRun([one]))

    def _take_out(self, event: Event, colony: str) -> None:
        dose = dose_line(event.value)
        treatment = self.naming.treatment(dose.product)
        inside = [one for run in reversed(self.strips.of(colony, treatment)) for one in run.given if one.left > 0]
        number = sum((one.left for one in inside), Fraction(0))
        over = dose.amount
        for one in inside:
            if over <= 0:
                break
            # By weight or volume nothing is counted: it is what was laid in at once, a pad or a dish.
            part = over if one.measured else one.left if dose.unit in MEASURED else min(over, one.left)
            one.taken.append((event, part))
            over = Fraction(0) if dose.unit in MEASURED else over - part
        if over > 0:
            put_in = tuple(one.line for one in inside)
            self.strips.too_much.append(TakenTooMuch(event, dose, treatment, over, number, put_in))
