"""The figures of ``mites.yaml`` checked: both ends, shares of a hundred, orders that the model counts with.

In: what the file says. Out: complaints, each at its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ipmcal.model.rules.mites import MitesFile
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.fields import Closed
from ipmcal.model.values.forms import Amount
from ipmcal.reading.source.complaints import Complaint

MANY = 9999
"""More draws or points than this would never end."""
MAY_BE_NONE = ("least", "drones", "coming_in")
"""Sections whose shares may be 0: a pause without eggs, no drones, nobody near."""
CLOSE = 0.01


def mites_complaints(mites: MitesFile) -> Iterator[Complaint]:
    """Everything in mites.yaml that the projection could not count with."""
    problems = [problem for cited in _values(mites) for problem in _figure(cited)]
    yield from problems
    if not problems:
        yield from _orders(mites)
        yield from _counts(mites)


def _values(section: Closed) -> Iterator[Cited[Any]]:
    for name in type(section).model_fields:
        value = getattr(section, name)
        if isinstance(value, Closed):
            yield from _values(value)
        elif isinstance(value, tuple):
            yield from (one for one in value if isinstance(one, Cited))
        elif isinstance(value, Cited):
            yield value


def _figure(cited: Cited[Any]) -> Iterator[Complaint]:
    """A number or a range with both ends, above 0 (or 0 where that can be), and no share beyond all."""
    value = cited.value
    if isinstance(value, Span):
        if value.low < 1:
            yield Complaint.at(cited.place, f"{cited.key}: '{_words(cited)}' has to be a day or more")
        return
    assert isinstance(value, Amount)
    if value.low is None or value.high is None:
        yield Complaint.at(cited.place, f"{cited.key}: '{value}' is open; write a number or a range with both ends")
    elif value.low < 0 or (value.low == 0 and cited.key.partition(".")[0] not in MAY_BE_NONE):
        yield Complaint.at(cited.place, f"{cited.key}: '{value}' has to lie above zero")
    elif value.unit == "%" and value.high > 100:
        yield Complaint.at(cited.place, f"{cited.key}: '{value}' is more than all; a share is at most 100 %")


def _orders(mites: MitesFile) -> Iterator[Complaint]:
    """Of two figures, the first has to be smaller."""
    coming, bees, harm = mites.coming_in, mites.bees, mites.harm
    yield from _rising(coming.sparse, coming.usual, "mites from few neighbours", "those from some")
    yield from _rising(coming.usual, coming.dense, "mites from some neighbours", "those from many")
    yield from _rising(harm.summer_bee, harm.winter_bee, "a summer bee's life", "a winter bee's")
    yield from _rising(bees.winter_from, bees.winter_all, "the first winter bees", "the day from which all are")
    for name, cited in (("wash_reads", mites.counted.wash_reads), ("widened", mites.counted.widened)):
        if cited.value.middle < 1:
            yield Complaint.at(cited.place, f"counted.{name}: has to be 1 or more")


def _rising(low: Cited[Any], high: Cited[Any], what: str, than: str) -> Iterator[Complaint]:
    smaller, larger = (one.value.usual if isinstance(one.value, Span) else one.value.middle for one in (low, high))
    if smaller >= larger:
        yield Complaint.at(
            high.place, f"{high.key}: {what} ({_words(low)}) can't be as many as {than} ({_words(high)})"
        )


def _words(cited: Cited[Any]) -> str:
    """The value as written, without its source."""
    return cited.text.partition("@")[0].strip()


def _counts(mites: MitesFile) -> Iterator[Complaint]:
    for cited in (mites.draws.choose, mites.draws.accept, mites.counted.grid):
        middle = cited.value.middle
        if middle != round(middle) or not 8 <= middle <= MANY:
            yield Complaint.at(cited.place, f"{cited.key}: has to be a whole number from 8 to {MANY}")
    most = mites.acting.most_a_day
    if most.value.high == 100:
        yield Complaint.at(most.place, f"{most.key}: has to be below 100 %: nothing kills every mite on a day")
    shares = mites.acting.in_cells_by_day
    total = sum(share.value.middle for share in shares)
    if shares and abs(total - 100) > CLOSE:
        yield Complaint.at(shares[0].place, f"acting.in_cells_by_day: come to {total:g} %, and have to be 100 % in all")
