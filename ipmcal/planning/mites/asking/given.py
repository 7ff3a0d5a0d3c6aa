"""Given: a course that may be chosen, as the model of mites takes it. In: a candidate. Out: ``MiteCourse``. Pure."""

from __future__ import annotations

from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.rules.labels import efficacy_of, label_for
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.living.courses import model_courses
from ipmcal.planning.mites.walls import (
    Candidate,
)


def given_of(asked: YearQuestion, one: Candidate) -> tuple[MiteCourse, ...]:
    """A course as the model takes it."""
    book, answer = asked.book, one.answer
    treatment = book.treatments[answer.product]
    label = label_for(treatment, asked.jurisdiction, book)
    assert label is not None, "labels answer only for products that have one"
    efficacy = efficacy_of(treatment, label)
    luck = luck_of(asked, answer)
    broodless = one.quick or no_brood(asked, one)
    return model_courses(
        efficacy, answer.use, luck, damp=asked.region.base.damp_autumns.value == "yes", broodless=broodless
    )


TURNS = 4
"""Parts of a year in which what one course of a product does says nothing of the next."""


def luck_of(asked: YearQuestion, answer: AllowedCourse) -> int:
    """Which quantile of a draw a course's efficacy takes: by product, and but for synthetic ones by its time of year.

    What a synthetic product does hangs on the mites of the place, what others do on the weather of their weeks.
    """
    place = liked(asked, answer.product)
    if answer.class_ in asked.book.planning.year_plans.walls.synthetic:
        return place
    return place + 3 * ((answer.day - asked.season.first) % YEAR_DAYS * TURNS // YEAR_DAYS)


def liked(asked: YearQuestion, product: str) -> int:
    """The place of a product in the keeper's order; what they were given and is not on their list comes last."""
    return asked.products.index(product) if product in asked.products else len(asked.products)


def no_brood(asked: YearQuestion, one: Candidate) -> bool:
    """Whether it is known that nothing is capped in all of a course."""
    use = one.answer.use
    spells = [spell for spell in (*asked.standing.brood, *asked.own_breaks) if spell.state == "none"]
    return any(s.first <= use.first and (s.last is None or use.last <= s.last) for s in spells)
