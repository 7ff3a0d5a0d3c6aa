"""What a treatment's file may say: the substance, and for each jurisdiction what the label there allows.

In: mappings of ``Text`` from the reader. Out: frozen values. Labels that are ``like`` another are filled in, and
checked beyond one file, in ``reading/rules/treatmentcheck.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field

from ipmcal.model.rules.effects import Common, Efficacy
from ipmcal.model.rules.methods import Step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import (
    ONE_OR_MANY,
    AnyAmount,
    Cites,
    Closed,
    Identifier,
    Identifiers,
    Prose,
    Proses,
    RuleFile,
    YesNo,
)
from ipmcal.model.values.labelforms import (
    MAPPING_OR_MANY,
    BeeFrames,
    CourseDays,
    Days,
    EachFrames,
    Grams,
    Litres,
    ManyWords,
    Millimetres,
    Plain,
    Said,
    Times,
    Wait,
    WarmthField,
    short,
    word,
)

# Limits --------------------------------------------------------------------------------------------------------------


class Limit(Closed):
    """What each limit may say: its own source, that it only warns (``advice``), and what it is for."""

    cite: Cites = ()
    advice: YesNo = False
    why: Prose | None = None


class TemperatureLimit(Limit):
    """Warmth on some days of the course: the daily ``high``, ``low`` or ``mean`` has to lie in the range, °C."""

    high: WarmthField | None = None
    low: WarmthField | None = None
    mean: WarmthField | None = None
    days: CourseDays


class SupersLimit(Limit):
    """Honey supers: ``on`` (they may stay) or ``off`` during the course; from the last day on, so many days without.

    ``after`` counts to the day on which supers may come back, ``harvest`` to the first day on which honey may be taken,
    ``comb_honey: no`` forbids comb honey from hives once treated. All from the last day of the course.
    """

    during: Annotated[Cited[str], *word("on", "off")]
    after: Wait | None = None
    harvest: Wait | None = None
    comb_honey: Annotated[Cited[str], *word("no", "yes")] | None = None


class BroodLimit(Limit):
    """Brood at the application: ``any``, ``none`` (nothing capped) or ``some``; ``best`` is when it works best."""

    state: Annotated[Cited[str], *word("any", "none", "some")]
    best: Annotated[Cited[str], *word("none", "least", "any")] | None = None


class StrengthLimit(Limit):
    """Frames covered with bees, which are never fewer than frames of brood."""

    value: BeeFrames


class ChambersLimit(Limit):
    """Brood chambers of the hive that the label was tried in."""

    value: Plain


class WordLimit(Limit):
    """What a colony, its queen or the flow has to be, or must not be."""

    is_: ManyWords = Field(default=(), alias="is")
    not_: ManyWords = Field(default=(), alias="not")


class EntranceLimit(Limit):
    """The entrance during the course: ``full`` width or ``any``, and its height in mm."""

    width: Annotated[Cited[str], *word("full", "any")]
    height: Millimetres | None = None


class FloorLimit(Limit):
    """A mesh floor during the course."""

    value: Annotated[Cited[str], *word("closed", "open", "any")]


class RestLimit(Limit):
    """Days from the last day of a course to the first of the next with the same treatment."""

    value: Wait


class CourseLimit(Limit):
    """How many courses a year, and how many days a course lasts, first application to last day."""

    a_year: Times | None = None
    days: Days | None = None


class WinterLimit(Limit):
    """How many courses over one generation of winter bees, of all products whose label has this limit together."""

    value: Times


class ClassLimit(Limit):
    """When the same class may be used again: ``any`` time, ``other_first``, or ``year_between``."""

    again: Annotated[Cited[str], *word("any", "other_first", "year_between")]


class TogetherLimit(Limit):
    """Whether another treatment may be in the hive at the same time."""

    value: Annotated[Cited[str], *word("no", "yes")]


class QuietLimit(Limit):
    """Days on which nobody opens the hive: so many ``before`` an application, and ``after`` it."""

    before: Wait | None = None
    after: Wait | None = None


class FeedingLimit(Limit):
    """Whether bees may be fed ``during`` the course; if not, the last food is given so many days ``before``."""

    during: Annotated[Cited[str], *word("no", "yes")]
    before: Wait | None = None


class Limits(Closed):
    """The limits of a label, each by its word; each forbids or, with ``advice: yes``, warns."""

    cite: Cites = ()
    temperature: Annotated[tuple[TemperatureLimit, ...], MAPPING_OR_MANY] = ()
    supers: SupersLimit | None = None
    brood: BroodLimit | None = None
    strength: Annotated[StrengthLimit, short("value", "6.. bee_frames @practice")] | None = None
    chambers: Annotated[ChambersLimit, short("value", "..1 @practice")] | None = None
    kind: WordLimit | None = None
    flow: WordLimit | None = None
    queen: WordLimit | None = None
    entrance: EntranceLimit | None = None
    floor: Annotated[FloorLimit, short("value", "closed @practice")] | None = None
    rest: Annotated[RestLimit, short("value", "30 d @practice")] | None = None
    course: CourseLimit | None = None
    winter: Annotated[WinterLimit, short("value", "1 @practice")] | None = None
    class_: ClassLimit | None = Field(default=None, alias="class")
    together: Annotated[TogetherLimit, short("value", "no @practice")] | None = None
    quiet: QuietLimit | None = None
    feeding: FeedingLimit | None = None


# Labels --------------------------------------------------------------------------------------------------------------

PER = ("colony", "chamber", "seam", "bee_frames", "thousand_bees")


class Dose(Closed):
    """The amount of one application: so much ``per`` colony, brood chamber, seam of bees, or ``each`` 5 frames of bees.

    A part of ``each`` counts whole. ``nucleus`` is the amount for a nucleus; ``most`` the cap a colony; ``holds`` the
    active substance in one unit of the product. ``packs``: what packs of another printing say instead of ``amount``:
    then only the pack in the hand tells.
    """

    cite: Cites = ()
    amount: AnyAmount
    per: Annotated[Cited[str], *word(*PER)]
    each: EachFrames | None = None
    nucleus: AnyAmount | None = None
    most: AnyAmount | None = None
    packs: Annotated[tuple[AnyAmount, ...], ONE_OR_MANY] = ()
    holds: AnyAmount | None = None
    note: Prose | None = None


class Recipe(Closed):
    """A batch: what it ``makes``, and the ``parts`` that go in, by mass."""

    cite: Cites = ()
    makes: Litres
    parts: dict[Identifier, Grams]
    note: Prose | None = None

    def per_litre(self, part: str) -> float:
        """Grams of a part in a litre of the batch. Raises KeyError for a part that it does not hold."""
        return self.parts[part].value.middle / self.makes.value.middle


class CourseStep(Step):
    """A step of a course. ``swaps``: what was put in before comes out at this step too."""

    swaps: YesNo = False


class Label(Closed):
    """What the label of one jurisdiction says. ``like``: as another's, but for the keys that it says itself.

    ``needs``: whether a prescription or an applicator's licence is asked for; ``unknown``: read it off the label.
    ``efficacy``: of the course that this label describes, where trials of it differ from the substance's own.
    """

    like: Identifier | None = None
    cite: Cites = ()
    registration: Said | None = None
    needs: Annotated[Cited[str], *word("none", "prescription", "licence", "unknown")] | None = None
    dose: Dose | None = None
    recipe: Recipe | None = None
    limits: Limits = Field(default_factory=Limits)
    withdrawal: Wait | None = None
    cautions: Identifiers = ()
    notes: Proses = ()
    steps: dict[Identifier, CourseStep] = Field(default_factory=dict)
    efficacy: Efficacy | None = None


class Treatment(RuleFile):
    """An active substance in one formulation, and its label in each jurisdiction that has one.

    ``without``: jurisdictions in which it has none, though one around them has; with the reason, and its source.
    ``pack``: what it is sold as, where another treatment is the same pack used in another way: they share their rest.
    ``lies``: where it is in the hive. What lies ``on_bars`` has to be lifted before a comb of the nest can be.
    """

    title: Prose
    active: Prose
    formulation: Prose
    class_: Identifier = Field(alias="class")
    pack: Identifier | None = None
    lies: Annotated[Cited[str], *word("on_bars", "between_combs", "entrance")] | None = None
    note: Prose | None = None
    cautions: Identifiers = ()
    common: Common
    without: dict[Identifier, Said] = Field(default_factory=dict)
    labels: dict[Identifier, Label]


# Asking ---------------------------------------------------------------------------------------------------------------


_LIMITS = tuple((name, info.alias or name) for name, info in Limits.model_fields.items() if name != "cite")


def limits_of(label: Label) -> Iterator[tuple[str, Any]]:
    """The limits that a label sets, each with its word as written; one of several temperatures at a time."""
    for name, key in _LIMITS:
        value = getattr(label.limits, name)
        if value:
            yield from ((key, one) for one in (value if isinstance(value, tuple) else (value,)))
