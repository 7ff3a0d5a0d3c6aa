"""The plan as data: ``plan.json``, and the JSON Schema (2020-12) that documents it.

In: a Plan. Out: canonical JSON text; or the schema as a dictionary.
"""

from __future__ import annotations

import json
from typing import Any

from ipmcal.model.plan.plan import Plan
from ipmcal.publishing.asdata.forms import JsonSchema, Tables
from ipmcal.publishing.asdata.shapes import SCHEMA_VERSION, SHAPES, SHARED, TABLES, WHOLE


def plan_json(plan: Plan) -> str:
    """The plan as canonical JSON; the same plan gives the same text.

    Keys are sorted; each task, visit and so on has a line of its own, so that two plans can be compared by lines.
    Raises ValueError for a number that JSON hasn't (RFC 8259 6).
    """
    tables = Tables(SHAPES)
    data = WHOLE.write(plan, tables)
    data |= {name: tables.rows.get(name, []) for name in TABLES}
    text = "{\n" + ",\n".join(f"{_compact(key)}: {_lines(data[key])}" for key in sorted(data)) + "\n}\n"
    return text.encode("utf-8", "replace").decode("utf-8")


def _lines(value: Any) -> str:
    if not isinstance(value, list) or not value:
        return _compact(value)
    return "[\n" + ",\n".join(map(_compact, value)) + "\n]"


def _compact(value: Any) -> str:
    return json.dumps(value, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def plan_schema() -> JsonSchema:
    """The JSON Schema (draft 2020-12) of ``plan_json``, a description for every field."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:ipmcal:plan:{SCHEMA_VERSION}",
        "title": "ipmcal plan",
        **WHOLE.schema(),
        "$defs": {shape.name: shape.schema() for shape in SHARED},
    }


def schema_text() -> str:
    """The schema as it stands in ``schemas/plan.json``."""
    return json.dumps(plan_schema(), indent=2, ensure_ascii=False) + "\n"
