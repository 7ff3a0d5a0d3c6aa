"""Forms: how a value of the plan is written as data, and the JSON Schema of what is written.

In: values of the plan, tables. Out: what ``json`` writes. One table of fields makes data and schema both, so that they
can't tell different stories. What comes again and again stands once, in a table, and is referred to by its number.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from ipmcal.model.values.days import Span

JsonSchema = dict[str, Any]


@dataclass
class Tables:
    """What is written once: rows by the name of their table, each in the place where it came first."""

    shapes: Mapping[str, Shape]
    rows: dict[str, list[Any]] = field(default_factory=dict)
    numbers: dict[tuple[str, str], int] = field(default_factory=dict)
    known: dict[tuple[str, int], tuple[Any, int]] = field(default_factory=dict)
    """The numbers of values that were written, by identity; each is kept, so that its identity stays its own."""

    def number(self, table: str, form: Form, value: Any) -> int:
        """The row of a value, written if it is new. Rows that read alike are one."""
        if (table, id(value)) in self.known:
            return self.known[table, id(value)][1]
        written = form.write(value, self)  # what it rests on comes first, and has its number
        number = self.numbers.setdefault((table, repr(written)), len(self.rows.setdefault(table, [])))
        if number == len(self.rows[table]):
            self.rows[table].append(written)
        self.known[table, id(value)] = value, number
        return number


@dataclass(frozen=True, slots=True)
class Form:
    """How a value is written, and the schema of what is written."""

    schema: JsonSchema
    write: Callable[[Any, Tables], Any]


@dataclass(frozen=True, slots=True)
class Field:
    """A field of an object: its name in the file, its form, what it means, and how it is had (by its name)."""

    name: str
    form: Form
    about: str
    get: Callable[[Any], Any] | None = None

    def write(self, owner: Any, tables: Tables) -> Any:
        """The field of this object, as it stands in the file."""
        return self.form.write(getattr(owner, self.name) if self.get is None else self.get(owner), tables)


@dataclass(frozen=True, slots=True)
class Shape:
    """An object: what it is, and its fields."""

    name: str
    about: str
    fields: tuple[Field, ...]

    def write(self, owner: Any, tables: Tables) -> dict[str, Any]:
        """The object as a dictionary."""
        return {field.name: field.write(owner, tables) for field in self.fields}

    def schema(self) -> JsonSchema:
        """Closed, with every field required."""
        return {
            "type": "object",
            "description": self.about,
            "properties": {f.name: {**f.form.schema, "description": f.about} for f in self.fields},
            "required": sorted(field.name for field in self.fields),
            "additionalProperties": False,
        }


def iso(day: int) -> str:
    """A day (ordinal) as an ISO date."""
    return date.fromordinal(day).isoformat()


def span(days: Span) -> str | list[str]:
    """A day that may be uncertain: one ISO date, or three of them, low, usual and high."""
    low, usual, high = map(iso, (days.low, days.usual, days.high))
    return usual if low == high else [low, usual, high]


def or_null(form: Form) -> Form:
    """A form, or null for None."""
    schema = {"anyOf": [form.schema, {"type": "null"}]}
    return Form(schema, lambda value, tables: None if value is None else form.write(value, tables))


def list_of(form: Form) -> Form:
    """A list of values of one form."""
    schema = {"type": "array", "items": form.schema}
    return Form(schema, lambda values, tables: [form.write(value, tables) for value in values])


def part(name: str) -> Form:
    """A shape by its name; looked up when written, since shapes hold each other."""
    return Form({"$ref": f"#/$defs/{name}"}, lambda value, tables: tables.shapes[name].write(value, tables))


def row(table: str, form: Form) -> Form:
    """A value that stands in a table: its number there, counted from 0."""
    schema = {"type": "integer", "minimum": 0, "rowOf": table}
    return Form(schema, lambda value, tables: tables.number(table, form, value))


def one_of(words: Sequence[str]) -> Form:
    """One of some words."""
    return Form({"type": "string", "enum": list(words)}, lambda value, _: str(value))


def by_itself(schema: JsonSchema, write: Callable[[Any], Any]) -> Form:
    """A value that is written by itself."""
    return Form(schema, lambda value, _: write(value))


TEXT: Final = by_itself({"type": "string"}, str)
REAL: Final = by_itself({"type": "number"}, float)
INTEGER: Final = by_itself({"type": "integer"}, int)
COUNT: Final = by_itself({"type": "integer", "minimum": 0}, int)
YES_NO: Final = by_itself({"type": "boolean"}, bool)
DAY: Final = by_itself({"type": "string", "format": "date"}, iso)
TEXTS: Final = list_of(TEXT)
_THREE: Final = {"type": "array", "items": DAY.schema, "minItems": 3, "maxItems": 3}
SPAN: Final = by_itself({"anyOf": [DAY.schema, _THREE]}, span)
"""A day; or where it is uncertain the earliest, the usual and the latest that may be meant."""
SAID: Final = row("texts", TEXT)
"""A text that comes again and again."""
REASON: Final = row("reasons", part("reason"))
CHOICES: Final = row("choices", part("choices"))
