"""Drawings as SVG: the box from above with its trap frames, and the season as a timeline.

In: frames, slots and ordinals. Out: safe markup, all lengths in millimetres of paper, black on white. Every series is
one path, because a PDF engine pays for each element; letters are few for the same reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from textwrap import wrap

from markupsafe import Markup

from ipmcal.model.plan.views import TrapView
from ipmcal.model.values.words import SHORT_MONTHS, plain, shortened
from ipmcal.publishing.paper.ink.svg import BOLD, letters, mm, path, picture, squeezed

# The box from above --------------------------------------------------------------------------------------------------

BOX_WIDTH = 36.0
_TOP, _DEEP, _SIDE, _LABEL = 4.8, 10.0, 1.0, 4.6
_BOTTOM = _TOP + _DEEP
_MIDDLE, _STAND = BOX_WIDTH / 2, 25.0
"""The middle of the box, and how wide the words "you stand here" are."""


def hive_box(frames: int, traps: Sequence[TrapView]) -> Markup:
    """One box seen from above: entrance at the far side, you at the near one, slot 1 at your left.

    A trap frame is a thick bar where it hangs. Where that is not its home slot, the home is an outline, and an arrow
    leads there. A trap that is not in a box is only the outline of its home.
    """
    frames = max([frames, 1, *(slot for trap in traps for slot in (trap.slot, trap.home) if slot)])
    away = [trap for trap in traps if trap.slot and trap.home and trap.home != trap.slot]
    below = _BOTTOM + (7.2 if away else _LABEL)
    labels = _labels([(_slot_at(trap.slot or trap.home or 1, frames), _tag(trap)) for trap in traps])
    rows = max((row for _, row, _ in labels), default=0)
    stand, beside = _standing(labels)
    stand_at = below + _LABEL * (rows if beside else rows + 1)
    parts = [
        *_frames(frames, traps),
        path((_arrow(_slot_at(t.slot or 1, frames), _slot_at(t.home or 1, frames), _BOTTOM + 1.9) for t in away), 0.6),
        path([f"M{mm(_MIDDLE - 11.2)} {_TOP - 0.9}l1.7 -3.1l1.7 3.1Z"]),
        letters(_MIDDLE + 1.8, _TOP - 1.2, "entrance", 11, "middle"),
        letters(_SIDE, _TOP - 1.2, "1", 11),
        letters(BOX_WIDTH - _SIDE, _TOP - 1.2, str(frames), 11, "end"),
        *(_label(x, below + _LABEL * row, tag) for x, row, tag in labels),
        letters(stand, stand_at, "you stand here", 11, "middle", squeezed(_STAND - 1)),
    ]
    return picture(BOX_WIDTH, stand_at + 1.2, _box_title(frames, traps), parts)


def _slot_at(slot: int, frames: int) -> float:
    return _SIDE + (BOX_WIDTH - 2 * _SIDE) / frames * (slot - 0.5)


def _frames(frames: int, traps: Sequence[TrapView]) -> Iterable[str]:
    """The box with its frames: thin lines, trap frames as bars, homes that stand empty as dashed outlines."""
    half = min((BOX_WIDTH - 2 * _SIDE) / frames * 0.38, 1.3)
    taken = {trap.slot for trap in traps if trap.slot}
    empty = {trap.home for trap in traps if trap.home and trap.home != trap.slot} - taken
    wall = f"M{_SIDE} {_TOP}H{mm(BOX_WIDTH - _SIDE)}V{_BOTTOM}H{_SIDE}Z"
    plain_slots = [slot for slot in range(1, frames + 1) if slot not in taken | empty]
    yield path([wall, *(f"M{mm(_slot_at(s, frames))} {_TOP + 1.5}V{_BOTTOM - 1.5}" for s in plain_slots)], 0.45)
    yield path(_bar(_slot_at(slot, frames), half, 0.7) for slot in sorted(taken))
    yield path((_bar(_slot_at(slot, frames), half, 1.0) for slot in sorted(empty)), 0.5, "1.1 0.8")


def _tag(trap: TrapView) -> str:
    return shortened(plain(trap.name), 6)


def _half(tag: str) -> float:
    """Half the width of a label, mm: as "T1" is; longer names are squeezed to it."""
    return 1.35 * len(tag)


def _label(x: float, y: float, tag: str) -> str:
    return letters(x, y, tag, 12, "middle", BOLD + (squeezed(2 * _half(tag)) if len(tag) > 3 else ""))


def _labels(wanted: Sequence[tuple[float, str]]) -> list[tuple[float, int, str]]:
    """Labels below their frames or, where they would touch, a row lower; kept inside the drawing."""
    placed: list[tuple[float, int, str]] = []
    ends: list[float] = []
    for near, tag in sorted(wanted):
        x = min(max(near, _half(tag)), BOX_WIDTH - _half(tag))
        row = next((i for i, end in enumerate(ends) if x - _half(tag) > end + 0.8), len(ends))
        ends[row : row + 1] = [x + _half(tag)]
        placed.append((x, row, tag))
    return placed


def _standing(labels: Sequence[tuple[float, int, str]]) -> tuple[float, bool]:
    """Where "you stand here" stands: beside a lone label if there is room, else in a row of its own."""
    if len(labels) == 1:
        (x, _, tag), *_ = labels
        if x + _half(tag) + 1 <= BOX_WIDTH - _STAND:
            return BOX_WIDTH - _STAND / 2, True
        if x - _half(tag) - 1 >= _STAND:
            return _STAND / 2, True
    return _MIDDLE, False


def _bar(x: float, half: float, inset: float) -> str:
    return f"M{mm(x - half)} {mm(_TOP + inset)}h{mm(2 * half)}V{mm(_BOTTOM - inset)}h{mm(-2 * half)}Z"


def _arrow(start: float, end: float, y: float) -> str:
    back = -1.3 if end > start else 1.3
    return f"M{mm(start)} {mm(y - 1.2)}V{mm(y)}H{mm(end)}m{mm(back)} -1l{mm(-back)} 1l{mm(back)} 1"


def _box_title(frames: int, traps: Sequence[TrapView]) -> str:
    words = [f"{frames} frames from above, the entrance at the far side, you at the near one"]
    for trap in traps:
        where = f"in slot {trap.slot}" if trap.slot else "not in the box"
        home = f", belongs in slot {trap.home}" if trap.home and trap.home != trap.slot else ""
        words.append(f"{trap.name} {where}{home}")
    return "; ".join(words)


# The season ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Bar:
    """A row of the timeline: usual days ``begins..ends`` (one day where equal) within ``low..high``, all ordinals."""

    title: str
    low: int
    begins: int
    ends: int
    high: int
    label: str


CHART_WIDTH = 186.0
_NAMES, _ROW, _LETTER = 54.0, 3.65, 1.85
_A_LINE, _LEADING = 30, 3.7
"""So many letters of a name stand beside the chart, mm to the next line; a longer name reaches into the chart as far as
that is free, or goes on below, and its row is higher."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Days across the paper: from the begin of ``first``, at ``left``, to the end of ``last``, at ``right``, mm; as it
    is, that is from the end of the names to the right edge."""

    first: int
    last: int
    left: float = _NAMES
    right: float = CHART_WIDTH

    def at(self, day: float) -> float:
        """Where a day begins, mm from the left; what lies beyond an end lies on it."""
        days = min(max(day, self.first), self.last + 1) - self.first
        return self.left + (self.right - self.left) * days / max(self.last - self.first + 1, 1)

    def months(self) -> list[tuple[int, int, int]]:
        """First day, day after the last, and number (0..11) of each month that the season touches."""
        start = date.fromordinal(self.first)
        months = []
        day, number = self.first, start.year * 12 + start.month - 1
        while day <= self.last:
            after = min(date((number + 1) // 12, (number + 1) % 12 + 1, 1).toordinal(), self.last + 1)
            months.append((day, after, number % 12))
            day, number = after, number + 1
        return months


def timeline(
    first: int, last: int, bars: Sequence[Bar], visits: Sequence[int], stops: Sequence[int], highs: Sequence[str] = ()
) -> Markup:
    """The season ``first..last``: months above, a row a mark, then the visits and the last good days.

    ``highs`` are the usual daily highs by calendar month, January first, in the reader's unit; or none.
    """
    axis = Axis(first, last)
    head = 9.6 if highs else 5.0
    names = [_name_lines(axis, bar) for bar in bars]
    foot = head + sum(map(_row_height, names)) + 1.5
    height = foot + 2 * _ROW + 2.9
    lines = [f"M{mm(axis.at(day))} {mm(head)}V{mm(height - 0.3)}" for day, _, _ in axis.months()]
    parts = [
        path(lines, 0.12),
        path([f"M0 {mm(head)}H{mm(CHART_WIDTH)}M0 {mm(foot)}H{mm(CHART_WIDTH)}"], 0.35),
        *_month_words(axis, highs),
        *_bars(axis, bars, head),
        *_days(axis, visits, stops, foot),
    ]
    return picture(CHART_WIDTH, height, f"The season: {len(bars)} marks, {len(visits)} visits", parts)


def _month_words(axis: Axis, highs: Sequence[str]) -> Iterable[str]:
    for day, after, number in axis.months():
        if after - day < 20:  # too narrow for its name
            continue
        middle = (axis.at(day) + axis.at(after)) / 2
        yield letters(middle, 3.9, SHORT_MONTHS[number], 10, "middle")
        if len(highs) == 12:
            yield letters(middle, 8.5, highs[number], 10, "middle")
    if len(highs) == 12:
        yield letters(0, 8.5, "usual daily high", 10)


def _bars(axis: Axis, bars: Sequence[Bar], head: float) -> Iterable[str]:
    rows: list[tuple[float, Bar]] = []
    names: list[tuple[float, float, str]] = []
    top = head
    for bar in bars:
        lines = _name_lines(axis, bar)
        rows.append((top + _ROW / 2, bar))
        names += [(0.0, top + _ROW / 2 + 1.2 + _LEADING * i, line) for i, line in enumerate(lines)]
        top += _row_height(lines)
    labels = [(_dates_at(axis, bar), y + 1.2, plain(bar.label)) for y, bar in rows]
    yield path((_spread(axis.at(bar.low), axis.at(bar.high + 1), y) for y, bar in rows), 0.3)
    yield path(_usual(axis.at(bar.begins), axis.at(bar.ends + 1), y, bar.begins == bar.ends) for y, bar in rows)
    yield _white([*labels, *(name for name in names if len(name[2]) > _A_LINE)])
    yield from (letters(x, y, words, 10) for x, y, words in (*names, *labels))


def _name_lines(axis: Axis, bar: Bar) -> list[str]:
    """A name in lines that fit beside the chart, or in one that reaches into it as far as nothing is drawn there; what
    is longer than two of them is no name, and cut."""
    name = shortened(plain(bar.title), 2 * _A_LINE - 6)
    free = min(axis.at(bar.low), _dates_at(axis, bar)) - 1.5
    return wrap(name, max(_A_LINE, int(free / _LETTER))) or [""]


def _row_height(lines: Sequence[str]) -> float:
    return _ROW + _LEADING * (len(lines) - 1)


def _days(axis: Axis, visits: Sequence[int], stops: Sequence[int], foot: float) -> Iterable[str]:
    visits_at, stops_at = foot + 3.0, foot + _ROW + 4.2
    yield letters(0, visits_at + 1.2, "visits", 10, more=BOLD)
    yield path(f"M{mm(axis.at(day + 0.5) - 1.1)} {mm(visits_at + 1.9)}h2.2l-1.1 -3.8Z" for day in visits)
    yield letters(0, stops_at + 1.2, "last good days", 10, more=BOLD)
    yield path((_cross(axis.at(day + 0.5), stops_at) for day in sorted(set(stops))), 0.55)


def _spread(low: float, high: float, y: float) -> str:
    return f"M{mm(low)} {mm(y - 0.9)}v1.8M{mm(low)} {mm(y)}H{mm(high)}m0 -0.9v1.8"


def _usual(begins: float, ends: float, y: float, single: bool) -> str:
    if single:
        middle = (begins + ends) / 2
        return f"M{mm(middle - 1.3)} {mm(y)}l1.3 -1.7l1.3 1.7l-1.3 1.7Z"
    return f"M{mm(begins)} {mm(y - 1.2)}H{mm(ends)}v2.4H{mm(begins)}Z"


def _cross(x: float, y: float) -> str:
    return f"M{mm(x - 1.0)} {mm(y - 1.4)}l2 2.8m0 -2.8l-2 2.8"


def _dates_at(axis: Axis, bar: Bar) -> float:
    """Where the dates of a bar begin, mm: right of it, or left of it where the paper ends."""
    width, right = _LETTER * len(plain(bar.label)), axis.at(bar.high + 1) + 1.5
    return right if right + width <= CHART_WIDTH else max(axis.at(bar.low) - 1.5 - width, _NAMES)


def _white(labels: Iterable[tuple[float, float, str]]) -> str:
    """Paper behind words in the chart, so that the months' lines do not strike them through."""
    wide = [(x, y, _LETTER * len(words) + 0.6) for x, y, words in labels]
    way = "".join(f"M{mm(x - 0.3)} {mm(y - 3)}h{mm(width)}v4h{mm(-width)}Z" for x, y, width in wide)
    return f'<path d="{way}" fill="#fff"/>' if way else ""
