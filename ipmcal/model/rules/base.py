"""A year of courses: what a region's advisers do against mites without a count (its base), and how more is chosen.

The base stands in a region's file: windows of days, and how a year begins. By what figures a year's courses are chosen
stands in ``planning.yaml``: walls before any cost, what is enough, what stands beside it.

In: mappings of ``Text`` from the reader. Out: frozen values. Whether windows run forward, and whether there are as many
rounds as months with brood ask for, is checked in ``reading/rules/basecheck.py``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from ipmcal.model.rules.thresholds import Between
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import Bounds, Cites, Closed, Identifier, Identifiers, Proses
from ipmcal.model.values.labelforms import Days, Percent, Plain, Times, WarmthField, word

RoundName = Literal["spring", "summer", "late_summer", "early_autumn", "autumn", "winter"]
"""A round by its time of year; that of ``early_autumn`` is late summer's once more, that of ``autumn`` the law's."""


class Round(Closed):
    """One round: a ``course`` of a product, or a ``dose`` of acid for the mites on bees while there is least brood.

    ``either``: whichever, where law asks for a treatment in its days and does not say which.

    It begins from ``opens`` to ``closes``, where label and weather leave a choice by ``by``, the published day;
    ``acted``: the day by which it has worked, so that what works slowly begins sooner. ``out``: the last day on which
    anything of it is in the hive. ``notes`` are printed beside it, ``class_notes`` beside a course of that class.
    """

    cite: Cites = ()
    gives: Annotated[Cited[str], *word("course", "dose", "either")]
    opens: Bounds
    by: Bounds | None = None
    acted: Bounds | None = None
    closes: Bounds
    out: Bounds | None = None
    notes: Proses = ()
    class_notes: dict[Identifier, Proses] = Field(default_factory=dict)


class BaseStarts(Closed):
    """Mites of a colony that nobody counted, at the year's beginning.

    ``dosed``: after a dose in the last least-brood weeks; ``undosed``: there was none; ``unknown``: nobody knows.
    """

    cite: Cites = ()
    dosed: Plain | None = None
    unknown: Plain | None = None
    undosed: Plain | None = None


class BaseCounts(Closed):
    """How a region's advisers or its law have mites counted, where that is more than everywhere.

    ``apart``: days between two counts from ``opens`` to ``closes`` (of the season of brood, where these are not said);
    ``all_year``: between any two, winter too. ``first``: one between these days. ``after_dose``: the fall counted so
    long after the dose of the least brood.
    """

    cite: Cites = ()
    apart: Days | None = None
    opens: Bounds | None = None
    closes: Bounds | None = None
    all_year: Days | None = None
    first: Between | None = None
    after_dose: Days | None = None


class Base(Closed):
    """The base year: its ``rounds``; ``brood_months`` with brood in numbers; ``damp_autumns``; ``starts`` if published.

    ``a_year``: courses a year at least, by its advisers. ``counts``: what is asked of counts there. ``before_flow``:
    nothing before the main flow where no count asks for it. Every region has a ``late_summer`` round, begun by the mark
    ``summer_treatment_by``, and a ``winter`` one.
    """

    cite: Cites = ()
    brood_months: Plain
    a_year: Plain | None = None
    damp_autumns: Annotated[Cited[str], *word("no", "yes")]
    rounds: dict[RoundName, Round]
    starts: BaseStarts | None = None
    counts: BaseCounts | None = None
    before_flow: Annotated[Cited[str] | None, *word("counted")] = None


class RoundsFor(Closed):
    """So many ``rounds`` a year at least, from so many ``months`` with brood on."""

    cite: Cites = ()
    months: Times
    rounds: Times


# How a year's courses are chosen --------------------------------------------------------------------------------------


class Floor(Closed):
    """Classes of products that no course is begun with outside of ``warmth``, by usual highs, weeks ahead.

    ``before_flow`` holds until the main flow has ended, ``after_flow`` from then on; ``most`` all year. In the rounds
    of a region's base year, whose days are its advisers', ``published`` and ``most_published`` hold in their place.
    """

    cite: Cites = ()
    classes: Identifiers
    before_flow: WarmthField | None = None
    after_flow: WarmthField | None = None
    most: WarmthField | None = None
    published: WarmthField | None = None
    most_published: WarmthField | None = None


class LittleBrood(Closed):
    """Classes of products that spare cells and are soon spent: so long after winter bees begin, until drones are."""

    cite: Cites = ()
    classes: Identifiers
    after: Days


class Walls(Closed):
    """What no course of a year may break, whatever it kills. ``synthetic`` classes rest so long between beginnings.

    ``never``: classes that are planned only where a keeper asks for them by name. ``a_season``: courses of a class in a
    season. ``acids``: so many courses of these in a row at most without a count. ``once_a_winter``: products with this
    caution are given once to a generation of winter bees. ``little_brood``: what is given to little brood, if once.
    ``between``: days from the end of a course to the next as they are chosen; ``between_packed``: at least, as packed.
    ``acted``: what lies longer has worked by then, where advisers say by when it has. ``autumn_flow_until``: supers
    come off for a course before an autumn flow where none fits with supers on by so long after winter bees begin;
    ``no_loss``: so few days before they usually come off are no harvest given up.
    """

    cite: Cites = ()
    synthetic: Identifiers
    synthetic_rest: Days
    never: Identifiers
    a_season: dict[str, Plain]
    acids: Identifiers
    in_a_row: Plain
    once_a_winter: Identifier
    between: Days
    between_packed: Days
    floors: tuple[Floor, ...]
    little_brood: LittleBrood
    acted: Days
    winter_dose_at: WarmthField
    autumn_flow_until: Days
    no_loss: Days


class EnoughRule(Closed):
    """When a year's courses are enough: at most so many of the hives over the authority's line, as a wash would read.

    In the settled year, which begins with at most ``settled_most`` mites, on the worst day ``judged`` after winter bees
    begin. ``judged_each``: a day in so many is looked at; where brood hardly stops, all year, but for days less than
    ``excused`` before a course, on which a count over the line would lead to no other. ``further``: at most so many
    courses beside the base, and where there is hardly a pause in the brood. ``tries``: so many sets are put to the full
    model before one more course is taken. ``error``: so much more is let pass there, as its draws are few.
    ``winter_brood``: so much of the first year's brood of winter bees may have a mite, in the median draw.
    ``first_year``: from so many of the hives over the line in the first year on, the page says first that it fails.
    """

    cite: Cites = ()
    over: Percent
    settled_most: Plain
    judged: Days
    judged_each: Days
    excused: Days
    further: Plain
    further_little_pause: Plain
    tries: Plain
    error: Percent
    winter_brood: Percent
    first_year: Percent


class CountRhythm(Closed):
    """On which days mites are counted: from usual highs of ``warm`` on until there is least brood, ``apart`` at most.

    ``late``: closer together from ``late_from`` before winter bees begin; ``few``: before that, where drives are few;
    none sooner than ``anew`` after another. A count ``before`` each course begins decides on it, one ``after`` its end
    tells what it did; one ``lying`` after the beginning tells of what lies longer. Where it is too cold to lift combs,
    a ``board`` is read after so many days. A colony that began this season is counted from so many days, ``young``, on.
    ``spring``: the first count, so long after the first pollen; ``autumn``: the last, so long before there is least
    brood.
    """

    cite: Cites = ()
    warm: WarmthField
    apart: Days
    late: Days
    late_from: Days
    few: Days
    anew: Days
    before: Days
    after: Days
    lying: Days
    board: Days
    young: Days
    spring: Days
    autumn: Days


class LedRounds(Closed):
    """Rounds given only where a count says so: for no fewer mites than ``at_least``, a share of the bees in a wash, and
    only where they bring ``worth`` of the hives below the line; ``harvest``, where they take a flow.
    """

    cite: Cites = ()
    at_least: Percent
    worth: Percent
    harvest: Percent


class Offered(Closed):
    """What stands beside a plan. A count over the line is answered ``at_once``, by what begins within so many days.

    ``near``: a second choice begins no later than so long after its course. ``spread``: so far above a label's lowest
    warmth on all days the usual warmth has to lie. ``answered``: a caging answers a count where its acid follows so
    soon. ``caged_apart``: from a release to the next caging. ``excuses``: no older count excuses a dose of winter;
    ``dose_ahead``: so soon before it, it is what is left. ``clearly``: so many times the last count's mites are more,
    where no authority has a line. ``caging``: what one has to spare of the hives, to be taken. ``alone``: days between
    two counts where nothing else is done. ``weak``: what kills less than that with brood is not named as what would
    help. ``yourself``: cautions for whoever handles a product.
    """

    cite: Cites = ()
    at_once: Days
    near: Days
    spread: WarmthField
    answered: Days
    caged_apart: Days
    excuses: Days
    clearly: Plain
    dose_ahead: Days
    weak: Percent
    caging: Percent
    alone: Days
    yourself: Identifiers


class YearPlans(Closed):
    """All figures of the choice of a year's courses.

    ``band``: harms so near the least are equal, and the keeper's order decides; ``same_harm``: of days so near the best
    harvest kept and late summer's the earlier. ``queen_costs``: laying lost with a queen.
    """

    cite: Cites = ()
    walls: Walls
    enough: EnoughRule
    counts: CountRhythm
    led: LedRounds
    offered: Offered
    band: Percent
    same_harm: Percent
    queen_costs: Days
