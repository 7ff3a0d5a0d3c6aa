"""A new method, region, jurisdiction and program as four files beside a yard file: seen everywhere, with no code.

Through the command line, as a keeper would: plan.json, the clipboard sheet, the season page, the feed, and ``why``.
All of it is an invented scenario.
"""

from __future__ import annotations

import json
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import icalendar
import pytest
from command import ipmcal

AS_OF = "2027-01-04"
HEAD = "checked: 2026-11-24\ncite: practice\n"

METHOD = f"""title: "Smoke the smoker"
{HEAD}per: colony
needs:
  queen: laying
steps:
  light:
    do: "Light it with dry lavender"
    opens: usually season.flow_heather.begins + 3 d @keeper:notebook_7
    closes: usually season.flow_heather.begins + 17 d
    minutes: 4 min
    cautions: [foulbrood]
    logs: done
  sweep:
    do: "Sweep out the ash"
    opens: light + 5 d @keeper
    closes: light + 21 d
    minutes: 2 min
    logs: done
"""

REGION = f"""title: "Far Skerries"
{HEAD}place: {{latitude: 58.20, longitude: -3.90, elevation: 40 m}}
reference: "the lighthouse"
jurisdiction: skerries
longitude_counts: no
season: 01-01..12-31
marks:
  first_pollen: 04-02 ± 9 d
  drone_rearing_start: 05-03 ± 9 d
  last_frost: 05-06 ± 9 d
  supers_on: 05-25 ± 7 d
  swarm_start: 06-01 ± 7 d
  flow_main: 06-15..07-20 ± 8 d
  flow_heather: 08-08..09-06 ± 6 d
  drone_rearing_end: 07-25 ± 10 d
  swarm_end: 07-24 ± 7 d
  summer_dearth: none
  supers_off: 09-10 ± 7 d
  drone_season_end: 08-20..09-20 ± 10 d
  summer_treatment_by: 08-10
  winter_bee_rearing_start: 08-12 ± 7 d
  flow_autumn: none
  first_frost: 10-20 ± 12 d
  brood_minimum: 10-25..02-01 ± 14 d
base:
  brood_months: 6.8
  damp_autumns: yes
  rounds:
    late_summer:
      gives: course
      opens: usually season.flow_main.ends + 1 d
      by: usually season.summer_treatment_by
      closes: usually season.winter_bee_rearing_start + 21 d
    winter:
      gives: dose
      opens: usually season.brood_minimum.begins
      closes: usually season.brood_minimum.ends
normals:
  station: "the lighthouse"
  high: [6, 6, 8, 10, 12, 15, 17, 17, 14, 11, 8, 6]
  low: [1, 1, 2, 4, 6, 8, 10, 10, 8, 6, 3, 1]
  sd: [2.5, 2.5, 2.6, 2.7, 2.8, 2.6, 2.4, 2.3, 2.3, 2.4, 2.5, 2.6]
"""

JURISDICTION = f"""title: "The Skerries"
{HEAD}temperature: f
paper: letter
language: en
inspector: "the harbour master's bee warden"
record: "Every treatment into the harbour book."
"""

PROGRAM = f"""title: "Lighthouse keeper"
{HEAD}methods: [smoke_the_smoker, supers]
"""

YARD = """yard: "North Stack"
place: {{latitude: 58.90, longitude: -3.10, elevation: 20 m}}
region: far_skerries
jurisdiction: skerries
days: [sat]
program: lighthouse
{rules}colonies:
  - {{key: L1, began: 2025 overwintered, hive: national, boxes: [bs_brood]}}
"""
RULES = {
    "methods/smoke_the_smoker.yaml": METHOD,
    "regions/far_skerries.yaml": REGION,
    "jurisdictions/skerries.yaml": JURISDICTION,
    "programs/lighthouse.yaml": PROGRAM,
}
LIGHT, SWEEP = "L1/smoke_the_smoker/2027/light/1", "L1/smoke_the_smoker/2027/sweep/1"


def write(root: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def run(*args: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return ipmcal(*args, "--as-of", AS_OF, cwd=cwd, columns=200)


@dataclass(frozen=True)
class Made:
    """What a run wrote."""

    folder: Path
    out: Path

    def text(self, pattern: str) -> str:
        return "\n".join(p.read_text(encoding="utf-8") for p in sorted(self.out.glob(pattern)))

    def plan(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.text("plan.json"))
        return found


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A lone yard file that names a folder of its own rules (``rules: own``), planned."""
    folder = tmp_path_factory.mktemp("skerries")
    write(folder, {"north_stack.yaml": YARD.format(rules="rules: own\n")})
    write(folder / "own", RULES)
    done = run("plan", "north_stack.yaml", cwd=folder)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return Made(folder, folder / "out" / "north_stack")


def test_in_the_plan(made: Made) -> None:
    """Heather from 8 August, 0.7 degrees north: it stays (marks.yaml), so lit from the 11th to the 25th."""
    plan = made.plan()
    *_, yard = plan["yards"]  # behind the season that ends
    tasks = {task["id"]: task for task in plan["tasks"]}
    assert (yard["region"], yard["jurisdiction"]) == ("Far Skerries", "The Skerries")
    assert (yard["paper"], yard["fahrenheit"]) == ("letter", True)
    light, sweep = tasks[LIGHT], tasks[SWEEP]
    assert (light["window"]["opens"], light["window"]["closes"]) == ("2027-08-11", "2027-08-25")
    assert light["planned"] in ("2027-08-14", "2027-08-21")
    assert light["planned"] < sweep["planned"]
    assert {task["method"] for task in plan["tasks"]} == {"smoke_the_smoker", "supers"}


def test_on_the_clipboard_sheet(made: Made) -> None:
    light = next(t for t in made.plan()["tasks"] if t["id"] == LIGHT)
    sheet = made.text(f"north_stack-{light['planned']}-*.html")
    assert "Light it with dry lavender" in sheet
    assert "North Stack" in sheet
    assert "size: letter" in sheet.lower()
    assert list(made.out.glob(f"north_stack-{light['planned']}-*.pdf"))


def test_on_the_season_page(made: Made) -> None:
    page = made.text("north_stack-season-2027.html")
    for words in (
        "heather flow",
        "regions/far_skerries",
        "jurisdictions/skerries",
        "Light it with dry lavender",
        "Sweep out the ash",
    ):
        assert words in page


def test_in_the_feed(made: Made) -> None:
    planned = {task["id"]: task["planned"] for task in made.plan()["tasks"]}
    calendar = icalendar.Calendar.from_ical((made.out / "north_stack.ics").read_bytes())
    entries = {str(e.decoded("DTSTART"))[:10]: str(e.get("DESCRIPTION", "")) for e in calendar.walk("VEVENT")}
    assert "Light it with dry lavender" in entries[planned[LIGHT]]
    assert "Sweep out the ash" in entries[planned[SWEEP]]


def test_in_why(made: Made) -> None:
    done = run("why", "north_stack.yaml", LIGHT, cwd=made.folder)
    assert done.returncode == 0, done.stderr
    for words in ("Light it with dry lavender", "flow_heather", "08-08..09-06", "the region's own day", "own/regions"):
        assert words in done.stdout


def test_in_the_rules_folder_of_an_outfit(made: Made, tmp_path: Path) -> None:
    """The same four files in an outfit's ``rules/``: the same tasks on the same days."""
    write(
        tmp_path / "isles", {"outfit.yaml": 'outfit: isles\nname: "The isles"\n', "stack.yaml": YARD.format(rules="")}
    )
    write(tmp_path / "isles" / "rules", RULES)
    done = run("plan", "isles", "--print", "plan", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    plan = json.loads((tmp_path / "out" / "isles" / "plan.json").read_text(encoding="utf-8"))
    assert [(t["id"], t["planned"]) for t in plan["tasks"]] == [(t["id"], t["planned"]) for t in made.plan()["tasks"]]


@pytest.mark.parametrize("missing", sorted(RULES))
def test_without_one_of_the_files_nothing_is_planned_and_it_is_named(tmp_path: Path, missing: str) -> None:
    write(tmp_path, {"north_stack.yaml": YARD.format(rules="rules: own\n")})
    write(tmp_path / "own", {name: text for name, text in RULES.items() if name != missing})
    done = run("plan", "north_stack.yaml", cwd=tmp_path)
    assert done.returncode == 2
    assert Path(missing).stem in done.stderr
    assert not (tmp_path / "out").exists()
