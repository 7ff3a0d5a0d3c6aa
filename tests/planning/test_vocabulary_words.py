"""The words of needs and the effects of the journal walked: each makes a plan or the record other than it was.

Both come from the models, so that a new one is walked too: one that nothing reads fails, and so does an effect that no
word of the journal has.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, get_args

import pytest
from planning.owed.test_fitness import _said
from planning.test_vocabulary import documents
from planning.yards import colony, drawn, line, on, outfit, own_task, rules, shipped, short, yard

from ipmcal.model.outfit.outfit import Event, Outfit, Queen
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.methods import Needs
from ipmcal.model.rules.needs import BEGINNINGS, NEED_RULES
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis
from ipmcal.planning.plan import Scope, make_plan
from ipmcal.planning.record import make_record
from ipmcal.publishing.asdata.plan_json import plan_json


@dataclass(frozen=True)
class Published:
    """What is published of a plan, each part made when it is first asked for."""

    made: Plan
    record: str = ""

    @cached_property
    def plan(self) -> str:
        return plan_json(self.made)

    @cached_property
    def sheets(self) -> str:
        return documents(self.made)

    def differs(self, other: Published) -> bool:
        """Sheets are made only where plan and record are the same."""
        return (self.plan, self.record) != (other.plan, other.record) or self.sheets != other.sheets


# Needs ----------------------------------------------------------------------------------------------------------------


def needed() -> Iterator[tuple[str, dict[str, Any]]]:
    """Each word of each need, said alone and barred alone, each end of a range, and the same as advice."""
    for need in Needs.model_fields:
        rule = NEED_RULES[need]
        said: list[dict[str, Any]] = [{"is": [word]} for word in rule.words]
        said += [{"not": [word]} for word in rule.not_]
        if rule.unit:
            ends = ("99..",) if rule.warns else ("5..", "..1")
            said = [{"value": f"{end} {rule.unit} @practice"} for end in ends]
        for one in said:
            if not rule.warns:
                yield need, one
        yield need, {**said[-1], "advice": "yes"}


NEEDED = list(needed())


QUEENS = ("virgin", "cells", "caged", "missing", "drone_mother")


def crowd() -> Outfit:
    """Colonies with traps, of which some fit each word and some don't, before the first trap is hung."""
    trap = short()
    kept = [colony(kind, "2027-03-20", kind, (trap,)) for kind in BEGINNINGS]
    kept += [colony("weak", traps=(trap,), strength=2.0), colony("strong", traps=(trap,), strength=9.0)]
    kept += [colony("low", traps=(short(frame="deep"),)), colony("drawn", traps=(drawn(),))]
    kept += [colony(word, traps=(trap,)) for word in QUEENS]
    kept += [colony("clipped", traps=(trap,), queen=Queen(clipped=True))]
    kept += [colony("marked", traps=(trap,), queen=Queen(marked=True))]
    kept += [colony(day, f"2027-{day}", "nucleus", (trap,)) for day in ("06-01", "07-25")]
    journal = [line(f"03-28 queen {word}", word) for word in QUEENS]
    away = yard(colony("sick", traps=(trap,)), key="away")  # a hive that looks sick closes its yard
    return outfit(yard(*kept), away, journal=(*journal, line("03-28 suspect", "sick", "away")))


@cache
def planned(need: str = "", **said: Any) -> Published:
    """The plan of the crowd by methods that ask for one thing, or for nothing."""
    words = {need: {key: list(one) if isinstance(one, tuple) else one for key, one in said.items()}} if need else {}
    needs = Needs.model_validate(_said(words), context={"sources": {"practice": Basis.PRACTICE}})
    asking = {name: method.model_copy(update={"needs": needs}) for name, method in rules().methods.items()}
    return Published(make_plan(crowd(), dataclasses.replace(rules(), methods=asking), on("04-01")))


@pytest.mark.parametrize(("need", "said"), NEEDED, ids=[f"{need}-{said}" for need, said in NEEDED])
def test_every_word_of_a_need_changes_a_plan(need: str, said: dict[str, Any]) -> None:
    made = planned(need, **{key: tuple(one) if isinstance(one, list) else one for key, one in said.items()})
    assert made.differs(planned())


def test_as_advice_a_need_says_what_it_would_forbid() -> None:
    """Else ``advice`` would be a word that does nothing."""
    for need in Needs.model_fields:
        said = next(one for word, one in NEEDED if word == need and "advice" in one)
        hard = {key: tuple(one) if isinstance(one, list) else one for key, one in said.items() if key != "advice"}
        if not NEED_RULES[need].warns:
            assert planned(need, **hard).differs(planned(need, **hard, advice="yes")), need


# Effects --------------------------------------------------------------------------------------------------------------

EFFECTS = [effect for effect in get_args(EventRule.model_fields["effect"].annotation) if effect != "none"]
OVER = "09-01 count 12/300"
BEFORE: dict[str, tuple[str, ...]] = {
    "takes_trap_out": ("03-20 trap_hung T1 2",),
    "empties_trap": ("03-20 trap_hung T1 2",),
    "moves_trap": ("03-20 trap_hung T2 2",),
    "narrows_clock": ("04-10 trap_hung T2 9",),
    "supers_off": ("05-10 supers_on 1",),
    "queen": ("05-01 caged",),
    "starts_laying": ("07-01 caged",),
    "clears": ("05-22 suspect sunken cappings",),
    "strips_out": ("08-14 strips_in amitraz_strip 2 lot K21 by AB",),
    "narrows_entrance": (OVER,),
    "shuts_floor": (OVER,),
    "bees": ("05-07 count 20/300",),
}
"""What has to come before an effect, so that it can do anything: mites over the line, where a course asks for it."""
DAY = {"no_eggs": "10-02", "shuts_floor": "09-04", "narrows_entrance": "09-04", "not_done": "10-30"}
"""Another day than the example's, where nothing is to be done on that, or its time is not over."""
ELSEWHERE_READ = {
    "voids": "tests/reading/journal/test_journal.py: the line that it takes back is not read",
}


def told(effect: str, book: Rulebook) -> Iterator[tuple[Event, ...]]:
    """For each word of an effect the journal of its example, as the rules have it."""
    for rule in book.events.values():
        if rule.effect == effect:
            whom = {"yard": None, "colony": "7" if effect == "made" else "1", "trap": "1"}[rule.about]
            last = line(rule.example, whom)
            last = dataclasses.replace(last, day=on(DAY[effect]) if effect in DAY else last.day)
            yield (*(line(text) for text in BEFORE.get(effect, ())), last)


def published(journal: tuple[Event, ...], book: Rulebook, effect: str) -> Published:
    """The plan and the record some days after the last line, which has a word of its own with this effect."""
    last = journal[-1]
    rule = book.events[last.word].model_copy(update={"effect": effect})
    groups = {name: (*words, "another") if last.word in words else words for name, words in book.groups.items()}
    book = dataclasses.replace(book, events={"another": rule, **book.events}, groups=groups)
    hives = (colony("1", traps=(short("T1"), drawn("T2", 9)), boxes=("deep",)), colony("3"))
    added = ("trap_comb_cut", "trap_comb_frozen", "mite_count")
    there = yard(*hives, program="acids_and_handwork", added=added, tasks=(own_task("mow", "05-01", "06-30"),))
    kept = outfit(there, yard(key="mill_field"), journal=(*journal[:-1], dataclasses.replace(last, word="another")))
    return Published(
        make_plan(kept, book, last.day + 3, scope=Scope(explain=True)), repr(make_record(kept, book, last.day + 3))
    )


@pytest.mark.parametrize("effect", EFFECTS)
def test_every_effect_of_a_word_of_the_journal_changes_a_plan(effect: str) -> None:
    if effect not in ELSEWHERE_READ:
        journals = told(effect, shipped())
        assert any(published(one, shipped(), effect).differs(published(one, shipped(), "none")) for one in journals)
