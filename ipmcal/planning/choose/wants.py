"""Needed: what a yard wants a treatment for in a season, and by when.

In: a season, the hives' standing, what counts decided, figures of planning. Out: ``Want`` values, weightiest first.
Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.needs import FLOW_DONE
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.words import joined, short_day
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import Standing

LATE_SUMMER = "late_summer"
"""The round of a year that winter bees hang on."""


@dataclass(frozen=True, slots=True)
class Want:
    """What a course is wanted for: it begins from ``first`` to ``last``, best on ``best``.

    ``colonies`` None: all of the yard. ``broodless``: only what works best where nothing is capped. ``takes_supers``:
    supers may come off early for it, which is the keeper's to decide. ``why`` says what it is for, in words, ``until``
    why no later day is as good. ``sure`` is False where brood has to be looked for first.
    """

    name: str
    first: int
    last: int
    best: int
    colonies: tuple[str, ...] | None = None
    broodless: bool = False
    takes_supers: bool = False
    why: str = ""
    sure: bool = True
    until: str = ""

    def wants(self, key: str) -> bool:
        """True where it is about this hive."""
        return self.colonies is None or key in self.colonies

    def suits(self, label: Label) -> bool:
        """True where a label's product is for it."""
        brood = label.limits.brood
        best = brood.best.value if brood is not None and brood.best is not None else ""
        return not self.broodless or best == "none" or (brood is not None and brood.state.value == "none")

    def holds(self, use: Use) -> bool:
        """True where a course begins in time."""
        return self.first <= use.first <= self.last


def begin_days(days: Iterable[int], needs: Sequence[Want]) -> tuple[int, ...]:
    """The days on which a course is tried to begin: of the keeper's ``days``, for each need the first of each week.

    Weeks count from the need's own first day, so that a short one is not stepped over. A break of a hive's own is
    tried on each day: the queen is let out on one of them.
    """
    mine = sorted(days)
    found: set[int] = set()
    for need in needs:
        weeks: dict[int, int] = {}
        for day in mine:
            if need.first <= day <= need.last:
                weeks.setdefault((day - need.first) // (1 if need.colonies and need.broodless else 7), day)
        found.update(weeks.values())
    return tuple(sorted(found))


COUNTED, BREAK = "counted", "brood_break"
"""What is wanted where a count is over the line; and, the first of them, in a break of the brood."""


def needs_of(
    season: Season,
    hives: Sequence[tuple[str, Standing]],
    book: Rulebook,
    as_of: int,
    treat: Sequence[tuple[int, str]] = (),
) -> tuple[Want, ...]:
    """What no year knows of, from ``as_of`` on: counts over the line, breaks in the brood of a hive's own.

    ``treat`` are days on which counts said to treat, each with its words. A need that a course since has served in all
    of its hives is none.
    """
    since = [course.began for _, at in hives for course in at.courses]
    return tuple(_open([*_counted(treat, book, as_of, since), *_breaks(hives, season, book)], hives, as_of))


def _open(needs: Iterable[Want], hives: Sequence[tuple[str, Standing]], as_of: int) -> Iterator[Want]:
    """Needs whose time is not over, without the hives that had a course in it."""
    for need in needs:
        keys = [key for key, _ in hives if need.wants(key)]
        left = [key for key, at in hives if key in keys and not any(need.first <= c.began for c in at.courses)]
        if left and need.last >= as_of:
            yield need if left == keys else replace(need, colonies=tuple(left))


def paid_by_breaks(needs: Sequence[Want], keys: Sequence[str]) -> tuple[Want, ...]:
    """The needs, where a hive's own break serves those that fall into its time too: one dose then reaches all mites.

    Such a break may take supers as well. ``keys`` are all hives.
    """
    breaks = [need for need in needs if need.colonies is not None and need.broodless and need.sure]
    found: list[Want] = []
    freed: set[str] = set()
    for need in needs:
        paid = {
            key
            for one in breaks
            if not need.broodless and one.first <= need.last and need.first <= one.last
            for key in one.colonies or ()
        }
        wanted = tuple(key for key in keys if need.wants(key))
        left = tuple(key for key in wanted if key not in paid)
        if need.takes_supers:
            freed |= paid & set(wanted)
        if left:
            found.append(need if left == wanted else replace(need, colonies=left))
    return tuple(
        replace(need, takes_supers=True) if need in breaks and freed & set(need.colonies or ()) else need
        for need in found
    )


def _counted(treat: Sequence[tuple[int, str]], book: Rulebook, as_of: int, began: Sequence[int]) -> Iterator[Want]:
    """What a count over the line asks for, within some days of it. While nothing at all was given since (``began``), it
    does not lapse because nobody came, until the count is so old that another has to be made.
    """
    planning = book.planning
    within = int(planning.treat_within.value.upper_end)
    for day, words in treat[-1:]:
        old = day + int(planning.year_plans.counts.apart.value.upper_end)
        late = day + within if any(day <= one for one in began) else min(as_of + within, old)
        yield Want(COUNTED, day, max(day + within, late), day, takes_supers=True, why=words)


def _breaks(hives: Sequence[tuple[str, Standing]], season: Season, book: Rulebook) -> Iterator[Want]:
    """Days without capped brood that something written made, each for the hives that have them.

    Once the main flow is over supers may come off for the dose: it reaches all mites.
    """
    flow = season.marks.get(FLOW_DONE)
    over = season.first if flow is None else flow.begins.usual
    spells: dict[tuple[int, int, str], list[str]] = {}
    open_end = int(book.planning.open_break.value.middle)
    for key, at in hives:
        for spell in at.brood:
            if spell.pays and season.first <= spell.first <= season.last:
                last = spell.last if spell.last is not None else spell.first + open_end
                spells.setdefault((spell.first, last, spell.state), []).append(key)
    for number, ((first, last, state), keys) in enumerate(sorted(spells.items()), 1):
        look = "" if state == "none" else ": look for eggs first"
        why = f"nothing capped in {joined(keys)} from {short_day(first)} to {short_day(last)}{look}"
        name = BREAK if number == 1 else f"{BREAK}_{number}"
        sure = state == "none"
        one = Want(name, first, last, first, colonies=tuple(keys), broodless=True, why=why, sure=sure)
        yield replace(one, takes_supers=sure and last > over)
