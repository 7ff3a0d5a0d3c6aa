"""Notes: what stands with the first step of each course, made for the days that packing chose.

In: a yard's courses, the errands, the days of their steps. Out: errands with their advice. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Verdict
from ipmcal.model.values.words import sentence
from ipmcal.planning.choose.held import Laid, as_placed
from ipmcal.planning.choose.offer import harvesting
from ipmcal.planning.choose.treat import Treated
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.of_hive import NARROWS
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.labels.verdict import Where, verdict
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
    told |= _left_wide(one, some, paths)
    return tuple(replace(errand, advice=told[errand.key]) if errand.key in told else errand for errand in some)


def _left_wide(
    one: Ready, errands: Sequence[Errand], paths: Mapping[str, Sequence[int]]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What makes entrances small says which hives it is not for: those in which something lies that wants them wide."""
    ground = one.ground
    for errand in errands:
        for (step, _), at in errand.chain.done(paths.get(errand.key, ())):
            if ground.book.effect(errand.frame.method.steps[step].logs) != NARROWS:
                continue
            by_title: dict[str, list[str]] = {}
            for other in errands:
                lies = other.course and _lies_wide(one, other, paths.get(other.key, ()), ground.days.ordinals[at])
                if lies and other.colony is not None:
                    title = ground.book.treatments[other.course].title.lower()
                    by_title.setdefault(title, []).append(other.colony.colony.key)
            told = (because_words(Because(Code.LEAVE_WIDE, (tuple(keys), title))) for title, keys in by_title.items())
            yield errand.key, (*errand.advice, *told)


def _lies_wide(one: Ready, errand: Errand, path: Sequence[int], day: int) -> bool:
    """Whether a course with an entrance over its whole width lies in a hive on a day."""
    known = prescribed(one.ground, errand.course, {})
    if not path or known is None or known.label.limits.entrance is None:
        return False
    if known.label.limits.entrance.width.value != "full":
        return False
    steps = list(errand.chain.done(path))
    on = [one.ground.days.ordinals[at] for _, at in steps]
    effect = one.ground.book.effect(errand.frame.method.steps[steps[0][0][0]].logs)
    return (effect == "strips_out" or on[0] <= day) and day <= on[-1]


def _verdict(one: Ready, treated: Treated, laid: Laid, paths: Mapping[str, Sequence[int]]) -> Verdict | None:
    """What the label says on the days of a course; where it is cut short, as if it were not."""
    known = prescribed(one.ground, laid.errand.course, {})
    if known is None or treated.ask is None:
        return None
    first = one.ground.days.ordinals[laid.errand.chain.nodes[paths[laid.errand.key][0]].at]
    use = laid.use or use_of(known.label, first, one.ground.book)
    where = Where(treated.ask.jurisdiction, treated.ask.weather, treated.ask.book)
    return verdict(known.name, where, harvesting(laid.standing), use, search=False)


def _notes(errand: Errand, need: Want, made: Verdict) -> Iterator[str]:
    """What it is for, what the label asks on the day, what to look at first."""
    yield f"What for: {need.why}."
    if errand.till_counted:
        yield because_words(Because(Code.TILL_COUNTED))
    yield from (sentence(remark) for remark in made.remarks)
    asked = (reason for reason in made.reasons if reason.by_hand or reason.look)
    yield from (sentence(_reason_words(reason)) for reason in (*made.conditions, *asked))


def _reason_words(reason: Limited) -> str:
    """A reason as paper has it: what to look at on the day. How likely that is and why is said at the desk."""
    if reason.plain:
        return reason.plain
    return f"{reason.says}: {reason.known}" if reason.says and reason.known else reason.says or reason.known
