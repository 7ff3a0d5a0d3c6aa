"""The mites of a yard's season as drawn: a band by day, the authority's line, counts as points, courses as bars; and
the courses of its year as the search chose them, with what is told of it.

Loads are mites in 100 bees, as a wash would read them; days are ordinals. Made in ``planning/ahead`` and
``planning/yearly``.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.plan.because import Because


@dataclass(frozen=True, slots=True)
class LoadRange:
    """A load: its median, and the tenth and ninetieth of a hundred."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class MiteLine:
    """The line at which an authority says to treat, from one day to another; ``above``: only more than that."""

    first: int
    last: int
    load: float
    above: bool = False


@dataclass(frozen=True, slots=True)
class MiteCount:
    """A count of a hive with its interval. ``far``: "more" or "fewer" than what was drawn had let expect, or ""."""

    colony: str
    day: int
    load: float
    low: float
    high: float
    far: str = ""


@dataclass(frozen=True, slots=True)
class MiteBar:
    """A course, by its title, from its first day to the last on which it acts; ``planned``: it lies ahead."""

    title: str
    first: int
    last: int
    planned: bool


@dataclass(frozen=True, slots=True)
class MiteOdds:
    """The share of hives, 0 to 1, over the line on the day on which most are: as planned, and without what is planned.

    Judged on the days from ``first`` to ``last``. ``enough``: no more are over it, as planned, than the rules bear.
    """

    first: int
    last: int
    planned: float
    untreated: float
    enough: bool = True


@dataclass(frozen=True, slots=True)
class MiteYear:
    """The mites of hives of one kind in a season, from ``first`` on: a range for each day.

    ``untreated`` are medians without the courses that lie ahead. ``kind``: "overwintered", or "new": of this season.
    ``lines`` are empty where no authority gives one for mites on bees; ``whose`` is the authority. ``winter`` are the
    days on which winter bees are reared. ``on_winter``: the load on the first of them, as planned and untreated (None:
    before the first day). ``stray`` are counts in another unit, which move nothing.
    """

    yard: str
    season: int
    hives: tuple[str, ...]
    kind: str
    first: int
    days: tuple[LoadRange, ...]
    untreated: tuple[float, ...]
    lines: tuple[MiteLine, ...]
    counts: tuple[MiteCount, ...]
    courses: tuple[MiteBar, ...]
    cuts: tuple[int, ...]
    winter: tuple[int, int]
    whose: str = ""
    on_winter: LoadRange | None = None
    untreated_on_winter: LoadRange | None = None
    odds: MiteOdds | None = None
    stray: int = 0

    @property
    def last(self) -> int:
        """The last day drawn."""
        return self.first + len(self.days) - 1

    @property
    def weekly(self) -> tuple[tuple[int, LoadRange, float], ...]:
        """Every seventh day, with its range and the untreated median."""
        rows = zip(self.days, self.untreated, strict=True)
        return tuple((self.first + n, day, bare) for n, (day, bare) in enumerate(rows) if n % 7 == 0)


@dataclass(frozen=True, slots=True)
class YearCourse:
    """A course of the year: the round of the base that it serves ("": none), its product, the day on which it begins.

    From ``first`` to ``last`` it is as good and breaks no wall. ``worked``: days from its first to the last on which
    it acts; ``out``: to the last good day for what it leaves in the hive to come out. ``supers_off``: supers come off
    for it. ``opens``: the first day of its round; ``by``: the one by which advisers begin it. ``rests``: it is one only
    with the year's break in laying, whose queen is let out on its day.
    """

    round: str
    product: str
    day: int
    first: int
    last: int
    worked: int
    out: int
    supers_off: bool
    opens: int | None = None
    by: int | None = None
    rests: bool = False


@dataclass(frozen=True, slots=True)
class CagedBreak:
    """A break in laying that is work of the year: the queen caged, and let out once the last drone has come out.

    From ``released`` to ``until`` nothing is capped; she ``lays`` between (ordinals). An acid in it is a course with
    it, and none without. ``why``: what its method is called.
    """

    caged: int
    released: int
    lays: int
    until: int
    why: str

    def holds(self, day: int) -> bool:
        """Whether nothing is capped on a day thanks to the break."""
        return self.released <= day <= self.until


@dataclass(frozen=True)
class YearAnswer:
    """The courses of a year in the order of their days.

    ``over``: the share of hives that would be over the authority's line were every year like it, on the day on which
    most are; ``enough`` where few are, and all else that the region asks for holds. ``caged`` is the break that one of
    them rests on; None: no queen is caged for them. ``short``: where its odds hold, what else it is short of.
    """

    courses: tuple[YearCourse, ...]
    enough: bool
    over: float
    caged: CagedBreak | None = None
    short: tuple[Because, ...] = ()


@dataclass(frozen=True)
class YearTold:
    """What else a year could have held: for each of its courses, by product and day, until when it is good and what
    could stand in its place; for each product that has none, what keeps it off.
    """

    seconds: tuple[tuple[str, int, Because], ...]
    excluded: tuple[Because, ...]
