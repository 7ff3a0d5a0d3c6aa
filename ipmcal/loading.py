"""What every command begins with: rules, outfits, and plans of them.

In: paths, a day. Out: outfits as loaded, plans. Files are read below ``reading/``; complaints come all at once.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from ipmcal.data import folder, program_digest, rules_digest
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import TooFar
from ipmcal.planning.plan import Scope, make_plan, season_of
from ipmcal.planning.yearly.remembered import KeptYears
from ipmcal.publishing.disk.kept import keep_value, place_digest, read_value
from ipmcal.publishing.memory.assumed import with_assumed
from ipmcal.publishing.memory.ledger import Ledger, read_ledger
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.files import exists, is_folder, listed
from ipmcal.reading.yards.yards import Loaded, load

Progress = Callable[[str], AbstractContextManager[Callable[[int], None]]]
"""Says what is being done, as long as the context lasts, and how many there are to do."""


def shipped_rules() -> Rulebook:
    """The rules that travel with the program, as they were read the last time. Raises BadInput."""
    return _read_before(folder("rules"))


@lru_cache(maxsize=1)
def _read_before(root: Path) -> Rulebook:
    with _no_collecting():
        book = read_value("rules", rules_digest(), Rulebook)
        if book is None:
            book = load_rulebook(root)
            keep_value("rules", rules_digest(), book)
        return book


def outfits_in(path: Path) -> list[Path]:
    """A folder of outfits as its outfits and lone yard files; anything else as it is. Raises BadInput."""
    shown = path.name or str(path)
    if not is_folder(path, shown) or exists(path / "outfit.yaml", shown):
        return [path]
    inside = [p for p in listed(path, shown) if p.suffix == ".yaml" or exists(p / "outfit.yaml", shown)]
    return inside or [path]


def load_all(paths: Sequence[Path]) -> list[Loaded]:
    """Every path as an outfit. Raises BadInput with every complaint about any of them."""
    book = shipped_rules()
    loaded: list[Loaded] = []
    complaints: list[Complaint] = []
    for path in paths:
        try:
            loaded.append(load(path, folder("rules"), book))
        except BadInput as bad:
            complaints.extend(bad.complaints)
    ids = [one.outfit.id for one in loaded]
    complaints.extend(
        Complaint(path.name, 0, 0, f"the outfit id '{i}' is used twice in this run; give each its own")
        for path, i in zip(paths, ids, strict=False)
        if ids.count(i) > 1
    )
    if complaints:
        raise BadInput(complaints)
    return loaded


def with_past(loaded: Sequence[Loaded], day: int) -> list[Loaded]:
    """The outfits with what was printed for days before ``day`` and not heard of since. Raises LedgerError, OSError."""
    return [remembering(one, read_ledger(one.ledger, one.outfit.id), day) for one in loaded]


def remembering(one: Loaded, ledger: Ledger, day: int) -> Loaded:
    """An outfit with what its ledger remembers of the time before ``day``."""
    return replace(one, outfit=with_assumed(one.outfit, ledger, one.book, day))


def check_seasons(loaded: Sequence[Loaded], day: int, season: int | None) -> None:
    """Whether each yard's region has a season for it. Raises BadInput with every yard that lies too far away."""
    complaints: list[Complaint] = []
    for one in loaded:
        for yard in one.outfit.yards:
            try:
                season_of(yard, one.book, day, season)
            except TooFar as error:
                complaints.append(Complaint.at(yard.place, str(error)))
    if complaints:
        raise BadInput(complaints)


def plans_of(loaded: Sequence[Loaded], day: int, season: int | None, progress: Progress) -> list[Plan]:
    """A plan of each outfit, as on the morning of ``day``. Raises BadInput before the first is made."""
    check_seasons(loaded, day, season)
    plans = []
    for one in loaded:
        with progress(f"planning {one.outfit.name}") as tell, _no_collecting():
            tell(len(one.outfit.yards))
            plans.append(_plan(one, day, season))
    return plans


def _plan(one: Loaded, day: int, season: int | None) -> Plan:
    """A plan with what earlier runs worked out for the same outfit; what this one asked for is kept for the next."""
    name, stamp = f"years-{place_digest(one.ledger)}", program_digest()
    known = None if one.book.local else read_value(name, stamp, dict)
    kept = KeptYears(known or {}, keeps=not one.book.local)
    plan = make_plan(one.outfit, one.book, day, season, scope=Scope(explain=True, kept=kept))
    if kept.grew:
        keep_value(name, stamp, kept.used)
    return plan


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Rules and plans are many small values that live to the end: looking for garbage among them only costs time."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
