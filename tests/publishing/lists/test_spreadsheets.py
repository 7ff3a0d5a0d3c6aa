"""A plan as CSV: read by Python's own reader, it is the plan; and no cell is a formula."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from publishing.feed_plan import CUT, PLAN, changed

from ipmcal.model.plan.views import CountView, YardCall
from ipmcal.model.values.days import day
from ipmcal.publishing.lists.spreadsheets import COUNT_COLUMNS, TASK_COLUMNS, counts_csv, tasks_csv
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.ledger import Ledger
from ipmcal.publishing.paper.sheet import sheet_lines

EMPTY = Ledger(PLAN.outfit)


def test_every_task_is_a_row_with_its_days_and_its_sheet() -> None:
    visit = next(one for one in PLAN.visits if CUT in one.tasks)
    code, ledger = assign_code(EMPTY, visit.yard, visit.id, visit.day, sheet_lines(PLAN, visit))
    rows = list(csv.DictReader(io.StringIO(tasks_csv(PLAN, ledger))))
    assert list(rows[0]) == list(TASK_COLUMNS)
    assert [row["task"] for row in rows] == [task.id for task in PLAN.tasks]
    (cut,) = [row for row in rows if row["task"] == CUT]
    task = next(one for one in PLAN.tasks if one.id == CUT)
    assert task.window.hard_stop is not None
    assert (cut["planned"], cut["sheet"]) == (day(visit.day).isoformat(), code)
    assert (cut["last_good_day"], cut["hive"], cut["trap"]) == (day(task.window.hard_stop).isoformat(), "1", "T1")


def test_counts_are_rows_and_no_cell_is_a_formula() -> None:
    count = CountView("=1+1", 739000, "9 in 300", "@sure", "treat", "-why", 'a "line", of an authority')
    plan = replace(PLAN, calls=(YardCall("alder", None, "treat", "", counts=(count,)),))
    text = counts_csv(plan)
    (row,) = csv.DictReader(io.StringIO(text))
    assert list(row) == list(COUNT_COLUMNS)
    assert (row["hive"], row["sure"], row["why"]) == ("'=1+1", "'@sure", "'-why")
    assert row["line"] == 'a "line", of an authority'
    assert tasks_csv(changed(PLAN, CUT, do="+SUM(A1)"), EMPTY).count(",'+SUM(A1),") == 1
