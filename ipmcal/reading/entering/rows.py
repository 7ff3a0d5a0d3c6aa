"""Entries as rows of the journal, and what a hive that a line made would be in a yard file.

In: events, what is known of the outfit. Out: cells and lines of text. No files.
"""

from __future__ import annotations

import json
import re
from datetime import date

from ipmcal.model.outfit.outfit import KIND_MADE, Event
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.values.lines import hived_of
from ipmcal.model.values.rows import JOURNAL_COLUMNS
from ipmcal.model.values.text import FORBIDDEN
from ipmcal.reading.entering.entries import Facts
from ipmcal.reading.journal.values import value_text
from ipmcal.reading.source.complaints import BadInput, Complaint

_NO_TEXT = re.compile("[\ud800-\udfff]")


def check_signs(event: Event) -> None:
    """Whether a line can be read again once it is written. Raises BadInput for a sign that no journal may hold."""
    for name, cell in zip(JOURNAL_COLUMNS, journal_row(event), strict=True):
        hidden = FORBIDDEN.search(cell) or _NO_TEXT.search(cell)
        if hidden:
            sign = f"U+{ord(hidden[0]):04X}" if hidden.re is FORBIDDEN else "bytes that are no UTF-8 text"
            what = f"holds a hidden character ({sign}); write it without; nothing was written"
            raise BadInput([Complaint(f"{name}:", 0, 0, what)])


def journal_row(event: Event) -> tuple[str, ...]:
    """An event as the cells of its row."""
    day = date.fromordinal(event.day).isoformat()
    return day, event.yard, event.colony or "", event.word, value_text(event), event.note


def yard_file_line(event: Event, facts: Facts) -> str:
    """A colony that a line made, as a line of a yard file; a hive that was not told is like its parent's."""
    form = facts.book.events[event.word].value
    hived = hived_of("" if form == "beginning" else event.value, form if form in KIND_MADE else "made")
    kind = KIND_MADE.get(form) or (event.value if event.value in BEGINNINGS else BEGINNINGS[0])
    here = next(yard for yard in facts.outfit.yards if yard.key == event.yard)
    like = facts.colony(hived.parent) or here.colonies[0]
    hive = hived.hive or like.hive
    told_boxes = hived.boxes or (tuple(facts.book.hives.hives[hive].boxes[:1]) if hived.hive else (like.boxes[0].kind,))
    key = event.colony or ""
    plain = key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key, ensure_ascii=False)
    began = f"{date.fromordinal(event.day)} {kind}"
    return f"  - {{key: {plain}, began: {began}, hive: {hive}, boxes: [{', '.join(told_boxes)}]}}"
