"""Line drawings for the hand-out: kinds of queen cell, scoop and mite at true size, caps with the match, life clocks.

In: nothing, or days. Out: safe markup; lengths in mm of paper, so that what is of true size prints at true size. How
things look is from memory; measures are named where they stand.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, radians, sin, sqrt

from markupsafe import Markup

from ipmcal.publishing.paper.ink.svg import BOLD, letters, mm, path, picture

WIDE = 122.0
LABEL, SIZED = 11.0, 9.5
"""Letters of labels in points, 16 and more where a drawing fills a whole sheet; of those in what can't grow."""
SIZED_LARGE = 16.0
"""As wide as the text of an A5 page."""


@dataclass(frozen=True, slots=True)
class TrueSizes:
    """What is drawn as large as it is: the scoop, mL; a grown mite and a worker, mm."""

    scoop: float
    mite_wide: float
    mite_long: float
    worker_long: float


def ellipse(x: float, y: float, across: float, along: float) -> str:
    """A closed ellipse round a point, as a path."""
    a, b = across / 2, along / 2
    return f"M{mm(x - a)} {mm(y)}a{mm(a)} {mm(b)} 0 1 0 {mm(2 * a)} 0a{mm(a)} {mm(b)} 0 1 0 {mm(-2 * a)} 0Z"


def cells(left: float, top: float, columns: int, rows: int, size: float) -> list[str]:
    """Six-sided cells in rows, as on a comb."""
    high = size / sqrt(3)
    found = []
    for row in range(rows):
        for column in range(columns):
            x = left + size * (column + 0.5 + 0.5 * (row % 2))
            y = top + high * (1 + 1.5 * row)
            corners = [(x + high * sin(radians(60 * i)), y - high * cos(radians(60 * i))) for i in range(6)]
            found.append("M" + "L".join(f"{mm(a)} {mm(b)}" for a, b in corners) + "Z")
    return found


def _hanging(x: float, top: float, long: float, wide: float) -> str:
    """A queen cell: hangs down like a peanut, its tip round."""
    a = wide / 2
    return (
        f"M{mm(x - a)} {mm(top)}c{mm(-0.4)} {mm(long * 0.4)} {mm(0.2 * a)} {mm(long)} {mm(a)} {mm(long)}"
        f"c{mm(0.8 * a)} 0 {mm(a + 0.4)} {mm(-long * 0.6)} {mm(a)} {mm(-long)}"
    )


def queen_cells() -> Markup:
    """A frame from the side: where cups, swarm cells, and cells in place of a lost queen are built."""
    top, low, left, right = 8.0, 44.0, 8.0, WIDE - 8.0
    swarm = [(left + 9, 7.0), (left + 20, 8.5), (left + 31, 8.0)]
    frame = f"M1 4H{mm(WIDE - 1)}v3H1ZM{mm(left - 3)} 7V{mm(low + 9)}M{mm(right + 3)} 7V{mm(low + 9)}"
    edge = f"M{mm(left)} {mm(top)}H{mm(right)}V{mm(low - 2)}q-20 5 -45 2t-40 0L{mm(left)} {mm(low)}Z"
    dimples = [f"M{mm(x - 0.8)} {mm(y + 3)}h1.6m-1.6 1.6h1.6" for x, y in ((left + 20, low + 1), (left + 31, low + 1))]
    words = [
        ("cup, empty:", "no worry", left + 53, low + 9),
        ("swarm cells: several,", "low and at the sides", left + 1, low + 15),
        ("one to three, in the middle:", "a new queen for an old one: leave them", left + 34, 16.0),
        ("grown out of the comb, no", "eggs: the queen is lost", left + 53, 31.0),
    ]
    parts = [
        path([frame, edge], 0.5),
        path([_hanging(x, low, long, 4.6) for x, long in swarm], 0.6),
        path(dimples, 0.3),
        path([f"M{mm(left + 56)} {mm(low + 0.5)}q0.3 3.6 2.6 3.6t2.6 -3.6"], 0.6),
        path([_hanging(left + 30, 12.0, 8.5, 4.6)], 0.6),
        path([_hanging(left + 48, 24.0, 9.0, 4.4), _hanging(left + 42, 29.0, 9.0, 4.4)], 0.6),
        path([f"M{mm(left + 40)} 24h12M{mm(left + 38)} 29h6"], 0.3),
        *(letters(x, y + 4.4 * i, line, LABEL) for a, b, x, y in words for i, line in enumerate((a, b))),
    ]
    title = "A frame: cups and swarm cells at its lower edge, one cell in its middle, cells grown out of the comb"
    return picture(WIDE, low + 20.5, title, parts)


def true_size(sizes: TrueSizes, points: float = SIZED) -> Markup:
    """A scoop of half a cup from the side, and a mite beside a bee, as large as they are; letters of ``points``."""
    wide = 60.0
    deep = sizes.scoop * 1000 / (3.14159 * (wide / 2) ** 2)
    row = 4.0 * points / SIZED  # mm from line to line
    left, top = 2.0, row + 5.0
    scoop = f"M{mm(left)} {mm(top)}v{mm(deep)}h{mm(wide)}v{mm(-deep)}"
    x, y = left + wide + 22, top + 12
    part = sizes.worker_long / 13.2  # head, breast and belly, drawn 13.2 long
    shapes = ((-4.6, 3.4, 3.4), (-1.2, 4.0, 4.4), (3.6, 6.6, 4.6))
    bee = [ellipse(x + part * at, y, part * long, part * high) for at, long, high in shapes]
    mites = [ellipse(at, high, sizes.mite_wide, sizes.mite_long) for at, high in ((x - 1.0, y - 0.4), (x + 14, y))]
    below, large = y + 4 + row, points > SIZED
    said = ("half a cup, 6 cm wide,", "is this deep") if large else ("half a cup, 6 cm wide, is this deep",)
    parts = [
        path([scoop], 0.8),
        path([f"M{mm(left)} {mm(top)}h{mm(wide)}"], 0.3, "1.5 1"),
        letters(left + 2, top - 2, "level, not heaped", points),
        *(letters(left + 2, top + deep + 1 + row * n, line, points) for n, line in enumerate(said, 1)),
        path([*bee, f"M{mm(x - 0.5)} {mm(y - 2.2)}q3 -5 8 -3.4"], 0.35),
        path(mites),
        letters(x - 6, below, "a bee with a mite", points),
        letters(x + 10, y - 3, "a mite", points, more=BOLD),
        letters(x - 6, below + 1.75 * row, "at true size: check", points),
        letters(x - 6, below + 2.75 * row, "with a ruler, 5 cm:", points),
        path([f"M{mm(left + wide + 8)} {mm(below + 4.25 * row)}h50m0 -1.5v3m-50 -3v3"], 0.4),
    ]
    high = max(top + deep + 4 + row * len(said), below + 4.25 * row + 4)
    return picture(1.4 * WIDE if large else WIDE, high, "Half a cup, a bee and a mite at true size", parts)


def sound_and_sunken() -> Markup:
    """Healthy caps beside sunken ones, and the thread on the match."""
    size, rows, columns = 8.0, 3, 4
    high = size / sqrt(3)
    right = 44.0
    centres = [
        (size * (c + 0.5 + 0.5 * (r % 2)), 8 + high * (1 + 1.5 * r)) for r in range(rows) for c in range(columns)
    ]
    domed = [f"M{mm(x - 2.4)} {mm(y + 0.6)}q2.4 -3 4.8 0" for x, y in centres]
    sunk = [f"M{mm(right + x - 2.4)} {mm(y - 0.8)}q2.4 3 4.8 0" for i, (x, y) in enumerate(centres) if i % 3]
    holes = [ellipse(right + x + 0.4, y + 0.4, 1.4, 1.0) for i, (x, y) in enumerate(centres) if i % 5 == 1]
    x, y = 94.0, 31.0
    parts = [
        path(cells(0, 8, columns, rows, size) + cells(right, 8, columns, rows, size), 0.3),
        path(domed, 0.5),
        path(sunk, 0.5),
        path(holes),
        letters(0, 5.5, "healthy: dry, domed", LABEL, more=BOLD),
        letters(right, 5.5, "sick: sunken, wet, holes", LABEL, more=BOLD),
        letters(right, 36, "some cells empty: spotty", LABEL),
        path(cells(x - 4, y - 4, 1, 1, size), 0.4),
        path([f"M{mm(x)} {mm(y)}Q{mm(x + 1)} {mm(y - 8)} {mm(x + 9)} {mm(y - 14)}"], 0.5),
        path([f"M{mm(x + 8)} {mm(y - 13)}l14 -11l1.2 1.4l-13.6 11Z"], 0.4),
        letters(WIDE, 40, "a brown thread on the match:", LABEL, "end"),
        letters(WIDE, 44, "no diagnosis: ring", LABEL, "end", BOLD),
    ]
    return picture(WIDE, 46, "Healthy caps, sunken caps, and a thread that is drawn with a match", parts)


@dataclass(frozen=True, slots=True)
class LifeClock:
    """A life in days from laying: the egg hatches, the cell is capped, the grown one comes out."""

    name: str
    hatches: float
    capped: float
    emerges: float


def clocks(lives: Sequence[LifeClock], mite: tuple[float, float], days: int = 28) -> Markup:
    """Lives on one scale of days. ``mite``: hours before capping at which a mite goes into a worker's and a drone's
    cell, as days."""
    names, row = 18.0, 12.0
    step = (WIDE - names - 2) / days

    def at(day: float) -> float:
        return names + step * day

    parts = [letters(at(day), 4, str(day), LABEL, "middle") for day in range(0, days, 3)]
    parts.append(path((f"M{mm(at(day))} 5v2" for day in range(0, days, 3)), 0.3))
    for i, life in enumerate(lives):
        y = 8 + row * i
        parts += [
            letters(0, y + 4.5, life.name, LABEL, more=BOLD),
            path([f"M{mm(at(0))} {mm(y)}H{mm(at(life.emerges))}v6H{mm(at(0))}Z"], 0.4),
            path([f"M{mm(at(life.capped))} {mm(y)}H{mm(at(life.emerges))}v6H{mm(at(life.capped))}Z"], 1.0),
            path([f"M{mm(at(life.hatches))} {mm(y)}v6"], 0.4),
            letters(at(life.hatches / 2), y + 4.3, "egg", LABEL, "middle"),
            letters(at((life.hatches + life.capped) / 2), y + 4.3, "grub", LABEL, "middle"),
            letters(at((life.capped + life.emerges) / 2), y + 4.3, "under the cap", LABEL, "middle"),
            letters(at(life.emerges) + 1, y + 4.3, f"day {life.emerges:g}", LABEL),
        ]
    goes_in = [life.capped - before for life, before in zip(lives, (0.0, *mite), strict=False)][1:]
    for i, (day, life) in enumerate(zip(goes_in, lives[1:], strict=True)):
        y = 8 + row * len(lives) + 6.5 * i
        parts += [
            path([f"M{mm(at(day))} {mm(y)}H{mm(at(life.emerges))}v4.6H{mm(at(day))}Z"]),
            letters(0, y + 3.8, "" if i else "mite", LABEL, more=BOLD),
            letters(at(day) - 1, y + 3.6, f"into a {life.name} cell", LABEL, "end"),
            letters(at(life.emerges) + 1, y + 3.6, "out", LABEL),
        ]
    foot = 8 + row * len(lives) + 6.5 * len(goes_in)
    return picture(WIDE, foot + 1, "Days from egg to bee: queen, worker, drone, and when a mite goes in", parts)


PLAIN_DRAWINGS: dict[str, Callable[[], Markup]] = {
    "queen_cells": queen_cells,
    "caps": sound_and_sunken,
}
"""The drawings that hang on no figure, by name."""
