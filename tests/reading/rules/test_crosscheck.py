"""References between rule files: one slip in a shipped file, and the complaint that it gets."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.anchors import BROOD_DAYS, AnchorKind, AnchorWords, anchor_kind
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.source.complaints import BadInput

SHIPPED = folder("rules")

SLIPS = [
    ("marks", "after: [swarm_start]}", "after: [swarm_starts]}", "there is no mark 'swarm_starts'; did you mean"),
    ("marks", "class: spring", "class: lent", "'lent' is not allowed here; allowed: spring, summer, autumn, winter"),
    ("marks", "moves: later", "moves: north", "'north' is not allowed here; allowed: later, earlier, stays"),
    ("marks", "kind: day, required: yes", "kind: day, required: always", "'always' is neither 'yes' nor 'no'"),
    (
        "marks",
        'title: "first pollen", kind: day, required: yes, class: spring, moves: later',
        'title: "first pollen", kind: day, required: yes, class: spring, moves: later, after: [flow_main]',
        "marks.first_pollen: comes after itself, by way of others",
    ),
    (
        "events",
        "emptied: [trap_hung,",
        "emptied: [trap_hang,",
        "there is no event 'trap_hang'; did you mean 'trap_hung'?",
    ),
    ("events", "value: line, effect: voids", "value: line, effect: not_done", "and 'skipped' has it"),
    ("events", "laying_again: let_out, ", "", "events.caged: 'laying_again' stands where the effect is 'stops_laying'"),
    (
        "events",
        "effect: clears",
        "effect: clears, laying_again: let_out",
        "events.cleared: 'laying_again' stands where",
    ),
    ("events", "  fed:  ", "  brood:", "'brood' is taken by 'brood.first_egg'; choose another word"),
    (
        "events",
        "  emptied: [",
        "  fed: [trap_hung]\n  emptied: [",
        "'fed' is an event and a group; choose another word",
    ),
    ("events", "value: trap_finding", "value: trap", "asks for 'about: trap' and 'value: trap_finding'"),
    (
        "events",
        'example: "2027-06-19 count 4/300"',
        'example: "2027-06-19 count 4"',
        "events.count.example: 'count': needs",
    ),
    ("events", 'example: "2027-06-19 count 4/300"', 'example: "19 June"', "events.count.example: '19' is not a date"),
    ("events", "effect: ends", "effect: dies", "'dies' is not allowed here"),
    (
        "planning",
        "hive_items: [hive_tool",
        "hive_items: [hive_tools",
        "there is no item to bring 'hive_tools'; did you",
    ),
    (
        "planning",
        'title: "super", load: frames',
        'title: "super", load: boxes',
        "there is no load 'boxes'; allowed: comb",
    ),
    (
        "planning",
        "spread_factor: 1 @",
        "spread_factor: 1 d @",
        "spread_factor: is in 'd', and has to be a plain number",
    ),
    ("planning", "far_elevation: 450 m", "far_elevation: 450", "far_elevation: is in '1', and has to be in 'm'"),
    (
        "planning",
        "far_elevation: 450 m",
        "far_elevation: 450.. m",
        "'450.. m' is open; write a number or a range with both",
    ),
    ("planning", "review_after: 400 d", "review_after: 400.. d", "'400.. d' is open"),
    ("planning", "enough_chance: 0.6", "enough_chance: 60", "enough_chance: lies between 0 and 1"),
    ("planning", "short_visit: 30 min", "short_visit: -30 min", "'-30 min' lies below zero"),
    (
        "biology",
        "emerges: 24..24..25 d",
        "emerges: 9..9..9 d",
        "castes.drone: capped in 9 to 10 d and emerging from 9 d can't",
    ),
    ("biology", "  package: ", "  packet: ", "box_full: unknown key 'packet'; did you mean 'package'?"),
    ("biology", "40..50 h", "2 d", "mites.enters_drone_before_capping: is in 'd', and has to be in 'h'"),
    ("biology", "bee_space: 6..9 mm", "bee_space: 6.. mm", "comb.bee_space: '6.. mm' is open"),
    ("biology", "wax: 11.3..13.0 g/kcell", "wax: 11.3..13.0 g", "is in 'g'; what stands here has to be in 'g/kcell'"),
    ("hives", "boxes: [deep, medium]", "boxes: [deep, mediun]", "there is no frame 'mediun'; did you mean 'medium'?"),
    ("hives", "boxes: [deep, medium]", "boxes: []", "hives.langstroth_5.boxes: names no box"),
    ("hives", "frames: 5,", "frames: 0,", "hives.langstroth_5.frames: a box takes 1 to 40 frames"),
    ("hives", "height: 232 mm", "height: 232 cm", "is in 'cm'; what stands here has to be in 'mm'"),
    ("hives", "height: 232 mm", "height: 232.. mm", "'232.. mm' is open"),
    ("sources", "kind: practice, basis: practice", "kind: practice, basis: custom", "'custom' is not allowed here"),
    (
        "counting",
        "usually season.first_pollen @",
        "season.first_pollen @",
        "phases.increase.begins: 'season.first_pollen'",
    ),
    ("counting", "usually season.first_pollen @", "usually season.pollen @", "'pollen' is not a mark of marks.yaml"),
    ("counting", "usually season.first_pollen @", "supers.on @", "counts from the season only, such as"),
    (
        "counting",
        "closes: usually season.winter_bee_rearing_start}",
        "closes: count}",
        "'count' is no day to count from",
    ),
    ("counting", "confidence: 0.95 ", "confidence: 95   ", "confidence: lies between 0 and 1"),
    ("counting", "design_effect: 1 @", "design_effect: 0.5 @", "design_effect: '0.5' has to be a number, 1 or more"),
    ("counting", "bees: 200 @", "bees: 200.. @", "enough.bees: '200..' has to be a number, 0 or more"),
    ("counting", "grams: 40 g", "grams: 40", "'40' has no unit; write '40 g'"),
    ("counting", "wash:  95..100 %", "wash:  95..110 %", "recovery.wash: is a share above 0 and at most 100 %"),
    ("counting", "together: 14 d", "together: 14.. d", "together: '14.. d' has to be a number"),
    (
        "planning",
        "synthetic: [amidine,",
        "synthetic: [amidines,",
        "there is no class 'amidines'; did you mean 'amidine'?",
    ),
    ("planning", "a_season: {formic:", "a_season: {formix:", "there is no class 'formix'; did you mean 'formic'?"),
    ("planning", "once_a_winter: trickle_once", "once_a_winter: trickle", "there is no caution 'trickle'"),
    ("planning", "between: 28 d", "between: 28.. d", "year_plans.walls.between: '28.. d' is open"),
    ("planning", "after_flow: 18.. °C", "after_flow: ..18 °C", "after_flow: '..18 °C @worked_out/derived' is open"),
    ("planning", "published: 15.. °C", "published: ..15 °C", ".published: '..15 °C' is open"),
    (
        "planning",
        "published: ..32 °C",
        "published: 32.. °C",
        "most_published: '32.. °C @oliver_2016_year/derived' is open",
    ),
    ("planning", "settled_most: 600", "settled_most: 600 d", "'600 d' is in 'd'; what stands here is a plain number"),
    ("mites", "58..60..63 %", "58..60..163 %", "mothers_survive: '58..60..163 %' is more than all"),
    ("mites", "58..60..63 %", "58.. %", "breeding.mothers_survive: '58.. %' is open"),
    ("mites", "58..60..63 %", "0.58..0.63", "'0.58..0.63' has no unit; write '0.58..0.63 %'"),
    ("mites", "drone: 6.49 g/cell", "drone: 6.49 g", "is in 'g'; what stands here has to be in 'g/cell'"),
    ("mites", "bee_weight: 0.12 g", "bee_weight: 0 g", "entering.bee_weight: '0 g' has to lie above zero"),
    ("mites", "young_wait: 5 d", "young_wait: 0 d", "breeding.young_wait: '0 d' has to be a day or more"),
    ("mites", "dense: 6 mites/d", "dense: 2 mites/d", "dense: mites from some neighbours (2.5 mites/d"),
    ("mites", "winter_all: 40 d", "winter_all: 10 d", "bees.winter_all: the first winter bees (12 d) can't be as"),
    ("mites", "winter_bee: 170 d", "winter_bee: 17 d", "harm.winter_bee: a summer bee's life (28 d"),
    ("mites", "wash_reads: 1.2", "wash_reads: 0.5", "counted.wash_reads: has to be 1 or more"),
    ("mites", "grid: 64", "grid: 4", "counted.grid: has to be a whole number from 8 to 9999"),
    ("mites", "choose: 31", "choose: 31.5", "draws.choose: has to be a whole number from 8 to 9999"),
    ("mites", "most_a_day: 90 %", "most_a_day: 100 %", "acting.most_a_day: has to be below 100 %"),
    ("mites", "nucleus_brood: 40 %", "nucleus_brood: 140 %", "beginnings.nucleus_brood: '140 %' is more than all"),
    ("mites", "[35 %, 25 %", "[35 %, 35 %", "acting.in_cells_by_day: come to 110 %"),
    ("mites", "  young_wait:", "  young_waits:", "unknown key 'young_waits'"),
]


@pytest.mark.parametrize(("name", "old", "new", "words"), SLIPS, ids=[f"{s[0]}-{i}" for i, s in enumerate(SLIPS)])
def test_one_slip_in_a_shipped_file(name: str, old: str, new: str, words: str, tmp_path: Path) -> None:
    text = (SHIPPED / f"{name}.yaml").read_text("utf-8")
    assert old in text
    line = text[: text.index(old)].count("\n") + 1
    (tmp_path / f"{name}.yaml").write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(BadInput) as caught:
        load_rulebook(SHIPPED, tmp_path, "own")
    found = [c for c in caught.value.complaints if words in c.what]
    assert found, str(caught.value)
    missing = "comes after itself" in words
    assert found[0].file == f"own/{name}.yaml"
    assert found[0].line == line or missing, f"line {found[0].line}, not {line}"


MISSING = [
    ("planning", "  foulbrood:", "  foul_brood:", "the caution 'foulbrood' is missing, and planning needs it"),
    ("biology", "  lays_after_release:", "  lays_after_a_time:", "queen: the key 'lays_after_release' is missing"),
    (
        "events",
        "effect: takes_trap_out",
        "effect: none",
        "the effect 'takes_trap_out' is missing, and planning needs it",
    ),
]
"""What a keeper's own rules can't take away, since they only add: the shipped rules are held to it."""


@pytest.mark.parametrize(("name", "old", "new", "words"), MISSING, ids=[words for *_, words in MISSING])
def test_what_planning_needs_by_name_is_there(name: str, old: str, new: str, words: str, tmp_path: Path) -> None:
    rules = shutil.copytree(SHIPPED, tmp_path / "rules")
    text = (SHIPPED / f"{name}.yaml").read_text("utf-8")
    assert old in text
    (rules / f"{name}.yaml").write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(BadInput) as caught:
        load_rulebook(rules)
    assert [c for c in caught.value.complaints if words in c.what], str(caught.value)


def test_every_region_has_every_mark_that_it_must_have(book: Rulebook) -> None:
    required = {name for name, rule in book.marks.items() if rule.required}
    assert len(required) == 16
    for name, region in book.regions.items():
        assert required <= set(region.marks), name


def test_a_mark_that_is_required_is_missed_in_every_region(tmp_path: Path, book: Rulebook) -> None:
    text = (SHIPPED / "marks.yaml").read_text("utf-8")
    old = 'lime_bloom:               {title: "large-leaved lime in bloom", '
    assert old in text
    (tmp_path / "marks.yaml").write_text(text.replace(old, old + "required: yes, "), "utf-8")
    lacking = {
        f"rules/regions/{name}.yaml" for name, region in book.regions.items() if "lime_bloom" not in region.marks
    }
    with pytest.raises(BadInput) as caught:
        load_rulebook(SHIPPED, tmp_path)
    assert {c.file for c in caught.value.complaints} == lacking
    assert all("marks: lime_bloom missing; write 'lime_bloom: none'" in c.what for c in caught.value.complaints)


def test_marks_that_a_region_lacks_are_no_fault_of_a_method(tmp_path: Path) -> None:
    (tmp_path / "methods").mkdir()
    (tmp_path / "methods" / "heather.yaml").write_text(
        'title: "Heather"\nchecked: 2026-11-24\ncite: practice\nper: yard\nsteps:\n'
        '  go: {do: "Go", opens: usually season.flow_heather.begins, closes: usually season.flow_heather.ends, '
        "minutes: 60 min, logs: done}\n",
        "utf-8",
    )
    assert "heather" in load_rulebook(SHIPPED, tmp_path).methods


# Anchors -------------------------------------------------------------------------------------------------------------

WORDS = AnchorWords(
    {"swarm_start": "day", "flow_main": "period"}, ["fed", "trap_hung"], ["emptied"], ("egg",), ("hang",), ("cut",)
)


@pytest.mark.parametrize(
    ("anchor", "kind", "uncertain"),
    [
        ("season.swarm_start", AnchorKind.MARK, True),
        ("season.flow_main.begins", AnchorKind.MARK, True),
        ("egg", AnchorKind.CLOCK, True),
        ("hang", AnchorKind.STEP, False),
        ("fed", AnchorKind.EVENT, False),
        ("emptied", AnchorKind.GROUP, False),
        ("supers.on", AnchorKind.SUPERS, False),
        *((f"brood.{name}", AnchorKind.BROOD, True) for name in BROOD_DAYS),
        ("05-20", AnchorKind.DATE, False),
        ("2027-05-20", AnchorKind.DATE, False),
    ],
)
def test_an_anchor(anchor: str, kind: AnchorKind, uncertain: bool) -> None:
    assert anchor_kind(anchor, WORDS) is kind
    assert kind.uncertain is uncertain


@pytest.mark.parametrize(
    ("anchor", "words"),
    [
        ("season.swarm_begin", "'swarm_begin' is not a mark of marks.yaml; allowed: flow_main, swarm_start"),
        ("season.swarm_start.begins", "'swarm_start' is a day, not a period: write 'season.swarm_start'"),
        ("season.flow_main", "'flow_main' is a period: write 'season.flow_main.begins' or 'season.flow_main.ends'"),
        ("season.flow_main.end", "'flow_main' is a period"),
        ("season", "'season' is no day to count from"),
        ("swarm_start", "'swarm_start' is a mark of the season; write 'season.swarm_start'"),
        ("cut", "'cut' does not come before this one; count from what stands above it"),
        ("hanged", "'hanged' is no day to count from; did you mean 'hang'?"),
        ("supers.gone", "'supers.gone' is not known; did you mean 'supers.on'?"),
        ("brood.gone", "'brood.gone' is not known; did you mean 'brood."),
    ],
)
def test_what_is_no_anchor(anchor: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        anchor_kind(anchor, WORDS)
    assert words in str(caught.value)
