"""What a treatment does: to mites on bees and in cells, over which days, and what the cure costs the colony.

In: mappings of ``Text`` from the reader. Out: frozen values. Whether they fit together is checked in
``reading/rules/effectcheck.py``. Every treatment says both: nothing that is given kills nothing, and nothing is free.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import Cites, Closed, Number
from ipmcal.model.values.forms import Amount
from ipmcal.model.values.labelforms import CourseDays, Days, Percent, Warmth, word


class Kills(Closed):
    """Where it kills: mites on bees, mites in capped cells."""

    on_bees: Annotated[Cited[str], *word("yes", "no")]
    in_cells: Annotated[Cited[str], *word("yes", "no")]


class Efficacy(Closed):
    """The share of mites that a whole course kills, %, and the days on which it does.

    Of all mites of the colony: ``any``, or ``broodless`` (nothing capped) and ``with_brood``; ``damp`` stands in their
    place where a region has ``damp_autumns``. Of the mites that it meets: ``on_bees``, and ``in_cells`` where it gets
    there. ``acts``: days after an application (``0 d``: that day only), or ``all`` days in the hive; ``shape``: the
    share of the logarithm of what survives that falls on each of these days, %; without it, each day the same.
    """

    cite: Cites = ()
    any_: Percent | None = Field(default=None, alias="any")
    broodless: Percent | None = None
    with_brood: Percent | None = None
    damp: Percent | None = None
    on_bees: Percent | None = None
    in_cells: Percent | None = None
    acts: CourseDays
    shape: tuple[Number, ...] = ()

    def shares(self) -> tuple[Cited[Amount], ...]:
        """All shares that are said, as they stand."""
        said = (self.any_, self.broodless, self.with_brood, self.damp, self.on_bees, self.in_cells)
        return tuple(one for one in said if one is not None)


class Costs(Closed):
    """What a course costs: ``bees``, ``queens`` lost, %; days of ``brood`` lost; ``laying`` lost while it lies, %."""

    cite: Cites = ()
    bees: Percent | None = None
    brood: Days | None = None
    queens: Percent | None = None
    laying: Percent | None = None

    def said(self) -> tuple[Cited[Amount], ...]:
        """All costs that are said, as they stand."""
        return tuple(one for one in (self.bees, self.brood, self.queens, self.laying) if one is not None)


class HotCosts(Costs):
    """What takes the place of the costs above where the usual ``high`` lies in its range, °C."""

    high: Warmth


class Toll(Costs):
    """The cost of the cure, and what it is in heat (``hot``) where that differs."""

    hot: HotCosts | None = None


class Common(Closed):
    """Facts of the substance, the same everywhere, but for a label that tells of another efficacy."""

    cite: Cites = ()
    kills: Kills
    efficacy: Efficacy
    toll: Toll
