"""The interview behind ``ipmcal new``: plain questions, each answer checked before the next is asked.

In: a way to ask and a way to say something. Out: a ``NewYard``. Nothing is read from a terminal in here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace

from ipmcal.model.outfit.yardfile import WEEKDAYS, ColonyFile, PlaceFile
from ipmcal.model.rules.files import HiveKind
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.text import nearest
from ipmcal.reading.source.dates import read_day
from ipmcal.reading.source.prompt import Prompt, Say
from ipmcal.reading.source.shape import field_problem
from ipmcal.reading.yards.answers import SAME, began, boxes, degrees, in_metres, weekdays
from ipmcal.reading.yards.newyard import NewColony, NewYard, nearest_regions, place_doubt, unfit_region, usual_hive

_YEAR = re.compile(r"[0-9]{4}")


def interview(ask: Prompt, say: Say, book: Rulebook, taken: Collection[str] = ()) -> NewYard:
    """Everything that a yard file needs. A question is asked again, with the reason, until its answer fits.

    ``taken`` are the keys of the keeper's other hives.
    """
    asker = _Asker(ask, say, book, taken)
    name = asker.until("What do you call this yard?", "", lambda a: "" if a else "a yard needs a name")
    latitude, longitude = asker.place()
    elevation = asker.elevation()
    region = asker.region(float(latitude), float(longitude))
    country = book.regions[region].jurisdiction
    jurisdiction = asker.chosen("Which country's units, paper and law?", country or "", book.jurisdictions)
    days = asker.days()
    for program, rule in book.programs.items():
        say(f"  {program}: {rule.title}. {rule.note or ''}".rstrip())
    program = asker.chosen("Which program do you start from?", "first_year", book.programs)
    count = asker.until("How many hives stand there?", "2", _count_problem)
    cuts = any(book.methods[name].per == "trap_frame" for name in book.programs[program].methods)
    colonies: list[NewColony] = []
    for number in range(1, int(count) + 1):
        colonies.append(asker.colony(number, jurisdiction, colonies[-1:], cuts=cuts))
    return NewYard(name, latitude, longitude, elevation, region, jurisdiction, days, program, tuple(colonies))


def _count_problem(answer: str) -> str:
    return "" if answer.isdigit() and 0 < int(answer) <= 200 else f"'{answer}' is not a number of hives from 1 to 200"


def began_problem(answer: str) -> str:
    """What is wrong with "22 May 2027 package": its date, as any date that is asked for, or the rest of it."""
    when, _, how = began(answer).rpartition(" ")
    if how in BEGINNINGS and not _YEAR.fullmatch(when):
        try:
            read_day(when)
        except ValueError as error:
            return str(error)
    return field_problem(ColonyFile, "began", began(answer))


class _Asker:
    """Asks until the answer fits."""

    def __init__(self, ask: Prompt, say: Say, book: Rulebook, taken: Collection[str]) -> None:
        self.ask, self.say, self.book = ask, say, book
        self.hive, self.boxes, self.began = "", "", ""
        self.keys: set[str] = set(taken)

    def until(self, question: str, default: str, problem: Callable[[str], str]) -> str:
        """The first answer without a problem."""
        while True:
            answer = self.ask(question, default).strip() or default
            what = problem(answer)
            if not what:
                return answer
            self.say(f"  {what}")

    def chosen(self, question: str, default: str, allowed: Iterable[str]) -> str:
        """One word of several."""
        words = sorted(allowed)

        def problem(answer: str) -> str:
            return "" if answer in words else f"there is no '{answer}'{nearest(answer, words)}"

        return self.until(question, default, problem)

    def place(self) -> tuple[str, str]:
        """Latitude and longitude, also both at once; far from every region, or on the wrong side, they are asked again.

        The same answer a second time is taken: somebody has to be the first one there.
        """
        before: tuple[str, str] = ("", "")
        while True:
            ask = "Its latitude in degrees, south negative (a phone's map shows it)?"
            first = self.until(ask, "", _degrees_problem("latitude", 90))
            both = degrees(first)
            last = both[1:] or degrees(
                self.until("Its longitude in degrees, west negative?", "", _degrees_problem("longitude", 180))
            )
            there = both[0], last[0]
            doubt = place_doubt(self.book, float(there[0]), float(there[1]))
            if not doubt or there == before:
                return there
            self.say(f"  {doubt}; if it is so, answer the same again")
            before = there

    def elevation(self) -> str:
        """Metres, or feet turned into metres."""

        def problem(answer: str) -> str:
            if re.fullmatch(r"[-+]?[0-9.,]+", answer):
                return f"{answer} of what? Write '{answer} m' or '{answer} ft'"
            return field_problem(PlaceFile, "elevation", in_metres(answer))

        return in_metres(self.until("Its height above the sea, such as '190 m' or '620 ft'?", "", problem))

    def region(self, latitude: float, longitude: float) -> str:
        """One of the regions, the nearest offered."""
        near = nearest_regions(self.book, latitude, longitude)
        for name, km in near:
            region = self.book.regions[name]
            self.say(f"  {name}: {region.title}, {km} km from its reference ({region.reference})")
        fits = {name for name, _ in near if not unfit_region(self.book, name, latitude, longitude)}

        def problem(answer: str) -> str:
            if answer not in self.book.regions:
                return f"there is no '{answer}'{nearest(answer, sorted(self.book.regions))}"
            unfit = unfit_region(self.book, answer, latitude, longitude) if fits else ""
            return f"the reference of '{answer}' {unfit}" if unfit else ""

        return self.until("Which region is most like yours?", near[0][0], problem)

    def days(self) -> tuple[str, ...]:
        """Weekdays, or any."""

        def problem(answer: str) -> str:
            words = weekdays(answer)
            wrong = next((w for w in words if w not in (*WEEKDAYS, "any")), None)
            if wrong is not None:
                return f"'{wrong}' is not a weekday{nearest(wrong, [*WEEKDAYS, 'any'])}"
            return "" if words else "name at least one day, or 'any'"

        return tuple(weekdays(self.until("On which days can you come (sat sun; weekends; or any)?", "sat", problem)))

    def colony(self, number: int, jurisdiction: str, last: Sequence[NewColony], *, cuts: bool) -> NewColony:
        """One hive; what was answered for the last one is offered again. ``cuts``: the program cuts trap combs."""

        def taken(answer: str) -> str:
            return f"'{answer}' is taken" if answer in self.keys else field_problem(ColonyFile, "key", answer)

        key = self.until(f"Hive {number}: what is painted on it?", str(number), taken)
        self.keys.add(key)
        ways = "'2027-05-02 package', or nucleus, split, swarm; '2026 overwintered'"
        ways += "; 'same as the last'" if last else ""

        def problem(answer: str) -> str:
            return "" if last and answer.lower() in SAME else began_problem(answer)

        answer = self.until(f"Hive {key}: when and how did it begin ({ways})?", self.began, problem)
        if answer.lower() in SAME:
            return replace(last[0], key=key)
        self.began = began(answer)
        hives = self.book.hives.hives
        usual = usual_hive(jurisdiction, self.book)
        self.hive = self.chosen(f"Hive {key}: what kind of hive?", self.hive or usual, hives)
        self.boxes = self._boxes(key, hives[self.hive])
        traps = "0"
        if cuts:
            traps = self.until(f"Hive {key}: how many trap frames (0, 1 or 2)?", "0", _traps_problem)
        return NewColony(key, self.began, self.hive, tuple(self.boxes.split()), int(traps))

    def _boxes(self, key: str, hive: HiveKind) -> str:
        def problem(answer: str) -> str:
            words = boxes(answer, hive.boxes)
            wrong = next((w for w in words if w not in hive.boxes), None)
            if wrong is not None:
                return f"this hive has no box '{wrong}'{nearest(wrong, list(hive.boxes))}"
            return "" if words else "name at least one box"

        offered = self.boxes if self.boxes and not problem(self.boxes) else hive.boxes[0]
        answer = self.until(
            f"Hive {key}: its brood boxes from the bottom up ({', '.join(hive.boxes)})?", offered, problem
        )
        return " ".join(boxes(answer, hive.boxes))


def _degrees_problem(key: str, most: int) -> Callable[[str], str]:
    """Degrees from -most to most; for a latitude the longitude may stand behind it."""

    def problem(answer: str) -> str:
        found = degrees(answer)
        if len(found) > (2 if key == "latitude" else 1) or (answer and not found):
            return f"degrees, please, such as {'42.45, or 42.45, -76.50' if key == 'latitude' else '-76.50'}"
        for one, name, limit in zip(found, (key, "longitude"), (most, 180), strict=False):
            if abs(float(one)) > limit:
                return f"a {name} lies between -{limit} and {limit} degrees"
        return "" if found else field_problem(PlaceFile, key, answer)

    return problem


def _traps_problem(answer: str) -> str:
    return "" if answer in ("0", "1", "2") else f"'{answer}' is not 0, 1 or 2"
