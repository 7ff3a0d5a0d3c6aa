"""Needed: what a yard wants a treatment for in a season, and by when.

In: a season, the hives' standing, what counts decided, figures of planning. Out: ``Want`` values, weightiest first.
Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.words import joined, month_day, rough_range, short_day
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import Standing

LATE_SUMMER = "late_summer"
"""The round of a year that winter bees hang on."""


@dataclass(frozen=True, slots=True)
class Want:
    """What a course is wanted for: it begins from ``first`` to ``last``, best on ``best``, and ends by ``ended_by``.

    ``colonies`` None: all of the yard. ``broodless``: only what works best where nothing is capped. ``takes_supers``:
    supers may come off early for it, which is the keeper's to decide. ``why`` says what it is for, in words. ``sure``
    is False where brood has to be looked for first.
    """

    name: str
    first: int
    last: int
    best: int
    ended_by: int | None = None
    colonies: tuple[str, ...] | None = None
    broodless: bool = False
    takes_supers: bool = False
    why: str = ""
    sure: bool = True

    def wants(self, key: str) -> bool:
        """True where it is about this hive."""
        return self.colonies is None or key in self.colonies

    def suits(self, label: Label) -> bool:
        """True where a label's product is for it."""
        brood = label.limits.brood
        best = brood.best.value if brood is not None and brood.best is not None else ""
        return not self.broodless or best == "none" or (brood is not None and brood.state.value == "none")

    def holds(self, use: Use) -> bool:
        """True where a course begins and ends in time."""
        return self.first <= use.first <= self.last and (self.ended_by is None or use.last <= self.ended_by)


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


def needs_of(
    season: Season,
    region: Region,
    hives: Sequence[tuple[str, Standing]],
    book: Rulebook,
    as_of: int,
    treat: Sequence[tuple[int, str]] = (),
) -> tuple[Want, ...]:
    """What the yard needs from ``as_of`` on. ``treat`` are days on which counts said to treat, each with its words.

    A need that a course since has served in all of its hives is none.
    """
    found = [*_counted(treat, book), *_before_winter_bees(season, book), *_breaks(hives, season, book)]
    found += _winter(season, region, hives, book)
    return tuple(_open(found, hives, as_of))


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


def _counted(treat: Sequence[tuple[int, str]], book: Rulebook) -> Iterator[Want]:
    within = int(book.planning.treat_within.value.upper_end)
    for day, words in treat[-1:]:
        yield Want("counted", day, day + within, day, takes_supers=True, why=words)


def _before_winter_bees(season: Season, book: Rulebook) -> Iterator[Want]:
    """A course that has ended when the bees that are to live through winter are reared."""
    mark = season.marks.get("winter_bee_rearing_start")
    if mark is None:
        return
    by, within = mark.begins.usual, int(book.planning.winter_bees_within.value.upper_end)
    harvest = season.marks.get("supers_off")
    best = min(harvest.begins.usual, by) if harvest is not None else by
    why = f"mites down before winter bees are reared, usually from {month_day(by)}"
    yield Want("before_winter_bees", by - within, by, best, by, takes_supers=True, why=why)


def _breaks(hives: Sequence[tuple[str, Standing]], season: Season, book: Rulebook) -> Iterator[Want]:
    """Days without capped brood that something written made, each for the hives that have them."""
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
        name = "brood_break" if number == 1 else f"brood_break_{number}"
        sure = state == "none"
        yield Want(name, first, last, first, colonies=tuple(keys), broodless=True, why=why, sure=sure)


def _winter(season: Season, region: Region, hives: Sequence[tuple[str, Standing]], book: Rulebook) -> Iterator[Want]:
    """Oxalic acid in the broodless weeks of winter, which are found at the hive.

    In a hive whose queen was seen to lay no more, its last brood is out on a day that is known: not before that.
    """
    mark = season.marks.get("brood_minimum")
    if mark is None or mark.ends is None or region.rarely_broodless:
        return
    first, last = mark.begins.usual, mark.ends.usual
    known = [(key, spell) for key, at in hives for spell in at.brood if spell.last_brood]
    out = {key: spell.first for key, spell in known if spell.first >= season.first}
    others = tuple(key for key, _ in hives if key not in out)
    if others or not hives:
        why = f"least brood of the year, {rough_range(first, last)}: look first"
        one = Want("winter", first, last, (first + last) // 2, broodless=True, why=why)
        yield replace(one, colonies=others, sure=False) if out else one
    for number, day in enumerate(sorted(set(out.values())), 2):
        keys = tuple(key for key, seen in out.items() if seen == day)
        (why, *_) = (spell.why for key, spell in known if key in keys and spell.first == day)
        end = max(last, day + int(book.planning.open_break.value.middle))
        best = (day + end) // 2
        yield Want(f"winter_{number}", day, end, best, colonies=keys, broodless=True, why=why, sure=False)
