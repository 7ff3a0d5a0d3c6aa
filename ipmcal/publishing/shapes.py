"""Shapes of what is written as JSON: forms of values, fields, objects. One table makes text and schema.

In: values of the model. Out: what JSON holds, and the JSON Schema (2020-12) that documents it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

JsonSchema = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Form:
    """How a value is written, and the schema of what is written."""

    schema: JsonSchema
    write: Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Field:
    """A field of an object: its name in the file, its form, what it means, and how it is had (by its name)."""

    name: str
    form: Form
    about: str
    get: Callable[[Any], Any] | None = None

    def write(self, owner: Any) -> Any:
        """The field of this object, as it stands in the file."""
        return self.form.write(getattr(owner, self.name) if self.get is None else self.get(owner))


@dataclass(frozen=True, slots=True)
class Shape:
    """An object: what it is, and its fields."""

    name: str
    about: str
    fields: tuple[Field, ...]

    def write(self, owner: Any) -> dict[str, Any]:
        """The object as a dictionary."""
        return {field.name: field.write(owner) for field in self.fields}

    def schema(self) -> JsonSchema:
        """Closed, with every field required."""
        return {
            "type": "object",
            "description": self.about,
            "properties": {f.name: {**f.form.schema, "description": f.about} for f in self.fields},
            "required": sorted(field.name for field in self.fields),
            "additionalProperties": False,
        }


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()


def or_null(form: Form) -> Form:
    """A value, or null."""
    schema = {"anyOf": [form.schema, {"type": "null"}]}
    return Form(schema, lambda value: None if value is None else form.write(value))


def list_of(form: Form) -> Form:
    """Many values of a form."""
    return Form({"type": "array", "items": form.schema}, lambda values: [form.write(value) for value in values])


def ref(name: str) -> Form:
    """A shape by its name; looked up when written, since reasons hold reasons."""
    return Form({"$ref": f"#/$defs/{name}"}, lambda value: SHAPES[name].write(value))


def one_of(words: Sequence[str]) -> Form:
    """One of some words."""
    return Form({"type": "string", "enum": list(words)}, str)


TEXT: Final = Form({"type": "string"}, str)
REAL: Final = Form({"type": "number"}, float)
INTEGER: Final = Form({"type": "integer"}, int)
COUNT: Final = Form({"type": "integer", "minimum": 0}, int)
YES_NO: Final = Form({"type": "boolean"}, bool)
DAY: Final = Form({"type": "string", "format": "date"}, _iso)
TEXTS: Final = list_of(TEXT)
SHAPES: Final[dict[str, Shape]] = {}
"""All shapes by their names: whoever defines some enters them here."""


def enter_shapes(shapes: Sequence[Shape]) -> None:
    """Enters shapes, so that others may refer to them."""
    SHAPES.update({shape.name: shape for shape in shapes})
