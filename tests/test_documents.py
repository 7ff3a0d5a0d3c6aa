"""From a yard file to paper and phone: real documents, read back by libraries that did not write them."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from examples import example
from publishing.ics_checks import check_octets, check_parsers, lines_of
from pypdf import PdfReader

from ipmcal.data import folder

OUTFITS = {"first_season": "first_season.yaml", "hollow_lane": "hollow_lane", "ridge_road": "ridge_road.yaml"}

Documents = Callable[[str], Path]


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> Documents:
    """The folder of every document of an outfit, made once by the command itself."""
    return lambda outfit: example(OUTFITS[outfit], tmp_path_factory) / "out" / outfit


def squeezed(text: str) -> str:
    return re.sub(r"\W+", "", text)


@pytest.mark.parametrize("outfit", OUTFITS)
def test_every_task_stands_on_the_sheet_of_its_visit_once(documents: Documents, outfit: str) -> None:
    plan = json.loads((documents(outfit) / "data" / "plan.json").read_text())
    tasks = {task["id"]: task for task in plan["tasks"]}
    for visit in plan["visits"]:
        sheets = list((documents(outfit) / "sheets").glob(f"{visit['yard']}-{visit['day']}-*.pdf"))
        assert len(sheets) == 1
        text = squeezed(" ".join(page.extract_text() for page in PdfReader(sheets[0]).pages))
        # Where something is written behind it, a line says the task up to its colon; the back has all of its words.
        heads = [
            task["do"].partition(": ")[0] if task["blanks"] else task["do"]
            for i in visit["tasks"]
            if (task := tasks[i])
        ]
        wanted = Counter(squeezed(head) for head in heads)
        for words, times in wanted.items():
            assert text.count(words) >= times, (sheets[0].name, words)
        assert all(squeezed(tasks[i]["do"]) in text for i in visit["tasks"]), sheets[0].name
        lines = re.findall(r'class="ln"[^>]*>\s*(\d+)', sheets[0].with_suffix(".html").read_text())
        assert [int(n) for n in lines[: len(visit["tasks"])]] == list(range(1, len(visit["tasks"]) + 1))


@pytest.mark.parametrize("outfit", OUTFITS)
def test_each_yard_has_a_page_that_answers_its_sheets_from_a_phone(documents: Documents, outfit: str) -> None:
    plan = json.loads((documents(outfit) / "data" / "plan.json").read_text())
    for yard in plan["yards"]:
        page = (documents(outfit) / "answers" / f"{yard['key']}-answers.html").read_text()
        sheets = (documents(outfit) / "sheets").glob(f"{yard['key']}-20*.pdf")
        codes = [path.stem.rpartition("-")[2] for path in sheets]
        assert sorted(re.findall(r'data-code="(\w+)\w"', page)) == sorted(codes)
    index = (documents(outfit) / "index.html").read_text()
    linked = re.findall(r"<a [^>]*>([^<]+)</a>", index)
    assert not [text for text in linked if re.match(r"\w+-(?:season|handout|answers|20)", text)], "words, not names"
    assert all(f"{yard['name']}, season {yard['season']}" in linked for yard in plan["yards"])
    assert index.count("-answers.html") == len({yard["key"] for yard in plan["yards"]})


@pytest.mark.parametrize("outfit", OUTFITS)
def test_plan_json_keeps_to_its_schema(documents: Documents, outfit: str) -> None:
    schema = json.loads((folder("rules").parent / "ipmcal" / "schemas" / "plan.json").read_text())
    plan = json.loads((documents(outfit) / "data" / "plan.json").read_text())
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(plan)


@pytest.mark.parametrize("outfit", OUTFITS)
def test_calendars_hold_every_visit_and_every_hard_stop(documents: Documents, outfit: str) -> None:
    plan = json.loads((documents(outfit) / "data" / "plan.json").read_text())
    feeds = {path.stem: path.read_bytes() for path in (documents(outfit) / "feeds").glob("*.ics")}
    assert set(feeds) == {"all-yards", *(yard["key"] for yard in plan["yards"])}
    for raw in feeds.values():
        check_octets(raw)
        check_parsers(raw)
    starts = Counter(re.findall(rb"DTSTART;VALUE=DATE:(\d{8})", feeds["all-yards"]))
    wanted = Counter(visit["day"].replace("-", "").encode() for visit in plan["visits"])
    planned = [t for t in plan["tasks"] if t["window"]["hard_stop"] and t["status"] == "planned"]
    stops = {(t["yard"], t["window"]["hard_stop"]) for t in planned}  # those of a yard and day stand together
    wanted.update(stop.replace("-", "").encode() for _, stop in stops)
    assert not wanted - starts
    said = b"".join(lines_of(feeds["all-yards"])).replace(b"\\", b"")
    assert not [t["do"] for t in planned if t["trap"] is None and t["do"].rstrip(".").encode() not in said]


def test_the_winter_frames_story_is_on_the_sheet(documents: Documents) -> None:
    """Short frames hung in winter, one slot wrong, two stages at once, no day of return: on paper, to the day.

    By hand from the rule file: T2 was found all open on 8 May, so nothing was capped by then, its first egg lies on
    29 April at the earliest (capped at 10 days at the latest), its first drone on 23 May (24 days): CUT BY 22 May.
    """
    html = min((documents("hollow_lane") / "sheets").glob("orchard-2027-05-*.html")).read_text()
    words = re.sub(r"<[^>]+>", " ", html)
    words = " ".join(words.split())
    assert "CUT BY Sat 22 May" in words
    assert re.search(r"slot 8\b.*slot 9|slot 8, belongs in 9", words)
    assert "back Fri 21 to Sun 30 May" in words, "a keeper without fixed days gets a range"
