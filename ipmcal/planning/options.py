"""Options: every treatment that there is a rule file for, asked for every colony of a yard on one day.

In: an outfit, a rulebook, the day on which a course would begin, the day of asking. Out: ``Options``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.because import Because
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.verdict import Options, Use, Verdict
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import season_year
from ipmcal.planning.choose.known import Setting, back_on, standing_of
from ipmcal.planning.choose.offer import harvesting, taken_off
from ipmcal.planning.choose.treat import treat
from ipmcal.planning.labels.standing import Standing, as_heard, use_of
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import weather_of
from ipmcal.planning.ready import by_subject, ready, strips_by_hive, warned_of
from ipmcal.planning.recall.courses import courses_of, renamed
from ipmcal.planning.recall.roster import roster
from ipmcal.planning.recall.situate import season_of
from ipmcal.planning.recall.state import recall
from ipmcal.planning.rounds import by_mites


@dataclass(frozen=True, slots=True)
class Stood:
    """A colony and its standing."""

    state: ColonyState
    standing: Standing


def options_for(outfit: Outfit, book: Rulebook, day: int, as_of: int, colony: str | None = None) -> Iterator[Options]:
    """Every treatment for each colony, yard by yard, were it to begin on ``day``; for one colony, where it is given.

    What was written up to ``as_of`` counts. A hive that is to begin by ``day`` is asked about as it will stand then.
    Raises ``place.season.TooFar``.
    """
    for yard in roster(outfit, book, as_of).yards:
        year = season_year(book.regions[yard.region], day)
        stood = standings(outfit, yard, book, as_of, year)
        if any(as_of < one.began <= day for one in yard.colonies):
            known = {one.state.colony.key for one in stood}
            coming = (one for one in standings(outfit, yard, book, day, year) if one.state.colony.began > as_of)
            stood = [*stood, *(one for one in coming if one.state.colony.key not in known)]
        here = [one for one in stood if colony in (None, one.state.colony.key)]
        if any(one.standing.cagings or one.standing.supers for one in here):
            here = _as_planned(outfit, yard, book, (day, as_of, year), here)
        if here:
            yield _options(yard, book, day, as_of, here)


def _as_planned(
    outfit: Outfit, yard: Yard, book: Rulebook, on: tuple[int, int, int], here: Sequence[Stood]
) -> list[Stood]:
    """The same hives, their queens to be caged on the days on which the year's courses have it, and else not at all;
    their supers off by the day on which a course is planned that wants them off; where they may go back on after it,
    what they do once it can't begin any more is left to the plan.

    ``on`` is the day asked for, that of asking, and the year of the season.
    """
    day, as_of, year = on
    (one,) = ready(yard, by_subject(outfit.past), outfit, book, as_of, year)
    treated = treat(one, outfit, by_mites(outfit))
    wanted = () if treated.made is None else treated.made.supers_off
    late = {key: off.latest for off in reversed(wanted) for key in off.keys}

    def with_supers_off(stood: Stood) -> Stood:
        key = stood.state.colony.key
        off = treated.off_by.get(key)
        if off is None or (day > late[key] and back_on(stood.state, yard, one.ground.season, book, off) is not None):
            return stood
        return replace(stood, standing=taken_off(stood.standing, off.day))

    here = [with_supers_off(stood) for stood in here]
    if treated.cagings is None:
        return list(here)
    known = {hive.key: hive.standing.cagings for hive in (treated.ask.hives if treated.ask else ())}
    return [replace(s, standing=replace(s.standing, cagings=known.get(s.state.colony.key, ()))) for s in here]


def standings(outfit: Outfit, yard: Yard, book: Rulebook, as_of: int, year: int | None = None) -> list[Stood]:
    """The colonies that stand in a yard and are alive, each with its standing, in walking order."""
    journal = [e for e in outfit.past if e.day <= as_of]
    keys = {c.key for c in yard.colonies}
    about = [e for e in journal if e.yard == yard.key or e.colony in keys]
    written = [e for e in about if e.colony is None]
    season = season_of(yard, book, as_of, year, [*about, *(e for c in yard.colonies for e in c.history)])
    there = Setting(yard, season, book, as_of, outfit.products, written)
    states = [recall(c, [e for e in about if e.colony == c.key], season, as_of, book) for c in yard.colonies]
    had = courses_of(strips_by_hive(states, by_subject(journal), outfit, book, as_of))
    here = (state for state in states if state.alive and state.colony.began <= as_of)
    return [Stood(state, standing_of(state, there, had.get(state.colony.key, ()))) for state in here]


def told_in_hive(outfit: Outfit, yard_key: str, book: Rulebook, as_of: int) -> dict[str, tuple[Because, ...]]:
    """What has to be told of what is in each hive of a yard on a day, as the lines up to then have it.

    Raises ``place.season.TooFar``.
    """
    lines = tuple(renamed(event, outfit, book) for event in outfit.journal or ())
    known = replace(outfit, journal=lines)
    about = by_subject(lines)
    found: dict[str, tuple[Because, ...]] = {}
    for yard in (one for one in roster(known, book, as_of).yards if one.key == yard_key):
        found |= warned_of(ready(yard, about, known, book, as_of)[0])
    return found


def _options(yard: Yard, book: Rulebook, day: int, as_of: int, here: Sequence[Stood]) -> Options:
    weather = weather_of(yard, book)
    uses: dict[str, Use | int] = {}
    for name, treatment in book.treatments.items():
        label = label_for(treatment, yard.jurisdiction, book)
        uses[name] = day if label is None else use_of(label, day, book)
    known: list[tuple[Standing, tuple[Verdict, ...]]] = []  # colonies of equal standing are asked once
    verdicts: dict[str, tuple[Verdict, ...]] = {}
    for one in here:
        found = next((made for standing, made in known if standing == one.standing), None)
        if found is None:
            supers = tuple(as_heard(stay, as_of) for stay in one.standing.supers)
            where, at = Where(yard.jurisdiction, weather, book), harvesting(replace(one.standing, supers=supers))
            asked = (verdict(name, where, at, use) for name, use in uses.items())
            found = tuple(asked)
            known.append((one.standing, found))
        verdicts[one.state.colony.key] = found
    return Options(
        yard.name,
        book.jurisdictions[yard.jurisdiction].title,
        day,
        verdicts,
        {name: t.title for name, t in book.treatments.items()},
        {name: t.checked.toordinal() for name, t in book.treatments.items()},
    )
