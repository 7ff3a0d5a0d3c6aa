"""The JSON Schemas for editors: up to date, valid, and never narrower than the reader."""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from pydantic import BaseModel, create_model

from ipmcal.data import folder
from ipmcal.model import schema
from ipmcal.model.outfit import yardfile
from ipmcal.model.values import fields
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.text import Text

ROOT = Path(__file__).resolve().parents[3]
SCHEMAS = ROOT / "ipmcal" / "schemas"
KINDS = {
    "regions": "region",
    "methods": "method",
    "programs": "program",
    "jurisdictions": "jurisdiction",
    "thresholds": "thresholds",
    "treatments": "treatment",
}
RULES = sorted(folder("rules").rglob("*.yaml"))
EXAMPLES = sorted((ROOT / "example_yards").rglob("*.yaml"))
BROKEN = ROOT / "tests" / "broken"
SOURCES = {"practice": Basis.PRACTICE}


def kind_of(file: Path) -> str:
    if file in EXAMPLES:
        return "outfit" if file.name == "outfit.yaml" else "yard"
    return KINDS.get(file.parent.name, file.stem)


def typed(data: Any) -> Any:
    """What an editor's YAML reader hands to its validator: YAML's own types, but dates as strings."""
    if isinstance(data, dict):
        return {key if isinstance(key, str) else str(key): typed(value) for key, value in data.items()}
    if isinstance(data, list):
        return [typed(item) for item in data]
    return data.isoformat() if isinstance(data, date) else data


@cache
def schemas() -> dict[str, dict[str, Any]]:
    return schema.schemas()


def check(data: Any, kind: str) -> None:
    jsonschema.Draft202012Validator(schemas()[kind]).validate(data)


def read(file: Path) -> Any:
    """A file as YAML 1.1 has it, by the quick reader."""
    return typed(yaml.load(file.read_text("utf-8"), yaml.CSafeLoader))


def test_the_files_are_up_to_date() -> None:
    """After a change of the models, ``ipmcal schema --out ipmcal/schemas`` writes them anew."""
    for name, text in schema.schema_texts().items():
        assert (SCHEMAS / name).read_text("utf-8") == text, name


@pytest.mark.parametrize("kind", schema.FILES)
def test_a_schema_is_a_schema(kind: str) -> None:
    made = schemas()[kind]
    jsonschema.Draft202012Validator.check_schema(made)
    assert made["title"] == f"ipmcal {kind} file"
    assert made["description"]
    assert made["additionalProperties"] is False
    assert '"null"' not in json.dumps(made)
    for name, part in made.get("$defs", {}).items():
        whole = part["anyOf"][-1] if "anyOf" in part else part
        assert whole["description"], name
        assert "enum" in whole or whole["additionalProperties"] is False, name


@pytest.mark.parametrize("file", [*RULES, *EXAMPLES], ids=lambda p: f"{p.parent.name}/{p.name}")
def test_what_we_ship_fits_its_schema(file: Path) -> None:
    check(read(file), kind_of(file))


@pytest.mark.parametrize("file", [*RULES, *EXAMPLES], ids=lambda p: f"{p.parent.name}/{p.name}")
def test_the_first_line_names_the_right_schema(file: Path) -> None:
    first = file.read_text("utf-8").partition("\n")[0]
    named = first.removeprefix("# yaml-language-server: $schema=")
    assert named != first
    assert (file.parent / named).resolve() == SCHEMAS / f"{kind_of(file)}.json"


@pytest.mark.parametrize(
    "name",
    [
        *("methods/unknown_key", "methods/word_that_is_not_allowed", "methods/no_title", "methods/unknown_act"),
        *("methods/bound_without_blanks", "methods/list_where_a_mapping_is_meant", "methods/not_an_identifier"),
        *("methods/seen_neither_by_nor_after", "methods/clock_with_a_first_word", "methods/decimal_comma"),
        *("regions/eleven_months", "regions/spread_in_weeks", "regions/elevation_in_feet", "regions/season_of_one_day"),
        *("yards/unknown_key", "yards/unknown_weekday", "yards/package_without_a_day", "yards/key_with_a_slash"),
        *("yards/no_boxes", "yards/year_with_two_digits", "yards/trap_name_with_a_blank"),
        *("jurisdictions/unknown_paper", "programs/methods_in_a_mapping"),
        *("thresholds/threshold_without_a_sign", "thresholds/threshold_in_percent", "thresholds/unknown_unit"),
        *("thresholds/unknown_level", "thresholds/unknown_time_of_treatment", "thresholds/days_without_an_end"),
    ],
)
def test_an_editor_sees_the_defects_of_form(name: str) -> None:
    file = BROKEN / f"{name}.yaml"
    kind = KINDS.get(file.parent.name, "yard")
    with pytest.raises(jsonschema.ValidationError):
        check(read(file), kind)


METHOD: dict[str, Any] = {
    "title": "A method",
    "checked": "2026-11-24",
    "per": "colony",
    "steps": {"look": {"do": "Look", "opens": "05-01 @practice", "minutes": "5 min @practice", "logs": "inspected"}},
}
YARD: dict[str, Any] = {
    "yard": 7,
    "place": {"latitude": 42.11, "longitude": "-76.06", "elevation": "260 m"},
    "region": "us_northeast",
    "jurisdiction": "us",
    "program": "full",
    "colonies": [{"key": 3, "began": "2025 overwintered", "hive": "langstroth_10", "boxes": "deep"}],
}


@pytest.mark.parametrize(
    "needs",
    [
        {"queen": "laying"},
        {"brood": "suspect"},  # what YAML 1.1 makes of: off
        {"queen": ["laying", "virgin"]},
        {"queen": {"is": "laying"}},
        {"queen": {"not": ["caged"], "advice": "yes"}},
        {"queen": {"not": ["caged"], "advice": True}},
        {"strength": "4.. brood_frames @practice"},
        {"strength": {"value": "4.. brood_frames @practice", "advice": "no"}},
    ],
)
def test_needs_in_short_and_in_long(needs: dict[str, Any]) -> None:
    check(METHOD | {"needs": needs}, "method")


@pytest.mark.parametrize(
    "colony",
    [
        {"boxes": ["deep", "deep"]},
        {"boxes": [{"kind": "deep", "frames": 9}, "medium"]},
        {"boxes": {"kind": "deep", "frames": "9"}},
        {"traps": "T1"},
        {"traps": ["T1", "T2"]},
        {"traps": {"T1": 2, "T2": "2 from right"}},
        {"traps": {"T1": {"slot": 2, "since": "2027-02-13"}}},
        {"key": "010", "queen": {"year": 2025, "clipped": True}},
        {"key": False, "history": "2027-02-13 inspected"},
        {"supers": 1, "strength": "8", "methods": {"decline": "supers"}},
    ],
)
def test_colonies_in_short_and_in_long(colony: dict[str, Any]) -> None:
    check(YARD | {"colonies": [YARD["colonies"][0] | colony]}, "yard")


@pytest.mark.parametrize("days", ["any", "sat", ["sat", "sun"]])
def test_days_as_a_word_or_a_list(days: Any) -> None:
    check(YARD | {"days": days}, "yard")


FORMS = {name: form for name, form in {**vars(fields), **vars(yardfile)}.items() if hasattr(form, "__metadata__")}


@pytest.mark.parametrize("name", sorted(FORMS))
def test_the_example_of_a_form_is_read_and_fits_its_pattern(name: str) -> None:
    model: type[BaseModel] = create_model("Holder", __base__=fields.Closed, value=(FORMS[name], ...))
    made = model.model_json_schema()["properties"]["value"]
    for text in made.get("examples", []):
        model.model_validate({"value": Text(text, cite="practice")}, context={"sources": SOURCES})
        jsonschema.Draft202012Validator(made).validate(text)
