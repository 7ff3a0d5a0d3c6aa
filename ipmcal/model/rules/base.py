"""A region's base year: what its advisers do against mites without a count, in windows of days, and how a year begins.

In: mappings of ``Text`` from the reader. Out: frozen values. Whether windows run forward, and whether there are as many
rounds as months with brood ask for, is checked in ``reading/rules/basecheck.py``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import Bounds, Cites, Closed, Proses
from ipmcal.model.values.labelforms import Plain, word

RoundName = Literal["spring", "summer", "late_summer", "autumn", "winter"]
"""A round by its time of year."""


class Round(Closed):
    """One round: a ``course`` of a product, or a ``dose`` of acid for the mites on bees while there is least brood.

    It begins from ``opens`` to ``closes``, where label and weather leave a choice by ``by``, the published day;
    ``out``: the last day on which anything of it is in the hive.
    """

    cite: Cites = ()
    gives: Annotated[Cited[str], *word("course", "dose")]
    opens: Bounds
    by: Bounds | None = None
    closes: Bounds
    out: Bounds | None = None
    notes: Proses = ()


class Starts(Closed):
    """Mites of a colony that nobody counted, at the year's beginning.

    ``dosed``: after a dose in the last least-brood weeks; ``undosed``: there was none; ``unknown``: nobody knows.
    """

    cite: Cites = ()
    dosed: Plain | None = None
    unknown: Plain | None = None
    undosed: Plain | None = None


class Base(Closed):
    """The base year: its ``rounds``; ``brood_months`` with brood in numbers; ``damp_autumns``; ``starts`` if published.

    Every region has a ``late_summer`` round, begun by the mark ``summer_treatment_by``, and a ``winter`` one.
    """

    cite: Cites = ()
    brood_months: Plain
    damp_autumns: Annotated[Cited[str], *word("no", "yes")]
    rounds: dict[RoundName, Round]
    starts: Starts | None = None


class RoundsFor(Closed):
    """So many ``rounds`` a year at least, from so many ``months`` with brood on."""

    cite: Cites = ()
    months: Plain
    rounds: Plain
