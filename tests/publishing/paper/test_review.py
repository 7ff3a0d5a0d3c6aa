"""The page of a season that is over. In: an invented review. Out: what stands on it, and when it is made."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from publishing.feed_plan import PLAN

from ipmcal.model.plan.mites import LoadRange
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.review import ClassOut, CourseFound, Dwindled, HiveFate, LastCount, NextStart, YearReview
from ipmcal.publishing.job import job_of
from ipmcal.publishing.memory.ledger import read_ledger
from ipmcal.publishing.paper.page import review_html
from ipmcal.publishing.publish import PrintOrder, publish

VIEW = PLAN.yards[0]
DAY = VIEW.begins + 200
COURSE = CourseFound(
    "Strips <x>", "amidine", "amidine: amitraz", DAY, DAY + 42, ("1", "2"), ("1",),
    (24, 300), (3, 300), 0.875, 0.6, 0.96,
)  # fmt: skip
REVIEW = YearReview(
    yard=VIEW.key,
    season=VIEW.season,
    ends=VIEW.ends,
    alive=("1", "2"),
    lost=(HiveFate("3", DAY, "found dead", "starved"),),
    dwindled=(Dwindled("2", 10.0, DAY - 90, 4.0, DAY),),
    counts=(LastCount("1", DAY, "9 in 300 bees, 3.0 in 100", "treat"), LastCount("2", None, "", "")),
    courses=(COURSE, replace(COURSE, counted=(), share=None, why="no_counts")),
    out=(ClassOut("amidine", "amidine: amitraz", (DAY - 365, DAY), 0.8),),
    start=NextStart("dosed", 60.0, (DAY + 120,), ((("1", "2"), LoadRange(0.3, 0.6, 2.2)),)),
)


def plan(review: YearReview = REVIEW, as_of: int = VIEW.ends + 20) -> Plan:
    return replace(PLAN, as_of=as_of, reviews=(review,))


def test_the_page_says_what_became_of_hives_courses_and_classes() -> None:
    html = review_html(plan(), VIEW.key, VIEW.season)
    assert "2 hives of 3 live." in html
    assert "found dead: starved." in html
    assert "2 dwindled: 10 frames of bees on" in html
    assert "never counted" in html
    assert "24 in 300, then 3 in 300 (1): <b>88% of the mites gone (likely 60% to 96%)</b>" in html
    assert "not known: no hive was counted both before it" in html
    assert "Amidine: amitraz: fewer than 80 in 100 mites gone after the courses begun on" in html
    assert "Next year&#39;s drawing begins with about 60 mites a hive" in html
    assert "Strips &lt;x&gt;" in html


def test_below_nothing_gone_is_more_than_before() -> None:
    worse = replace(REVIEW, courses=(replace(COURSE, share=-0.5, low=-2.0, high=0.1),))
    html = review_html(plan(worse), VIEW.key, VIEW.season)
    assert "50% more mites than before (likely more mites than before to 10%)" in html


def test_a_season_that_is_not_over_says_so() -> None:
    assert "The season is not over:" in review_html(plan(as_of=VIEW.begins + 10), VIEW.key, VIEW.season)
    assert "The season is not over:" not in review_html(plan(), VIEW.key, VIEW.season)


@pytest.mark.parametrize(
    ("kinds", "over", "made"),
    [(("season",), True, True), (("season",), False, False), (("review",), False, True), (("feed",), True, False)],
)
def test_it_is_made_once_the_season_is_over_or_where_it_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kinds: tuple[str, ...], over: bool, made: bool
) -> None:
    monkeypatch.setattr("ipmcal.publishing.publish.engine", lambda: "none here")
    one = plan(as_of=VIEW.ends + 20 if over else VIEW.begins + 10)
    ledger = tmp_path / "ledger.json"
    publish(one, read_ledger(ledger, one.outfit), ledger, tmp_path, PrintOrder(kinds=kinds))
    assert (tmp_path / "reviews" / f"{VIEW.key}-review-{VIEW.season}.html").exists() == made


def test_a_season_that_has_not_begun_is_never_looked_back_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ipmcal.publishing.publish.engine", lambda: "none here")
    one = plan(as_of=VIEW.begins - 10)
    ledger = tmp_path / "ledger.json"
    publish(one, read_ledger(ledger, one.outfit), ledger, tmp_path, PrintOrder(kinds=("review",)))
    assert not (tmp_path / "reviews").exists()


def test_it_goes_to_the_printer_behind_the_seasons() -> None:
    pages = {"reviews/a-review-2027": "<p>", "seasons/a-season-2027": "<p>", "sheets/a": "<p>"}
    job = job_of(pages, ["sheets/a"], {})
    assert job.places == ("seasons/a-season-2027", "reviews/a-review-2027", "sheets/a")
    assert job.words == "1 season page, 1 page that looks back and 1 sheet"
