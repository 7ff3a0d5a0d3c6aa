"""Checks that hold for every calendar: of its octets (RFC 5545, RFC 7986), and by parsers that we didn't write.

Each check names the section that asks for it. What clients do beyond the standards is common practice.
"""

from __future__ import annotations

import re
from datetime import date
from importlib import import_module
from uuid import UUID

import icalendar

vobject = import_module("vobject")
ics = import_module("ics")
recurring = import_module("recurring_ical_events")


def lines_of(content: bytes) -> list[bytes]:
    """The content lines, unfolded as RFC 5545 3.1 says."""
    return content.replace(b"\r\n ", b"").split(b"\r\n")[:-1]


def check_octets(content: bytes) -> None:
    """What the parsers let pass."""
    assert content.endswith(b"END:VCALENDAR\r\n")  # RFC 5545 3.4
    assert re.search(rb"(?<!\r)\n|\r(?!\n)", content) is None  # lines end with CRLF: 3.1
    assert not content.startswith(b"\xef\xbb\xbf")  # no BOM: 3.1.4 says UTF-8, and parsers refuse one
    for line in content.split(b"\r\n"):
        assert len(line) <= 75  # 3.1, in octets, without the line's end
        line.decode("utf-8")  # 3.1: never folded inside a character
        assert not any((octet < 32 and octet != 9) or octet == 127 for octet in line)  # CONTROL in 3.1
    lines = lines_of(content)
    assert lines.count(b"VERSION:2.0") == 1  # 3.7.4
    assert sum(line.startswith(b"PRODID:") for line in lines) == 1  # 3.7.3
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT12H" in lines  # RFC 7986 5.7: VALUE is required
    assert b"X-PUBLISHED-TTL:PT12H" in lines  # common practice
    assert not any(line.startswith(b"METHOD") for line in lines)
    alarms = lines.count(b"BEGIN:VALARM")  # 3.6.6: what rings has an action, words, and a time before the start
    assert alarms == lines.count(b"ACTION:DISPLAY") == sum(re.match(rb"TRIGGER:-P", line) is not None for line in lines)
    uids = [line for line in lines if line.startswith(b"UID:")]
    assert len(uids) == len(set(uids)) == lines.count(b"BEGIN:VEVENT") > 0  # 3.8.4.7; at least one component: 3.6
    for uid in uids:
        assert UUID(uid[4:].decode()).version == 5  # RFC 7986 5.3: opaque; RFC 9562 5.5
    begins = [line for line in lines if line.startswith(b"DTSTART")]
    ends = [line for line in lines if line.startswith(b"DTEND")]
    assert len(begins) == len(ends) == len(uids)
    for begin, end in zip(begins, ends, strict=True):
        assert re.fullmatch(rb"DTSTART;VALUE=DATE:\d{8}", begin)  # 3.8.2.4: no zone, floating
        assert re.fullmatch(rb"DTEND;VALUE=DATE:\d{8}", end)  # 3.8.2.2: the same type, and later
        assert end[-8:] > begin[-8:]
    stamps = [line.split(b":")[1] for line in lines if line.startswith(b"DTSTAMP:")]
    assert stamps == [line.split(b":")[1] for line in lines if line.startswith(b"LAST-MODIFIED:")]  # 3.8.7.2, 3.8.7.3
    assert all(re.fullmatch(rb"\d{8}T\d{6}Z", stamp) for stamp in stamps)  # in UTC


def check_parsers(content: bytes) -> list[tuple[str, str]]:
    """Read by three parsers without a complaint; the summaries and descriptions, which have to be the same in each."""
    text = content.decode("utf-8")
    theirs = vobject.readOne(text)
    theirs.validate(raiseException=True)
    first = sorted((e.summary.value, getattr(e, "description", e.summary).value) for e in theirs.vevent_list)
    other = sorted((e.name, e.description or e.name) for e in ics.Calendar(text).events)
    own = icalendar.Calendar.from_ical(content)
    assert [component.errors for component in own.walk()] == [[]] * len(own.walk())
    third = sorted((str(e["SUMMARY"]), str(e.get("DESCRIPTION", e["SUMMARY"]))) for e in own.walk("VEVENT"))
    assert first == other == third
    return first


def on_day(content: bytes, when: int) -> list[str]:
    """The summaries of the events that a calendar shows on a day."""
    events = recurring.of(icalendar.Calendar.from_ical(content)).at(date.fromordinal(when))
    return sorted(str(event["SUMMARY"]) for event in events)
