"""What stands beside the picture of a season's mites. In: the plan and a yard. Out: a frozen view: drawing, sentences.

Odds and bands stand on the season page and the page for screens alone, never on a sheet. A median never stands without
its band; one figure under 1, none above 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from ipmcal.model.plan.mites import LoadRange, MiteOdds, MiteYear
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import counted, joined, month_day, rough_range, short_day
from ipmcal.publishing.paper.ink.miteschart import MOST_DRAWN, mites_chart, mites_panels

OF_TEN = 10


@dataclass(frozen=True, slots=True)
class MitesPicture:
    """A picture with its title and what it comes to, in sentences by whom they are about ("": all of it); ``marks``:
    what stands in it, in words."""

    title: str
    chart: Markup
    sentences: tuple[tuple[str, tuple[str, ...]], ...]
    marks: str


def mites_pictures(plan: Plan, yard: YardView) -> tuple[MitesPicture, ...]:
    """The picture of a yard's season, of several kinds of hives side by side; none where no projection was made."""
    mine = [one for one in plan.mites if (one.yard, one.season) == (yard.key, yard.season)]
    days = (yard.begins, yard.ends)
    if len(mine) < len(("overwintered", "new")):
        return tuple(
            MitesPicture(
                title=f"The mites ahead: {_hives(one)}",
                chart=mites_chart(one, days),
                sentences=(("", (*_sentences(one, plan.as_of), *_uncounted([one]))),),
                marks=_marks([one]),
            )
            for one in mine
        )
    named = [(_kind(one), one) for one in mine]
    said = [(name, tuple(_sentences(one, plan.as_of, told=place > 0))) for place, (name, one) in enumerate(named)]
    said[-1] = said[-1][0], (*said[-1][1], *_uncounted(mine))
    return (MitesPicture("The mites ahead", mites_panels(named, days), tuple(said), _marks(mine)),)


def _hives(one: MiteYear) -> str:
    return f"{'hive' if len(one.hives) == 1 else 'hives'} {joined(one.hives)}"


def _kind(one: MiteYear) -> str:
    """Which hives a picture is of, where there is one beside it."""
    named = f"{_hives(one)}, {'through winter' if one.kind == 'overwintered' else 'of this season'}"
    return f"{named[0].upper()}{named[1:]}"


def load_words(load: float) -> str:
    """A load in 100 bees: one figure under 1, none above 3.

    >>> load_words(0.04), load_words(0.44), load_words(2.44), load_words(3.6), load_words(31.0)
    ('0', '0.4', '2.4', '4', 'over 10')
    """
    if load > MOST_DRAWN:
        return f"over {MOST_DRAWN:.0f}"
    return "0" if load < 0.05 else f"{load:.0f}" if load > 3 else f"{load:.1f}"


def band_words(one: LoadRange) -> str:
    """A median with its band: "3 in 100 (1 to 9)"; where all of it is more than is drawn: "over 10 in 100"."""
    median, low, high = (load_words(load) for load in (one.median, one.low, one.high))
    return f"{median} in 100" if low == high and one.low > MOST_DRAWN else f"{median} in 100 ({low} to {high})"


def ten_words(share: float) -> str:
    """A share of hives as keepers count them: "2 of 10"; what is less than one in twenty is none.

    >>> ten_words(0.03), ten_words(0.24), ten_words(0.97)
    ('none of 10', '2 of 10', '10 of 10')
    """
    many = round(share * OF_TEN)
    return f"{many or 'none'} of {OF_TEN}"


def _sentences(one: MiteYear, as_of: int, *, told: bool = False) -> Iterator[str]:
    """What a picture comes to; ``told``: beside it stands already when winter bees are reared, and whose line it is."""
    if one.on_winter is not None and one.untreated_on_winter is not None and one.winter[0] >= as_of:
        when = "" if told else ", when the first winter bees are reared"
        begins = f"On {month_day(one.winter[0])}{when}: {band_words(one.on_winter)}"
        differs = one.on_winter != one.untreated_on_winter
        bare = f"; nothing more given: {band_words(one.untreated_on_winter)}" if differs else ""
        yield f"{begins}{bare}."
    if one.odds is not None:
        yield _odds(one.odds, one, "" if told else one.whose)
    elif not one.lines:
        yield "No line is drawn: the authority here judges mites another way than on bees."
    yield from _far(one)


def _uncounted(some: Sequence[MiteYear]) -> Iterator[str]:
    """Where hives were not counted yet, what the drawing begins with."""
    bare = [one for one in some if not one.counts]
    if bare:
        where = "" if len(bare) == len(some) else f" in {joined([_hives(one) for one in bare])}"
        yield f"Nothing was counted yet{where}: the start is what is usual, and wide. The first count moves it."


def _odds(odds: MiteOdds, one: MiteYear, whose: str) -> str:
    when = rough_range(odds.first, odds.last) if odds.last - odds.first < 200 else "the year"
    line = f" ({whose})" if whose else ""
    would = f"{_of_ten(odds.planned)} would be over the line{line} on the worst day of {when}"
    bare = f"; nothing more given: {_of_ten(odds.untreated)}" if odds.untreated != odds.planned else ""
    unless = "" if odds.enough else "Not enough: " if one.counts else "Not enough, unless counts find fewer: "
    return f"{unless}{'of' if unless else 'Of'} {OF_TEN} such hives, {would}{bare}."


def _of_ten(share: float) -> str:
    return ten_words(share).removesuffix(f" of {OF_TEN}")


def _far(one: MiteYear) -> Iterator[str]:
    """Counts that nobody would have drawn: the drawing goes by them, and says so."""
    for word, why in (("more", "mites came in, or a course failed"), ("fewer", "or it was a poor sample")):
        hives = [f"{c.colony} on {short_day(c.day)}" for c in one.counts if c.far == word]
        if hives:
            many = counted(len(hives), "count").partition(" ")[2]
            yield f"Far {word} than was drawn, {many} of {joined(hives)}: {why}. From there on the drawing follows it."
    if one.stray:
        yield f"{counted(one.stray, 'count')} of another kind (board, cells) moved nothing: no mites on bees."


def _marks(some: Sequence[MiteYear]) -> str:
    """What the drawing leaves out, for those who wonder."""
    parts = ["Late summer comes out kind: more mites may come in from elsewhere than is drawn"]
    if any(one.counts for one in some):
        parts.insert(0, "Each count moves the curve from its day on")
    return f"{'. '.join(parts)}."
