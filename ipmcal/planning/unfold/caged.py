"""Caged: a caging on the days of the year's break, whose dose is given as the queen is let out; no other is begun.

In: a yard's ground, what its methods owe, the cagings of its year. Out: the same, on these days, or why not. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.methods import Method
from ipmcal.model.values.cited import Citation
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Bound
from ipmcal.model.values.text import Text
from ipmcal.planning.days.chain import pruned
from ipmcal.planning.owed.caging import YearCagings, is_caging, release_of
from ipmcal.planning.owed.errand import NOTHING, Errand, subject
from ipmcal.planning.owed.ground import Ground

_O = TypeVar("_O")


def on_days_of_break(ground: Ground, owed: _O, cagings: YearCagings | None) -> Iterator[_O | Errand | Refusal]:
    """What a method owes; of a caging that is not begun, on the days of the year's break, or why there is none."""
    if cagings is None or not isinstance(owed, Errand) or not _is_to_begin(ground, owed):
        yield owed
        return
    made = _on_its_days(ground, owed, cagings) if owed.key.partition("/")[0] in cagings.hives else None
    if made is not None:
        yield made
        return
    why = (Because(Code.NO_BREAK_NEEDED),)
    yield Refusal(ground.yard.key, subject(owed), owed.method, owed.frame.method.title, why, ())
    if owed.past:
        yield owed.altered(chain=NOTHING)


def _is_to_begin(ground: Ground, errand: Errand) -> bool:
    method = errand.frame.method
    first = next(iter(method.steps))
    return bool(errand.chain.nodes) and errand.cursor.step == first and is_caging(method, ground.book)


def _on_its_days(ground: Ground, errand: Errand, cagings: YearCagings) -> Errand | None:
    """The caging begun on a day of the break, and ended on the day of its dose; None where that can't be."""
    caged, frame = cagings.caged, errand.frame
    assert caged is not None  # hives are caged for one
    first, release = next(iter(frame.method.steps)), release_of(frame.method, ground.book)
    spread = caged.caged - cagings.first, cagings.last - caged.caged
    empty = ground.book.biology.castes.drone.emerges
    about = {name: (_about(n, empty.cites),) for name, n in (("opens", -spread[0]), ("best", 0), ("closes", spread[1]))}
    out = (_about(caged.released - caged.caged, empty.cites),)  # its day alone: none is held back for rain
    method = _moved(_moved(frame.method, first, about), release, {"opens": out, "best": out})
    frame = ground.frame(f"{frame.name}+dose{spread}", method)
    told = because_words(Because(Code.CAGED_FOR_DOSE, (caged.released,)))
    why = Reason(Rule.ASKED, ASKED, Span.exact(caged.caged), (empty,), note=told)
    cursor = replace(errand.cursor, facts={**errand.cursor.facts, ASKED: Known(caged.caged, why)})
    chain = ground.chain(frame, cursor)
    days = ground.days.ordinals
    kept = chain and pruned(chain, lambda i: chain.steps[i][0] != release or days[chain.nodes[i].at] == caged.released)
    return None if kept is None else errand.altered(frame=frame, cursor=cursor, chain=kept)


def _moved(method: Method, step: str, bounds: Mapping[str, tuple[Bound, ...]]) -> Method:
    """The method, one step within other bounds."""
    steps = {name: rule.model_copy(update=bounds) if name == step else rule for name, rule in method.steps.items()}
    return method.model_copy(update={"steps": steps})


def _about(days: int, cites: tuple[Citation, ...]) -> Bound:
    return Bound(None, ASKED, days, cites, Text(ASKED))
