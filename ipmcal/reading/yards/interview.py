"""The interview behind ``ipmcal new``: plain questions, each answer checked before the next is asked.

In: a way to ask and a way to say something. Out: a ``NewYard``. Nothing is read from a terminal in here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from ipmcal.model.outfit.yardfile import WEEKDAYS, ColonyFile, PlaceFile
from ipmcal.model.rules.files import HiveKind
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import day
from ipmcal.model.values.text import nearest
from ipmcal.reading.source.dates import read_day
from ipmcal.reading.source.prompt import Prompt, Say
from ipmcal.reading.source.shape import field_problem
from ipmcal.reading.yards.newyard import NewColony, NewYard, nearest_regions, usual_hive

FEET = 0.3048
_YEAR = re.compile(r"[0-9]{4}")


def interview(ask: Prompt, say: Say, book: Rulebook) -> NewYard:
    """Everything that a yard file needs. A question is asked again, with the reason, until its answer fits."""
    asker = _Asker(ask, say, book)
    name = asker.until("What do you call this yard?", "", lambda a: "" if a else "a yard needs a name")
    latitude = asker.degrees("Its latitude in degrees, south negative (a phone's map shows it)?", "latitude", 90)
    longitude = asker.degrees("Its longitude in degrees, west negative?", "longitude", 180)
    elevation = asker.elevation()
    region = asker.region(float(latitude), float(longitude))
    country = book.regions[region].jurisdiction
    jurisdiction = asker.chosen("Which country's units, paper and law?", country or "", book.jurisdictions)
    days = asker.days()
    for program, rule in book.programs.items():
        say(f"  {program}: {rule.title}. {rule.note or ''}".rstrip())
    program = asker.chosen("Which program do you start from?", "first_year", book.programs)
    count = asker.until("How many hives stand there?", "2", _count_problem)
    colonies = tuple(asker.colony(i, jurisdiction) for i in range(1, int(count) + 1))
    return NewYard(name, latitude, longitude, elevation, region, jurisdiction, days, program, colonies)


def _count_problem(answer: str) -> str:
    return "" if answer.isdigit() and 0 < int(answer) <= 200 else f"'{answer}' is not a number of hives from 1 to 200"


def began_problem(answer: str) -> str:
    """What is wrong with "22 May 2027 package": its date, as any date that is asked for, or the rest of it."""
    when, _, how = answer.rpartition(" ")
    if how in BEGINNINGS and not _YEAR.fullmatch(when):
        try:
            read_day(when)
        except ValueError as error:
            return str(error)
    return field_problem(ColonyFile, "began", _in_iso(answer))


def _in_iso(answer: str) -> str:
    """The answer with its date as the yard file has it; as it is where that is no date."""
    when, _, how = answer.rpartition(" ")
    try:
        return f"{day(read_day(when)).isoformat()} {how}"
    except ValueError:
        return answer


class _Asker:
    """Asks until the answer fits."""

    def __init__(self, ask: Prompt, say: Say, book: Rulebook) -> None:
        self.ask, self.say, self.book = ask, say, book
        self.hive, self.boxes, self.began = "", "", ""
        self.keys: set[str] = set()

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

    def degrees(self, question: str, key: str, most: int) -> str:
        """Degrees as the yard file takes them, from -most to most."""

        def problem(answer: str) -> str:
            what = field_problem(PlaceFile, key, answer)
            return what or ("" if abs(float(answer)) <= most else f"a {key} lies between -{most} and {most} degrees")

        return self.until(question, "", problem)

    def elevation(self) -> str:
        """Metres, or feet turned into metres."""

        def problem(answer: str) -> str:
            return field_problem(PlaceFile, "elevation", in_metres(answer))

        return in_metres(self.until("Its height above the sea, such as '190 m' or '620 ft'?", "", problem))

    def region(self, latitude: float, longitude: float) -> str:
        """One of the regions, the nearest offered."""
        near = nearest_regions(self.book, latitude, longitude)
        for name, km in near:
            region = self.book.regions[name]
            self.say(f"  {name}: {region.title}, {km} km from its reference ({region.reference})")
        return self.chosen("Which region is most like yours?", near[0][0], self.book.regions)

    def days(self) -> tuple[str, ...]:
        """Weekdays, or any."""

        def problem(answer: str) -> str:
            words = answer.replace(",", " ").lower().split()
            wrong = next((w for w in words if w not in (*WEEKDAYS, "any")), None)
            if wrong is not None:
                return f"'{wrong}' is not a weekday{nearest(wrong, [*WEEKDAYS, 'any'])}"
            return "" if words else "name at least one day, or 'any'"

        answer = self.until("On which days can you come (sat sun; or any)?", "sat", problem)
        return tuple(dict.fromkeys(answer.replace(",", " ").lower().split()))

    def colony(self, number: int, jurisdiction: str) -> NewColony:
        """One hive; what was answered for the last one is offered again."""

        def taken(answer: str) -> str:
            return f"'{answer}' is taken" if answer in self.keys else field_problem(ColonyFile, "key", answer)

        key = self.until(f"Hive {number}: what is painted on it?", str(number), taken)
        self.keys.add(key)
        ways = "'2027-05-02 package', or nucleus, split, swarm; '2026 overwintered'"
        self.began = _in_iso(self.until(f"Hive {key}: when and how did it begin ({ways})?", self.began, began_problem))
        hives = self.book.hives.hives
        usual = usual_hive(jurisdiction, self.book)
        self.hive = self.chosen(f"Hive {key}: what kind of hive?", self.hive or usual, hives)
        self.boxes = self._boxes(key, hives[self.hive])
        traps = "0"
        if "overwintered" in self.began:
            traps = self.until(f"Hive {key}: how many trap frames (0, 1 or 2)?", "0", _traps_problem)
        return NewColony(key, self.began, self.hive, tuple(self.boxes.split()), int(traps))

    def _boxes(self, key: str, hive: HiveKind) -> str:
        def problem(answer: str) -> str:
            words = answer.replace(",", " ").split()
            wrong = next((w for w in words if w not in hive.boxes), None)
            if wrong is not None:
                return f"this hive has no box '{wrong}'{nearest(wrong, list(hive.boxes))}"
            return "" if words else "name at least one box"

        offered = self.boxes if self.boxes and not problem(self.boxes) else hive.boxes[0]
        answer = self.until(
            f"Hive {key}: its brood boxes from the bottom up ({', '.join(hive.boxes)})?", offered, problem
        )
        return " ".join(answer.replace(",", " ").split())


def _traps_problem(answer: str) -> str:
    return "" if answer in ("0", "1", "2") else f"'{answer}' is not 0, 1 or 2"


def in_metres(answer: str) -> str:
    """Feet in metres; anything else as it is."""
    words = answer.lower().split()
    if len(words) == 2 and words[1] in ("ft", "feet") and words[0].lstrip("-").replace(".", "", 1).isdigit():
        return f"{round(float(words[0]) * FEET)} m"
    return f"{answer} m" if answer.lstrip("-").isdigit() else answer
