"""What the screen says of a club: a line a keeper that was made, and one for all at the end.

In: what was made. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.values.words import counted, joined


def roster_words(head: str, lines: Sequence[str]) -> Iterator[str]:
    """A keeper that was made, and where their own file differs from the list, also of one that stood."""
    if head:
        yield head
    for line in lines:
        yield f"  {line}"


def roster_end(made: Sequence[tuple[bool, bool]], rows: int, others: Sequence[str]) -> str:
    """The last line. ``made``: of each keeper, whether anything was made, and whether it could not be."""
    fresh, failed = sum(one for one, _ in made), sum(one for _, one in made)
    words = [f"{counted(fresh, 'keeper')} made", f"{len(made) - fresh - failed} unchanged"]
    if rows:
        words.append(f"{counted(rows, 'row')} of the list to put right")
    if failed:
        words.append(f"{counted(failed, 'keeper')} whose own files are to be put right")
    left = f" Columns left alone: {joined(others)}." if others else ""
    return f"{', '.join(words)}.{left}"
