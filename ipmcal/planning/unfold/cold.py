"""Cold: counts for which combs would be lifted on days that are usually too cold for it; a board takes their place.

In: a yard's ground, a colony, its errands. Out: errands that keep off such days, and the board's. Pure. What is usual
is the high of the region's climate, or the keeper's own readings and forecast where these know the day.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.methods import Step
from ipmcal.model.values.days import Span
from ipmcal.planning.days.bounds import event_reason
from ipmcal.planning.days.chain import Chain, one_way, replay
from ipmcal.planning.days.frame import Cursor, Frame, after, opening_at
from ipmcal.planning.labels.weather import Weather, weather_of
from ipmcal.planning.owed.cursors import DoneStep, became
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Dosed, Felling, Paths

Periods = tuple[tuple[int, int], ...]
"""Days, both inclusive."""

_Lost = tuple[Window, str, bool]
"""A count that falls away: the window that it had, what its task would have said, whether something asked for it."""


def kept_warm(
    ground: Ground, state: ColonyState, errands: Sequence[Errand], dosed: Dosed
) -> tuple[list[Errand], list[Errand]]:
    """The errands without counts on days that are too cold for them; and where one falls away for it, the board's.

    Where packing had a course below a board (``dosed``), the board goes by these days and keeps off them; else it goes
    by the earliest ones that the course may have.
    """
    lost: list[_Lost] = []
    kept: list[Errand] = []
    mine = {errand.key: dosed[errand.key] for errand in errands if errand.key in dosed}
    for errand in errands:
        chain, gone = _kept_warm(ground, errand, mine[errand.key].on if errand.key in mine else {})
        lost += gone
        if chain is not errand.chain:
            errand = replace(errand, frame=_cold_frame(ground, errand.frame), chain=chain)
        past = tuple(one for one in errand.past if not _was_cold(ground, errand.frame, one))
        if len(past) < len(errand.past):
            errand = replace(errand, past=past)
        if errand.chain.nodes or errand.past or errand.stuck:
            kept.append(errand)
    return kept, [] if _counts_falls(ground, kept) else list(_board(ground, state, lost, mine.values()))


def _was_cold(ground: Ground, frame: Frame, one: DoneStep) -> bool:
    """True for a count of which nothing was written, and for which all days of the keeper's were too cold: a board took
    its place, and nobody is asked."""
    if one.status is not Status.UNKNOWN or frame.method.steps[one.cursor.step].logs not in ground.book.washes:
        return False
    window = one.opening.window
    days = ground.past.of(ground.past.between(window.opens, window.closes))
    weather = weather_of(ground.yard, ground.book)
    return bool(days) and all(_too_cold(ground, weather, day) for day in days)


def _kept_warm(ground: Ground, errand: Errand, given: Mapping[tuple[str, int], int]) -> tuple[Chain, list[_Lost]]:
    """The chain without counts on cold days, and those that fall away for it; the same for all who stand there."""
    of_comb = ground.book.washes
    if not any(step.logs in of_comb for step in errand.frame.method.steps.values()):
        return errand.chain, []
    cursor = errand.cursor

    def made() -> tuple[Chain, Chain, list[_Lost]]:
        return (errand.chain, *_warm_chain(ground, errand, given))  # the chain is held: no other takes its identity

    key = ("kept_warm", errand.frame.name, cursor.key, cursor.told, id(errand.chain), tuple(given.items()))
    return ground.once(key, made)[1:]


def _warm_chain(ground: Ground, errand: Errand, given: Mapping[tuple[str, int], int]) -> tuple[Chain, list[_Lost]]:
    steps, of_comb, days = errand.frame.method.steps, ground.book.washes, ground.days.ordinals
    cold = cold_days(ground)
    washed = ((step, at) for node in range(len(errand.chain.nodes)) for (step, _), at in errand.chain.done([node]))
    on = {days[at] for step, at in washed if steps[step].logs in of_comb}
    if not any(first <= day <= last for day in on for first, last in cold):
        return errand.chain, []
    chain = ground.chain(_cold_frame(ground, errand.frame), errand.cursor)
    left = set(chain.steps) if chain else set()
    done = list(errand.chain.done(one_way(errand.chain)))
    taken = [given.get(step, days[at]) for step, at in done]
    story = replay(errand.frame, errand.cursor, [step for step, _ in done], taken)
    gone = [made for made in story if steps[made.step].logs in of_comb and (made.step, made.n) not in left]
    asked = errand.method == ground.book.planning.asked_count
    return chain or NOTHING, [(made.opening.window, steps[made.step].do, asked) for made in gone]


def _cold_frame(ground: Ground, frame: Frame) -> Frame:
    """A frame whose counts are barred on cold days, and fall away where they have no others."""
    of_comb, cold = ground.book.washes, cold_days(ground)
    names = [name for name, step in frame.method.steps.items() if step.logs in of_comb]
    return replace(frame.kept_from(names, cold, "cold"), spared=frozenset(names))


def cold_days(ground: Ground) -> Periods:
    """The days that are planned, in which it is usually too cold to lift combs for a count."""
    if ground.memo.cold is None:
        ground.memo.cold = tuple(_cold(ground))
    return ground.memo.cold


def _cold(ground: Ground) -> Iterator[tuple[int, int]]:
    ordinals = ground.days.ordinals
    if not ordinals:
        return
    weather = weather_of(ground.yard, ground.book)
    for cold, run in groupby(range(ordinals[0], ordinals[-1] + 1), key=lambda day: _too_cold(ground, weather, day)):
        if cold:
            days = list(run)
            yield days[0], days[-1]


def _too_cold(ground: Ground, weather: Weather, day: int) -> bool:
    """Whether a day's high, as read or forecast, else as usual, is below that for lifting combs; no if not known."""
    least = ground.book.counting.combs_from.value.low
    read = weather.on(day, "high")
    if read is None and weather.normals is not None:
        read = weather.normals["high"].mean(day)
    return least is not None and read is not None and read < least


# The board ------------------------------------------------------------------------------------------------------------


_Owed = tuple[Cursor, tuple[str, ...]]
"""Where a board stands, and what is said with it."""


@dataclass(frozen=True)
class Boards:
    """A colony's boards: the method, its two steps, and what was written of them in this season, pair by pair."""

    frame: Frame
    first: str
    second: str
    pairs: tuple[tuple[Event | None, Event | None], ...]


def _counts_falls(ground: Ground, errands: Sequence[Errand]) -> bool:
    """True where the fall is counted in any case, by a method of the colony's own."""
    falls = frozenset(ground.book.planning.counts) - ground.book.washes
    return any(step.logs in falls for errand in errands for step in errand.frame.method.steps.values())


def boards_of(ground: Ground, state: ColonyState) -> Boards:
    """A colony's boards in place of washes."""
    name = ground.book.planning.cold_count
    method = ground.book.methods[name]
    (first, put_in), (second, read) = method.steps.items()
    pairs = tuple(pair for pair in _pairs(state, put_in, read) if _of_season(ground, *pair))
    return Boards(ground.frame(name, method), first, second, pairs)


def _of_season(ground: Ground, put_in: Event | None, read: Event | None) -> bool:
    """Whether a board is the season's: by the day on which it was put in, where that was written."""
    event = put_in or read
    return event is not None and ground.season.first <= event.day <= ground.season.last


def _pairs(state: ColonyState, put_in: Step, read: Step) -> Iterator[tuple[Event | None, Event | None]]:
    open_: Event | None = None
    for event in sorted(state.events, key=lambda e: e.day):
        if event.word == put_in.logs:
            if open_ is not None:
                yield open_, None
            open_ = event
        elif event.word == read.logs:
            yield open_, event
            open_ = None
    if open_ is not None:
        yield open_, None


def _board(ground: Ground, state: ColonyState, lost: Sequence[_Lost], doses: Collection[Felling]) -> Iterator[Errand]:
    """A board in on one visit and out on the next, for the first count of the season's that falls away, and for what is
    asked for besides, where none has answered."""
    boards = boards_of(ground, state)
    past = [one for n, pair in enumerate(boards.pairs, 1) for one in _was(boards, n, *pair)]
    reading = _to_read(ground, boards)
    owed = [*([reading] if reading else []), *_to_put_in(ground, boards, lost, reading)]
    name, frame = boards.frame.name, _off_doses(boards, doses)
    key = f"{state.colony.key}/{name}"
    if not owed and past:
        yield Errand(key, name, state, None, frame, past[-1].cursor, NOTHING, (), tuple(past))
    for i, (cursor, advice) in enumerate(owed):
        chain = ground.chain(frame, cursor)
        mine = f"{key}/{i + 1}" if i else key
        if chain is not None or (past and not i):
            done = () if i else tuple(past)
            yield Errand(mine, name, state, None, frame, cursor, chain or NOTHING, advice if chain else (), done)


def _off_doses(boards: Boards, doses: Collection[Felling]) -> Frame:
    """The boards' frame: none goes in on the days on which mites fall by a dose, nor is one read on them."""
    if not doses:
        return boards.frame
    goes_in = tuple(sorted((dose.first, dose.until - 1) for dose in doses))
    barred = {boards.first: goes_in, boards.second: tuple((first + 1, last) for first, last in goes_in)}
    name = f"{boards.frame.name},off{goes_in}"
    return replace(boards.frame, name=name, barred=barred, memo=boards.frame.memo.off(name))


def under_boards(ground: Ground, errands: Sequence[Errand], paths: Paths) -> dict[str, Felling]:
    """The courses that fell among the days of a board, or shortly before these: it would count what they fell."""
    return {course: dose for course, dose, _ in _felling(ground, errands, paths)}


def felled_boards(ground: Ground, errands: Sequence[Errand], paths: Paths) -> frozenset[str]:
    """The boards, by the keys of their errands, that would count what a dose fells."""
    return frozenset(board for _, _, board in _felling(ground, errands, paths))


def _felling(ground: Ground, errands: Sequence[Errand], paths: Paths) -> Iterator[tuple[str, Felling, str]]:
    """Each dose, by its course, with a board of the same hive that would count what it fells."""
    boards: dict[str, list[tuple[str, int, int]]] = {}
    for errand in errands:
        if errand.method == ground.book.planning.cold_count and errand.colony is not None:
            days = [ground.days.ordinals[at] for _, at in errand.chain.done(paths.get(errand.key, ()))]
            found = boards.setdefault(errand.colony.colony.key, [])
            found.extend([(errand.key, days[0], days[-1])] if len(days) > 1 else [])  # one that lies already is read
    for errand in errands:
        mine = boards.get(errand.colony.colony.key, []) if errand.colony is not None else []
        dose = _dose(ground, errand, paths) if mine and errand.course and paths.get(errand.key) else None
        if dose is not None:
            for key, put_in, read in mine:
                if dose.first < read and put_in < dose.until:
                    yield errand.unmarked, dose, key


def _dose(ground: Ground, errand: Errand, paths: Paths) -> Felling | None:
    """A dose that is given once, as placed; until its label has mites counted again."""
    on = {step: ground.days.ordinals[at] for step, at in errand.chain.done(paths[errand.key])}
    key = ("felling", errand.frame.name, errand.cursor.key, tuple(on.items()))
    return ground.once(key, lambda: _felling_of(ground, errand, on))


def _felling_of(ground: Ground, errand: Errand, on: Mapping[tuple[str, int], int]) -> Felling | None:
    frame, steps = errand.frame, errand.frame.method.steps
    story = list(replay(frame, errand.cursor, list(on), list(on.values())))
    following = after(frame, story[-1].cursor, story[-1].day)
    owed = [one.cursor for one in story] + ([following] if following is not None else [])
    counts = [cursor for cursor in owed if steps[cursor.step].logs in ground.book.planning.counts]
    opening = opening_at(frame, counts[0]) if counts else None
    if opening is None or ground.book.effect(steps[story[0].step].logs) != "treats":
        return None
    return Felling(on, story[0].day, opening.window.opens)


def _to_read(ground: Ground, boards: Boards) -> _Owed | None:
    """A board that lies below the hive is read, if that is not long past its time."""
    put_in, read = boards.pairs[-1] if boards.pairs else (None, None)
    if put_in is None or read is not None:
        return None
    cursor = Cursor(boards.second, len(boards.pairs), _facts(boards, put_in), (), True)
    found = opening_at(boards.frame, cursor)
    over = found is None or ground.gone_by(found.window)
    return None if over else (cursor, ())


def _to_put_in(ground: Ground, boards: Boards, lost: Sequence[_Lost], reading: _Owed | None) -> Iterator[_Owed]:
    """A board for the first count that falls away, and for those that are asked for; what is asked for while one lies
    there, that one answers. Another of the season's own is planned once the first was read."""
    read = [pair[1].day for pair in boards.pairs if pair[1] is not None]
    least = ground.book.counting.combs_from
    there = opening_at(boards.frame, reading[0]) if reading else None
    free, n = there.window.closes + 1 if there else ground.season.first, len(boards.pairs)
    own = reading is None
    for window, do, asked in sorted(lost, key=lambda one: one[0].opens):
        if window.opens < free or not (own or asked) or any(day >= window.opens for day in read):
            continue
        why = Reason(Rule.ASKED, ASKED, Span.exact(window.opens), (least,), (window.why_opens,))
        cursor = Cursor(boards.first, n + 1, {ASKED: Known(window.opens, why)})
        found = opening_at(boards.frame, cursor)
        if found is not None and found.window.closes >= ground.as_of:
            free, n, own = found.window.closes + 1, n + 1, own and asked
            yield cursor, (because_words(Because(Code.TOO_COLD_TO_WASH, (do,))),)


def _was(boards: Boards, n: int, put_in: Event | None, read: Event | None) -> Iterator[DoneStep]:
    """What was written of a board, or is taken for done."""
    told: list[tuple[str, Event, Mapping[str, Known]]] = []
    if put_in is not None:
        told.append((boards.first, put_in, _asked_on(put_in)))
    if read is not None:
        told.append((boards.second, read, _facts(boards, put_in or read)))
    for step, event, facts in told:
        cursor = Cursor(step, n, facts)
        found = opening_at(boards.frame, cursor)
        if found is not None:
            known = Known(event.day, event_reason(event))
            yield DoneStep(cursor, found, became(found.window, known), event.day)


def _asked_on(event: Event) -> dict[str, Known]:
    return {ASKED: Known(event.day, Reason(Rule.ASKED, ASKED, Span.exact(event.day), (), (event_reason(event),)))}


def _facts(boards: Boards, put_in: Event) -> Mapping[str, Known]:
    known = Known(put_in.day, event_reason(put_in))
    return {**_asked_on(put_in), **dict.fromkeys(boards.frame.sets[boards.first], known)}
