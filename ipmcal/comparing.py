"""What ``ipmcal compare`` does: plans a yard by several programs, and lays them side by side.

In: an outfit as loaded, programs by name. Out: lines to print, or data; a page and its PDF where a folder is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ipmcal.loading import Progress, check_seasons
from ipmcal.model.plan.compared import ProgramYear
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import joined
from ipmcal.planning.programs import by_programs
from ipmcal.publishing.compared import compared_json, publish_compared
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.yards.yards import Loaded
from ipmcal.saying.compared import compared_lines

FEWEST_PROGRAMS, MOST_PROGRAMS = 2, 4


@dataclass(frozen=True)
class ComparingOrder:
    """What to lay side by side, as on the morning of ``day``. ``out``: the folder for a page (None: none is made)."""

    day: int
    season: int | None
    programs: tuple[str, ...]
    data: bool
    out: Path | None


@dataclass(frozen=True)
class Compared:
    """Lines to print, and why there is no PDF ("" where there is, or none was asked for)."""

    lines: tuple[str, ...]
    no_pdf: str


def side_by_side(loaded: Loaded, order: ComparingOrder, progress: Progress) -> Compared:
    """Each yard by each program. Raises BadInput for a program that there is not, or too few; OSError."""
    _check(loaded, order.programs)
    check_seasons([loaded], order.day, order.season)
    with progress(f"planning {loaded.outfit.name}") as tell:
        tell(len(loaded.outfit.yards) * len(order.programs))
        years = list(by_programs(loaded.outfit, loaded.book, order.day, order.season, order.programs))
    groups = [[one for one in years if one.yard == yard.key] for yard in loaded.outfit.yards]
    lines = [compared_json(groups).rstrip("\n")] if order.data else list(_lines(groups))
    if order.out is None:
        return Compared(tuple(lines), "")
    paper = loaded.outfit.yards[0].paper
    written, no_pdf = publish_compared(groups, order.day, paper, order.out / loaded.outfit.id)
    if not order.data:
        lines.append(f"{joined(written)} in {order.out / loaded.outfit.id}.")
    return Compared(tuple(lines), no_pdf)


def _lines(groups: Sequence[Sequence[ProgramYear]]) -> Iterator[str]:
    for n, group in enumerate(groups):
        yield from [""] if n else []
        yield from compared_lines(group)


def _check(loaded: Loaded, programs: Sequence[str]) -> None:
    known = sorted(loaded.book.programs)
    for name in programs:
        if name not in known:
            _complain(f"there is no program {quoted(name)}; there are: {', '.join(known)}")
    if not FEWEST_PROGRAMS <= len(set(programs)) == len(programs) <= MOST_PROGRAMS:
        number = f"{FEWEST_PROGRAMS} to {MOST_PROGRAMS}"
        _complain(f"needs {number} programs, each once: --program full --program few_drives")


def _complain(what: str) -> None:
    raise BadInput([Complaint("--program", 0, 0, what)])
