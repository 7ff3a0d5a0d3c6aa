"""Views of a yard and its colonies, as every document shows them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.values.days import Span
from ipmcal.model.values.words import joined, short_day, years_of


@dataclass(frozen=True, slots=True)
class TrapView:
    """A trap frame as the sheet shows it. Boxes count from the bottom (1), slots from the left seen from behind (1)."""

    name: str
    box: int
    slot: int | None
    home: int | None


@dataclass(frozen=True, slots=True)
class BoxView:
    """A box of the hive below the supers, bottom first: its kind in words, how many frames it takes."""

    kind: str
    frames: int


@dataclass(frozen=True, slots=True)
class ColonyView:
    """What a document shows of a colony: as painted on the hive, where it stands, what was last, what to ``mind``.

    ``warnings`` are about what is in it: supers too early, a second set, too much.
    """

    key: str
    name: str
    stand: str
    began: str
    boxes: tuple[BoxView, ...]
    supers: int
    traps: tuple[TrapView, ...]
    queen: str
    last: str
    notes: tuple[str, ...] = ()
    mind: str = ""
    warnings: tuple[Because, ...] = ()

    def there_on(self, day: int) -> bool:
        """Whether its bees are in on a day: as its yard file has it, it began on it, or before."""
        return self.began.split()[0] <= date.fromordinal(day).isoformat()


@dataclass(frozen=True, slots=True)
class MarkView:
    """A day (or, with ``ends``, a period) of the season at this yard."""

    mark: str
    title: str
    begins: Span
    ends: Span | None
    reason: Reason


@dataclass(frozen=True, slots=True)
class AlarmsView:
    """How many hours before midnight of its day a phone tells of a visit, and of a last good day that has none."""

    visit: float
    last_good_day: float


@dataclass(frozen=True, slots=True)
class YardView:
    """What documents show of a yard; colonies in walking order. Highs are usual daily highs by month, °C.

    ``each_hive`` holds the cautions that are said anew at each hive; the others are said once a sheet. ``sick`` are the
    hives that look sick, each with the day since when; ``sick_rule`` is what that asks of the whole yard. ``alarms`` is
    None where the keeper wants none; ``page`` is where the documents are published; ``stores`` says how much food a
    hive wants for winter ("": nobody says it of the region).
    """

    key: str
    name: str
    latitude: float
    longitude: float
    directions: str
    region: str
    jurisdiction: str
    paper: str
    fahrenheit: bool
    days_title: str
    any_day: bool
    season: int
    begins: int
    ends: int
    language: str
    colonies: tuple[ColonyView, ...]
    marks: tuple[MarkView, ...]
    highs: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    each_hive: tuple[str, ...] = ()
    sick: tuple[tuple[str, int], ...] = ()
    sick_rule: str = ""
    mentor: str = ""
    large_print: bool = False
    alarms: AlarmsView | None = None
    page: str = ""
    stores: str = ""

    @property
    def years(self) -> tuple[int, ...]:
        """The calendar years of the season."""
        return years_of(self.begins, self.ends)

    @property
    def sick_words(self) -> str:
        """What stands first wherever the yard is shown, as long as a hive in it looks sick; else ""."""
        if not self.sick:
            return ""
        since = joined([f"hive {key} since {short_day(day)}" for key, day in self.sick])
        return f"Looks sick: {since}. {self.sick_rule}"


@dataclass(frozen=True, slots=True)
class CountView:
    """A count in words: what was found, how sure it is, what it says and by whose line.

    ``call`` is "treat", "below", "count again" or "recorded, not judged"; ``why`` says why.
    """

    colony: str
    day: int
    found: str
    sure: str
    call: str
    why: str
    line: str


@dataclass(frozen=True, slots=True)
class YardCall:
    """What the counts of a yard say to do for all of its colonies, in words, and the counts that say it.

    ``over`` and ``again`` name colonies, ``missing`` is how many more have to be counted. ``treated`` is the day on
    which a treatment began since; ``efficacy`` says what treatments did, as far as counts before and after tell.
    """

    yard: str
    day: int | None
    call: str
    words: str
    over: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    missing: int = 0
    treated: int | None = None
    counts: tuple[CountView, ...] = ()
    efficacy: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CourseView:
    """A treatment of one colony as the journal tells it; ``left`` is what is still in the hive ("" for nothing).

    ``assumed``: nobody wrote that it was given; an earlier plan printed it, and nothing was heard of it since.
    """

    yard: str
    colony: str
    product: str
    began: int
    ended: int | None
    left: str
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Lying:
    """What lies in a hive from the day ``since`` on: put in as written, or, from ``as_of`` on, as planned.

    ``number`` is how much, in words ("" where nobody knows). It comes out on the day ``out``, by ``by`` at the latest
    (None: no day is known). ``assumed``: printed for that day, and not heard of.
    """

    yard: str
    colony: str
    title: str
    number: str
    since: int
    out: int | None
    by: int | None
    assumed: bool = False

    def on(self, day: int) -> bool:
        """True where it lies in the hive when somebody comes on a day."""
        return self.since < day and (self.out is None or day <= self.out)


@dataclass(frozen=True, slots=True)
class Choosing:
    """The courses of a yard's season in words: what is chosen for each need, what comes second, what excluded the rest.

    ``supplies`` are what the season takes, with the day on which each is needed first; ``left`` says what no course
    serves, and what could give way for it.
    """

    yard: str
    chosen: tuple[str, ...]
    second: tuple[str, ...]
    excluded: tuple[str, ...]
    supplies: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    season: int = 0
