"""JSON Schemas of all files that a person writes, for editors: made from the models, never by hand.

In: the models. Out: schemas as dictionaries, or as files. They are a little wider than the reader, since an editor
sees types where the reader sees text, and knows nothing of other files; what they refuse, the reader refuses.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

from pydantic import BaseModel

from ipmcal.model.outfit.yardfile import OutfitFile, YardFile
from ipmcal.model.rules.files import Biology, EventsFile, Hives, Jurisdiction, MarksFile, Planning, Region, SourcesFile
from ipmcal.model.rules.methods import Method, Program, Skill
from ipmcal.model.rules.mites import MitesFile
from ipmcal.model.rules.thresholds import Counting, Thresholds
from ipmcal.model.rules.treatments import Treatment

Schema = dict[str, Any]

FILES: dict[str, type[BaseModel]] = {
    "yard": YardFile,
    "outfit": OutfitFile,
    "sources": SourcesFile,
    "marks": MarksFile,
    "events": EventsFile,
    "biology": Biology,
    "hives": Hives,
    "planning": Planning,
    "counting": Counting,
    "mites": MitesFile,
    "region": Region,
    "method": Method,
    "program": Program,
    "jurisdiction": Jurisdiction,
    "thresholds": Thresholds,
    "treatment": Treatment,
    "skill": Skill,
}
"""The kinds of files by the names of their schemas."""

SHORT: dict[str, Callable[[Schema], list[Schema]]] = {
    "WordNeed": lambda long: long["properties"]["is"]["anyOf"],
    "RangeNeed": lambda long: [long["properties"]["value"]],
}
"""Mappings that may be written shorter, and how: as the value of one of their keys."""


def schemas() -> dict[str, Schema]:
    """The schema of every kind of file, by name."""
    return {name: _schema(name, model) for name, model in FILES.items()}


def schema_texts() -> dict[str, str]:
    """The schemas as they stand in their files, by file name: ``region.json`` and so on."""
    return {f"{name}.json": json.dumps(made, indent=2, ensure_ascii=False) + "\n" for name, made in schemas().items()}


def _schema(name: str, model: type[BaseModel]) -> Schema:
    made = _tidy(model.model_json_schema(by_alias=True))
    defs = {key: _with_short(key, part) for key, part in made.pop("$defs", {}).items()}
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:ipmcal:{name}:1",
        "title": f"ipmcal {name} file",
    }
    return head | {k: v for k, v in made.items() if k != "title"} | ({"$defs": defs} if defs else {})


def _with_short(key: str, part: Schema) -> Schema:
    return {"anyOf": [*SHORT[key](part), part]} if key in SHORT else part


def _tidy(part: Any) -> Any:
    """What pydantic makes, without what only Python knows: no null, no defaults but words, titles for people."""
    if isinstance(part, list):
        return [_tidy(item) for item in part]
    if not isinstance(part, dict):
        return part
    made = {key: _tidy(value) for key, value in part.items() if key not in ("default", "title", "properties")}
    if "properties" in part:
        made["properties"] = {key: _tidy(value) for key, value in part["properties"].items()}
    if isinstance(part.get("title"), str) and "properties" in part:
        made["title"] = _in_words(part["title"])
    if isinstance(made.get("description"), str):
        made["description"] = made["description"].replace("``", "'").replace("\n", " ")
    if "patternProperties" in made:
        made["additionalProperties"] = False
    default = part.get("default")
    if isinstance(default, bool | int | str):
        made["default"] = {True: "yes", False: "no"}[default] if isinstance(default, bool) else default
    return _without_null(made)


def _without_null(part: Schema) -> Schema:
    """The reader knows no null: a key that has nothing to say is left out."""
    choices = [one for one in part.get("anyOf", ()) if one != {"type": "null"}]
    if "anyOf" not in part:
        return part
    rest = {key: value for key, value in part.items() if key != "anyOf"}
    return choices[0] | rest if len(choices) == 1 else rest | {"anyOf": choices}


def _in_words(name: str) -> str:
    """A class's name as words: ``HiveKind`` is a hive kind."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.removesuffix("File")).lower()
