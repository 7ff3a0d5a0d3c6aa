"""Toll: what the cure itself costs a colony: brood, queens, laying, bees. In: an answer. Out: a share of bee-days."""

from __future__ import annotations

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.living.lived import Lived
from ipmcal.planning.mites.walls import WallSetting, whole_days


def toll_of(setting: WallSetting, usual: Lived, answer: AllowedCourse) -> float:
    """The cost of a course in a usual colony: brood, queens, laying and bees lost, at the middle of their ranges."""
    toll = setting.book.treatments[answer.product].common.toll
    reared = usual.untreated.reared[:YEAR_DAYS]
    at = answer.day - usual.stock.first
    hot = toll.hot is not None and setting.high(answer.day) >= (toll.hot.high.value.low or 0.0)

    def say(word: str) -> float:
        heat: Cited[Amount] | None = getattr(toll.hot, word) if hot else None
        return _middle(heat or getattr(toll, word))

    lies = max(answer.use.last - answer.use.first, 1)
    queens = whole_days(setting.book.planning.year_plans.queen_costs)
    lost = say("brood") * reared[at % YEAR_DAYS]
    lost += say("queens") / 100.0 * _over(reared, at, queens)
    lost += say("laying") / 100.0 * _over(reared, at, lies)
    lost += say("bees") / 100.0 * _bee_days(usual, at % YEAR_DAYS)
    return lost / (2.0 * sum(reared))


def _middle(cited: Cited[Amount] | None) -> float:
    return 0.0 if cited is None else cited.value.middle


def _over(reared: list[float], first: int, days: int) -> float:
    """Bee-days reared over so many days, the year begun again at its end."""
    return sum(reared[(first + n) % YEAR_DAYS] for n in range(days))


def _bee_days(usual: Lived, at: int) -> float:
    """Days of life left in all bees of a day: half a life, of winter bees once they are reared or brood is over."""
    summer, winter = usual.stock.figures.lives
    place = at + usual.stock.first - usual.colony.first
    is_winter = usual.colony.winter_cells[place] or not usual.colony.brood[place]
    return usual.colony.bees[place] * (winter if is_winter else summer) / 2.0
