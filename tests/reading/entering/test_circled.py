"""Every word that a sheet prints to be circled is entered alone, by its line's number, and what the rules say follows.

All sheets of all shipped programs are printed for hives that live through most of what the rules have methods for; the
words are taken from the printed pages, so that nothing is asked of a word that no paper shows.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache

import pytest
from planning.yards import YEAR, colony, drawn, line, lines, on, outfit, shipped, short, yard

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.planning.choose.known import brood_spells
from ipmcal.planning.plan import make_plan, season_of
from ipmcal.planning.recall.state import recall
from ipmcal.publishing.paper.page import season_html, sheet_html
from ipmcal.publishing.paper.sheet import sheet_lines
from ipmcal.reading.entering.circled import circled_word, words_of, written_of
from ipmcal.reading.entering.entries import Facts
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.entering.sheetwords import line_entries
from ipmcal.reading.journal.values import Keys, steps_of
from ipmcal.saying.status import status_lines

PROGRAMS = sorted(shipped().programs)
AS_OF = "06-12"
ADDED = ("make_split", "screened_floor", "apiary_hygiene")
TOLD = {
    "2": "06-05 swarmed",
    "3": "06-05 dequeened",
    "4": "06-05 caged",
    "5": "06-11 found_dead",
    "6": "06-05 introduced",
    "7": "06-05 cell_given",
    "8": "06-05 strips_in amitraz_strip 2 lot K by AB",
}
"""What each of the old hives has lived through lately."""
NEW = {"11": "package", "12": "nucleus", "13": "split", "14": "swarm"}
PRINTED = re.compile(r'<(?:td colspan="2"|p) class="circle">(.*?)</(?:td|p)>', re.S)
NOTED = "noted"
FINDINGS = {finding.circle for finding in shipped().findings.values()}
"""On a trap's line a finding may have the same word."""


@cache
def kept(program: str) -> Outfit:
    """A yard with a hive for most of what there is."""
    old = [colony(key, history=lines(TOLD[key], colony=key), strength=8) for key in TOLD]
    new = [colony(key, f"{YEAR}-06-05", kind, boxes=["deep"]) for key, kind in NEW.items()]
    hung = lines(
        *(f"04-10 trap_hung {t}" for t in ("T1 2", "T2 9")), *(f"06-05 found {t} all_open" for t in ("T1", "T2"))
    )
    first = colony("1", traps=[short(), drawn("T2", home=9)], strength=8, added=ADDED[:2], history=hung)
    there = yard(first, *old, *new, program=program, added=ADDED[2:])
    return outfit(there, journal=())


@cache
def planned(program: str, as_of: str = AS_OF) -> Plan:
    return make_plan(kept(program), shipped(), on(as_of), YEAR)


@cache
def planned_alone(program: str, key: str | None, day: int, journal: tuple[Event, ...]) -> Plan:
    """The plan of the one hive that a line is about, with what was entered of it."""
    (there,) = kept(program).yards
    hives = tuple(c for c in there.colonies if c.key == (key or "1"))
    alone = replace(kept(program), yards=(replace(there, colonies=hives),), journal=journal)
    return make_plan(alone, shipped(), day, YEAR)


def facts(program: str) -> Facts:
    hives = {c.key: {t.name: 10 for t in c.traps} for c in kept(program).yards[0].colonies}
    return Facts(kept(program), shipped(), Keys({"yard": hives}), on(f"{YEAR}-12-31"), by="AB")


@cache
def printed(program: str) -> tuple[tuple[PrintedSheet, Task, int, str], ...]:
    """Every printed word of every sheet: its sheet, task, line's number, and the word as it stands on paper."""
    found = []
    for as_of in ("01-01", AS_OF):
        made = planned(program, as_of)
        for visit in made.visits:
            ids = sheet_lines(made, visit)
            sheet = PrintedSheet(
                "A2", visit.yard, visit.day, tuple(sheet_line(i, t, shipped()) for i, t in enumerate(ids, 1))
            )
            page = sheet_html(made, visit, "A2")
            rows = [re.findall(r"<span>(.*?)</span>", row) for row in PRINTED.findall(page)]
            tasks = [(i, made.task(t)) for i, t in enumerate(ids, 1) if made.task(t).circle]
            assert [list(task.circle) for _, task in tasks] == rows, f"{visit.id}: the page shows what the tasks say"
            found += [(sheet, task, i, word) for i, task in tasks for word in task.circle]
    return tuple(found)


@pytest.mark.parametrize("program", PROGRAMS)
def test_every_printed_word_is_taken_alone_in_any_case(program: str) -> None:
    known, seen = facts(program), set()
    for sheet, task, number, word in printed(program):
        if (task.method, task.step, word) in seen:
            continue
        seen.add((task.method, task.step, word))
        for text in (word, word.lower(), word.title()):
            entries = line_entries(known, sheet, number, text, sheet.day)
            assert entries, f"{task.id}: {text}"
            assert {e.line for e in entries} == {number}
            assert all(e.event.word != "note" or "queen" in e.event.value or e.event.value for e in entries)


def test_the_sheets_print_most_of_the_words() -> None:
    """What no sheet here prints is taken all the same: see the next test; but most has to be met on paper."""
    on_paper = {word for program in PROGRAMS for *_, word in printed(program)}
    assert len(on_paper & set(shipped().circled)) > len(shipped().circled) * 0.85, sorted(
        set(shipped().circled) - on_paper
    )


def test_every_word_of_every_rule_file_is_taken_and_no_word_is_left_over() -> None:
    book, used = shipped(), set()
    for method in (*book.methods, *book.treatments):
        for name, step in steps_of(method, book).items():
            for word in step.circle:
                found = circled_word(step, [*word.lower().split(), "done"], book, about_hive=True)
                assert found is not None, f"{method}/{name}: {word}"
                assert found.printed == word
                assert written_of(step, found, ["skipped", f"{method}/{name}/1"], book)
                used.add(word)
            assert set(words_of(step, book)) >= set(step.circle)
    assert used == set(book.circled)


# What follows ---------------------------------------------------------------------------------------------------------


def state_of(program: str, key: str, journal: tuple[Event, ...], day: int) -> ColonyState:
    there = kept(program).yards[0]
    hive = next(c for c in there.colonies if c.key == key)
    season = season_of(there, shipped(), on("01-01"), YEAR)
    return recall(hive, [e for e in journal if e.colony == key], season, day, shipped())


def first_with(word: str) -> tuple[str, PrintedSheet, Task, int]:
    for program in ("full", *PROGRAMS):
        for sheet, task, number, one in printed(program):
            if one == word and not (task.trap and word in FINDINGS):
                return program, sheet, task, number
    pytest.skip("no sheet of these hives prints it")


def shown(made: Plan) -> dict[str, tuple[object, ...]]:
    """Each task with its days and what became of it."""
    return {t.id: (t.status, t.planned, t.window.opens, t.window.closes) for t in made.tasks}


@pytest.mark.parametrize("word", sorted(shipped().circled))
def test_what_follows_on_a_word_is_what_the_rules_say(word: str) -> None:
    book = shipped()
    program, sheet, task, number = first_with(word)
    rule, day, known = book.circled[word], sheet.day, facts(program)
    after = tuple(e.event for e in line_entries(known, sheet, number, word, day))
    simply = (line(f"{date_of(day)} {task.logs} {task.trap or ''}", task.colony),)
    with_word = planned_alone(program, task.colony, day + 1, after)
    if not rule.done:
        done = [t for t in with_word.tasks if t.id == task.id and t.status is Status.DONE]
        assert done == [], f"{task.id} counts as done"
    if rule.logs is None and not rule.done:
        assert [e.word for e in after] == [book.word("not_done")]
        return
    if rule.logs is None:
        assert rule.then.startswith(NOTED) or "the step is done" in rule.then
        assert shown(with_word) == shown(planned_alone(program, task.colony, day + 1, simply))
        return
    assert not rule.then.startswith(NOTED)
    follows(rule.logs, program, task, after, day)


def date_of(day: int) -> str:
    return date.fromordinal(day).isoformat()


def follows(logs: str, program: str, task: Task, after: tuple[Event, ...], day: int) -> None:
    """The effect of the line that goes with a word is seen in the colony's state, or in tasks that were not owed."""
    word, _, value = logs.partition(" ")
    book, key = shipped(), task.colony or ""
    effect = book.events[word].effect
    state = state_of(program, key, after, day)
    if effect == "queen":
        assert ("laying" if value == "seen" else value) in state.queen
    elif effect == "suspects":
        assert state.suspect
    elif effect == "clears":
        sick = (line(f"{date_of(day - 1)} suspect", key), *after)
        assert state_of(program, key, sick[:1], day).suspect
        assert not state_of(program, key, sick, day).suspect
    elif effect == "no_brood":
        season = season_of(kept(program).yards[0], book, on("01-01"), YEAR)
        assert day in {spell.first for spell in brood_spells(state, season, book)}
    elif effect == "stops_laying":
        assert "missing" in state.queen
    elif effect == "supers_on":
        assert state.supers
    elif word in anchors():
        made = planned_alone(program, key, day + 1, after)
        new = {t.id for t in made.tasks if t.colony == key and t.method in anchors()[word]}
        assert new, f"nothing is owed after '{word}'"
    else:
        assert word in ("note", "fed"), f"'{word}' has no effect that anybody could see"


@cache
def anchors() -> dict[str, set[str]]:
    """The methods whose first step counts from a word of the journal, by word."""
    found: dict[str, set[str]] = {}
    for name, method in shipped().methods.items():
        first = next(iter(method.steps.values()))
        for bound in first.opens:
            for word in (bound.anchor, *shipped().groups.get(bound.anchor, ())):
                if word in shipped().events:
                    found.setdefault(word, set()).add(name)
    return found


# Said with other things -----------------------------------------------------------------------------------------------


def words(text: str, task: str = "12/swarm_check/2027/check/1") -> list[str]:
    book = shipped()
    hives = Keys({"yard": {"12": {"T1": 10}}})
    sheet = PrintedSheet("A2", "yard", on("06-12"), (sheet_line(1, task, book),))
    of = Facts(outfit(yard(colony("12", traps=[short()]))), book, hives, on("06-12"), by="AB")
    return [f"{e.event.word} {e.event.value}".strip() for e in line_entries(of, sheet, 1, text, sheet.day)]


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("no cells queen seen", ["inspected no cells", "inspected queen seen", "queen seen"]),
        ("done NO CELLS", ["inspected no cells"]),
        ("SICK", ["suspect"]),
        ("cups sick", ["inspected cups", "suspect"]),
        ("done sick", ["inspected", "suspect"]),
        ("eggs in cups", ["inspected eggs in cups", "cups_laid"]),
    ],
)
def test_words_together(text: str, written: list[str]) -> None:
    assert words(text) == written


def test_a_word_of_a_finding_is_the_finding_where_the_line_is_of_a_trap() -> None:
    assert words("NONE", "12.T1/trap_comb_cut/2027/cut/1") == ["found nothing"]
    assert words("sick", "12.T1/trap_comb_cut/2027/cut/1") == ["suspect"]


def test_a_sick_hive_stands_first_in_status_sheet_and_season_page_until_it_is_healthy() -> None:
    def made(*texts: str) -> Plan:
        sick = colony("1", history=lines(*texts))
        return make_plan(outfit(yard(sick, colony("2")), journal=()), shipped(), on("06-14"), YEAR)

    words = "Looks sick: hive 1 since Sat 12 June. Call the inspector."
    ill = made("06-10 inspected", "06-12 suspect ropy", "06-13 suspect")
    told = list(status_lines(ill, frozenset({"count"})))
    assert told[2].strip().startswith("looks sick: hive 1 since Sat 12 June. Call the inspector.")
    assert words in sheet_html(ill, ill.visits[0], "A2")
    assert words in season_html(ill, "yard")
    assert words in ill.yards[0].sick_words
    assert ill.yards[0].colonies[-1].key == "1"  # opened last
    well = made("06-12 suspect ropy", "06-13 healthy")
    assert "Looks sick" not in "".join((sheet_html(well, well.visits[0], "A2"), *status_lines(well, frozenset())))
    assert made("06-12 suspect", "06-13 found_dead", "06-13 died").yards[0].sick_words.startswith(words)
