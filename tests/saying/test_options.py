"""Options in words: allowed first, every reason with source, basis and the day on which it falls away."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from planning.yards import colony, line, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Event
from ipmcal.planning.options import options_for
from ipmcal.saying.options import option_lines


def printed(*journal: str, day: str = "07-10", **hives: dict[str, object]) -> list[str]:
    there = yard(*(colony(key.strip("_"), **facts) for key, facts in (hives or {"_1": {}}).items()))  # type: ignore[arg-type]
    events: Sequence[Event] = [line(text) for text in journal]
    (made,) = options_for(outfit(there, journal=events), shipped(), on(day), on(day))
    return list(option_lines(made, shipped().sources))


def block(lines: list[str], title: str) -> list[str]:
    """The lines of one treatment, its own first."""
    start = next(i for i, text in enumerate(lines) if text.startswith("  ") and f": {title}" in text)
    end = next((i for i in range(start + 1, len(lines)) if not lines[i].startswith("    ")), len(lines))
    return lines[start:end]


def test_it_says_for_which_day_and_that_rule_files_say_it() -> None:
    assert printed()[0] == "Yard, begun on Sat 10 July 2027: what the rule files say"


def test_a_refusal_has_every_reason_with_source_basis_and_the_day_it_falls_away() -> None:
    lines = block(printed("05-08 supers_on 1"), "Amitraz strips")
    assert lines[0] == "  forbidden: Amitraz strips: 1"
    wait = "supers off during the course, and for 14 d after"
    told = "supers on since Sat 8 May, off on Wed 15 Sept as planned"
    assert lines[1] == f"    supers: {wait}: {told}; falls away on Wed 15 Sept 2027, or once no super is on"
    assert lines[2].startswith("      US Environmental Protection Agency 2013, Label: amitraz strips")
    assert lines[2].endswith("[read second-hand]")
    assert lines[3].startswith("    advice: flow: not: main flow: main flow 25 May to 15 July")
    assert lines[3].endswith("falls away on Fri 16 July 2027")


def test_what_is_from_memory_says_check_your_label() -> None:
    assert any("[from memory: check your label]" in text for text in block(printed(day="04-10"), "Thymol gel"))


def test_a_label_copied_from_another_says_whose_it_is() -> None:
    tau = block(printed(day="10-10"), "Tau-fluvalinate")
    assert "    from another country's label (United Kingdom): check your label" in tau


def test_equal_verdicts_stand_together_and_others_apart() -> None:
    lines = printed(_1={}, _2={}, _3={"supers": 1})
    who = [text.rpartition(": ")[2] for text in lines if ": Amitraz strips: " in text]
    assert who == ["1, 2", "3"]


def test_treatments_without_a_label_there_stand_last_in_one_line() -> None:
    lines = printed()
    assert lines[-2].startswith("  forbidden: no label in the rule file for United States, checked 24 Nov 2026")
    assert "Thymol wafers, 15 g" in lines[-1]


def test_allowed_ones_come_first() -> None:
    order = ["allowed", "advised against", "forbidden"]
    seen = [order.index(text.strip().partition(":")[0]) for text in printed() if text[2:3] != " " and text[:2] == "  "]
    assert seen == sorted(seen)


@pytest.mark.parametrize("word", ["legal", "illegal", "lawful"])
def test_it_never_says_what_is_lawful(word: str) -> None:
    assert word not in " ".join(printed("05-08 supers_on 1")).lower().split()
