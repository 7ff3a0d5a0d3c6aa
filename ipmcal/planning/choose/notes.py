"""Notes: what stands with the first step of each course, made for the days that packing chose.

In: a yard's courses, the errands, the days of their steps. Out: errands with their advice. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Verdict, Weight
from ipmcal.model.values.words import sentence
from ipmcal.planning.choose.held import Laid, as_placed
from ipmcal.planning.choose.treat import Treated
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.of_hive import NARROWS
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.prescribed import prescribed
from ipmcal.planning.ready import Ready


def noted(
    one: Ready, treated: Treated, errands: Iterable[Errand], paths: Mapping[str, Sequence[int]]
) -> tuple[Errand, ...]:
    """The errands, courses to come with what is to be read before they begin, as it is on their own days."""
    some = tuple(errands)
    told: dict[str, tuple[str, ...]] = {}
    for laid in as_placed(one, treated, some, paths):
        made = _verdict(one, treated, laid, paths)
        if made is not None:
            told[laid.errand.key] = tuple(_notes(laid.errand, treated.chosen[laid.errand.unmarked].need, made))
    courses = tuple(_in_hives(one, some, paths))
    return tuple(
        errand.altered(advice=told.get(errand.key, errand.advice), beside=_beside(one, errand, courses, paths))
        for errand in some
    )


@dataclass(frozen=True, slots=True)
class _InHive:
    """A course in its hive: the days on which it is given, and on which something of it comes out."""

    errand: Errand
    hive: str
    given: tuple[int, ...]
    out: tuple[int, ...]

    def lies(self, day: int) -> bool:
        """Whether it lies there on a day, from the day it begins to that on which it is out."""
        begun = not self.given or self.given[0] <= day
        return day in self.given or (bool(self.out) and begun and day < self.out[-1])

    def begins(self, day: int) -> bool:
        """Whether it begins on a day."""
        return self.given[:1] == (day,)


def _beside(
    one: Ready, errand: Errand, courses: Sequence[_InHive], paths: Mapping[str, Sequence[int]]
) -> dict[tuple[str, int], tuple[str, ...]]:
    """What is to be read at a step, since a course lies in a hive on its day: an entrance that stays wide though all
    are made small, a hive that is not fed.
    """
    found: dict[tuple[str, int], tuple[str, ...]] = {}
    for (name, n), at in errand.chain.done(paths.get(errand.key, ())):
        step, day = errand.frame.method.steps[name], one.ground.days.ordinals[at]
        if one.ground.book.effect(step.logs) == NARROWS:
            by_title: dict[str, list[str]] = {}
            for lying in (c for c in courses if c.lies(day) and _wants_wide(one, c.errand)):
                title = one.ground.book.treatments[lying.errand.course].title.lower()
                by_title.setdefault(title, []).append(lying.hive)
            told = [Because(Code.LEAVE_WIDE, (tuple(keys), title)) for title, keys in by_title.items()]
        elif (step.stores or step.logs in one.ground.book.planning.feeding) and errand.colony is not None:
            mine = (c for c in courses if c.hive == errand.colony.colony.key and c.lies(day))
            starves = (c for c in mine if _starves(one, c.errand))
            when = {one.ground.book.treatments[c.errand.course].title.lower(): c.begins(day) for c in starves}
            told = [Because(Code.FEED_FIRST if today else Code.FEED_NONE, (title,)) for title, today in when.items()]
        else:
            continue
        found[name, n] = tuple(map(because_words, told))
    return found


def _in_hives(one: Ready, errands: Sequence[Errand], paths: Mapping[str, Sequence[int]]) -> Iterator[_InHive]:
    """The courses in hives, on the days that packing chose."""
    for errand in errands:
        if not errand.course or errand.colony is None:
            continue
        steps = errand.frame.method.steps
        done = errand.chain.done(paths.get(errand.key, ()))
        on = [(one.ground.book.effect(steps[name].logs), one.ground.days.ordinals[at]) for (name, _), at in done]
        given = tuple(day for effect, day in on if effect in ("treats", "strips_in"))
        out = tuple(day for effect, day in on if effect == "strips_out")
        yield _InHive(errand, errand.colony.colony.key, given, out)


def _wants_wide(one: Ready, errand: Errand) -> bool:
    """Whether a course wants the entrance open over its whole width."""
    known = prescribed(one.ground, errand.course, {})
    limit = None if known is None else known.label.limits.entrance
    return limit is not None and limit.width.value == "full"


def _starves(one: Ready, errand: Errand) -> bool:
    """Whether a hive is not fed while a course lies in it, as its label says."""
    known = prescribed(one.ground, errand.course, {})
    limit = None if known is None else known.label.limits.feeding
    return limit is not None and limit.during.value == "no"


def _verdict(one: Ready, treated: Treated, laid: Laid, paths: Mapping[str, Sequence[int]]) -> Verdict | None:
    """What the label says on the days of a course; where it is cut short, as if it were not."""
    known = prescribed(one.ground, laid.errand.course, {})
    if known is None or treated.ask is None:
        return None
    first = one.ground.days.ordinals[laid.errand.chain.nodes[paths[laid.errand.key][0]].at]
    use = laid.use or use_of(known.label, first, one.ground.book)
    return treated.ask.verdict_on(known.name, laid.standing, use)


def _notes(errand: Errand, need: Want, made: Verdict) -> Iterator[str]:
    """What it is for, what the label asks on the day, what to look at first, and what speaks against it."""
    yield f"What for: {need.why}."
    if errand.till_counted:
        yield because_words(Because(Code.TILL_COUNTED))
    yield from (sentence(remark) for remark in made.remarks)
    asked = (reason for reason in made.reasons if reason.by_hand or reason.look)
    yield from _asked_words((*made.conditions, *asked))
    advice = (reason for reason in made.reasons if reason.weight is Weight.ADVISES)
    for reason in (reason for reason in advice if not (reason.by_hand or reason.look)):
        yield sentence(because_words(Because(Code.ADVISED_AGAINST, (_reason_words(reason),))))


def _asked_words(reasons: Iterable[Limited]) -> Iterator[str]:
    """What a label asks on the day, a sentence each; days of warmth that end alike are one."""
    found = [(reason.limit, _reason_words(reason)) for reason in reasons]
    for (limit, end), some in groupby(found, lambda one: (one[0], one[1].rpartition(": ")[2])):
        words = [text for _, text in some]
        if limit == "temperature" and len(words) > 1:
            yield sentence(f"{'; '.join(text.rpartition(': ')[0] for text in words)}: {end}")
        else:
            yield from map(sentence, words)


def _reason_words(reason: Limited) -> str:
    """A reason as paper has it: what to look at on the day. How likely that is and why is said at the desk."""
    if reason.plain:
        return reason.plain
    return f"{reason.says}: {reason.known}" if reason.says and reason.known else reason.says or reason.known
