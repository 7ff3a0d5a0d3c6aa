"""What a published case may ask: functions under their own names; and the year and rules that all of them share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any, TypeVar

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.reading.rules.rulebook import load_rulebook

YEAR = 2026
Given = dict[str, Any]
Ask = TypeVar("Ask", bound=Callable[[Given], object])
ASKS: dict[str, Callable[[Given], object]] = {}


def ask(function: Ask) -> Ask:
    """Registers a function under its own name: what a case may ask."""
    ASKS[function.__name__] = function
    return function


@cache
def rulebook() -> Rulebook:
    return load_rulebook(folder("rules"))


def ordinal(month_day: str) -> int:
    return date.fromisoformat(f"{YEAR}-{month_day}").toordinal()


def on(month_day: str) -> Span:
    return Span.exact(ordinal(month_day))
