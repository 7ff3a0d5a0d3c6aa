"""What is worked out once for all hives of a kind is what is worked out hive by hive.

Yards of hives that are equal, or nearly, are planned twice: as they are, and with each hive taken for a kind of its
own. All yards are invented.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

import pytest
from planning.yards import (
    BROOD_BOXES,
    SHIPPED_REGIONS,
    colony,
    drawn,
    kept_as_planned,
    outfit,
    season_begins,
    shipped,
    short,
    yard,
)
from sweeps import OF, some

from ipmcal.model.outfit.outfit import Colony, Outfit, Queen
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.verdict import Use, Verdict
from ipmcal.model.values.days import day
from ipmcal.planning.choose.offer import Question, harvesting
from ipmcal.planning.counting import counted
from ipmcal.planning.labels.standing import Standing
from ipmcal.planning.labels.verdict import verdict
from ipmcal.planning.plan import Scope, make_plan
from ipmcal.planning.settle import settle
from ipmcal.planning.unfold import unfold
from ipmcal.planning.yearly import hives

PROGRAMS = ("full", "acids_and_handwork", "trap_combs")
HIVES = 6


class Yard:
    """A random yard by its number: six hives of three kinds, the second like the first but for one thing, and what of
    its season was written down.
    """

    def __init__(self, number: int) -> None:
        self.chance = chance = random.Random(number)
        self.region = chance.choice(sorted(SHIPPED_REGIONS))
        self.first = season_begins(self.region)
        first = self._hive()
        kinds = [first, near(first, number // OF), self._hive()]
        rows = (replace(chance.choice(kinds), key=str(i), walk=i) for i in range(1, HIVES + 1))
        made = yard(*rows, region=self.region, program=PROGRAMS[number % len(PROGRAMS)])
        self.outfit, self.as_of = outfit(made), self.first + chance.choice((0, 0, 60, 120, 200))

    def _hive(self) -> Colony:
        chance = self.chance
        kind = chance.choice(("overwintered", "overwintered", "package", "nucleus", "split", "swarm"))
        began = self.first - 200 if kind == "overwintered" else self.first + chance.choice((100, 130))
        hive = chance.choice(("langstroth_10", "national"))
        traps = chance.choice(((), [short()], [drawn()])) if hive == "langstroth_10" else ()
        boxes = (BROOD_BOXES[hive],) * chance.randint(1, 2)
        more = {"queen": chance.choice((Queen(), Queen(clipped=True))), "strength": chance.choice((None, 2.0, 7.0))}
        return colony("", day(began).isoformat(), kind, traps, hive=hive, boxes=boxes, **more)  # type: ignore[arg-type]

    @property
    def written(self) -> Outfit:
        """The outfit with all that was done, as it was planned on the season's first day, in all hives but one."""
        if self.as_of == self.first:
            return self.outfit
        done = kept_as_planned(make_plan(self.outfit, shipped(), self.first), self.as_of)
        return replace(self.outfit, journal=tuple(event for event in done if event.colony != "2"))


def near(one: Colony, number: int) -> Colony:
    """A hive like another but for one thing, by turns."""
    other: tuple[dict[str, object], ...] = (
        {"traps": () if one.traps else (drawn(frame=BROOD_BOXES[one.hive]),)},
        {"queen": Queen(clipped=not one.queen.clipped)},
        {"strength": 3.0 if one.strength is None else None},
        {"boxes": (*one.boxes, one.boxes[0])},
        {"declined": ("feeding",)},
    )
    return replace(one, **other[number % len(other)])  # type: ignore[arg-type]


def planned(of: Yard) -> Plan:
    return make_plan(of.written, shipped(), of.as_of, scope=Scope(explain=True))


def each_for_itself(patch: pytest.MonkeyPatch) -> None:
    """From now on no hive is like another."""

    def own(state: ColonyState) -> tuple[object, ...]:
        return (state.colony.key,)

    def asked(ask: Question, name: str, standing: Standing, use: Use) -> Verdict:
        return verdict(name, ask.where, harvesting(standing), use, search=False)

    doses, to_come = hives._doses, counted.errands_to_come
    patch.setattr(unfold, "of_state", own)
    patch.setattr(unfold, "of_colony", own)
    patch.setattr(settle, "of_words", own)
    patch.setattr(Question, "verdict_on", asked)
    patch.setattr(counted, "errands_to_come", lambda of, counts, begun, _: to_come(of, counts, begun, []))
    patch.setattr(
        hives,
        "_doses",
        lambda there, those, *asked: tuple(dose for hive in those for dose in doses(there, [hive], *asked)),
    )


@pytest.mark.parametrize("number", some(range(18)))
def test_equal_hives_are_planned_as_each_for_itself(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    together = planned(Yard(number))
    each_for_itself(monkeypatch)
    assert repr(planned(Yard(number))) == repr(together)


def test_hives_of_a_kind_share_what_is_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of six equal hives, one is asked."""
    asked: list[str] = []
    really = unfold._owed

    def seen(ground: object, state: ColonyState, alike: object) -> Sequence[object]:
        asked.append(state.colony.key)
        return list(really(ground, state, alike))  # type: ignore[arg-type]

    monkeypatch.setattr(unfold, "_owed", seen)
    equal = (colony(str(i), traps=[short()]) for i in range(1, HIVES + 1))
    made = make_plan(outfit(yard(*equal)), shipped(), season_begins("us_northeast"))
    assert asked == ["1"] * len(made.yards)
