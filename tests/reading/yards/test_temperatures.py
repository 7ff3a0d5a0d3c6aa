"""A keeper's own temperatures beside the yard file: read in the yard's unit, complained of by line."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.plan import make_plan, season_of
from ipmcal.publishing.asdata.plan_json import plan_json
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.yards import load
from ipmcal.saying.reasons import why_lines

YARD: dict[str, Any] = {
    "yard": "Orchard",
    "place": {"latitude": "43.11", "longitude": "-76.10", "elevation": "125 m"},
    "region": "us_northeast",
    "jurisdiction": "us",
    "program": "full",
    "temperatures": "porch.csv",
    "colonies": [{"key": "3", "began": "2025 overwintered", "hive": "langstroth_10", "boxes": ["deep", "deep"]}],
}
HEAD = "date,high,low\n"


def read(root: Path, book: Rulebook, text: str | None, **changes: str) -> Yard:
    """A lone yard file with its CSV, if any."""
    (root / "orchard.yaml").write_text(json.dumps(YARD | changes, ensure_ascii=False), "utf-8")
    if text is not None:
        (root / "porch.csv").write_text(text, "utf-8")
    return load(root / "orchard.yaml", folder("rules"), book).outfit.yards[0]


def said(root: Path, book: Rulebook, text: str | None, **changes: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read(root, book, text, **changes)
    assert str(root) not in str(caught.value)
    return [str(c) for c in caught.value.complaints]


def on(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def test_in_the_yards_own_unit(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + "2027-04-01,68,41\n2027-04-02,50,32\n"
    assert read(tmp_path, book, text).readings == {
        on("2027-04-01"): pytest.approx((20.0, 5.0)),
        on("2027-04-02"): pytest.approx((10.0, 0.0)),
    }
    assert read(tmp_path, book, HEAD + "2027-04-01,20,5\n", temperature="c").readings == {on("2027-04-01"): (20.0, 5.0)}


def test_columns_in_any_order_others_left_alone_and_a_decimal_comma(tmp_path: Path, book: Rulebook) -> None:
    text = 'Low;Note;Date;High\n5,5;"rain; wind";2027-04-01;20,5\n'
    assert read(tmp_path, book, text, temperature="c").readings == {on("2027-04-01"): (20.5, 5.5)}


def test_a_day_without_both_readings_is_a_gap(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + "2027-04-01,68,\n2027-04-02,,\n\n2027-04-03,50,32\n"
    assert list(read(tmp_path, book, text).readings) == [on("2027-04-03")]


def test_none_without_the_key(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "orchard.yaml").write_text(json.dumps({k: v for k, v in YARD.items() if k != "temperatures"}), "utf-8")
    assert load(tmp_path / "orchard.yaml", folder("rules"), book).outfit.yards[0].readings == {}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, "porch.csv can't be read: no such file"),
        ("", "porch.csv is empty"),
        ("date,high\n2027-04-01,68\n", "porch.csv:1:1 the first line has to name the column 'low', once"),
        ("date,high,low,high\n", "porch.csv:1:1 the first line has to name the column 'high', once"),
        (HEAD + "04/01/2027,68,41\n", "porch.csv:2:1 '04/01/2027' can be 2027-01-04 or 2027-04-01; write"),
        (HEAD + "1 April,68,41\n", "porch.csv:2:1 '1 April' lacks its year; write year, month and day"),
        (HEAD + "2027-02-29,68,41\n", "porch.csv:2:1 '2027-02-29' does not exist"),
        (HEAD + "2027-04-01,68,41\n2027-04-01,60,40\n", "porch.csv:3:1 '2027-04-01' is there already, on line 2"),
        (HEAD + "2027-04-01,warm,41\n", "porch.csv:2:12 'warm' is not a temperature"),
        (HEAD + "2027-04-01,41,68\n", "porch.csv:2:15 the low '68' is above the high '41'"),
        (HEAD + "2027-04-01,168,41\n", "porch.csv:2:12 no yard has 168 °F"),
        (HEAD + '2027-04-01,"68,41\n', "porch.csv:2:1 a double quote does not match"),
    ],
)
def test_what_can_not_be_read(tmp_path: Path, book: Rulebook, text: str | None, words: str) -> None:
    complaints = said(tmp_path, book, text)
    assert len(complaints) == 1, complaints
    assert complaints[0].startswith(words), complaints


def test_fahrenheit_in_a_celsius_yard_is_asked_about(tmp_path: Path, book: Rulebook) -> None:
    (complaint,) = said(tmp_path, book, HEAD + "2027-07-01,95,71\n", temperature="c")[:1]
    assert "is 'temperature: f' missing in it?" in complaint


def test_every_line_is_complained_of(tmp_path: Path, book: Rulebook) -> None:
    assert len(said(tmp_path, book, HEAD + "x,68,41\n2027-04-02,y,41\n2027-04-03,68,z\n")) == 3


@pytest.mark.parametrize("name", ["../porch.csv", "notes/porch.csv", "porch.txt"])
def test_only_a_csv_beside_the_yard_file(tmp_path: Path, book: Rulebook, name: str) -> None:
    (complaint,) = said(tmp_path, book, HEAD, temperatures=name)
    assert "is not a CSV file beside this one" in complaint


def test_the_season_follows_what_was_read_up_to_the_day_of_planning(tmp_path: Path, book: Rulebook) -> None:
    """Every day 72 and 48 °F from 1 April: ten degree days a day, so that 467 are reached on the 47th, 17 May."""
    days = (date.fromordinal(d).isoformat() for d in range(on("2027-01-01"), on("2027-06-01")))
    text = HEAD + "".join(f"{d},72,48\n" if d >= "2027-04-01" else f"{d},40,20\n" for d in days)
    yard = read(tmp_path, book, text)
    flow = season_of(yard, book, on("2027-06-01"), 2027).marks["flow_main"]
    assert (flow.begins.usual, flow.why_begins.rule) == (on("2027-05-17"), Rule.DEGREE_DAYS)
    assert flow.why_begins.note == "137 days of yours, 0 days of the region's normals"
    before = season_of(yard, book, on("2027-01-01"), 2027).marks["flow_main"]
    assert before.why_begins.rule is Rule.SPREAD, "what was not yet read is not known"


def test_in_why_and_in_plan_json(tmp_path: Path, book: Rulebook) -> None:
    """What hangs on the flow tells the sum, its base, and how many days were read."""
    days = (date.fromordinal(d).isoformat() for d in range(on("2027-04-01"), on("2027-06-01")))
    yard = read(tmp_path, book, HEAD + "".join(f"{d},72,48\n" for d in days))
    made = make_plan(Outfit("orchard", "Orchard", (yard,), None), book, on("2027-06-01"), 2027)
    assert '"degree_days"' in plan_json(made)
    task = next(t for t in made.tasks if t.method == "robbing_care")
    told = "\n".join(why_lines(task, book.sources))
    for words in ("R20 flow_main.ends", "by the sum of warmth that it needs (", "days of yours", "467 °Fd", "50 °F"):
        assert words in told
