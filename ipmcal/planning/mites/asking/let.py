"""Let: what the labels let of a question, and what the walls need to know of it, before any wall is held. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.rules.labels import label_for, last_step
from ipmcal.planning.mites.answers import Answers, LabelQuestion, answers_of, usual_weather
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    candidate,
    whole_days,
)
from ipmcal.planning.recall.situate import FLOW, harvested


def let(asked: YearQuestion, *, any_season: bool = False) -> tuple[Answers, WallSetting, list[Candidate]]:
    """What the labels let, before any wall; but no dose behind a queen's release, nothing over a trap comb's cut.

    ``any_season``: outside of a product's usual season too, where that is practice and not its label's, and over the
    cut of a trap comb, which then comes out first.
    """
    lets = answers_of(
        LabelQuestion(
            asked.book,
            asked.region,
            asked.season,
            asked.jurisdiction,
            asked.standing,
            asked.days,
            asked.products,
            whole_days(asked.book.planning.year_plans.walls.no_loss),
            any_season,
        )
    )
    setting = wall_setting(asked)
    every = [candidate(setting, one) for one in lets.lets]
    every = [one for one in every if (one.answer.product, one.day) not in asked.banned]
    every = [one for one in every if not _behind_release(asked, one)]
    return lets, setting, [one for one in every if any_season or not over_a_cut(asked, one)]


def _behind_release(asked: YearQuestion, one: Candidate) -> bool:
    """Whether a dose lies in a break, but not on the visit on which the queen is let out."""
    return one.quick and any(b.holds(one.day) and one.day != b.released for b in asked.breaks)


def over_a_cut(asked: YearQuestion, one: Candidate) -> bool:
    """Whether a trap comb is cut while a course wants the nest left alone; on its last day it may be."""
    label = label_for(asked.book.treatments[one.answer.product], asked.jurisdiction, asked.book)
    quiet = None if label is None else label.limits.quiet
    if quiet is None:
        return False
    before = 0 if quiet.before is None else round(quiet.before.value.high or 0)
    cuts = [trap.cut for trap in asked.stock.traps if trap.cut is not None]
    return any(one.day - before <= cut < one.answer.use.last for cut in cuts)


def wall_setting(asked: YearQuestion) -> WallSetting:
    """What the walls need to know of the question."""
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)

    def high(day: int) -> float:
        return weather.readings[day][0]

    return WallSetting(
        book=asked.book,
        season=asked.season,
        jurisdiction=asked.jurisdiction,
        high=high,
        flows=tuple(_flows(asked)),
        spells=asked.standing.brood,
        past=asked.standing.courses,
        named=frozenset(asked.products) if asked.named else frozenset(),
        over=asked.over,
        counting=asked.counting,
        own=asked.own_doses,
        draws_together=not asked.region.rarely_broodless,
        early_rounds=asked.region.rarely_broodless or not EARLY_ROUNDS.isdisjoint(asked.region.base.rounds),
    )


EARLY_ROUNDS = frozenset({"spring", "summer"})
"""Rounds before the late summer."""


def _flows(asked: YearQuestion) -> Iterator[tuple[int, int]]:
    """The main flow as it is harvested, this season's and its neighbours'."""
    flow = harvested(asked.season, FLOW)
    if flow is not None:
        for shift in (-YEAR_DAYS, 0, YEAR_DAYS):
            yield flow[0] + shift, flow[1] + shift


def late_in_flow(asked: YearQuestion, setting: WallSetting, one: Candidate) -> str | None:
    """``flow`` where a course that packing has come out late would lie in a flow that the yard harvests."""
    last = latest_out(asked, one) if asked.packed else one.day
    lies = not setting.over and any(one.day <= ends and first <= last for first, ends in setting.flows)
    return "flow" if asked.packed and lies else None


def latest_out(asked: YearQuestion, one: Candidate) -> int:
    """The last good day for what a course leaves in the hive to come out."""
    label = label_for(asked.book.treatments[one.answer.product], asked.jurisdiction, asked.book)
    assert label is not None
    end = last_step(label, asked.book)
    steps = [step for step in one.answer.use.steps if step.step == end]
    return max((s.closes if s.hard_stop is None else s.hard_stop for s in steps), default=one.day)
