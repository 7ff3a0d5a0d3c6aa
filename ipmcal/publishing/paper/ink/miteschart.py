"""The mites of a season as a drawing: band, median, the authority's line, counts as points, courses as bars.

In: a ``MiteYear``. Out: safe markup, lengths in millimetres of paper. Its months lie below those
of the timeline. Greys are far enough apart for a printer that has none; every series is one path.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap

from markupsafe import Markup

from ipmcal.model.plan.mites import MiteCount, MiteYear
from ipmcal.model.values.words import SHORT_MONTHS, plain, shortened
from ipmcal.publishing.paper.ink.charts import CHART_WIDTH, Axis
from ipmcal.publishing.paper.ink.svg import BOLD, letters, mm, path, picture

MOST_DRAWN = 10.0
"""Mites in 100 bees up to which anything is drawn."""
SCALES = ((3.0, 1), (5.0, 1), (10.0, 2))
"""Tops of the scale, and the steps of its numbers."""
_HEAD, _DEEP, _ROW, _TEXT = 5.2, 34.0, 4.1, 9.0
_KEY_ROW, _KEY_LINE, _PANELS = 4.6, 9.0, 4.6
"""Mm to the next row of the key, the line before its words, what the titles of two drawings side by side take."""
_BETWEEN, _NARROW = 7.0, 90.0
"""Mm between two drawings; below so many mm a drawing has no room for whole words."""
_LETTERS, _LEADING, _LABELS = 31, 3.6, 6
"""Letters of a name on a line, mm to the next one; so many counts of a day have their hive's key beside them."""
PAST_GREY, AHEAD_GREY, SHADE_GREY = "#e2e2e2", "#bdbdbd", "#f3f3f3"


_CUTS, _WINTER = "trap combs cut", "winter bees reared (shaded)"
_ROWS_LAST = {_CUTS: 1, _WINTER: 2}
"""Rows that stand below those of all courses, in this order."""


def mites_chart(one: MiteYear, axis: tuple[int, int], least: float = 0.0) -> Markup:
    """The picture of a season; ``axis`` is the first and the last day across the paper, ``least`` the lowest top of the
    scale, so that pictures side by side have one.

    What lies before the newest count is pale: it is over, and the drawing was moved since. The day of planning does not
    show, so that a page stays as it is until something is found or planned.
    """
    return _Chart(one, Axis(*axis), max(least, scale_of(one)[0])).made()


def mites_panels(some: Sequence[tuple[str, MiteYear]], axis: tuple[int, int], least: float = 0.0) -> Markup:
    """Some pictures side by side on one scale, each with its title, and with one key and one set of rows for all;
    ``least`` is the lowest top of the scale."""
    top = max(least, *(scale_of(one)[0] for _, one in some))
    whole = Axis(*axis)
    wide = (whole.right - whole.left - _BETWEEN * (len(some) - 1)) / len(some)
    lefts = [whole.left + (wide + _BETWEEN) * place for place in range(len(some))]
    charts = [_Chart(one, Axis(*axis, x, x + wide), top) for (_, one), x in zip(some, lefts, strict=True)]
    rows: dict[str, str] = {}
    for name, way in (row for chart in charts for row in chart.rows()):
        rows[name] = rows.get(name, "") + way
    rows = {name: rows[name] for name in sorted(rows, key=lambda name: _ROWS_LAST.get(name, 0))}
    height = charts[0].height(rows)
    drawn = "".join(part for chart in charts for part in chart.drawn(height))
    counted, lined = (any(getattr(one, name) for _, one in some) for name in ("counts", "lines"))
    parts = [
        *(letters(x, 3.2, title, _TEXT, more=BOLD) for (title, _), x in zip(some, lefts, strict=True)),
        f'<g transform="translate(0 {mm(_PANELS)})">{drawn}{"".join(_key(lined=lined, counted=counted))}',
        *charts[0].below(rows),
        "</g>",
    ]
    return picture(CHART_WIDTH, height + _PANELS, "; ".join(chart.title() for chart in charts), parts)


def scale_of(one: MiteYear) -> tuple[float, int]:
    """The lowest scale that holds the line, the counts, and the band where the median is drawn."""
    drawn = [day.high for day in one.days[: _drawn([day.median for day in one.days])]]
    most = max([*drawn, *(line.load * 1.2 for line in one.lines), *(count.load for count in one.counts)])
    return next((scale for scale in SCALES if most <= scale[0]), SCALES[-1])


def _drawn(loads: Sequence[float]) -> int:
    """How many days of a curve are drawn: it stops where it passes what can be drawn."""
    return next((n for n, load in enumerate(loads) if load > MOST_DRAWN), len(loads))


class _Chart:
    """A drawing in the making: what lies where."""

    def __init__(self, one: MiteYear, axis: Axis, top: float) -> None:
        self.one, self.axis = one, axis
        self.newest = max((count.day - one.first for count in one.counts), default=0)
        self.top, self.step = next(scale for scale in SCALES if top <= scale[0])
        self.foot = _HEAD + _DEEP
        self.left, self.right = axis.at(axis.first), axis.at(axis.last + 1)

    def _medians(self) -> list[float]:
        return [day.median for day in self.one.days]

    def at(self, day: float) -> float:
        """Across: the middle of a day."""
        return self.axis.at(day + 0.5)

    def up(self, load: float) -> float:
        """Down from the top of the drawing: a load; what is over the scale lies on its edge."""
        return self.foot - _DEEP * min(load, self.top) / self.top

    def made(self) -> Markup:
        """All of it."""
        rows = dict(self.rows())
        height = self.height(rows)
        key = _key(lined=bool(self.one.lines), counted=bool(self.one.counts))
        return picture(CHART_WIDTH, height, self.title(), [*self.drawn(height), *key, *self.below(rows)])

    def height(self, rows: Mapping[str, str]) -> float:
        """How high a drawing with these rows below it is, mm."""
        return self.foot + sum(map(_row_height, rows)) + 1.2

    def drawn(self, height: float) -> Iterator[str]:
        """What lies in the drawing itself, all but the key and the rows below."""
        yield from self._ground(height)
        yield from self._band()
        yield from self._lines()
        yield from self._curves()
        yield from self._counts()

    def title(self) -> str:
        """For those who do not see it."""
        one = self.one
        hives = ", ".join(one.hives)
        return f"Mites in 100 bees, hives {hives}: {len(one.counts)} counts, {len(one.courses)} courses"

    # What lies behind ---------------------------------------------------------------------------------------------

    def _ground(self, height: float) -> Iterator[str]:
        first, last = (max(self.one.winter[0], self.axis.first), min(self.one.winter[1], self.axis.last))
        if first <= last:
            yield _filled(_box(self.axis.at(first), self.axis.at(last + 1), _HEAD, self.foot), SHADE_GREY)
        months = [f"M{mm(self.axis.at(day))} {mm(_HEAD)}V{mm(height - 0.4)}" for day, _, _ in self.axis.months()]
        yield path(months, 0.12)
        ticks = range(0, round(self.top) + 1, self.step)
        yield path((f"M{mm(self.left)} {mm(self.up(n))}H{mm(self.right)}" for n in ticks if n), 0.12)
        yield path([f"M{mm(self.left)} {mm(_HEAD)}V{mm(self.foot)}H{mm(self.right)}"], 0.35)
        yield from (letters(self.left - 1.2, self.up(n) + 1.1, str(n), _TEXT, "end") for n in ticks)
        for day, after, number in self.axis.months():
            if after - day >= 20:
                name = SHORT_MONTHS[number] if self.right - self.left > _NARROW else SHORT_MONTHS[number][0]
                yield letters((self.axis.at(day) + self.axis.at(after)) / 2, 3.9, name, 10, "middle")

    # The law of the draws -----------------------------------------------------------------------------------------

    def _band(self) -> Iterator[str]:
        """Eight of ten, darker from the newest count on."""
        drawn = _drawn(self._medians())
        since = self.newest + 1 if self.newest else 0
        for (start, end), grey in (((0, since), PAST_GREY), ((since, drawn), AHEAD_GREY)):
            days = range(start, min(end, drawn))
            if len(days) > 1:
                up = [f"{mm(self._x(n))} {mm(self.up(self.one.days[n].high))}" for n in days]
                down = [f"{mm(self._x(n))} {mm(self.up(self.one.days[n].low))}" for n in reversed(days)]
                yield _filled(f"M{'L'.join([*up, *down])}Z", grey)

    def _x(self, place: int) -> float:
        return self.at(self.one.first + place)

    def _lines(self) -> Iterator[str]:
        """The authority's line, in steps."""
        way, before = [], None
        for line in self.one.lines:
            start = f"{'M' if before != line.first else 'L'}{mm(self.axis.at(line.first))} {mm(self.up(line.load))}"
            way.append(f"{start}H{mm(self.axis.at(line.last + 1))}")
            before = line.last + 1
        yield path(way, 0.55, "3 1.2")

    def _curves(self) -> Iterator[str]:
        medians, bare = self._medians(), list(self.one.untreated)
        drawn, since = _drawn(medians), self.newest + 1 if self.newest else 0
        yield path([self._curve(medians, 0, min(since, drawn))], 0.35)
        yield path([self._curve(medians, since, drawn)], 0.8)
        parted = next((n for n, (a, b) in enumerate(zip(medians, bare, strict=True)) if a != b), None)
        if parted is not None:
            yield path([self._curve(bare, max(parted - 1, 0), _drawn(bare))], 0.3, "0.9 0.9")
        if drawn < len(medians):
            yield from self._beyond(drawn)

    def _curve(self, loads: Sequence[float], start: int, end: int) -> str:
        days = range(start, end)
        return f"M{'L'.join(f'{mm(self._x(n))} {mm(self.up(loads[n]))}' for n in days)}" if len(days) > 1 else ""

    def _beyond(self, drawn: int) -> Iterator[str]:
        """Where the median goes over what can be drawn, it stops, and says so."""
        words = "over 10: what follows can't be drawn" if self.right - self.left > _NARROW else "over 10: not drawn"
        wide = 1.7 * len(words)
        x = min(self._x(drawn), self.right - wide)
        yield _filled(_box(x - 0.5, x + wide, _HEAD + 0.4, _HEAD + 4.4), "#fff")
        yield letters(x, _HEAD + 3.4, words, _TEXT)

    def _counts(self) -> Iterator[str]:
        """Counts as points with their intervals; those over the scale stand on its edge, as an arrow."""
        inside = [one for one in self.one.counts if one.load <= self.top]
        yield path((self._interval(one) for one in self.one.counts), 0.3)
        yield path(_dot(self.at(one.day), self.up(one.load)) for one in inside)
        yield path(_arrow(self.at(one.day), _HEAD) for one in self.one.counts if one.load > self.top)
        by_day: dict[int, list[MiteCount]] = {}
        for one in self.one.counts:
            by_day.setdefault(one.day, []).append(one)
        for some in by_day.values():
            if len(some) <= _LABELS:
                yield from self._keys(some)

    def _keys(self, some: Sequence[MiteCount]) -> Iterator[str]:
        """Hives' keys beside their points, none on another."""
        above = self.foot + _LEADING
        for one in sorted(some, key=lambda one: one.load):
            y = min(max(self.up(one.load), _HEAD + 3) + 1.1, above - _LEADING)
            above = y
            yield letters(self.at(one.day) + 1.6, y, shortened(plain(one.colony), 6), _TEXT, more=BOLD)

    def _interval(self, one: MiteCount) -> str:
        return f"M{mm(self.at(one.day))} {mm(self.up(one.low))}V{mm(self.up(one.high))}"

    # Beside and below ---------------------------------------------------------------------------------------------

    def rows(self) -> Iterator[tuple[str, str]]:
        """The rows below: their names, and what is drawn in the middle of a row, as a path around 0."""
        titles: dict[str, list[str]] = {}
        for bar in self.one.courses:
            first, last = max(bar.first, self.axis.first), min(bar.last, self.axis.last)
            if first <= last:
                titles.setdefault(bar.title, []).append(_flat(self.axis.at(first), self.axis.at(last + 1)))
        yield from ((title, "".join(some)) for title, some in titles.items())
        cuts = [day for day in self.one.cuts if self.axis.first <= day <= self.axis.last]
        if cuts:
            yield _CUTS, "".join(_flat(self.at(day) - 0.35, self.at(day) + 0.35) for day in cuts)
        first, last = max(self.one.winter[0], self.axis.first), min(self.one.winter[1], self.axis.last)
        if first <= last:
            yield _WINTER, _ends(self.axis.at(first), self.axis.at(last + 1))

    def below(self, rows: Mapping[str, str]) -> Iterator[str]:
        """These rows, drawn."""
        top = self.foot + 0.8
        for name, way in rows.items():
            for n, line in enumerate(_name(name)):
                yield letters(0, top + _ROW / 2 + 1.1 + _LEADING * n, line, _TEXT)
            yield f'<g transform="translate(0 {mm(top + _ROW / 2)})">{_row_path(way)}</g>'
            top += _row_height(name)


def _key(*, lined: bool, counted: bool) -> Iterator[str]:
    """What the lines mean, beside the drawing: the authority's line and counts where there are any."""
    y = _HEAD + 3.2
    yield letters(0, y, "mites in 100 bees,", _TEXT, more=BOLD)
    yield letters(0, y + _LEADING, "as a wash would read", _TEXT, more=BOLD)
    yield letters(0, y + 2 * _LEADING + 0.6, "a drawing, not a promise", _TEXT)
    rows = [("half of such hives above", 0.8, ""), ("8 of 10 such hives", 0.0, "")]
    rows.append(("nothing more given", 0.3, "0.9 0.9"))
    rows += [("the line: treat", 0.55, "3 1.2")] if lined else []
    rows += [("a count, by hive", 0.0, "")] if counted else []
    for n, (words, width, dashes) in enumerate(rows):
        at = y + 3 * _LEADING + 2.0 + _KEY_ROW * n
        if width:
            yield path([f"M0 {mm(at - 1)}h{mm(_KEY_LINE)}"], width, dashes)
        elif words == "a count, by hive":
            yield path([_dot(_KEY_LINE / 2, at - 1)])
        else:
            yield _filled(_box(0, _KEY_LINE, at - 2.3, at + 0.3), AHEAD_GREY)
        yield letters(_KEY_LINE + 1.6, at, words, _TEXT)


def _row_path(way: str) -> str:
    return path([way], 0.4) if "H" in way and "Z" not in way else path([way])


def _name(title: str) -> list[str]:
    return wrap(shortened(plain(title), 2 * _LETTERS - 6), _LETTERS) or [""]


def _row_height(title: str) -> float:
    return _ROW + _LEADING * (len(_name(title)) - 1)


def _flat(left: float, right: float) -> str:
    """A bar of a row, a mm wide at least."""
    wide = max(right - left, 0.7)
    return f"M{mm(left)} -1.4h{mm(wide)}v2.8h{mm(-wide)}Z"


def _ends(left: float, right: float) -> str:
    """A period of a row, as a line between two strokes."""
    return f"M{mm(left)} -1v2M{mm(left)} 0H{mm(right)}m0 -1v2"


def _dot(x: float, y: float) -> str:
    return f"M{mm(x - 0.9)} {mm(y)}a.9 .9 0 1 0 1.8 0a.9 .9 0 1 0 -1.8 0Z"


def _arrow(x: float, top: float) -> str:
    return f"M{mm(x - 1.1)} {mm(top + 2)}h2.2l-1.1 -1.9Z"


def _box(left: float, right: float, top: float, bottom: float) -> str:
    return f"M{mm(left)} {mm(top)}H{mm(right)}V{mm(bottom)}H{mm(left)}Z"


def _filled(way: str | Iterable[str], grey: str) -> str:
    return f'<path d="{"".join(way)}" fill="{grey}"/>'
