"""Rounds: the yards of one drive choose, unfold, pack and count, until labels hold on the days that packing chose.

In: yards that are ready. Out: each as it was placed, with what could not be mended. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.strand import Node, Stop, Strand
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.choose.asked import Bans, Earlier
from ipmcal.planning.choose.held import breaking, broken
from ipmcal.planning.choose.notes import noted
from ipmcal.planning.choose.offer import Question
from ipmcal.planning.choose.treat import (
    NONE_EARLIER,
    ROUNDS,
    ByYear,
    Choose,
    ChosenByYear,
    Treated,
    planned_courses,
    treat,
)
from ipmcal.planning.counting.counted import lay_counts
from ipmcal.planning.counting.hive import Visited
from ipmcal.planning.owed.errand import NOTHING, Errand, subject
from ipmcal.planning.owed.placed import Felling, Path, out_as_placed
from ipmcal.planning.pack.hours import Fitted, fit
from ipmcal.planning.pack.pack import Drives, Memo, Placing, most_steps, pack_drives
from ipmcal.planning.ready import Ready
from ipmcal.planning.unfold.apart import kept_apart
from ipmcal.planning.unfold.cold import felled_boards, under_boards
from ipmcal.planning.unfold.fed import fed_after
from ipmcal.planning.unfold.printed import PrintedDays, as_printed, days_printed, to_keep
from ipmcal.planning.unfold.quiet import Quiet, disturbed
from ipmcal.planning.unfold.unfold import Unfolded, unfold
from ipmcal.planning.yearly.remembered import NOTHING_KEPT, KeptYears

VISIT = "@visit/"
"""The key of a visit that counts alone ask for, but for its day."""


@dataclass(frozen=True)
class WithCounts:
    """What is owed with the counts laid around what was packed, season by season, and the path of each errand.

    ``visited``: the days on which the yard is visited; ``alone``: those of them that counts alone ask for.
    """

    unfolded: Sequence[Unfolded]
    paths: Mapping[str, Path]
    visited: frozenset[int]
    alone: frozenset[int]


class YardRound:
    """A yard as it goes round: its seasons, what is banned in each, and the days on which its hives stay shut.

    Bans only grow. What is chosen under so many bans is remembered, until a hive comes free.
    """

    def __init__(self, seasons: Sequence[Ready], outfit: Outfit, kept: KeptYears) -> None:
        self.first = self.seasons = tuple(seasons)
        self.outfit = outfit
        self.ground = seasons[0].ground
        self.bans: list[dict[tuple[str, int], str]] = [{} for _ in seasons]
        self.by_year = by_mites(outfit, kept)
        self.printed: PrintedDays = {}
        self.stay: dict[str, tuple[int, ...]] = {}
        self.fresh: dict[str, Errand] = {}
        self.quiet: dict[str, Quiet] = {}
        self.known: dict[tuple[int, ...], Treated] = {}
        self.treated: list[Treated] = []
        self.unfolded: list[Unfolded] = []
        self.paths: dict[str, Path] = {}
        self.owed: list[Unfolded] = []
        self.least = self.spared = 0
        self.fitted = Fitted({})
        self.breaches: list[dict[tuple[str, int], str]] = []
        self.unrest: dict[str, Quiet] = {}
        self.out: dict[str, dict[str, int]] = {}
        self.dosed: list[dict[str, Felling]] = []

    def choose(self) -> None:
        """Choose courses season by season, and unfold everything that is owed."""
        self.treated, self.unfolded, earlier = [], [], NONE_EARLIER
        for i, one in enumerate(self.seasons):
            key = (i, *(len(bans) for bans in self.bans[: i + 1]))
            if key not in self.known:
                self.known[key] = treat(one, self.outfit, self.by_year, self.bans[i], earlier)
            self.treated.append(self.known[key])
            earlier = planned_courses(one, self.known[key])
            mark = f"@{one.ground.season.year}" if i else ""
            self.unfolded.append(_unfolded(one, self.known[key], self.quiet, mark, self.errands))
        self.owed = list(self.unfolded)
        self.fresh = self.fresh or {errand.key: errand for errand in self.errands if errand.course}

    @property
    def errands(self) -> list[Errand]:
        """The errands of all seasons, the eldest's first."""
        return [errand for some in self.unfolded for errand in some.errands]

    def strands(self) -> tuple[list[Strand], KeeperDays]:
        """What is to be packed, courses on their printed days where they may stay there; and the keeper's days."""
        days, self.stay, found = self.ground.days, {}, []
        for errand in (errand for errand in self.errands if errand.chain.nodes):
            strand, kept = as_printed(errand, days.ordinals, self.printed)
            found.append(strand)
            if kept is not None:
                self.stay[errand.key] = kept
        return found, days

    def placed(self, placing: Placing) -> Placing:
        """What packing placed, in nodes of the errands' own chains."""
        stay = self.stay
        paths = ((key, path, stay.get(key)) for key, path in placing.paths.items())
        mine = {key: path if kept is None else tuple(kept[i] for i in path) for key, path, kept in paths}
        return replace(placing, paths=mine)

    def counted(self, placing: Placing, driven: set[int]) -> WithCounts:
        """The counts laid around what was placed; ``driven`` are days of all yards, and grow by what is added."""
        paths = {key: path for key, path in placing.paths.items() if not key.startswith(VISIT)}
        worked, unfolded = self.worked(placing), list(self.owed)
        visited = Visited(set(worked), driven)
        for i, (one, courses) in enumerate(zip(self.seasons, self.treated, strict=True)):
            year = one.ground.season.year
            errands = [errand for some in unfolded for errand in some.errands]
            made = lay_counts(one, courses, errands, paths, visited).of_season(year, f"@{year}" if i else "")
            some, again = unfolded[i], {errand.key for errand in made.errands}
            kept = (errand for errand in some.errands if errand.key not in again)
            unfolded[i] = Unfolded((*kept, *made.errands), (*some.refusals, *made.refusals))
            paths |= made.paths
        return WithCounts(unfolded, paths, frozenset(visited.here), frozenset(visited.here - worked))

    def take(self, counted: WithCounts) -> None:
        """Go on with these counts."""
        self.unfolded, self.paths = list(counted.unfolded), dict(counted.paths)

    @property
    def strays(self) -> bool:
        """Whether a course stands on other days than those that were printed for it, and that it could keep."""
        days, printed, paths = self.ground.days.ordinals, days_printed(self.outfit.printed), self.fitted.paths
        for errand in (errand for errand in self.errands if printed and errand.key in self.fresh):
            keep = to_keep(self.fresh[errand.key], days, printed)
            placed = errand.chain.done(paths.get(errand.key, ()))
            if any(step in keep and days[at] not in keep[step] for (step, _), at in placed):
                return True
        return False

    def keeping(self, kept: KeptYears) -> YardRound:
        """The same yard before its first round, its courses to stand on the days that were printed for them."""
        made = YardRound(self.first, self.outfit, kept)
        made.printed = days_printed(self.outfit.printed)
        made.known = {key: found for key, found in self.known.items() if not any(key[1:])}
        return made

    def worked(self, placing: Placing) -> set[int]:
        """The days on which packing placed any step of the yard's own."""
        own = {errand.key: errand for some in self.owed for errand in some.errands}
        paths = ((own[key].chain, path) for key, path in placing.paths.items() if key in own)
        return {self.ground.days.ordinals[at] for chain, path in paths for _, at in chain.done(path)}

    def held(self, alone: Iterable[int]) -> list[Strand]:
        """The visits that counts alone ask for, as what is to be packed."""
        places = ((day, self.ground.days.ordinals.index(day)) for day in sorted(alone))
        return [Strand(f"{VISIT}{day}", Stop(1 << at, (0,), day), (Node("", at, None),)) for day, at in places]

    def look(self) -> bool:
        """Fit the placed steps to the keeper's hours, hold limits and quiet days against them; True if all is well."""
        self.fitted = fit(self.ground, self.errands, self.paths)
        paths = self.fitted.paths
        rows = list(zip(self.seasons, self.treated, self.unfolded, self.bans, strict=True))
        self.breaches = [broken(one, courses, some.errands, paths, banned) for one, courses, some, banned in rows]
        self.unrest = disturbed(self.ground, self.errands, paths)
        self.out = out_as_placed(self.ground, self.errands, paths)
        self.dosed = [under_boards(one.ground, some.errands, paths) for one, _, some, _ in rows]
        return not (any(self.breaches) or self.unrest or self.comes_free or any(self.dosed))

    def leave_out(self, keys: Collection[str]) -> None:
        """Leave out what is not worth doing on the days that were found for it; what was done of it stays."""
        if not keys:
            return
        for i, some in enumerate(self.unfolded):
            kept = (e for e in some.errands if e.key not in keys or e.past)
            left = tuple(replace(e, chain=NOTHING) if e.key in keys else e for e in kept)
            self.unfolded[i] = replace(some, errands=left)
        self.paths = {key: path for key, path in self.paths.items() if key not in keys}
        fitted = {key: path for key, path in self.fitted.paths.items() if key not in keys}
        self.fitted = replace(self.fitted, paths=fitted)

    @property
    def comes_free(self) -> bool:
        """Whether a hive was left without a course, and what lies in hives comes out on other days than was thought."""
        left = any(courses.made.left for courses in self.treated if courses.made is not None)
        return left and any(one.out != self.out for one in self.seasons)

    def learn(self) -> None:
        """Ban what broke, shut hives on the days that were not quiet, and remember when what lies in them comes out."""
        for banned, found in zip(self.bans, self.breaches, strict=True):
            banned.update(found)
        if self.comes_free:
            self.known = {}
        rows = zip(self.seasons, self.dosed, strict=True)
        self.seasons = tuple(replace(one, out=self.out, dosed={**one.dosed, **more}) for one, more in rows)
        self.quiet = {hive: quiet for hive, quiet in self.quiet.items() if self.pinned(quiet)}
        for key, more in self.unrest.items():
            self.quiet[key] = self.quiet[key].with_more(more) if key in self.quiet else more

    def pinned(self, quiet: Quiet) -> bool:
        """Whether the courses that a hive was shut for are where they were: else it is open on those days again."""
        paths, days = self.fitted.paths, self.ground.days.ordinals
        placed = {e.key: e.chain.done(paths[e.key]) for e in self.errands if e.key in quiet.pins and paths.get(e.key)}
        first = {key: days[next(at for _, at in steps)] for key, steps in placed.items()}
        return all(first.get(key) == day for key, day in quiet.pins.items())

    def told(self) -> Iterator[Conflict]:
        """What no round could mend."""
        for one, courses, found in zip(self.seasons, self.treated, self.breaches, strict=True):
            yield from courses.conflicts
            yield from breaking(one, found)
        yield from (conflict for more in self.unrest.values() for conflict in more.told)

    def noted(self) -> list[Errand]:
        """The errands of all seasons with what is to be read before a course begins."""
        rows = zip(self.seasons, self.treated, self.unfolded, strict=True)
        return [e for one, courses, some in rows for e in noted(one, courses, some.errands, self.fitted.paths)]


def by_mites(outfit: Outfit, kept: KeptYears = NOTHING_KEPT) -> ByYear:
    """Who chooses a yard's courses by the year; what is heavy is imported where there is something to choose."""

    def chosen(one: Ready, ask: Question, choose: Choose, bans: Bans, earlier: Earlier) -> ChosenByYear:
        from ipmcal.planning.yearly.decided import ByMites

        return ByMites(outfit, kept)(one, ask, choose, bans, earlier)

    return chosen


def go_round(
    group: Sequence[Sequence[Ready]], outfit: Outfit, memo: Memo, kept: KeptYears = NOTHING_KEPT
) -> list[YardRound]:
    """Choose, unfold, pack and count the yards of one drive.

    Where that moves a course away from days that were printed for it and that its windows still hold, all is done once
    more with the course where it was. So it stands, unless that takes too many drives more or breaks what else holds.
    """
    free = _gone_round([YardRound(seasons, outfit, kept) for seasons in group], memo)
    if not any(one.strays for one in free):
        return free
    there = _gone_round([one.keeping(kept) for one in free], memo)
    most = int(free[0].ground.book.planning.drives_to_move.value.middle)
    spared = len(_days_driven(there)) - len(_days_driven(free))
    for one, before in zip(there, free, strict=True):
        one.least, before.spared = before.least, spared if spared >= most else 0
    return there if spared < most and _amiss(there) <= _amiss(free) else free


def _amiss(yards: Sequence[YardRound]) -> int:
    return sum(1 for one in yards for _ in one.told())


def _days_driven(yards: Sequence[YardRound]) -> set[int]:
    """The days on which any yard of a drive is visited."""
    done = (
        (one, errand.chain.done(path))
        for one in yards
        for errand in one.errands
        if (path := one.fitted.paths.get(errand.key))
    )
    return {one.ground.days.ordinals[at] for one, steps in done for _, at in steps}


def _gone_round(yards: list[YardRound], memo: Memo) -> list[YardRound]:
    """The yards when they have gone round.

    The one loop of the house: where a label's limits break on the days that packing chose, that day is banned, and
    where other work falls into a course's quiet days, the hive is shut on them for as long as the course stays there;
    all goes round again. Bans only grow; after ``ROUNDS`` what still breaks is a conflict, and a board that would count
    what a dose fells is left out.
    """
    most = most_steps(yards[0].ground.book.planning)
    for last in (*[False] * (ROUNDS - 1), True):
        for one in yards:
            one.choose()
        _packed(yards, most, memo)
        well = [one.look() for one in yards]
        if last or all(well):
            break
        for one in yards:
            one.learn()
    for one in yards:
        one.leave_out(felled_boards(one.ground, one.errands, one.fitted.paths))
    return yards


def _packed(yards: Sequence[YardRound], most: int, memo: Memo) -> None:
    """Pack what is owed, and lay the counts around it; once more around the visits that counts alone ask for, where
    that saves any.
    """
    strands = [one.strands() for one in yards]
    packed = pack_drives(strands, most=most, memo=memo)
    for one, placing in zip(yards, packed.placings, strict=True):
        one.least = placing.lower_bound
    laid = _counted(yards, packed)
    if any(one.alone for one in laid):
        rows = zip(yards, strands, laid, strict=True)
        held = [([*some, *one.held(counted.alone)], days) for one, (some, days), counted in rows]
        laid = min(laid, _counted(yards, pack_drives(held, most=most, memo=memo)), key=_driven)
    for one, counted in zip(yards, laid, strict=True):
        one.take(counted)


def _counted(yards: Sequence[YardRound], packed: Drives) -> list[WithCounts]:
    """The counts of each yard, laid around what was packed."""
    placings = [one.placed(placing) for one, placing in zip(yards, packed.placings, strict=True)]
    driven = {day for one, placing in zip(yards, placings, strict=True) for day in one.worked(placing)}
    return [one.counted(placing, driven) for one, placing in zip(yards, placings, strict=True)]


def _driven(laid: Sequence[WithCounts]) -> tuple[int, int]:
    """The drives and the visits that it takes."""
    return len(frozenset[int]().union(*(one.visited for one in laid))), sum(len(one.visited) for one in laid)


def _unfolded(
    one: Ready, courses: Treated, quiet: Mapping[str, Quiet], mark: str, before: Sequence[Errand]
) -> Unfolded:
    """What is owed in a season. ``before``: what is owed of those before it; their courses go on into it."""
    keys = {*one.under_way, *courses.errands}
    treatments = {key: (*one.under_way.get(key, ()), *courses.errands.get(key, ())) for key in keys}
    made = unfold(one.ground, one.states, one.asks, treatments, courses.cagings, one.dosed)
    own = tuple(errand.of_season(one.ground.season.year, mark) for errand in made.errands)
    going_on = {(subject(errand), errand.method) for errand in before if errand.chain.nodes}
    hanging = {e.unmarked for e in before if e.trap is not None and e.trap.emptied is not None and e.chain.nodes}
    own = tuple(errand for errand in own if errand.unmarked not in hanging)  # a frame that hangs is one season's
    apart = kept_apart(one.ground, own, (courses.off_by, courses.off_again), quiet, before)
    return replace(
        made,
        errands=fed_after(one.ground, apart),
        # what still goes on of last season is not refused: it is once that is over
        refusals=tuple(r for r in made.refusals if (r.subject, r.method) not in going_on),
    )
