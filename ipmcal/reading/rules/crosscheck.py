"""Load is the moment of truth: every reference between rule files resolves, or nothing starts.

In: the rulebook and the trees it came from. Out: complaints, each at its place. Methods are checked in
``methodcheck.py``, figures and tables in ``tables.py``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook, cited_values
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import LEAP_YEAR, Amount
from ipmcal.model.values.text import Text, nearest, quoted
from ipmcal.reading.journal.journal import history_event
from ipmcal.reading.journal.values import event_value
from ipmcal.reading.rules.basecheck import base_complaints
from ipmcal.reading.rules.countcheck import count_complaints
from ipmcal.reading.rules.methodcheck import known, method_complaints
from ipmcal.reading.rules.tables import table_complaints
from ipmcal.reading.rules.treatmentcheck import treatment_complaints
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Path_, Tree

CAUTIONS = ("foulbrood", "suspect_last", "sick_yard", "between_yards")
"""Words that planning knows by name: a file that lacks them can't be planned with."""
WRITTEN = ("begins", "hangs_trap", "takes_trap_out", "narrows_clock", "strips_out", "does_own", "not_done", "voids")
"""Effects of lines that are written, or looked for, by what they do: one word each."""
ABOUT: dict[str, tuple[str, str]] = {
    "hangs_trap": ("trap", "trap_slot"),
    "moves_trap": ("trap", "trap_slot"),
    "empties_trap": ("trap", "trap"),
    "takes_trap_out": ("trap", "trap"),
    "narrows_clock": ("trap", "trap_finding"),
    "queen": ("colony", "queen"),
    "strength": ("colony", "frames"),
    "begins": ("colony", "beginning"),
    "marks_season": ("yard", "mark"),
}
"""What an event with an effect is about, and the form of its value."""
RESERVED = {"season": "season.MARK", "supers": "supers.on", "brood": "brood.first_egg"}
LONGEST_PERIOD = 300
"""A period of more days than this was most likely written backwards: its end would lie in the next season."""


def crosscheck(book: Rulebook, trees: Mapping[str, Tree], files: Iterable[str] = ()) -> Iterator[Complaint]:
    """Every reference that does not resolve, and every table that contradicts itself.

    ``files`` are the keys of all rule files, also of those that can't be read: what refers to them is no fault.
    """
    names = {*files, *trees}
    methods, jurisdictions = _stems("methods", names), _stems("jurisdictions", names)
    yield from _marks(book, trees["marks"])
    yield from _events(book, trees["events"])
    yield from _planning(book, trees["planning"])
    yield from _hives(book, trees["hives"])
    yield from table_complaints(book, trees)
    yield from count_complaints(book, trees)
    for name, region in book.regions.items():
        tree = trees[f"regions/{name}"]
        yield from _region(book, region, tree)
        named = (region.jurisdiction,) if region.jurisdiction else ()
        yield from known(named, jurisdictions, tree, ("jurisdiction",), "jurisdiction", indexed=False)
    for name, method in book.methods.items():
        yield from method_complaints(book, method, trees[f"methods/{name}"])
    for name in book.treatments:
        yield from treatment_complaints(book, name, trees[f"treatments/{name}"], jurisdictions)
    for name, skill in book.skills.items():
        tree = trees[f"skills/{name}"]
        yield from known(skill.logs, book.events, tree, ("logs",), "word of the journal")
        yield from known(skill.methods, methods, tree, ("methods",), "method")
    for name, program in book.programs.items():
        tree = trees[f"programs/{name}"]
        yield from known(program.methods, methods, tree, ("methods",), "method")
        yield from known(program.treatments, book.treatments, tree, ("treatments",), "treatment")
        if not program.methods:
            yield Complaint.at(tree.place(("methods",)), "methods: names no method")
    for name in book.jurisdictions:
        tree = trees[f"jurisdictions/{name}"]
        yield from _within(book, name, jurisdictions, tree)
        lines = book.jurisdictions[name].thresholds
        yield from known(lines, _stems("thresholds", names), tree, ("thresholds",), "file of thresholds")
    for name, region in book.regions.items():
        tree = trees[f"regions/{name}"]
        yield from known(region.thresholds, _stems("thresholds", names), tree, ("thresholds",), "file of thresholds")


def _stems(folder: str, names: Iterable[str]) -> list[str]:
    return sorted(name.removeprefix(f"{folder}/") for name in names if name.startswith(f"{folder}/"))


def _lacking(what: str, have: Collection[str], names: Iterable[str], tree: Tree, path: Path_) -> Iterator[Complaint]:
    lack = [name for name in names if name not in have]
    if lack:
        yield Complaint.at(tree.place(path), f"{what} {', '.join(map(quoted, lack))} is missing, and planning needs it")


# Marks and regions ---------------------------------------------------------------------------------------------------


def _marks(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    for name, mark in book.marks.items():
        yield from known(mark.after, book.marks, tree, ("marks", name, "after"), "mark")
        if name in _before(book, name):
            yield Complaint.at(
                tree.place(("marks", name, "after")), f"marks.{name}: comes after itself, by way of others"
            )


def _before(book: Rulebook, name: str) -> set[str]:
    """All marks that a mark comes after, directly or by way of others."""
    found: set[str] = set()
    todo = list(book.marks[name].after)
    while todo:
        one = todo.pop()
        if one not in found and one in book.marks:
            found.add(one)
            todo.extend(book.marks[one].after)
    return found


def _region(book: Rulebook, region: Region, tree: Tree) -> Iterator[Complaint]:
    first = region.season[0].in_year(LEAP_YEAR + 3)
    length = region.season[1].on_or_after(first) - first + 1
    is_year = 364 <= length <= 366
    if not is_year:
        what = f"season: lasts {length} days; a season is a whole year and ends the day before it begins"
        yield Complaint.at(tree.place(("season",)), what)
    needed = [name for name, rule in book.marks.items() if rule.required]
    lack = [name for name in needed if name not in region.marks]
    if lack:
        what = f"marks: {', '.join(lack)} missing; write '{lack[0]}: none' with a source where there is none"
        yield Complaint.at(tree.place(("marks",)), what)
    for name, mark in region.marks.items():
        rule, days = book.marks.get(name), mark.value
        if rule is None:
            what = f"marks: there is no mark {quoted(name)}{nearest(name, sorted(book.marks))}"
            yield Complaint.at(tree.key(("marks", name)), what)
        elif rule.by_yard:
            what = f"marks.{name}: is a yard's, not a region's; leave it out"
            yield Complaint.at(tree.key(("marks", name)), what)
        elif days.begins is not None and (rule.kind == "period") != (days.ends is not None):
            a_day, a_period = "one day, such as '05-10 ± 7 d'", "a period, such as '05-25..07-15 ± 8 d'"
            what = f"marks.{name}: this mark is {a_period if rule.kind == 'period' else a_day}"
            yield Complaint.at(mark.place, what)
        elif days.begins is not None and days.ends is not None:
            begins = days.begins.on_or_after(first)
            lasts = days.ends.on_or_after(begins) - begins + 1
            if lasts > LONGEST_PERIOD:
                yield Complaint.at(mark.place, f"marks.{name}: lasts {lasts} days; does it run backwards?")
    if is_year:
        yield from _mark_order(book, region, first)
        yield from base_complaints(book, region, first, tree)


def _mark_order(book: Rulebook, region: Region, first: int) -> Iterator[Complaint]:
    """Marks keep their order: none begins before one that it comes after."""
    begins = {n: m.value.begins.on_or_after(first) for n, m in region.marks.items() if m.value.begins}
    for name, day in begins.items():
        for before in book.marks[name].after if name in book.marks else ():
            if before in begins and begins[before] > day:
                mark, other = region.marks[name], region.marks[before]
                what = (
                    f"marks.{name}: {mark.value.begins} comes before {other.value.begins}, the day of '{before}' "
                    f"(line {other.place.line}), and has to follow it"
                )
                yield Complaint.at(mark.place, what)


# Words of the journal, things to bring, countries --------------------------------------------------------------------


def _events(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    yield from _effects(book, tree)
    for name, members in book.groups.items():
        yield from known(members, book.events, tree, ("groups", name), "event")
        if name in book.events:
            yield Complaint.at(
                tree.place(("groups", name)), f"{quoted(name)} is an event and a group; choose another word"
            )
    yield from _circled(book, tree)
    yield from _findings(book, tree)
    for section, names in (("events", book.events), ("groups", book.groups)):
        for name in names:
            if name in RESERVED:
                yield Complaint.at(
                    tree.key((section, name)), f"{quoted(name)} is taken by '{RESERVED[name]}'; choose another word"
                )
    for name, rule in book.events.items():
        wanted = ABOUT.get(rule.effect)
        if wanted and wanted != (rule.about, rule.value):
            what = f"events.{name}: the effect '{rule.effect}' asks for 'about: {wanted[0]}' and 'value: {wanted[1]}'"
            yield Complaint.at(tree.place(("events", name)), what)
        if rule.about == "yard" or rule.value in ("step", "treatment"):
            continue  # what those name may be missing from the keeper's own rules
        try:
            history_event(Text(rule.example), "", "", book)
        except ValueError as error:
            yield Complaint.at(tree.place(("events", name, "example")), f"events.{name}.example: {error}")


def _circled(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    """Words to be circled: in capitals, as printed; the line that goes with one can be written of any hive."""
    for word, rule in book.circled.items():
        if word != " ".join(word.upper().split()):
            yield Complaint.at(tree.key(("circled", word)), f"circled: {quoted(word)} has to be written in capitals")
        if rule.logs is None:
            continue
        head, _, value = rule.logs.partition(" ")
        place = tree.place(("circled", word, "logs"))
        if head in book.events and book.events[head].about != "colony":
            yield Complaint.at(place, f"circled.{word}.logs: '{head}' is not about a hive; choose another word")
            continue
        try:
            event_value(head, value, book)
        except ValueError as error:
            yield Complaint.at(place, f"circled.{word}.logs: {error}")


def _findings(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    """A count that a finding asks for is one, and has blanks to print."""
    for name, finding in book.findings.items():
        if finding.logs is None:
            continue
        rule = book.events.get(finding.logs)
        if rule is None or rule.value != "count" or not rule.blanks:
            what = f"findings.{name}.logs: {quoted(finding.logs)} is no count with blanks; choose one, such as 'count'"
            yield Complaint.at(tree.place(("findings", name, "logs")), what)


def _effects(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    """One word for each effect that is written by what it does; how laying comes back, where a word stops it."""
    for effect in WRITTEN:
        words = [name for name, rule in book.events.items() if rule.effect == effect]
        if not words:
            what = f"an event with the effect '{effect}' is missing, and planning needs it"
            yield Complaint.at(tree.place(("events",)), what)
        for name in words[1:]:
            what = f"events.{name}: only one word may have the effect '{effect}', and {quoted(words[0])} has it"
            yield Complaint.at(tree.place(("events", name)), what)
    for name, rule in book.events.items():
        if (rule.effect == "stops_laying") != (rule.laying_again is not None):
            what = f"events.{name}: 'laying_again' stands where the effect is 'stops_laying', and only there"
            yield Complaint.at(tree.place(("events", name)), what)


def _planning(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    planning = book.planning
    yield from _lacking("the caution", planning.cautions, CAUTIONS, tree, ("cautions",))
    for name, item in planning.items.items():
        yield from known((item.load,), planning.loads, tree, ("items", name, "load"), "load", indexed=False)
    for key in ("asked_count", "cold_count", "supers_off_by", "dead_out"):
        yield from known((getattr(planning, key),), book.methods, tree, (key,), "method", indexed=False)
    for key in ("nest_work", "feeding", "rough_work", "not_put_off", "counts", "exchange", "comes_out", "goes_on_sick"):
        yield from known(getattr(planning, key), book.events, tree, (key,), "event")
    yield from known((planning.signs,), book.events, tree, ("signs",), "event", indexed=False)
    yield from known((planning.dead,), book.groups, tree, ("dead",), "group", indexed=False)
    yield from known(planning.hive_items, planning.items, tree, ("hive_items",), "item to bring")
    yield from known(planning.each_hive, planning.cautions, tree, ("each_hive",), "caution")
    yield from _year_plans(book, tree)


def _year_plans(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    """The choice of a year's courses names classes of products, and a caution."""
    walls, classes, at = book.planning.year_plans.walls, book.planning.classes, ("year_plans", "walls")
    for key in ("synthetic", "never", "acids"):
        yield from known(getattr(walls, key), classes, tree, (*at, key), "class")
    for name in walls.a_season:
        yield from known((name,), classes, tree, (*at, "a_season", name), "class", indexed=False)
    for i, floor in enumerate(walls.floors):
        yield from known(floor.classes, classes, tree, (*at, "floors", i, "classes"), "class")
    names, path = (walls.once_a_winter,), (*at, "once_a_winter")
    yield from known(names, book.planning.cautions, tree, path, "caution", indexed=False)
    yourself = book.planning.year_plans.offered.yourself
    yield from known(yourself, book.planning.cautions, tree, ("year_plans", "offered", "yourself"), "caution")
    for value in cited_values(book.planning.year_plans):
        if isinstance(value, Cited):
            yield from _open_figure(value)


LOWEST = ("before_flow", "after_flow", "published", "winter_dose_at", "warm")
HIGHEST = ("most", "most_published")
"""Figures of the choice of courses that are a lowest, and a highest warmth: they may be open at the other end."""


def _open_figure(value: Cited[Amount]) -> Iterator[Complaint]:
    name = value.key.rpartition(".")[2]
    low, high = value.value.low is not None, value.value.high is not None
    ends = low if name in LOWEST else high if name in HIGHEST else low and high
    if not ends:
        example = "'15.. °C'" if name in LOWEST else "'..30 °C'" if name in HIGHEST else "'28 d' or '21..42 d'"
        yield Complaint.at(value.place, f"{value.key}: {quoted(value.text)} is open; write for example {example}")


def _hives(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    for name, hive in book.hives.hives.items():
        yield from known(hive.boxes, book.hives.frames, tree, ("hives", name, "boxes"), "frame")
        if not hive.boxes:
            yield Complaint.at(tree.place(("hives", name, "boxes")), f"hives.{name}.boxes: names no box")


def _within(book: Rulebook, name: str, jurisdictions: Collection[str], tree: Tree) -> Iterator[Complaint]:
    """A jurisdiction lies within one that there is, and never within itself."""
    whole = book.jurisdictions[name]
    within = whole.within
    for key in ("temperature", "paper", "inspector"):
        if getattr(whole, key) is None:
            where = "" if within is None else f", and '{within}' does not give it"
            yield Complaint.at(tree.place(()), f"the key '{key}' is missing{where}")
    if within is None:
        return
    yield from known(
        (within,),
        [j for j in jurisdictions if j != name or j == within],
        tree,
        ("within",),
        "jurisdiction",
        indexed=False,
    )
    seen: list[str] = []
    while within is not None and within in book.jurisdictions and within not in seen:
        seen.append(within)
        within = book.jurisdictions[within].within
    if name in seen:
        yield Complaint.at(tree.place(("within",)), f"within: {quoted(name)} lies within itself; delete one of the two")
