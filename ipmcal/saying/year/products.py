"""Products in words: what a label says of dose, warmth, supers, brood and its end, for the page of a year's courses.

In: a treatment, the label that holds. Out: text. It says what the rule file says, and no more than that.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Dose, Label, SupersLimit, TemperatureLimit
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.labelforms import label_words
from ipmcal.model.values.words import joined
from ipmcal.planning.labels.standing import use_of

PORTIONS = {
    "colony": "a hive",
    "chamber": "a brood box",
    "seam": "a seam of bees",
    "bee_frames": "a frame of bees",
    "thousand_bees": "for 1,000 bees",
}
NO_BROOD = "only where nothing is capped: open it and look first, drone cells too; where something is, wait"


def called(book: Rulebook, product: str) -> str:
    """A product as it is called."""
    words = book.treatments[product].title
    return f"{words[0].lower()}{words[1:]}"


def named_in(book: Rulebook, jurisdiction: str, text: str) -> Iterator[str]:
    """The products with a label here that a text names, in the order of the rules; the longer of two names alone."""
    names = {name: called(book, name) for name in book.treatments}
    left = text
    found = set()
    for name in sorted(names, key=lambda one: (-len(names[one]), one)):
        if names[name] in left:
            found.add(name)
            left = left.replace(names[name], "")
    labelled = (n for n in names if n in found and label_for(book.treatments[n], jurisdiction, book) is not None)
    yield from labelled


def product_line(book: Rulebook, jurisdiction: str, product: str) -> str:
    """What the label says that a keeper has to know before buying: dose, warmth, supers, brood, bees, its end."""
    label = label_for(book.treatments[product], jurisdiction, book)
    assert label is not None, "only what has a label here is planned"
    parts = [part for part in _parts(book, label) if part]
    head = f"{called(book, product)}: {'; '.join(parts)}."
    return f"{head} Some of this is from memory: the label on the pack decides." if _remembered(label) else head


def _parts(book: Rulebook, label: Label) -> Iterator[str]:
    limits = label.limits
    if label.dose is not None:
        yield portion_words(label.dose) + again_words(book, label)
    yield heat_words(label)
    if limits.supers is not None:
        yield supers_words(limits.supers)
    if limits.brood is not None and limits.brood.state.value == "none":
        yield NO_BROOD
    if limits.strength is not None:
        yield strength_words(label)
    if limits.quiet is not None and limits.quiet.after is not None:
        yield f"hive not opened for {days_words(label_words(limits.quiet.after))} after"
    yield _end(book, label)
    if limits.course is not None and limits.course.a_year is not None:
        yield f"{label_words(limits.course.a_year)} a year at most"
    if label.needs is not None and label.needs.value in ("prescription", "licence"):
        yield f"needs a {label.needs.value}"


def strength_words(label: Label) -> str:
    """How strong a hive has to be by the label; "" where it says nothing."""
    strength = label.limits.strength
    return "" if strength is None else _range(label_words(strength.value)).replace("bee_frames", "frames of bees")


def again_words(book: Rulebook, label: Label) -> str:
    """On which days of a course the dose is given again; "" where it is given once."""
    first, *rest = use_of(label, 0, book).applications
    return f", the same again on {joined([f'day {day - first}' for day in rest])} of the course" if rest else ""


def portion_words(dose: Dose) -> str:
    """The dose: so much, for what, where it goes."""
    each = f"for {label_words(dose.each).replace('bee_frames', 'frames of bees')}" if dose.each is not None else ""
    most = f", {label_words(dose.most)} at most" if dose.most is not None else ""
    note = f" ({dose.note.rstrip('.')})" if dose.note else ""
    return f"{_range(label_words(dose.amount))} {each or PORTIONS[dose.per.value]}{most}{note}"


def heat_words(label: Label) -> str:
    """The heat and cold that a label sets, by the days of the course."""
    parts = [_warmth(one) for one in label.limits.temperature]
    return f"warmth: {'; '.join(parts)}" if parts else "no limit of warmth on its label"


def _warmth(one: TemperatureLimit) -> str:
    said = (("highs", one.high), ("lows", one.low), ("means", one.mean))
    what, value = next((name, warmth) for name, warmth in said if warmth is not None)
    days = one.days.value
    when = "all its days" if days is None else "on the day" if days.high == 0 else f"on days 0 to {days.high}"
    return f"{what} {_range(label_words(value))} {when}{' (advice)' if one.advice else ''}"


def _range(words: str) -> str:
    """A label's range as it is spoken.

    >>> _range("50..85 °F"), _range("..91 °F"), _range("6.. bee_frames")
    ('50 to 85 °F', 'up to 91 °F', 'from 6 bee_frames')
    """
    low, dots, high = words.partition("..")
    if not dots:
        return words
    if not low:
        return f"up to {high}"
    return f"from {low} {high.strip()}" if high.startswith(" ") else f"{low} to {high}"


def may_stay(book: Rulebook, jurisdiction: str, product: str) -> bool:
    """Whether honey supers may stay on for a product."""
    label = label_for(book.treatments[product], jurisdiction, book)
    limit = None if label is None else label.limits.supers
    return limit is not None and limit.during.value == "on"


def supers_words(one: SupersLimit) -> str:
    """Whether supers may stay, and when they may come back."""
    if one.during.value == "on":
        return "honey supers may stay on"
    wait = 0 if one.after is None else round(one.after.value.high or 0)
    back = f"none until {wait} days after it is out" if wait else "back when it is out"
    return f"no honey supers while it is in, {back}"


def _end(book: Rulebook, label: Label) -> str:
    outs = [step for step in label.steps.values() if book.events[step.logs].effect == "strips_out"]
    return "has to come out again" if outs else ""


def days_words(words: str) -> str:
    """Days of a label as they are spoken.

    >>> days_words("3 d"), days_words("14..28 d")
    ('3 days', '14 to 28 days')
    """
    return _range(words).replace(" d", " days")


def _remembered(label: Label) -> bool:
    limits = label.limits
    cited = [one.high or one.low or one.mean for one in limits.temperature]
    cited += [label.dose.amount if label.dose else None, limits.supers.during if limits.supers else None]  # type: ignore[list-item]
    return any(cite.basis is Basis.MEMORY for one in cited if one is not None for cite in one.cites)


def titles(book: Rulebook, products: tuple[str, ...] | list[str], word: str = "and") -> str:
    """Several products as they are called."""
    return joined([called(book, one) for one in products], word)
