"""What ``ipmcal check`` does: reads rules, yard files and journals, and says what comes of them; writes nothing.

In: paths, a day. Out: lines to print, and whether there are conflicts among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from ipmcal.data import folder
from ipmcal.loading import Progress, load_all, plans_of, shipped_rules, with_past
from ipmcal.model.values.words import counted
from ipmcal.reading.rules.rulebook import holds_rules, load_rulebook
from ipmcal.saying.telling import finding_lines, size_words


def check_paths(paths: Sequence[Path], day: int, season: int | None, progress: Progress) -> Iterator[tuple[str, bool]]:
    """Each line, and whether it is one of an outfit with conflicts. Raises BadInput, LedgerError, OSError."""
    for path in (p for p in paths if holds_rules(p)):
        for line in _rule_lines(path):
            yield line, False
    loaded = with_past(load_all([p for p in paths if not holds_rules(p)]), day)
    for made in plans_of(loaded, day, season, progress):
        for line in (f"{made.outfit_name}: {size_words(made)}. No complaints.", *finding_lines(made)):
            yield line, bool(made.conflicts)


def _rule_lines(path: Path) -> Iterator[str]:
    """A folder of rules laid over the shipped ones: what it holds, once it is without complaint."""
    shipped = shipped_rules()
    book = load_rulebook(folder("rules"), path)
    yield f"{path.name}: {counted(len(book.local), 'rule file')}. No complaints."
    for key in sorted(book.local):
        yield f"  {key}: {'replaces the shipped one, whole' if key in shipped.files else 'new'}"
