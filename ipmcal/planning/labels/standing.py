"""Standing: what is known of one colony that a label may ask about, and the days on which a course would use it.

In: facts, or a colony's state, its season and courses (``choose/known.py``). Out: ``Standing``, ``Use``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from ipmcal.model.altered import altered
from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.verdict import StepDays, Use
from ipmcal.model.rules.labels import applications, last_step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, opening

Stretch = tuple[int, int]
"""A period: first and last day (ordinals), both inclusive."""


@dataclass(frozen=True, slots=True)
class Stay:
    """Supers on the hive from the day ``on`` until the day ``off``, on which they come off; None: no such day is known.

    ``planned``: nobody has put them on yet. ``due``: the last day on which that is work of the plan. ``unheard``: that
    day is over, and nobody wrote of them: whether they are on has to be looked at.
    """

    on: int
    off: int | None
    planned: bool = False
    due: int | None = None
    unheard: bool = False


@dataclass(frozen=True, slots=True)
class BroodSpell:
    """Days, inclusive, on which nothing is capped (``none``), or on which that has to be looked at (``unknown``).

    ``pays``: a break after the last drone is out, in which one dose reaches all mites, if no egg is there too early.
    ``last_brood``: its first day is that on which the last brood of autumn is out, by what was seen of it.
    """

    state: str
    first: int
    last: int | None
    why: str
    pays: bool = False
    last_brood: bool = False


@dataclass(frozen=True, slots=True)
class CourseSpell:
    """A course that was, is, or is planned in the colony; ``ended`` None: it is in the hive and no end is known."""

    treatment: str
    class_: str
    began: int
    ended: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What is known of a colony. What is left out is not known; ``supers=()`` means that none are on or planned.

    ``kind`` counts until the day ``full`` (None: always). ``bee_frames`` are frames covered with bees, never fewer than
    ``brood_frames``, never more than ``frames`` in its boxes. ``brood`` holds spells without or perhaps without capped
    brood; on other days there is some, or, with ``brood_known`` False, nobody knows. ``flows`` are periods by word
    (main, autumn, dearth). ``years`` are the periods that count as one for a cap on courses: seasons, and winters;
    ``winters`` those in which the same winter bees live.
    ``queen`` is what was last written of her; of one who does not lay, ``lays_by`` is the last day on which eggs should
    be there again (None: no such day is known). ``cagings`` are periods, to come, in which she is to be caged and then
    to lay again, as the hive's own methods have it.
    ``entrance`` is small or full, ``floor`` open or closed ("": not known), with the day since when. ``in_hand``: what
    the keeper read on the label in the hand and is stricter than the rule file, by limit. ``openings`` are days on
    which the hive is to be opened for other work; ``fed`` those on which it was fed.
    """

    kind: str = ""
    full: int | None = None
    bee_frames: float | None = None
    brood_frames: float | None = None
    frames: int | None = None
    chambers: int | None = None
    queen: frozenset[str] | None = None
    lays_by: int | None = None
    cagings: tuple[Stretch, ...] = ()
    supers: tuple[Stay, ...] = ()
    brood: tuple[BroodSpell, ...] = ()
    brood_known: bool = True
    flows: Mapping[str, tuple[Stretch, ...]] = field(default_factory=dict)
    courses: tuple[CourseSpell, ...] = ()
    years: tuple[Stretch, ...] = ()
    winters: tuple[Stretch, ...] = ()
    entrance: str = ""
    entrance_since: int | None = None
    floor: str = ""
    floor_since: int | None = None
    comb_honey: bool = False
    suspect: bool = False
    traps: tuple[str, ...] = ()
    openings: tuple[int, ...] = ()
    fed: tuple[int, ...] = ()
    in_hand: Mapping[str, str] = field(default_factory=dict)

    def with_course(self, *more: CourseSpell) -> Standing:
        """The same colony with more courses, planned or done."""
        if not more:
            return self
        return altered(self, courses=(*self.courses, *more))


_NO_SEASON = Season(1, 1, 1, {}, ())


def as_heard(stay: Stay, as_of: int) -> Stay:
    """Supers as the keeper hears of them on a day: those whose time to be put on is over are not planned any more."""
    over = stay.planned and stay.due is not None and stay.due < as_of
    return replace(stay, unheard=True) if over else stay


def use_of(label: Label, first: int, book: Rulebook, season: Season = _NO_SEASON) -> Use:
    """The course that begins on ``first`` (ordinal), each later step on its best day.

    Raises ValueError where a later step has no day, because it hangs on something that has not happened.
    """
    work = Clockwork(season, {}, {}, {})
    given = set(applications(label, book))
    found: list[StepDays] = []
    facts: dict[str, Known] = {}
    for name, step in label.steps.items():
        if not facts:
            days = StepDays(name, first, first, first, None)
        else:
            opened = opening(work, step, facts, {})
            if opened is None:
                raise ValueError(f"the step {name} has no day")
            window = opened.days
            days = StepDays(name, window.opens, window.best, window.closes, window.hard_stop)
        found.append(days)
        facts[name] = Known(days.best, Reason(Rule.PLANNED, name, Span.exact(days.best)))
    last = next(days.best for days in found if days.step == last_step(label, book))
    return Use(tuple(days.best for days in found if days.step in given), last, tuple(found))


def wait_after(label: Label) -> Cited[Amount] | None:
    """The longest wait that a label asks for before supers may come back, in days, as written; None: there is none."""
    supers = label.limits.supers
    waits = [w for w in (supers.after if supers else None, label.withdrawal) if w is not None]
    return max(waits, key=lambda w: w.value.upper_end, default=None)


def supers_from(label: Label, last: int) -> int | None:
    """The first day on which supers may go on after a course that ends on ``last``; None where they may stay on.

    What bees store before the withdrawal time is over is no honey for people, so that the longer of it and of the
    supers' own wait holds (Regulation (EU) 2019/6, Article 4(34): it runs until food is *produced*, not until it is
    taken).
    """
    supers = label.limits.supers
    if supers is None or supers.during.value != "off":
        return None
    wait = wait_after(label)
    return last + (0 if wait is None else int(wait.value.upper_end))


def supers_shut(label: Label, first: int, last: int) -> Stretch | None:
    """The days (both inclusive) on which no supers may be on for a course of these days; None where they may stay."""
    free = supers_from(label, last)
    return None if free is None else (first, max(free, first + 1) - 1)
