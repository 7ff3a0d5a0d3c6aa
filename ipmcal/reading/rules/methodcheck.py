"""Methods checked: every word that a method uses exists, and a bound counts only from what comes before it.

In: a method, the rulebook, the places of its keys. Out: complaints.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from string import Formatter

from ipmcal.model.rules.anchors import ASKED, DUE, AnchorKind, AnchorWords, anchor_kind
from ipmcal.model.rules.methods import Act, Again, Method, RangeNeed, Step, WordNeed
from ipmcal.model.rules.needs import NEED_RULES, NeedRule
from ipmcal.model.rules.retired import instead_of_method, instead_of_word
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.model.values.forms import Bound, ClockDay
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.rules.tables import CASTE_DAYS
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Path_, Tree

BLANKS = ("trap", "home", "slot")
"""What a trap frame's step may have filled in, as in ``Hang trap {trap}: slot {home}``."""
MOST_TIMES = 100
EDGES = ("opens", "best", "closes", "late_until", "worth_until", "hard_stop", "until")


def known(
    names: Collection[str], allowed: Collection[str], tree: Tree, path: Path_, what: str, *, indexed: bool = True
) -> Iterator[Complaint]:
    """A complaint for every name that is not allowed, with the nearest that is."""
    for i, name in enumerate(names):
        if name not in allowed:
            place = tree.place((*path, i) if indexed else path)
            key = ".".join(str(step) for step in path if isinstance(step, str))
            instead = (instead_of_method(name) if what == "method" else "") or nearest(name, sorted(allowed))
            yield Complaint.at(place, f"{key}: there is no {what} {quoted(name)}{instead}")


def method_complaints(book: Rulebook, method: Method, tree: Tree) -> Iterator[Complaint]:
    """Everything that does not fit in one method."""
    marks = {name: rule.kind for name, rule in book.marks.items()}
    days, steps = tuple(method.clock), tuple(method.steps)
    events = (*book.events, *((ASKED,) if method.asked else ()), *(DUE if method.rhythm else ()))
    for i, (name, parts) in enumerate(method.clock.items()):
        words = AnchorWords(marks, events, book.groups, days[:i], (), (*days[i:], *steps))
        for day in parts:
            yield from _clock_day(day, words)
        yield from _new_word(book, name, (), tree, ("clock", name))
    yield from _seen(book, method, tree)
    yield from _needs(method, tree)
    yield from _whole(book, method, tree)
    yield from _lines(method, AnchorWords(marks, (), ()))
    for i, (name, step) in enumerate(method.steps.items()):
        words = AnchorWords(marks, events, book.groups, days, steps[:i], steps[i:])
        yield from _new_word(book, name, days, tree, ("steps", name))
        yield from _bounds(step, words)
        if step.again:
            again = AnchorWords(marks, events, book.groups, days, steps[: i + 1], steps[i + 1 :])
            yield from _again(name, step.again, again, tree)
        if step.along and (i == 0 or step.again):
            what = "goes along with the step before it: neither the first step can, nor one that repeats"
            yield Complaint.at(tree.place(("steps", name, "along")), f"steps.{name}.along: {what}")
        yield from _step(book, method, name, step, tree)


def _lines(method: Method, words: AnchorWords) -> Iterator[Complaint]:
    """The days whose lines are the method's are the season's alone: no line says of itself whose it is."""
    for one in (*(method.lines_from or ()), *(method.lines_until or ())):
        problem = bound_problem(one, words)
        if not problem and anchor_kind(one.anchor, words) not in (AnchorKind.MARK, AnchorKind.DATE):
            problem = f"'{one.anchor}' is no mark of the season; write such as 'usually season.supers_off'"
        if problem:
            yield Complaint.about(one.text, problem)


def _new_word(book: Rulebook, name: str, others: Collection[str], tree: Tree, path: Path_) -> Iterator[Complaint]:
    """A day of the clock and a step need words of their own: bounds could not tell them from an event."""
    taken = "an event" if name in book.events or name in book.groups else "a day of the clock" if name in others else ""
    if taken:
        yield Complaint.at(tree.key(path), f"{path[0]}: {quoted(name)} is {taken} already; choose another word")


def _clock_day(day: ClockDay, words: AnchorWords) -> Iterator[Complaint]:
    try:
        anchor_kind(day.anchor, words)
    except ValueError as error:
        yield Complaint.about(day.text, str(error))
    if day.development and day.development not in CASTE_DAYS:
        what = f"{quoted(day.development)} is not a development time{nearest(day.development, CASTE_DAYS)}"
        yield Complaint.about(day.text, what)


def _seen(book: Rulebook, method: Method, tree: Tree) -> Iterator[Complaint]:
    for section, findings in (("seen", method.seen), ("found", method.found)):
        for finding in findings:
            if finding not in book.findings:
                what = f"{section}: there is no finding {quoted(finding)}{nearest(finding, list(book.findings))}"
                yield Complaint.at(tree.key((section, finding)), what)
    for finding, edges in method.seen.items():
        for name in edges:
            if name not in method.clock:
                what = f"seen.{finding}: {quoted(name)} is not a day of this clock{nearest(name, list(method.clock))}"
                yield Complaint.at(tree.key(("seen", finding, name)), what)


def _needs(method: Method, tree: Tree) -> Iterator[Complaint]:
    """What a need says is in the vocabulary, and there is something that reads it."""
    for need, rule in NEED_RULES.items():
        said = getattr(method.needs, need)
        if said is None:
            continue
        place = tree.place(("needs", need))
        if method.per == "yard" and not (rule.warns or rule.of_yard):
            yield Complaint.at(place, f"needs.{need}: asks about a colony, and this method is 'per: yard'; delete it")
        elif rule.trap and method.per == "colony":
            what = f"needs.{need}: asks about a trap frame, and this method is 'per: {method.per}'; delete it"
            yield Complaint.at(place, what)
        problems = _range(said, rule) if isinstance(said, RangeNeed) else _words(need, said, rule)
        yield from (Complaint.at(place, f"needs.{need}: {what}") for what in problems)


def _words(need: str, said: WordNeed, rule: NeedRule) -> Iterator[str]:
    for names, allowed, under in ((said.is_, rule.words, ""), (said.not_, rule.not_, " under 'not'")):
        for name in names:
            if name not in allowed:
                instead = instead_of_word(f"needs.{need}", name) or nearest(name, allowed)
                yield f"{quoted(name)} is not a word for it{under}{instead}"
    if not said.is_ and not said.not_:
        yield f"asks for nothing; write words, as in '{need}: [{rule.words[0]}]'"


def _range(said: RangeNeed, rule: NeedRule) -> Iterator[str]:
    value = said.value.value
    if value.unit != rule.unit:
        yield f"is in '{value.unit}', and has to be in '{rule.unit}'"
    elif rule.warns and (value.low is None or value.high is not None):
        yield f"'{value}' is read by its lower end alone; write for example '13.. {rule.unit}'"
    elif rule.warns and not said.advice:
        yield "no plan knows the warmth of a day to come, so that it can only warn; add 'advice: yes'"


def _whole(book: Rulebook, method: Method, tree: Tree) -> Iterator[Complaint]:
    """What a method needs as a whole: steps, and for trap frames one that hangs and one that empties."""
    effects = [book.events[step.logs].effect if step.logs in book.events else "" for step in method.steps.values()]
    if not method.steps:
        yield Complaint.at(tree.place(("steps",)), "steps: there is none; a method has one at least")
    elif method.per == "trap_frame" and (effects[0] not in ("hangs_trap", "") or len(effects) < 2):
        what = "steps: for trap frames, the first step hangs the frame ('logs: trap_hung'), and another empties it"
        yield Complaint.at(tree.place(("steps",)), what)
    if method.rhythm and not _counts_once(book, method):
        what = "rhythm: a rhythm is one of counts: one step, 'per: colony', that 'logs' a count of mites"
        yield Complaint.at(tree.place(("rhythm",)), what)
    acts = {found.act for found in method.found.values()}
    if Act.WAIT in acts and Act.CLOSE not in acts:
        what = "found: a finding waits, and none closes ('act: close'): what is done when waiting would be too late?"
        yield Complaint.at(tree.place(("found",)), what)


def _counts_once(book: Rulebook, method: Method) -> bool:
    words = (*book.planning.counts, *(step.logs for step in method.steps.values() if step.logs not in book.events))
    counts = all(step.logs in words and step.again is None for step in method.steps.values())
    return counts and len(method.steps) == 1 and method.per == "colony" and not method.asked


# Steps ---------------------------------------------------------------------------------------------------------------


def _step(book: Rulebook, method: Method, name: str, step: Step, tree: Tree) -> Iterator[Complaint]:
    path: Path_ = ("steps", name)
    key = f"steps.{name}"
    if step.closes is None and step.hard_stop is None:
        yield Complaint.at(tree.place(path), f"{key}: needs 'closes' or 'hard_stop': when is it too late?")
    if step.hard_stop is not None and step.harm is None:
        yield Complaint.at(tree.place((*path, "hard_stop")), f"{key}: a hard stop needs 'harm': what does lateness do?")
    if step.late_until is not None and (method.per != "trap_frame" or name != next(iter(method.steps))):
        what = f"{key}.late_until: only the first step of a method 'per: trap_frame' can say it"
        yield Complaint.at(tree.place((*path, "late_until")), what)
    yield from known((step.logs,), book.events, tree, (*path, "logs"), "event", indexed=False)
    event = book.events.get(step.logs)
    if event and (event.about == "trap") != (method.per == "trap_frame"):
        what = f"{key}.logs: '{step.logs}' is about a {event.about}, and this method is 'per: {method.per}'"
        yield Complaint.at(tree.place((*path, "logs")), what)
    yield from known(step.bring, book.planning.items, tree, (*path, "bring"), "item to bring")
    yield from known(step.cautions, book.planning.cautions, tree, (*path, "cautions"), "caution")
    for i, finding in enumerate(step.findings):
        if finding not in method.found:
            hint = nearest(finding, list(method.found))
            what = f"{key}.findings: the finding {quoted(finding)} has no entry under 'found'{hint}"
            yield Complaint.at(tree.place((*path, "findings", i)), what)
    yield from circle_complaints(book, step, tree, path)
    yield from known((step.table,) if step.table else (), book.tables, tree, (*path, "table"), "table", indexed=False)
    yield from _minutes(key, step)
    allowed = BLANKS if method.per == "trap_frame" else ()
    for field in ("do", "look", "prepare"):
        yield from _filled_in(f"{key}.{field}", getattr(step, field), allowed, tree.place((*path, field)))
    if step.if_late:
        yield from _filled_in(f"{key}.if_late.do", step.if_late.do, allowed, tree.place((*path, "if_late", "do")))


def circle_complaints(book: Rulebook, step: Step, tree: Tree, path: Path_) -> Iterator[Complaint]:
    """Each word to be circled is one of ``circled`` in events.yaml, so that it can be entered as it is printed."""
    yield from known(step.circle, book.circled, tree, (*path, "circle"), "word to circle")
    event = book.events.get(step.logs)
    if step.circle and event is not None and event.value not in ("text", "trap"):
        words = "words are written behind a text, and the value of"
        what = f"{'.'.join(map(str, path))}.circle: {words} '{step.logs}' is none; take another event"
        yield Complaint.at(tree.place((*path, "circle")), what)


def _minutes(key: str, step: Step) -> Iterator[Complaint]:
    minutes = step.minutes.value
    if not minutes.closed or minutes.middle < 0:
        yield Complaint.at(step.minutes.place, f"{key}.minutes: write a number or a range, such as '5 min'")


def _filled_in(key: str, text: str | None, allowed: Collection[str], place: Place) -> Iterator[Complaint]:
    """Braces in a step's words are filled in when it is printed: only by words that there are."""
    try:
        parts = [part for part in Formatter().parse(text or "") if part[1] is not None]
    except ValueError:
        yield Complaint.at(place, f"{key}: a brace does not match; write '{{trap}}', or '{{{{' for a brace")
        return
    for _, word, spec, conversion in parts:
        if word not in allowed or spec or conversion:
            can_be = ", ".join(f"{{{one}}}" for one in allowed) or "nothing, unless the method is per trap_frame"
            yield Complaint.at(place, f"{key}: '{{{word}}}' can't be filled in; allowed: {can_be}")


def _again(name: str, again: Again, words: AnchorWords, tree: Tree) -> Iterator[Complaint]:
    yield from _bounds(again, words)
    if not 1 <= again.at_most <= MOST_TIMES:
        path: Path_ = ("steps", name, "again", "at_most")
        yield Complaint.at(tree.place(path), f"steps.{name}.again.at_most: write from 1 to {MOST_TIMES} times")
    idle = [key for key in EDGES if key not in ("opens", "until") and getattr(again, key, None)]
    if idle and again.opens is None:
        what = (
            f"steps.{name}.again: '{idle[0]}' says nothing without 'opens'; without both, its bounds stay as they are"
        )
        yield Complaint.at(tree.place(("steps", name, "again")), what)


def _bounds(block: Step | Again, words: AnchorWords) -> Iterator[Complaint]:
    for key in EDGES:
        for one in getattr(block, key, None) or ():
            problem = bound_problem(one, words)
            if problem:
                yield Complaint.about(one.text, problem)


def bound_problem(one: Bound, words: AnchorWords) -> str:
    """What is wrong with a bound's anchor or first word; empty where nothing is."""
    try:
        kind = anchor_kind(one.anchor, words)
    except ValueError as error:
        return str(error)
    if kind.uncertain and one.pick is None:
        return f"'{one.anchor}' is uncertain; begin with earliest, usually or latest, as in 'usually {one.anchor}'"
    if not kind.uncertain and one.pick is not None:
        return f"'{one.anchor}' is one day ({_plain_word(kind)}); leave out '{one.pick}'"
    return ""


def _plain_word(kind: AnchorKind) -> str:
    return {AnchorKind.DATE: "a date", AnchorKind.STEP: "a step"}.get(kind, "an event")
