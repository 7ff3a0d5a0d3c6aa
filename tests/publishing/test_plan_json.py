"""plan.json: what stands in it, and that its schema tells the truth."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date
from importlib import import_module, resources
from typing import Any

import pytest
from publishing.feed_plan import AWAY, CUT, PLAN, WHY, changed, day

from ipmcal.model.plan import mites, plan, reasons, review, tasks, views
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status
from ipmcal.model.values.cited import Cited
from ipmcal.publishing.asdata.plan_json import plan_json, plan_schema, schema_text
from ipmcal.publishing.asdata.shapes import SCHEMA_VERSION, SHAPES, TABLES

jsonschema = import_module("jsonschema")

MODEL = {
    "plan": plan.Plan,
    "yard": views.YardView,
    "mark": views.MarkView,
    "alarms": views.AlarmsView,
    "colony": views.ColonyView,
    "box": views.BoxView,
    "trap": views.TrapView,
    "refusal": plan.Refusal,
    "conflict": plan.Conflict,
    "visit": tasks.Visit,
    "bring": tasks.BringItem,
    "task": tasks.Task,
    "answer": tasks.Answer,
    "choice": tasks.Choice,
    "choices": tasks.Choices,
    "window": reasons.Window,
    "reason": reasons.Reason,
    "value": Cited,
    "call": views.YardCall,
    "count": views.CountView,
    "course": views.CourseView,
    "lying": views.Lying,
    "worth": plan.YardWorth,
    "drive": plan.Drive,
    "choosing": views.Choosing,
    "load": mites.LoadRange,
    "mite_line": mites.MiteLine,
    "mite_count": mites.MiteCount,
    "mite_bar": mites.MiteBar,
    "mite_odds": mites.MiteOdds,
    "mite_year": mites.MiteYear,
    "hive_fate": review.HiveFate,
    "dwindled": review.Dwindled,
    "last_count": review.LastCount,
    "course_found": review.CourseFound,
    "class_out": review.ClassOut,
    "next_start": review.NextStart,
    "review": review.YearReview,
}


def validator() -> Any:
    """JSON Schema 2020-12, dates checked as dates."""
    kind = jsonschema.Draft202012Validator
    return kind(plan_schema(), format_checker=kind.FORMAT_CHECKER)


def data(plan: Plan = PLAN) -> Any:
    """The plan as someone else's program reads it."""
    return json.loads(plan_json(plan))


def test_schema_is_a_schema_and_stands_in_its_file() -> None:
    jsonschema.Draft202012Validator.check_schema(plan_schema())
    written = resources.files("ipmcal").joinpath("schemas", "plan.json").read_text(encoding="utf-8")
    assert written == schema_text()


def test_every_field_is_described_and_closed() -> None:
    schema = plan_schema()
    for shape in (schema, *schema["$defs"].values()):
        assert shape["description"]
        assert shape["additionalProperties"] is False
        assert sorted(shape["required"]) == sorted(shape["properties"])
        assert all(len(field["description"]) > 3 for field in shape["properties"].values())


EXTRA: dict[str, set[str]] = {
    "plan": {"schema_version", *TABLES},
    "yard": {"sick_words"},
    "mite_year": {"winter_first", "winter_last"},
}
LEFT_OUT: dict[str, set[str]] = {
    "value": {"value"},
    "yard": {"sick", "sick_rule"},  # their text is written instead
    "mite_year": {"first", "untreated", "winter"},  # with the days, every seventh
}


@pytest.mark.parametrize("name", sorted(set(SHAPES) - {"drawn_day", "load_at_end"}))
def test_every_field_of_the_model_is_written(name: str) -> None:
    extra, left_out = EXTRA.get(name, set()), LEFT_OUT.get(name, set())
    written = {field.name for field in SHAPES[name].fields}
    assert written == {field.name for field in fields(MODEL[name])} - left_out | extra


def test_plan_meets_its_schema() -> None:
    validator().validate(data())
    done = changed(PLAN, CUT, status=Status.DONE, planned=None, rain_date=None, done=day(5, 8))
    validator().validate(data(done))
    validator().validate(data(replace(PLAN, yards=(), tasks=(), visits=(), conflicts=(), refusals=(), notes=())))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("more",), 1),
        (("as_of",), "2027-02-30"),
        (("schema_version",), SCHEMA_VERSION + 1),
        (("outfit",), None),
        (("tasks", 0, "status"), "maybe"),
        (("tasks", 0, "window", "best"), None),
        (("reasons", 0, "rule"), "guess"),
        (("tasks", 0, "window", "why_best"), -1),
        (("yards", 0, "marks", 0, "begins"), ["2027-03-01", "2027-03-05"]),
        (("visits", 0, "minutes"), -1),
    ],
)
def test_schema_refuses_what_is_wrong(path: tuple[str | int, ...], value: object) -> None:
    """So that the test above can fail."""
    spoiled = data()
    place = spoiled
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    assert not validator().is_valid(spoiled)


def test_days_are_iso_dates_and_reasons_stand_once() -> None:
    """ISO 8601 calendar dates, as RFC 3339 5.6 full-date."""
    out = data()
    assert out["as_of"] == "2027-04-01"
    cut = next(task for task in out["tasks"] if task["id"] == CUT)
    assert (cut["planned"], cut["rain_date"], cut["window"]["hard_stop"]) == ("2027-05-08", "2027-05-09", "2027-05-13")
    assert out["answers"][cut["answers"][0]]["cut_by"] == "2027-05-30"
    why = out["reasons"][cut["window"]["why_opens"]]
    values, under = ([out[name][n] for n in why[key]] for name, key in (("values", "values"), ("reasons", "under")))
    assert {**why, "values": values, "under": under} == {
        "rule": "development",
        "subject": "x",
        "span": ["2027-05-01", "2027-05-03", "2027-05-09"],
        "values": [
            {
                "key": "clock.x",
                "text": "14 d",
                "cites": ["@invented_2020:p. 3/read"],
                "place": "rules/methods/x.yaml:7:3",
            }
        ],
        "under": [
            {
                "rule": "event",
                "subject": "trap_hung",
                "span": "2027-04-02",
                "values": [],
                "under": [],
                "note": "",
            }
        ],
        "note": "as found",
    }
    assert out["yards"][0]["marks"][0]["begins"] == ["2027-03-01", "2027-03-05", "2027-03-09"]
    assert next(task for task in out["tasks"] if task["id"] == AWAY)["window"]["hard_stop"] is None


def test_each_row_is_referred_to_and_stands_once() -> None:
    """Numbers point at rows that are there, a reason at earlier ones; no two rows are alike, and none is idle."""
    schema, out = plan_schema(), data()
    used: dict[str, set[int]] = {name: set() for name in TABLES}
    for table, number in _referred(schema, schema, out):
        assert 0 <= number < len(out[table])
        used[table].add(number)
    assert all(number < n for n, why in enumerate(out["reasons"]) for number in why["under"])
    for name in TABLES:
        assert used[name] == set(range(len(out[name]))), name
        assert len({json.dumps(row, sort_keys=True) for row in out[name]}) == len(out[name])


def _referred(schema: Any, form: Any, value: Any) -> Iterator[tuple[str, int]]:
    """Every number of a row, by its table, as the schema tells of it."""
    if value is None or "const" in form:
        return
    if "rowOf" in form:
        yield form["rowOf"], value
    elif "$ref" in form:
        yield from _referred(schema, schema["$defs"][form["$ref"].rpartition("/")[2]], value)
    elif "anyOf" in form:
        yield from _referred(schema, form["anyOf"][0], value) if not isinstance(value, str) else ()
    elif form.get("type") == "array":
        for one in value:
            yield from _referred(schema, form["items"], one)
    elif form.get("type") == "object":
        for name, one in value.items():
            yield from _referred(schema, form["properties"][name], one)


def test_every_day_of_the_plan_is_in_it() -> None:
    out = data()
    assert [date.fromisoformat(v["day"]).toordinal() for v in out["visits"]] == [v.day for v in PLAN.visits]
    assert [v["tasks"] for v in out["visits"]] == [list(v.tasks) for v in PLAN.visits]
    assert out["conflicts"][0]["what"] == "no day of yours is in time to empty it"
    assert out["conflicts"][0]["helps"] == "a day as soon as you can"
    assert out["refusals"][0]["whys"] == ["2 frames of brood, and 4 are needed"]
    assert out["refusals"][0]["helps"] == "strengthen it, or wait"


def test_text_is_canonical() -> None:
    text = plan_json(PLAN)
    assert text == plan_json(replace(PLAN))
    assert text.endswith("}\n")
    assert list(data()) == sorted(data())
    assert list(data()["tasks"][0]["window"]) == sorted(data()["tasks"][0]["window"])


def test_each_task_and_visit_has_a_line_of_its_own() -> None:
    lines = plan_json(PLAN).splitlines()
    assert [json.loads(line.rstrip(",")) for line in lines if line.startswith('{"answers"')] == data()["tasks"]
    other = plan_json(changed(PLAN, AWAY, do="Hang it.")).splitlines()
    assert sum(a != b for a, b in zip(lines, other, strict=True)) == 1


def test_hostile_text_stays_text() -> None:
    nasty = '"}\\\r\n\x00\u2028é\N{HONEYBEE}\ud800</script>'
    out = plan_json(replace(PLAN, outfit_name=nasty))
    assert json.loads(out)["outfit_name"] == nasty.replace("\ud800", "?")
    out.encode("utf-8")


def test_no_number_that_json_has_not() -> None:
    """RFC 8259 6: neither NaN nor Infinity."""
    with pytest.raises(ValueError, match="JSON"):
        plan_json(replace(PLAN, yards=(replace(PLAN.yards[0], latitude=float("nan")),)))


def test_deep_chain_of_reasons_is_written() -> None:
    why = WHY
    for _ in range(40):
        why = Reason(Rule.SHIFTED, "x", None, (), (why,))
    plan = replace(PLAN, conflicts=(replace(PLAN.conflicts[0], reasons=(why,)),))
    validator().validate(data(plan))
