"""What a case may ask of supplies: an application, a course, a batch, grams of the active substance."""

from __future__ import annotations

from fractions import Fraction

from handbook.registry import Given, ask, rulebook

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.treatments import Dose, Label
from ipmcal.planning.labels import amounts


def label(given: Given) -> Label:
    found = label_for(rulebook().treatments[given["treatment"]], given["in"], rulebook())
    assert found is not None
    return found


def dose(given: Given) -> Dose:
    found = label(given).dose
    assert found is not None
    return found


def size(given: Given) -> amounts.Size:
    """``chambers``, ``seams``, ``frames`` covered with bees, thousands of ``bees``; ``nucleus: true``."""
    counted = amounts.counted_size(
        chambers=given.get("chambers", 1),
        seams=given.get("seams", 1),
        frames=given.get("frames", 1),
        bees=given.get("bees"),
    )
    return amounts.Size(counted.chambers, counted.seams, counted.bee_frames, given.get("nucleus", False), counted.bees)


def words(portion: amounts.Portion) -> str:
    assert portion.amount is not None
    return amounts.amount_words(portion.amount, portion.unit)


def batch(given: Given) -> amounts.Batch:
    """The syrup for so many ``hives``, each as given."""
    one, recipe = amounts.portion(dose(given), size(given)), label(given).recipe
    assert one.amount is not None
    assert recipe is not None
    return amounts.batch(recipe, one.amount.high * given["hives"] / amounts.ML)


@ask
def one_application(given: Given) -> str:
    return words(amounts.portion(dose(given), size(given)))


@ask
def whole_course(given: Given) -> str:
    return words(amounts.course_portion(label(given), size(given), rulebook()))


@ask
def grams_of_active(given: Given) -> float:
    one = amounts.course_portion(label(given), size(given), rulebook())
    grams = amounts.active_in(one, dose(given))
    assert grams is not None
    return float(grams.high * Fraction(given.get("courses", 1)))


@ask
def batch_grams(given: Given) -> float:
    return float(batch(given).grams[given["part"]])


@ask
def grams_a_litre(given: Given) -> float:
    recipe = label(given).recipe
    assert recipe is not None
    return float(amounts.batch(recipe, Fraction(1)).grams[given["part"]])


@ask
def asks_to_count(given: Given) -> str:
    return amounts.asks_for(dose(given))
