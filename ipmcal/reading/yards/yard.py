"""One yard: from a yard file's words to a ``Yard``, with everything looked up in the rulebook.

In: a yard file as shaped, its tree, the rulebook. Out: the yard, and every complaint about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from ipmcal.model.outfit.outfit import Box, Colony, Event, OwnTask, Queen, TrapFrame, Yard
from ipmcal.model.outfit.yardfile import ColonyFile, OwnTaskFile, TrapFile, YardFile
from ipmcal.model.rules.anchors import AnchorWords
from ipmcal.model.rules.retired import instead_of_method
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.model.values.forms import LEAP_YEAR, Bound, iso_date, month_and_day
from ipmcal.model.values.text import Text, nearest, quoted
from ipmcal.reading.journal.journal import check_trap, history_event
from ipmcal.reading.rules.methodcheck import bound_problem
from ipmcal.reading.rules.tables import position_problems
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.shape import dotted
from ipmcal.reading.source.yaml_source import Path_, Tree


def read_yard(key: str, tree: Tree, raw: YardFile, book: Rulebook) -> tuple[Yard, list[Complaint]]:
    """A yard file as a ``Yard``; it is only to be used where there is no complaint."""
    reader = _YardReader(key, tree, raw, book)
    return reader.yard(), reader.complaints


def _month_day(ordinal: int) -> str:
    return f"{date.fromordinal(ordinal):%m-%d}"


class _YardReader:
    """Turns one yard file into a ``Yard``, collecting what does not fit."""

    def __init__(self, key: str, tree: Tree, raw: YardFile, book: Rulebook) -> None:
        self.key, self.tree, self.raw, self.book = key, tree, raw, book
        self.complaints: list[Complaint] = []

    def yard(self) -> Yard:
        raw, book = self.raw, self.book
        self._check()
        jurisdiction = book.jurisdictions.get(raw.jurisdiction)
        scale = raw.temperature or (jurisdiction.temperature if jurisdiction else "c")
        return Yard(
            key=self.key,
            name=raw.yard,
            file=self.tree.file,
            latitude=raw.place.latitude,
            longitude=raw.place.longitude,
            elevation=raw.place.elevation,
            directions=raw.place.directions or "",
            region=raw.region,
            jurisdiction=raw.jurisdiction,
            program=raw.program,
            added=raw.methods.add,
            declined=raw.methods.decline,
            weekdays=None if None in raw.days else tuple(sorted({d for d in raw.days if d is not None})),
            away=tuple((a.toordinal(), b.toordinal()) for a, b in raw.away),
            fahrenheit=scale == "f",
            paper=raw.paper or (jurisdiction.paper if jurisdiction else None) or "a4",
            observed={mark: day.toordinal() for mark, day in raw.observed.items()},
            tasks=tuple(self._task(name, task) for name, task in raw.tasks.items()),
            colonies=tuple(sorted((self._colony(i, c) for i, c in enumerate(raw.colonies)), key=lambda c: c.walk)),
            place=self.tree.place(("region",)),
            hours=raw.hours,
            pace={name: float(value) for name, value in raw.pace if value is not None},
            drive=raw.drive or "",
            treatments=raw.treatments,
            harvest=raw.harvest,
            supers_wanted=raw.supers_wanted,
        )

    def _check(self) -> None:
        raw, book = self.raw, self.book
        self._known(raw.region, book.regions, ("region",), "region")
        self._known(raw.jurisdiction, book.jurisdictions, ("jurisdiction",), "jurisdiction")
        self._known(raw.program, book.programs, ("program",), "program")
        self._methods(("methods",), raw.methods.add, raw.methods.decline)
        for i, name in enumerate(raw.treatments or ()):
            self._known(name, book.treatments, ("treatments", i), "treatment")
        self._harvest()
        for mark in raw.observed:
            if mark not in book.marks:
                what = f"observed: there is no mark {quoted(mark)}{nearest(mark, sorted(book.marks))}"
                self.complaints.append(Complaint.at(self.tree.key(("observed", mark)), what))
            elif book.marks[mark].by_yard:
                what = f"observed: {quoted(mark)} is nothing that is seen; write 'harvest' or 'supers_wanted' by itself"
                self.complaints.append(Complaint.at(self.tree.key(("observed", mark)), what))
        for problem in position_problems(raw.place.latitude, raw.place.longitude, raw.place.elevation):
            key, _, what = problem.partition(": ")
            self._complain(("place", key), what)

    def _harvest(self) -> None:
        """Honey is taken after supers usually go on there, and they are wanted back after it."""
        region = self.book.regions.get(self.raw.region)
        if region is None:
            return
        first = region.season[0].in_year(LEAP_YEAR)
        usual = {mark: days.value.begins for mark, days in region.marks.items()}
        on, off = (day.on_or_after(first) for day in (usual["supers_on"], usual["supers_off"]) if day is not None)
        taken = None if self.raw.harvest is None else self.raw.harvest.on_or_after(first)
        if taken is not None and taken <= on:
            what = f"harvest: {self.raw.harvest} lies before supers go on there, usually {_month_day(on)}"
            self._complain(("harvest",), f"{what}; write the day on which honey is taken, such as 07-18")
        back = None if self.raw.supers_wanted is None else self.raw.supers_wanted.on_or_after(first)
        if back is not None and back <= (off if taken is None else taken):
            when = f"supers come off, usually {_month_day(off)}" if taken is None else "the harvest"
            what = f"supers_wanted: {self.raw.supers_wanted} does not lie after {when}"
            self._complain(("supers_wanted",), f"{what}; write a later day, such as 09-05, or leave it out")

    # Colonies --------------------------------------------------------------------------------------------------------

    def _colony(self, i: int, raw: ColonyFile) -> Colony:
        path: Path_ = ("colonies", i)
        self._known(raw.hive, self.book.hives.hives, (*path, "hive"), "hive")
        self._methods((*path, "methods"), raw.methods.add, raw.methods.decline)
        boxes = self._boxes(path, raw)
        traps = _Traps(self, path, raw, boxes).read()
        day, year, kind = raw.began
        history = [*self._history(path, raw, traps, boxes), *self._since(raw, traps)]
        return Colony(
            key=raw.key,
            name=raw.name or "",
            stand=raw.stand or "",
            walk=raw.walk if raw.walk is not None else i + 1,
            began=day.toordinal() if day else date(year, 1, 1).toordinal(),
            kind=kind,
            began_text=f"{day.isoformat() if day else year} {kind}",
            hive=raw.hive,
            boxes=boxes,
            supers=raw.supers,
            traps=traps,
            queen=Queen(raw.queen.year, raw.queen.marked, raw.queen.clipped, raw.queen.state),
            strength=raw.strength,
            history=tuple(sorted(history, key=lambda e: e.day)),
            added=raw.methods.add,
            declined=raw.methods.decline,
            note=raw.note or "",
            place=self.tree.key((*path, "key")),
            walk_told=raw.walk is not None,
            bees=raw.bees,
            comb_honey=raw.comb_honey or self.raw.comb_honey,
        )

    def _boxes(self, path: Path_, raw: ColonyFile) -> tuple[Box, ...]:
        hive = self.book.hives.hives.get(raw.hive)
        boxes = []
        for i, box in enumerate(raw.boxes):
            if hive is not None and box.kind not in hive.boxes:
                what = f"the hive '{raw.hive}' has no box {quoted(box.kind)}{nearest(box.kind, hive.boxes)}"
                self._complain((*path, "boxes", i), what)
            boxes.append(Box(box.kind, box.frames or (hive.frames if hive else 10)))
        return tuple(boxes)

    def _since(self, raw: ColonyFile, traps: tuple[TrapFrame, ...]) -> Iterator[Event]:
        """``since`` is the short way to write that a trap frame was hung."""
        for frame in traps:
            since = raw.traps[frame.name].since
            if since:
                word, home = self.book.word("hangs_trap"), str(frame.home)
                yield Event(since.toordinal(), self.key, raw.key, word, frame.name, home, "", frame.place)

    def _history(
        self, path: Path_, raw: ColonyFile, traps: tuple[TrapFrame, ...], boxes: tuple[Box, ...]
    ) -> Iterator[Event]:
        slots = {trap.name: max(box.frames for box in boxes) for trap in traps}
        here: Path_ = (*path, "history")
        for i, line in enumerate(self._written(here) if raw.history else ()):
            try:
                event = history_event(line, self.key, raw.key, self.book)
                check_trap(event, slots, self.book)
            except ValueError as error:
                self._complain((*here, i), str(error))
            else:
                yield event

    def _written(self, path: Path_) -> Sequence[Text]:
        """The lines of a history as they stand in the file, which know their places."""
        data: Any = self.tree.data
        for step in path:
            data = data[step]
        return [data] if isinstance(data, Text) else data

    # The keeper's own tasks ------------------------------------------------------------------------------------------

    def _task(self, name: str, raw: OwnTaskFile) -> OwnTask:
        words = AnchorWords({m: r.kind for m, r in self.book.marks.items()}, (), ())
        for one in (*raw.opens, *raw.closes):
            problem = bound_problem(one, words)
            if problem:
                self.complaints.append(Complaint.about(one.text, problem))
        region = self.book.regions.get(self.raw.region)
        first = region.season[0].in_year(LEAP_YEAR) if region else 1
        opens, closes = (_plain_day(bounds, first) for bounds in (raw.opens, raw.closes))
        if opens and closes and opens > closes:
            self._complain(("tasks", name, "closes"), "runs backwards: it closes before it opens")
        return OwnTask(
            name, raw.do, raw.opens, raw.closes, raw.minutes, raw.per == "colony", self.tree.place(("tasks", name))
        )

    # Complaints ------------------------------------------------------------------------------------------------------

    def _known(self, name: str, allowed: Iterable[str], path: Path_, what: str) -> None:
        if name not in allowed:
            instead = (instead_of_method(name) if what == "method" else "") or nearest(name, sorted(allowed))
            self._complain(path, f"there is no {what} {quoted(name)}{instead}")

    def _methods(self, path: Path_, add: Sequence[str], decline: Sequence[str]) -> None:
        for key, names in (("add", add), ("decline", decline)):
            for i, name in enumerate(names):
                self._known(name, self.book.methods, (*path, key, i), "method")
        for name in add:
            if name in decline:
                self._complain((*path, "decline"), f"'{name}' is added and declined; delete one")

    def _complain(self, path: Path_, what: str) -> None:
        self.complaints.append(Complaint.at(self.tree.place(path), f"{dotted(path)}: {what}"))


def _plain_day(bounds: tuple[Bound, ...], first: int) -> int | None:
    """A bound that is one plain date, as a day that can be compared; None for anything else."""
    if len(bounds) != 1 or not bounds[0].anchor[0].isdigit():
        return None
    anchor = bounds[0].anchor
    year_free = len(anchor) == len("05-10")
    day = month_and_day(anchor).on_or_after(first) if year_free else iso_date(anchor).toordinal()
    return day + bounds[0].shift


class _Traps:
    """The trap frames of one colony: their boxes, their slots."""

    def __init__(self, reader: _YardReader, path: Path_, raw: ColonyFile, boxes: tuple[Box, ...]) -> None:
        self.reader, self.path, self.raw, self.boxes = reader, path, raw, boxes
        self.frames, self.hives = reader.book.hives.frames, reader.book.hives.hives
        self.taken: dict[tuple[int, int], str] = {}

    def read(self) -> tuple[TrapFrame, ...]:
        """The frames in the order of the file. Slots that are written are given first, then the usual ones."""
        given = {name: self._written(name, trap) for name, trap in self.raw.traps.items() if trap.slot}
        made = []
        for n, (name, trap) in enumerate(self.raw.traps.items()):
            box = self._box(name, trap)
            made.append(
                TrapFrame(
                    name=name,
                    kind=trap.kind,
                    frame=self._frame(name, trap, box),
                    box=box,
                    home=given[name] if name in given else self._usual(name, n, box),
                    frames=trap.frames,
                    place=self._place(name),
                )
            )
        return tuple(made)

    def _box(self, name: str, trap: TrapFile) -> int:
        """The box that it hangs in: as written, else the top brood box; brood boxes are of the bottom one's kind."""
        if trap.box is None:
            return max(i for i, box in enumerate(self.boxes, 1) if box.kind == self.boxes[0].kind)
        return trap.box if trap.box <= len(self.boxes) else 1

    def _written(self, name: str, trap: TrapFile) -> int:
        """The slot from the left, as the file has it."""
        assert trap.slot is not None
        if trap.box is not None and trap.box > len(self.boxes):
            self._complain(name, f"there is no box {trap.box}; this hive has {len(self.boxes)}, and 1 is the bottom")
        box = self._box(name, trap)
        slot, side = trap.slot
        frames = self.boxes[box - 1].frames
        if not 1 <= slot <= frames:
            self._complain(name, f"there is no slot {slot} in this box; it takes {frames} frames")
            return 1
        from_left = slot if side == "left" else frames + 1 - slot
        other = self.taken.setdefault((box, from_left), name)
        if other != name:
            self._complain(name, f"slot {slot} of box {box} is taken by {quoted(other)}")
        return from_left

    def _usual(self, name: str, n: int, box: int) -> int:
        """Second from the left end, then second from the right, in turn; where that is taken, the next one inwards."""
        frames = self.boxes[box - 1].frames
        from_end = int(self.reader.book.planning.trap_slot_from_end.value.middle)
        slots = range(from_end, frames + 1) if n % 2 == 0 else range(frames + 1 - from_end, 0, -1)
        for slot in slots:
            if (box, slot) not in self.taken:
                self.taken[(box, slot)] = name
                return slot
        self._complain(name, f"no slot is left for it in box {box}, which takes {frames} frames")
        return 1

    def _frame(self, name: str, trap: TrapFile, box: int) -> str:
        """As written, else the tallest frame of this hive that is shorter than its box's own, else the box's own."""
        kind = self.boxes[box - 1].kind
        if trap.frame is not None:
            self.reader._known(trap.frame, self.frames, (*self.path, "traps", name, "frame"), "frame")
            return trap.frame
        if self.raw.hive not in self.hives or kind not in self.frames:
            return kind
        own = self.frames[kind].height.value.middle
        shorter = [b for b in self.hives[self.raw.hive].boxes if self.frames[b].height.value.middle < own]
        return max(shorter, key=lambda b: self.frames[b].height.value.middle, default=kind)

    def _place(self, name: str) -> Place:
        return self.reader.tree.key(self._path(name))

    def _path(self, name: str) -> Path_:
        """Where it stands: under its name, or where names are a list, by its number."""
        named: Path_ = (*self.path, "traps", name)
        if named in self.reader.tree.places:
            return named
        return (*self.path, "traps", list(self.raw.traps).index(name))

    def _complain(self, name: str, what: str) -> None:
        self.reader._complain(self._path(name), what)
