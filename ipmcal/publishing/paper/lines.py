"""What stands at each hive of a sheet: its lines, kept together in blocks, its boxes drawn where a trap is handled.

In: the tasks of a visit, what is said once of them. Out: frozen views.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil

from markupsafe import Markup

from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.views import ColonyView, TrapView, YardView
from ipmcal.model.values.words import counted
from ipmcal.publishing.paper.ink.charts import hive_box
from ipmcal.publishing.paper.leaf import HiveFacts, Treating, head_words, told_of_steps
from ipmcal.publishing.paper.naming import names_trap

A_BLOCK, A_LARGE_BLOCK = 6, 4
"""So many tasks of a hive are kept together on a page; where a hive has more, its block goes on under its number. In
large print the first stands alone, so that it is on the first page whatever stands above."""

FIRST_PAGE = {"letter": 230.0, "a4": 248.0}
HEAD_HIGH, BOX_HIGH, BOX_WIDE, FACTS_HIGH = 62.0, 13.0, 184.0, 11.0
"""How much a page holds by its paper, how high what stands before the first hive usually is, what is given but for its
sentences, and how wide these run, what is said of a hive before its lines, mm; measured."""

MANY_BLANKS = 3
"""So many blanks of a task need the whole width."""
ROOM, ROOM_DRAWN, LINE_WIDE = 28, 40, 145
"""Widths on A4, the narrower paper, mm: the column beside a hive's lines; with a drawing or a lid; lines without it."""
LETTER, CAPITAL, BOLD_LETTER = 1.95, 2.5, 2.25
"""Widths of an average letter at 12 pt, of a capital, and of one in bold at 13 pt, mm; measured."""
BY_WIDE, BLANK_WIDE, CIRCLE_GAP, TICK_WIDE = 48.0, 19.5, 4.4, 11.0
"""Widths of a last good day in its box, of a blank, of the gap behind a word to be circled, of a tick, mm; measured."""

SLACK = 6.0
"""By so much a note may be wider, mm: it fits on the wider paper, and costs no more height on the narrower one."""

FEW_LINES = 2
"""At so few lines the hive's head says which box is drawn; at more it stands below the drawing."""

DRAWN_HIGH, LID_HIGH, CAPTION_HIGH = 25.0, 9.0, 5.0
"""How high a drawing, a day to be written on a lid and a line below a drawing are, mm; measured on A4."""
TICK_HIGH, CIRCLE_HIGH, BLANK_HIGH, NOTE_HIGH = 9.0, 8.0, 11.5, 5.1
"""How high a line's tick with its words, a row of words to circle, a row of blanks and a line of notes are, mm."""

LARGER, DRAWN_LARGER = 16 / 12, 1.15
"""How much larger letters are in large print; how much more than that the drawing grows, whose letters are smaller."""


@dataclass(frozen=True, slots=True)
class Line:
    """A task with its line number, its last good day, and whether a day may have to be written on the lid.

    ``words`` say what to do; ``trap`` is the trap frame's name where they do not say it themselves. ``notes`` are those
    that are not said once for the hive or for the sheet. What fits into the task's own row stands there: ``noted`` the
    notes, ``filled`` the blanks (the row is then as high as a pencil needs); ``circled``: words to be circled stand
    beside the tick, not below it. ``joined``: notes and blanks share the row below.
    """

    number: int
    task: Task
    words: str
    by: int | None
    lid: bool
    trap: str
    notes: tuple[str, ...]
    noted: bool = False
    filled: bool = False
    circled: bool = False
    joined: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of one hive (or, without a colony, of the yard) that are kept together.

    ``facts`` are true of this hive today and of too few others to be said once; ``cautions`` are said anew at each.
    ``room`` is the width of the column beside the lines, for drawings, lids and notes, mm; 0 where blanks need it all.
    ``below`` are the last of the lines: what is beside the others ends above them, and they have the whole width.
    ``giving`` is what is given here first on the sheet: its gear and cautions stand above.
    """

    key: str
    name: str
    colony: ColonyView | None
    lines: tuple[Line, ...]
    more: bool
    boxes: tuple[str, ...]
    drawings: tuple[tuple[str, Markup], ...]
    astray: tuple[TrapView, ...]
    cautions: tuple[str, ...]
    room: int
    facts: tuple[str, ...] = ()
    lying: tuple[str, ...] = ()
    below: tuple[Line, ...] = ()
    giving: tuple[Treating, ...] = ()


def printed_lines(tasks: Sequence[Task], treating: Sequence[Treating], facts: HiveFacts) -> Iterable[Line]:
    """The lines of a visit's tasks, numbered as they come, without what is said once elsewhere."""
    for number, task in enumerate(tasks, 1):
        lid = bool(task.lid) or any(answer.cut_by is not None for answer in task.answers)
        once = {*told_of_steps(treating, task), *facts[task.colony or ""], *task.how}
        notes = tuple(note for note in task.notes if note not in once)
        trap = task.trap or "" if not names_trap(task) else ""
        words = head_words(task.do, tasks) if task.blanks and not task.trap else task.do
        yield Line(number, task, words, task.window.hard_stop, lid, trap, notes)


def hive_blocks(
    lines: Sequence[Line], yard: YardView, facts: HiveFacts, lying: HiveFacts, treating: Sequence[Treating]
) -> Iterable[Block]:
    """The lines by hive, in as many blocks as it takes to keep each together."""
    views = {colony.key: colony for colony in yard.colonies}
    first = next((line.task.colony for line in lines), None)
    for key in dict.fromkeys(line.task.colony for line in lines):
        here = [line for line in lines if line.task.colony == key]
        scale, size = (LARGER, A_LARGE_BLOCK) if yard.large_print else (1.0, A_BLOCK)
        cuts = [] if key != first or _fits_first(here, treating, scale, yard.paper) else _begun(here, treating)
        starts = sorted({0, *range(1 if yard.large_print else size, len(here), size), *cuts})
        for start, end in pairwise([*starts, len(here)]):
            drawn = not start and any(line.task.trap for line in here)
            block = _block(views.get(key or ""), here[start:end], scale, more=start > 0, drawn=drawn)
            minded = tuple(c for c in yard.each_hive if not start and any(c in line.task.cautions for line in here))
            head = replace(block, cautions=minded, facts=facts.get(key or "", ()), lying=lying.get(key or "", ()))
            yield head if not start else block


def _begun(lines: Sequence[Line], treating: Sequence[Treating]) -> list[int]:
    """The places of the lines with which each of some things to be given is begun."""
    firsts = (next((n for n, line in enumerate(lines) if _gives(line, one)), None) for one in treating)
    return [place for place in dict.fromkeys(firsts) if place is not None]


def _fits_first(lines: Sequence[Line], treating: Sequence[Treating], scale: float, paper: str) -> bool:
    """Whether a hive fits on the first page below what is told of all that is given in it. If not, each thing is told
    of before the line that gives it, in the order of work, so that the hive begins on the first page."""
    wide = LINE_WIDE / scale - ROOM_DRAWN
    high = HEAD_HIGH + FACTS_HIGH + sum(_line_high(_laid(line, wide), wide) for line in lines)
    for one in treating:
        if any(_gives(line, one) for line in lines):
            letters = len(" ".join((one.do, *one.notes, *one.cautions)))
            high += BOX_HIGH + NOTE_HIGH * ceil(LETTER * letters * scale / BOX_WIDE)
    return high * scale <= FIRST_PAGE[paper]


def _gives(line: Line, one: Treating) -> bool:
    return bool(line.task.product) and (line.task.method, line.task.step) in one.steps


def with_giving(blocks: Iterable[Block], treating: Sequence[Treating]) -> Iterable[Block]:
    """The blocks, each with what is given in it first."""
    left = list(treating)
    for block in blocks:
        here = tuple(one for one in left if any(_gives(line, one) for line in (*block.lines, *block.below)))
        left = [one for one in left if one not in here]
        yield replace(block, giving=here)


def _block(colony: ColonyView | None, lines: Sequence[Line], scale: float, *, more: bool, drawn: bool) -> Block:
    """A block; its boxes are ``drawn`` where traps are handled, and where one hangs in a wrong slot."""
    key, traps = lines[0].task.colony or "", colony.traps if colony and not more else ()
    away = tuple(trap for trap in traps if trap.slot and trap.home and trap.slot != trap.home)
    drawings = tuple(_drawings(colony)) if colony and traps and (away or drawn) else ()
    beside = bool(drawings) or any(line.lid for line in lines)
    room = ROOM_DRAWN if beside else 0 if scale > 1 or any(_needs_all(line) for line in lines) else ROOM
    laid = [_laid(line, LINE_WIDE / scale - room) for line in lines]
    wide, high = LINE_WIDE / scale, _high(lines, len(drawings))
    first = _ends_beside(lines, wide - room, wide, high) if beside else len(lines)
    return Block(
        key=key,
        name=colony.name if colony and colony.name != key else "",
        colony=colony,
        lines=tuple(laid[:first]),
        below=tuple(_laid(line, LINE_WIDE / scale) for line in lines[first:]),
        more=more,
        boxes=_boxes(colony) if colony else (),
        drawings=drawings,
        astray=tuple(trap for trap in away if not _said(trap, lines)),
        cautions=(),
        room=round(room * scale * DRAWN_LARGER) if scale > 1 else room,
    )


def _high(lines: Sequence[Line], drawings: int) -> float:
    """How high what stands beside the lines is, mm: drawings, and days to be written on lids."""
    captioned = drawings > 1 or len(lines) > FEW_LINES
    return drawings * (DRAWN_HIGH + CAPTION_HIGH * captioned) + LID_HIGH * sum(line.lid for line in lines)


def _ends_beside(lines: Sequence[Line], narrow: float, wide: float, high: float) -> int:
    """How many of the lines stand beside something that is so ``high``, over ``narrow`` mm: those behind have ``wide``
    mm. As it takes least room, and no line with a day for the lid is behind."""
    beside = [_line_high(_laid(line, narrow), narrow) for line in lines]
    behind = [_line_high(_laid(line, wide), wide) for line in lines]
    ends = [n for n in range(1, len(lines) + 1) if not any(line.lid for line in lines[n:])]
    return min(ends, key=lambda n: (round(max(sum(beside[:n]), high) + sum(behind[n:]), 1), n))


def _line_high(line: Line, wide: float) -> float:
    """How high a line is, mm, as it is laid out over ``wide`` mm."""
    head = BLANK_HIGH if line.filled else TICK_HIGH
    notes = 0 if line.noted or line.joined else ceil(LETTER * len(" ".join(line.notes)) / wide)
    circled = ceil((_circle(line) - CIRCLE_GAP) / (wide + TICK_WIDE)) if line.task.circle else 0
    blanks = 0 if line.filled else ceil(_blanks(line) / wide)
    return head + notes * NOTE_HIGH + circled * CIRCLE_HIGH + blanks * BLANK_HIGH


def _needs_all(line: Line) -> bool:
    """Whether a line is better off without a column beside it: it has many blanks, or all would fit in one row."""
    fits = LINE_WIDE - ROOM < max(_head(line) + _blanks(line), _circle(line) - TICK_WIDE) <= LINE_WIDE
    return fits or len(line.task.blanks) >= MANY_BLANKS


def _laid(line: Line, wide: float) -> Line:
    """A line with what stands in its own row, of ``wide`` mm."""
    head, notes, blanks = _head(line), LETTER * len(" ".join(line.notes)), _blanks(line)
    filled = bool(blanks) and head + blanks <= wide
    noted = head + notes + (blanks if filled else 0) <= wide + SLACK
    return replace(
        line,
        noted=noted,
        joined=bool(notes and blanks) and not (noted or filled) and notes + blanks <= wide,
        filled=filled,
        circled=_circle(line) <= wide,
    )


def _head(line: Line) -> float:
    """How wide a line's words and its last good day are, mm."""
    return BOLD_LETTER * len(f"{line.trap} {line.words}".strip()) + (BY_WIDE if line.by is not None else 0)


def _blanks(line: Line) -> float:
    """How wide what has to be written is, and what may be besides, mm; behind words to be circled it stands there."""
    labels = (*line.task.blanks, *(() if line.task.circle else line.task.beside))
    return sum(LETTER * len(label) + BLANK_WIDE for label in labels)


def _circle(line: Line) -> float:
    """How wide words to be circled are, with what may be written behind them, mm."""
    words = sum(CAPITAL * len(word) + CIRCLE_GAP for word in line.task.circle)
    return words + sum(LETTER * len(label) + BLANK_WIDE for label in line.task.beside if line.task.circle)


def _said(trap: TrapView, lines: Sequence[Line]) -> bool:
    """True where one of the trap's own tasks already says where it belongs."""
    texts = (text for line in lines if line.task.trap == trap.name for text in (line.task.do, *line.task.notes))
    return any(f"slot {trap.home}" in text for text in texts)


def _boxes(colony: ColonyView) -> tuple[str, ...]:
    """The hive in words, from the stand up: "2 deep", "1 super"."""
    kinds = [box.kind for box in colony.boxes]
    words = [f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds)]
    return tuple(words + ([counted(colony.supers, "super")] if colony.supers else []))


def _drawings(colony: ColonyView) -> Iterable[tuple[str, Markup]]:
    """Each box with a trap frame: which one it is, where there are several, and its drawing."""
    for box in sorted({trap.box for trap in colony.traps}):
        inside = 0 < box <= len(colony.boxes)
        caption = f"box {box} from below" if inside and len(colony.boxes) > 1 else ""
        frames = colony.boxes[box - 1].frames if inside else 1
        yield caption, hive_box(frames, [trap for trap in colony.traps if trap.box == box])
