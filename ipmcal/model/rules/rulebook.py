"""The rulebook: every rule file as read, in one frozen value, and the cited values in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ipmcal.model.rules.files import (
    Biology,
    ChoiceTable,
    Circled,
    EventRule,
    Finding,
    Hives,
    Jurisdiction,
    MarkRule,
    Planning,
    Region,
    Source,
)
from ipmcal.model.rules.methods import Method, Program, Skill
from ipmcal.model.rules.mites import MitesFile
from ipmcal.model.rules.thresholds import Counting, Thresholds
from ipmcal.model.rules.treatments import Treatment
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import (
    Closed,
    RuleFile,
)
from ipmcal.model.values.forms import Bound, ClockDay


@dataclass(frozen=True)
class Rulebook:
    """Every rule file, by id. Frozen; equal files give an equal rulebook."""

    sources: dict[str, Source]
    marks: dict[str, MarkRule]
    events: dict[str, EventRule]
    findings: dict[str, Finding]
    circled: dict[str, Circled]
    groups: dict[str, tuple[str, ...]]
    biology: Biology
    hives: Hives
    planning: Planning
    counting: Counting
    mites: MitesFile
    regions: dict[str, Region]
    methods: dict[str, Method]
    programs: dict[str, Program]
    jurisdictions: dict[str, Jurisdiction]
    thresholds: dict[str, Thresholds]
    local: frozenset[str] = frozenset()
    files: dict[str, RuleFile] = field(default_factory=dict)
    treatments: dict[str, Treatment] = field(default_factory=dict)
    skills: dict[str, Skill] = field(default_factory=dict)
    tables: dict[str, ChoiceTable] = field(default_factory=dict)

    @cached_property
    def washes(self) -> frozenset[str]:
        """The counts, by the journal's words, for which combs are lifted."""
        return frozenset(self.planning.counts).intersection(self.planning.nest_work)

    def effect(self, word: str) -> str:
        """What an event with this word does. Raises KeyError where the journal has no such word."""
        return self.events[word].effect

    def product(self, name: str) -> str:
        """The title of a product; of one that the rules don't know, what the keeper calls it."""
        known = self.treatments.get(name)
        return name.replace("_", " ") if known is None else known.title

    def word(self, effect: str) -> str:
        """The journal's word with an effect, the first of several. Loading sees to it that there is one."""
        return next(name for name, rule in self.events.items() if rule.effect == effect)


def cited_values(value: Any) -> Iterator[Cited[Any] | Bound | ClockDay]:
    """Every value with citations below a rule file, in the order of the file."""
    if isinstance(value, (Cited, Bound, ClockDay)):
        yield value
    elif isinstance(value, Closed):
        for name in type(value).model_fields:
            yield from cited_values(getattr(value, name))
    elif isinstance(value, dict):
        for item in value.values():
            yield from cited_values(item)
    elif isinstance(value, tuple):
        for item in value:
            yield from cited_values(item)
