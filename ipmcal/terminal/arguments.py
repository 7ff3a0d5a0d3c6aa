"""Words of the command line that more than a type can check: days, stretches of time, kinds of document."""

from __future__ import annotations

from datetime import date

from ipmcal.terminal.ending import complain

LONGEST_SPAN = 999
"""Weeks or days; a year of sheets is what --all makes."""


def typed_day(text: str | None, option: str = "--as-of") -> int:
    """A date as keepers write it; without it the clock is read, here and nowhere else."""
    if text is None:
        return date.today().toordinal()
    from ipmcal.reading.source.dates import read_day

    try:
        return read_day(text)
    except ValueError as error:
        complain(option, str(error))


def typed_span(text: str, option: str) -> int:
    """A stretch of time as keepers write it, in days: "4 weeks", "10 days"."""
    number, _, unit = text.strip().lower().partition(" ")
    days = {"day": 1, "days": 1, "week": 7, "weeks": 7}.get(unit.strip())
    if days is None or not (number.isascii() and number.isdigit()) or not 1 <= int(number[:4]) <= LONGEST_SPAN:
        complain(option, "'4 weeks' or '10 days' is meant; for the whole year write --all")
    return int(number[:4]) * days


def typed_kinds(text: str) -> list[str]:
    """The kinds of document that were asked for, in their order; an unknown one is a complaint."""
    from ipmcal.model.values.text import nearest
    from ipmcal.publishing.publish import DOCUMENTS, ON_REQUEST

    known = (*DOCUMENTS, *ON_REQUEST)
    kinds = [word.strip() for word in text.split(",") if word.strip()]
    for kind in kinds:
        if kind not in known:
            complain("--print", f"'{kind}' can't be printed{nearest(kind, list(known))}")
    return kinds


def cores() -> int:
    """How many cores this process may use."""
    import os

    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
