"""The inventory of the rules: what there is, when it was checked, and how sure its numbers are.

In: the rulebook. Out: lines of text for ``ipmcal rules``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ipmcal.model.rules.rulebook import Rulebook, cited_values
from ipmcal.model.values.cited import Basis, Citation

BASES = list(Basis)


def inventory_lines(book: Rulebook, files: bool) -> Iterator[str]:
    """What is shipped, in a screen; with ``files``, each file too."""
    for name, what in (
        ("regions", book.regions),
        ("methods", book.methods),
        ("programs", book.programs),
        ("treatments", book.treatments),
        ("jurisdictions", book.jurisdictions),
        ("files of thresholds", book.thresholds),
        ("skills", book.skills),
    ):
        yield f"{len(what)} {name}: {', '.join(sorted(what))}"
    checked = sorted(one.checked for one in book.files.values())
    yield f"{len(book.files)} files, checked between {checked[0]} and {checked[-1]}; {len(book.sources)} sources"
    counts = basis_counts(book)
    total = sum(counts.values())
    yield f"{total} values by their least sure basis:"
    for basis in BASES:
        yield f"  {basis:<10} {counts[basis]:>5}  {100 * counts[basis] / total:4.1f} %"
    if files:
        for key in sorted(book.files):
            own = Counter(least_sure(v.cites) for v in cited_values(book.files[key]))
            words = ", ".join(f"{own[b]} {b}" for b in BASES if own[b])
            title = getattr(book.files[key], "title", "")
            yield f"{book.files[key].checked} {key}{f': {title}' if title else ''} ({words or 'no values'})"


def basis_counts(book: Rulebook) -> Counter[Basis]:
    """How many values of all rule files rest on which basis, each by its least sure citation."""
    return Counter(least_sure(value.cites) for one in book.files.values() for value in cited_values(one))


def least_sure(cites: tuple[Citation, ...]) -> Basis:
    """The least sure basis among citations."""
    return max((cite.basis for cite in cites), key=BASES.index)
