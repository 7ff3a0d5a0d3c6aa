"""A treatment's labels checked: what is ``like`` another is filled in, words and units hold, what goes in comes out.

In: treatments as read, the rulebook, the places of its keys. Out: treatments with whole labels, and complaints.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any

from ipmcal.model.rules.labels import applications, removals
from ipmcal.model.rules.methods import Method, Needs
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment, limits_of
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.rules.effectcheck import effect_complaints
from ipmcal.reading.rules.methodcheck import NEED_WORDS, known, method_complaints
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Path_, Tree

DOSE_UNITS = ("strips", "trays", "wafers", "tablets", "pads", "pouches", "evaporators", "mL", "g")
NEEDED = ("registration", "needs", "dose", "withdrawal", "steps")
NEEDED_LIMITS = ("supers", "brood", "course")
"""What a label has to say, itself or by way of another: silence on these could not be told from leave."""
WORDED = ("kind", "flow", "queen")


# Labels that are like another ----------------------------------------------------------------------------------------


def whole_labels(treatment: Treatment) -> Treatment:
    """The treatment with each label's gaps filled from the one it is ``like``, and so on to the chain's end.

    What a label says itself replaces whole keys; in ``limits``, whole limits. A chain that does not end stays as it is.
    """
    labels = {name: _whole(treatment.labels, name, frozenset({name})) for name in treatment.labels}
    return treatment.model_copy(update={"labels": labels})


def _whole(labels: dict[str, Label], name: str, inside: frozenset[str]) -> Label:
    own = labels[name]
    if own.like is None or own.like not in labels or own.like in inside:
        return own
    other = _whole(labels, own.like, inside | {own.like})
    said = {key: getattr(own, key) for key in own.model_fields_set if key != "limits"}
    limits = {key: getattr(own.limits, key) for key in own.limits.model_fields_set}
    return other.model_copy(update=said | {"limits": other.limits.model_copy(update=limits)})


# Complaints ----------------------------------------------------------------------------------------------------------


def treatment_complaints(book: Rulebook, name: str, tree: Tree, jurisdictions: Collection[str]) -> Iterator[Complaint]:
    """Everything that does not fit in one treatment. ``jurisdictions`` are all that there are, also unreadable ones."""
    read, whole = book.files[f"treatments/{name}"], book.treatments[name]
    assert isinstance(read, Treatment)
    yield from known((read.class_,), book.planning.classes, tree, ("class",), "class", indexed=False)
    yield from known(read.cautions, book.planning.cautions, tree, ("cautions",), "caution")
    yield from effect_complaints(read, tree)
    for key in read.without:
        if key not in jurisdictions:
            what = f"without: there is no jurisdiction {quoted(key)}{nearest(key, sorted(jurisdictions))}"
            yield Complaint.at(tree.key(("without", key)), what)
        elif key in read.labels:
            yield Complaint.at(
                tree.key(("without", key)), f"without: {quoted(key)} has a label below; delete one of the two"
            )
    if not read.labels:
        yield Complaint.at(tree.place(("labels",)), "labels: there is none; a treatment has one at least")
    for key, label in read.labels.items():
        if key not in jurisdictions:
            what = f"labels: there is no jurisdiction {quoted(key)}{nearest(key, sorted(jurisdictions))}"
            yield Complaint.at(tree.key(("labels", key)), what)
        yield from _like(read, key, tree)
        yield from _said(book, label, tree, ("labels", key))
    for key, label in whole.labels.items():
        if _chain_ends(read, key):
            yield from _complete(book, label, tree, ("labels", key))


def _like(treatment: Treatment, key: str, tree: Tree) -> Iterator[Complaint]:
    like, path = treatment.labels[key].like, ("labels", key, "like")
    if like is None:
        return
    if like not in treatment.labels:
        others = sorted(set(treatment.labels) - {key})
        yield Complaint.at(
            tree.place(path), f"labels.{key}.like: there is no label {quoted(like)}{nearest(like, others)}"
        )
    elif not _chain_ends(treatment, key) and key in _chain(treatment, key):
        yield Complaint.at(tree.place(path), f"labels.{key}.like: comes back to itself; write one of the labels out")


def _chain(treatment: Treatment, key: str) -> list[str]:
    """The labels that one is like, one after the other; it ends where one is met again."""
    chain: list[str] = []
    like = treatment.labels[key].like
    while like is not None and like in treatment.labels:
        chain.append(like)
        if chain.count(like) > 1:
            break
        like = treatment.labels[like].like
    return chain


def _chain_ends(treatment: Treatment, key: str) -> bool:
    last = ([key, *_chain(treatment, key)])[-1]
    return treatment.labels[last].like is None


# What a label says itself --------------------------------------------------------------------------------------------


def _said(book: Rulebook, label: Label, tree: Tree, path: Path_) -> Iterator[Complaint]:
    key = ".".join(map(str, path))
    yield from known(label.cautions, book.planning.cautions, tree, (*path, "cautions"), "caution")
    yield from _dose(label, tree, path, key)
    yield from _recipe(book, label, tree, path, key)
    yield from _limits(label, tree, path, key)
    if "steps" in label.model_fields_set:
        yield from _steps(book, label, tree, path, key)


def _dose(label: Label, tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    dose = label.dose
    if dose is None:
        return
    for name in ("amount", "nucleus", "most"):
        value = getattr(dose, name)
        if value is None:
            continue
        if value.value.unit not in DOSE_UNITS:
            what = f"is in '{value.value.unit}'{nearest(value.value.unit, DOSE_UNITS)}"
            yield Complaint.at(value.place, f"{value.key}: {what}")
        elif value.value.unit != dose.amount.value.unit:
            what = f"is in '{value.value.unit}', and the dose in '{dose.amount.value.unit}'"
            yield Complaint.at(value.place, f"{value.key}: {what}")
        elif not value.value.closed or value.value.middle <= 0:
            yield Complaint.at(value.place, f"{value.key}: '{value.value}' is open or nothing; write a number above 0")
    if (dose.per.value == "bee_frames") != (dose.each is not None):
        what = "'per: bee_frames' and 'each: 5 bee_frames' go together: how many frames of bees for one dose?"
        yield Complaint.at(tree.place((*path, "dose", "per")), f"{key}.dose: {what}")


def _recipe(book: Rulebook, label: Label, tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    recipe = label.recipe
    if recipe is None:
        return
    for value in (recipe.makes, *recipe.parts.values(), *((recipe.pure,) if recipe.pure else ())):
        if not value.value.closed or value.value.middle <= 0:
            yield Complaint.at(value.place, f"{value.key}: '{value.value}' is open or nothing; write a number above 0")
    for part in recipe.parts:
        if part not in book.planning.ingredients:
            what = f"there is no ingredient {quoted(part)}{nearest(part, sorted(book.planning.ingredients))}"
            yield Complaint.at(tree.key((*path, "recipe", "parts", part)), f"{key}.recipe.parts: {what}")


def _limits(label: Label, tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    for one in label.limits.temperature:
        if one.high is None and one.low is None and one.mean is None:
            what = f"{key}.limits.temperature: says no degrees; write 'high', 'low' or 'mean'"
            yield Complaint.at(one.days.place, what)
    for name in WORDED:
        limit: Any = getattr(label.limits, name)
        if limit is None:
            continue
        for said in (*limit.is_, *limit.not_):
            if said.value not in NEED_WORDS[name]:
                what = f"{quoted(said.value)} is not a word for it{nearest(said.value, NEED_WORDS[name])}"
                yield Complaint.at(said.place, f"{key}.limits.{name}: {what}")
        if not limit.is_ and not limit.not_:
            yield Complaint.at(tree.place((*path, "limits", name)), f"{key}.limits.{name}: asks for nothing")


def _steps(book: Rulebook, label: Label, tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    """A label's steps are checked as a method's: same words, same bounds."""
    method = Method.model_construct(
        title="", per="colony", steps=label.steps, needs=Needs(), clock={}, seen={}, found={}, asked=False
    )
    for one in method_complaints(book, method, _below(tree, path)):
        yield replace(one, what=f"{key}.{one.what}" if one.what.startswith("steps") else one.what)


def _below(tree: Tree, path: Path_) -> Tree:
    """The part of a tree below a path, as a tree of its own with the places of the whole."""
    n = len(path)
    data: Any = tree.data
    for step in path:
        data = data[step]
    places = {key[n:]: place for key, place in tree.places.items() if key[:n] == path}
    return Tree(tree.file, data, places, {key[n:]: place for key, place in tree.values.items() if key[:n] == path})


# A label as a whole --------------------------------------------------------------------------------------------------


def _complete(book: Rulebook, label: Label, tree: Tree, path: Path_) -> Iterator[Complaint]:
    """What a label lacks, with all that it copies; what goes in comes out, in the days that a course lasts."""
    key = ".".join(map(str, path))
    limits = [word for word, _ in limits_of(label)]
    lack = [name for name in NEEDED if not getattr(label, name)]
    lack += [f"limits.{name}" for name in NEEDED_LIMITS if name not in limits]
    if lack:
        what = f"says nothing of {', '.join(lack)}, and copies no label that does"
        yield Complaint.at(tree.key(path), f"{key}: {what}")
    if not label.steps or any(step.logs not in book.events for step in label.steps.values()):
        return
    given, taken = list(applications(label, book)), list(removals(label, book))
    put_in = [name for name in given if book.events[label.steps[name].logs].effect == "strips_in"]
    place = tree.place((*path, "steps"))
    order = list(label.steps)
    if not given:
        yield Complaint.at(place, f"{key}.steps: nothing is given; a step logs 'treated' or 'strips_in'")
    elif put_in and not any(order.index(name) > order.index(put_in[-1]) for name in taken):
        yield Complaint.at(
            place, f"{key}.steps: what '{put_in[-1]}' puts in never comes out; end with 'logs: strips_out'"
        )
    elif taken and label.steps[taken[-1]].hard_stop is None:
        what = f"{key}.steps.{taken[-1]}: what has to come out needs a 'hard_stop': the last good day to take it out"
        yield Complaint.at(tree.place((*path, "steps", taken[-1])), what)
    else:
        yield from _lasts(label, given, taken, tree, path, key)


def _lasts(label: Label, given: list[str], taken: list[str], tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    """The days from the first application to the last day, by the steps, lie within those that the course may last."""
    course = label.limits.course
    days = course.days.value if course and course.days else None
    last = [*given, *taken][-1]
    edges = _offsets(label, given[0]).get(last)
    if days is None or edges is None or (days.low is None and days.high is None):
        return
    low, high = edges
    if (days.low is not None and low < days.low) or (days.high is not None and high > days.high):
        what = f"{key}.steps.{last}: comes {low} to {high} d after '{given[0]}', and a course lasts {days}"
        yield Complaint.at(tree.key((*path, "steps", last)), what)


def _offsets(label: Label, first: str) -> dict[str, tuple[int, int]]:
    """The earliest and latest day of each step that hangs on the first application, counted from it."""
    found = {first: (0, 0)}
    for name, step in label.steps.items():
        if name == first:
            continue
        ends = (*(step.closes or ()), *(step.hard_stop or ()))
        low = [found[b.anchor][0] + b.shift for b in step.opens if b.anchor in found]
        high = [found[b.anchor][1] + b.shift for b in ends if b.anchor in found]
        if low and high:
            found[name] = (max(low), min(high))
    return found
