"""The year's end of a yard: which hives were lost, last counts, what each course did, what next year starts from."""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.plan.mites import LoadRange


@dataclass(frozen=True, slots=True)
class HiveFate:
    """What became of a hive: the word of the journal by its title, and what was written behind it ("" for nothing)."""

    colony: str
    day: int
    word: str
    note: str


@dataclass(frozen=True, slots=True)
class Dwindled:
    """A hive with far fewer frames of bees than it had: the most of the season, and the last that were seen."""

    colony: str
    most: float
    most_on: int
    last: float
    last_on: int


@dataclass(frozen=True, slots=True)
class LastCount:
    """The last count of a hive in words: "9 in 300 bees, 3.0 in 100"; what it said to do; "" where none was made."""

    colony: str
    day: int | None
    found: str
    call: str


@dataclass(frozen=True, slots=True)
class CourseFound:
    """What a course did, by counts before and after it in the same hives, taken together.

    ``share``: mites gone, 1 being all, with its interval ``low`` to ``high``; None where ``why`` says why not:
    "no_counts", "none_before", "under_way". ``hives`` are all that had it, ``counted`` those that tell.
    """

    title: str
    class_: str
    class_title: str
    began: int
    ended: int | None
    hives: tuple[str, ...]
    counted: tuple[str, ...] = ()
    before: tuple[int, int] = (0, 0)
    after: tuple[int, int] = (0, 0)
    share: float | None = None
    low: float = 0.0
    high: float = 0.0
    why: str = ""


@dataclass(frozen=True, slots=True)
class ClassOut:
    """A class of products that failed so often that another one is taken: the courses that say so, by their first day.

    ``below``: the share of mites below which a course failed.
    """

    class_: str
    title: str
    began: tuple[int, ...]
    below: float


@dataclass(frozen=True, slots=True)
class NextStart:
    """What next year's drawing begins with: mites a hive (median), and by what: "dosed", "undosed" or "unknown".

    ``dosed`` are the days of the acid in the weeks of least brood that ``known`` rests on. ``loads``: what hives of
    each kind carry at the season's end, as drawn.
    """

    known: str
    mites: float
    dosed: tuple[int, ...]
    loads: tuple[tuple[tuple[str, ...], LoadRange], ...]


@dataclass(frozen=True, slots=True)
class YearReview:
    """A yard's season, looked back on. ``alive`` are the hives that live, ``ends`` its last day."""

    yard: str
    season: int
    ends: int
    alive: tuple[str, ...]
    lost: tuple[HiveFate, ...]
    dwindled: tuple[Dwindled, ...]
    counts: tuple[LastCount, ...]
    courses: tuple[CourseFound, ...]
    out: tuple[ClassOut, ...]
    start: NextStart

    @property
    def tells(self) -> bool:
        """Whether anything of the season was written that is worth a page."""
        return bool(self.lost or self.dwindled or self.courses or any(one.day is not None for one in self.counts))
