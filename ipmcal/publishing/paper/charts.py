"""Drawings as SVG: the box from above with its trap frames, and the season as a timeline.

In: frames, slots and ordinals. Out: safe markup, all lengths in millimetres of paper, black on white. Every series is
one path, because a PDF engine pays for each element; letters are few for the same reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

from ipmcal.model.plan.views import TrapView
from ipmcal.model.values.words import SHORT_MONTHS, plain, shortened

FONT_FAMILIES = "Atkinson Hyperlegible,DejaVu Sans,sans-serif"
POINT = 25.4 / 72
"""A typographic point in millimetres."""


def _text(x: float, y: float, words: str, points: float, anchor: str = "start", more: str = "") -> str:
    """Words at a point, in points of height; ``more`` are attributes: ``_BOLD``, ``_squeezed``."""
    at = f'x="{_n(x)}" y="{_n(y)}" font-size="{_n(points * POINT)}" text-anchor="{anchor}"'
    return f"<text {at}{more}>{escape(plain(words))}</text>"


_BOLD = ' font-weight="700"'


def _squeezed(wide: float) -> str:
    """Words take exactly so many mm, whatever the face."""
    return f' textLength="{_n(wide)}" lengthAdjust="spacingAndGlyphs"'


def _path(d: Iterable[str], width: float = 0.0, dashes: str = "") -> str:
    """One path: drawn as a line of ``width`` mm, or filled where it is 0; nothing at all where it is empty."""
    way = "".join(d)
    if not way:
        return ""
    if not width:
        return f'<path d="{way}"/>'
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{way}" fill="none" stroke="#000" stroke-width="{_n(width)}"{dash}/>'


def _svg(width: float, height: float, title: str, parts: Iterable[str]) -> Markup:
    size = f'width="{_n(width)}mm" height="{_n(height)}mm" viewBox="0 0 {_n(width)} {_n(height)}"'
    head = f'<svg {size} font-family="{FONT_FAMILIES}" role="img"><title>{escape(plain(title))}</title>'
    return Markup(f"{head}{''.join(parts)}</svg>")


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


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
        _path((_arrow(_slot_at(t.slot or 1, frames), _slot_at(t.home or 1, frames), _BOTTOM + 1.9) for t in away), 0.6),
        _path([f"M{_n(_MIDDLE - 11.2)} {_TOP - 0.9}l1.7 -3.1l1.7 3.1Z"]),
        _text(_MIDDLE + 1.8, _TOP - 1.2, "entrance", 11, "middle"),
        _text(_SIDE, _TOP - 1.2, "1", 11),
        _text(BOX_WIDTH - _SIDE, _TOP - 1.2, str(frames), 11, "end"),
        *(_label(x, below + _LABEL * row, tag) for x, row, tag in labels),
        _text(stand, stand_at, "you stand here", 11, "middle", _squeezed(_STAND - 1)),
    ]
    return _svg(BOX_WIDTH, stand_at + 1.2, _box_title(frames, traps), parts)


def _slot_at(slot: int, frames: int) -> float:
    return _SIDE + (BOX_WIDTH - 2 * _SIDE) / frames * (slot - 0.5)


def _frames(frames: int, traps: Sequence[TrapView]) -> Iterable[str]:
    """The box with its frames: thin lines, trap frames as bars, homes that stand empty as dashed outlines."""
    half = min((BOX_WIDTH - 2 * _SIDE) / frames * 0.38, 1.3)
    taken = {trap.slot for trap in traps if trap.slot}
    empty = {trap.home for trap in traps if trap.home and trap.home != trap.slot} - taken
    wall = f"M{_SIDE} {_TOP}H{_n(BOX_WIDTH - _SIDE)}V{_BOTTOM}H{_SIDE}Z"
    plain_slots = [slot for slot in range(1, frames + 1) if slot not in taken | empty]
    yield _path([wall, *(f"M{_n(_slot_at(s, frames))} {_TOP + 1.5}V{_BOTTOM - 1.5}" for s in plain_slots)], 0.45)
    yield _path(_bar(_slot_at(slot, frames), half, 0.7) for slot in sorted(taken))
    yield _path((_bar(_slot_at(slot, frames), half, 1.0) for slot in sorted(empty)), 0.5, "1.1 0.8")


def _tag(trap: TrapView) -> str:
    return shortened(plain(trap.name), 6)


def _half(tag: str) -> float:
    """Half the width of a label, mm: as "T1" is; longer names are squeezed to it."""
    return 1.35 * len(tag)


def _label(x: float, y: float, tag: str) -> str:
    return _text(x, y, tag, 12, "middle", _BOLD + (_squeezed(2 * _half(tag)) if len(tag) > 3 else ""))


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
    return f"M{_n(x - half)} {_n(_TOP + inset)}h{_n(2 * half)}V{_n(_BOTTOM - inset)}h{_n(-2 * half)}Z"


def _arrow(start: float, end: float, y: float) -> str:
    back = -1.3 if end > start else 1.3
    return f"M{_n(start)} {_n(y - 1.2)}V{_n(y)}H{_n(end)}m{_n(back)} -1l{_n(-back)} 1l{_n(back)} 1"


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
_NAMES, _ROW, _LETTER = 54.0, 5.2, 1.85


@dataclass(frozen=True, slots=True)
class _Axis:
    """Days across the paper: from ``first`` at the end of the names to the end of ``last`` at the right edge."""

    first: int
    last: int

    def at(self, day: float) -> float:
        days = min(max(day, self.first), self.last + 1) - self.first
        return _NAMES + (CHART_WIDTH - _NAMES) * days / max(self.last - self.first + 1, 1)

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
    axis = _Axis(first, last)
    head = 9.6 if highs else 5.0
    foot = head + _ROW * len(bars) + 1.5
    height = foot + 2 * _ROW + 2.9
    lines = [f"M{_n(axis.at(day))} {_n(head)}V{_n(height - 0.3)}" for day, _, _ in axis.months()]
    parts = [
        _path(lines, 0.12),
        _path([f"M0 {_n(head)}H{_n(CHART_WIDTH)}M0 {_n(foot)}H{_n(CHART_WIDTH)}"], 0.35),
        *_month_words(axis, highs),
        *_bars(axis, bars, head),
        *_days(axis, visits, stops, foot),
    ]
    return _svg(CHART_WIDTH, height, f"The season: {len(bars)} marks, {len(visits)} visits", parts)


def _month_words(axis: _Axis, highs: Sequence[str]) -> Iterable[str]:
    for day, after, number in axis.months():
        if after - day < 20:  # too narrow for its name
            continue
        middle = (axis.at(day) + axis.at(after)) / 2
        yield _text(middle, 3.9, SHORT_MONTHS[number], 10, "middle")
        if len(highs) == 12:
            yield _text(middle, 8.5, highs[number], 10, "middle")
    if len(highs) == 12:
        yield _text(0, 8.5, "usual daily high", 10)


def _bars(axis: _Axis, bars: Sequence[Bar], head: float) -> Iterable[str]:
    rows = [(head + _ROW * (i + 0.5), bar) for i, bar in enumerate(bars)]
    labels = [_beside(axis.at(bar.low), axis.at(bar.high + 1), y + 1.2, plain(bar.label)) for y, bar in rows]
    yield _path((_spread(axis.at(bar.low), axis.at(bar.high + 1), y) for y, bar in rows), 0.3)
    yield _path(_usual(axis.at(bar.begins), axis.at(bar.ends + 1), y, bar.begins == bar.ends) for y, bar in rows)
    yield from (_text(0, y + 1.2, shortened(plain(bar.title), 30), 10) for y, bar in rows)
    yield _white(labels)
    yield from (_text(x, y, words, 10) for x, y, words in labels)


def _days(axis: _Axis, visits: Sequence[int], stops: Sequence[int], foot: float) -> Iterable[str]:
    visits_at, stops_at = foot + 3.0, foot + _ROW + 4.2
    yield _text(0, visits_at + 1.2, "visits", 10, more=_BOLD)
    yield _path(f"M{_n(axis.at(day + 0.5) - 1.1)} {_n(visits_at + 1.9)}h2.2l-1.1 -3.8Z" for day in visits)
    yield _text(0, stops_at + 1.2, "last good days", 10, more=_BOLD)
    yield _path((_cross(axis.at(day + 0.5), stops_at) for day in sorted(set(stops))), 0.55)


def _spread(low: float, high: float, y: float) -> str:
    return f"M{_n(low)} {_n(y - 0.9)}v1.8M{_n(low)} {_n(y)}H{_n(high)}m0 -0.9v1.8"


def _usual(begins: float, ends: float, y: float, single: bool) -> str:
    if single:
        middle = (begins + ends) / 2
        return f"M{_n(middle - 1.3)} {_n(y)}l1.3 -1.7l1.3 1.7l-1.3 1.7Z"
    return f"M{_n(begins)} {_n(y - 1.2)}H{_n(ends)}v2.4H{_n(begins)}Z"


def _cross(x: float, y: float) -> str:
    return f"M{_n(x - 1.0)} {_n(y - 1.4)}l2 2.8m0 -2.8l-2 2.8"


def _beside(low: float, high: float, y: float, words: str) -> tuple[float, float, str]:
    """Where the dates of a bar stand: right of it, or left of it where the paper ends."""
    width = _LETTER * len(words)
    return (high + 1.5 if high + 1.5 + width <= CHART_WIDTH else max(low - 1.5 - width, _NAMES), y, words)


def _white(labels: Iterable[tuple[float, float, str]]) -> str:
    """Paper behind the dates, so that the months' lines do not strike them through."""
    wide = [(x, y, _LETTER * len(words) + 0.6) for x, y, words in labels]
    way = "".join(f"M{_n(x - 0.3)} {_n(y - 3)}h{_n(width)}v4h{_n(-width)}Z" for x, y, width in wide)
    return f'<path d="{way}" fill="#fff"/>' if way else ""
