"""The mites on paper: few elements, nothing outside the drawing, letters to be read, sentences that keep to it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from publishing.feed_plan import PLAN

from ipmcal.model.plan.mites import LoadRange, MiteBar, MiteCount, MiteLine, MiteOdds, MiteYear
from ipmcal.publishing.paper.ink.charts import CHART_WIDTH
from ipmcal.publishing.paper.ink.miteschart import mites_chart
from ipmcal.publishing.paper.ink.svg import POINT
from ipmcal.publishing.paper.outlook.mites import band_words, load_words, mites_pictures, ten_words
from ipmcal.publishing.paper.page import season_html

VIEW = PLAN.yards[0]
FIRST, LAST = VIEW.begins, VIEW.ends


def year(*loads: float, **more: object) -> MiteYear:
    """A year whose median goes through some loads in equal parts, the band from half to twice of it."""
    days = [loads[n * len(loads) // 365] for n in range(365)]
    one = MiteYear(
        yard=VIEW.key,
        season=VIEW.season,
        hives=("1", "2"),
        kind="overwintered",
        first=FIRST,
        days=tuple(LoadRange(load / 2, load, load * 2) for load in days),
        untreated=tuple(days),
        lines=(MiteLine(FIRST, LAST, 3.0),),
        counts=(),
        courses=(),
        cuts=(),
        winter=(FIRST + 230, FIRST + 290),
    )
    return replace(one, **more)  # type: ignore[arg-type]


def count(day: int, load: float, hive: str = "1") -> MiteCount:
    return MiteCount(hive, FIRST + day, load, load / 2, load * 2)


def svg(one: MiteYear) -> ElementTree.Element:
    return ElementTree.fromstring(str(mites_chart(one, (FIRST, LAST))))


def said(one: MiteYear) -> list[str]:
    return [text.text or "" for text in svg(one).iter("text")]


FULL = year(
    0.5, 1.0, 2.0, 4.0,
    counts=(*(count(100, n, f"H{n}") for n in range(5)), count(200, 30.0)),
    courses=(MiteBar("A product with a name that does not fit on one line", FIRST + 220, FIRST + 260, True),),
    cuts=(FIRST + 120, FIRST + 141),
)  # fmt: skip


def test_letters_are_eight_points_at_least() -> None:
    sizes = [float(text.get("font-size", "0")) / POINT for text in svg(FULL).iter("text")]
    assert min(sizes) >= 8


def test_nothing_lies_outside_the_drawing() -> None:
    drawn = svg(FULL)
    height = float(drawn.get("height", "0").removesuffix("mm"))
    for text in drawn.iter("text"):
        assert 0 <= float(text.get("x", "0")) <= CHART_WIDTH
        assert 0 < float(text.get("y", "0")) <= height
    for way in (p.get("d", "") for p in drawn.iter("path")):
        xs = [float(x) for x in re.findall(r"[ML]([\d.]+) ", way)]
        assert all(0 <= x <= CHART_WIDTH + 0.01 for x in xs)


def test_the_greys_are_told_apart_without_colour() -> None:
    fills = {p.get("fill") for p in svg(FULL).iter("path")} - {None, "none", "#fff"}
    greys = sorted(int(str(fill)[1:3], 16) for fill in fills)
    assert all(re.fullmatch(r"#(..)\1\1", str(fill)) for fill in fills)
    assert all(b - a >= 16 for a, b in pairwise(greys))


def test_what_is_over_ten_is_not_drawn_and_says_so() -> None:
    words = "over 10: what follows can't be drawn"
    assert words in said(year(1.0, 12.0))
    assert words not in said(year(1.0, 9.0))


def test_the_words_of_doubt_stand_in_it() -> None:
    assert "a drawing, not a promise" in said(FULL)


def test_the_second_curve_is_drawn_only_where_it_differs() -> None:
    dashes = "0.9 0.9"
    same, other = year(1.0, 2.0), year(1.0, 2.0, untreated=(3.0,) * 365)
    assert sum(p.get("stroke-dasharray") == dashes for p in svg(same).iter("path")) == 1  # in the key
    assert sum(p.get("stroke-dasharray") == dashes for p in svg(other).iter("path")) == 2


def test_a_page_does_not_change_by_the_day_on_which_it_is_made() -> None:
    """Else every season page would be printed anew each week."""
    plan = replace(PLAN, mites=(FULL,))
    (one,), (other,) = (mites_pictures(replace(plan, as_of=plan.as_of + n), VIEW) for n in (0, 7))
    assert one.chart == other.chart


def test_keys_of_hives_counted_on_one_day_do_not_lie_on_each_other() -> None:
    ys = sorted(float(t.get("y", "0")) for t in svg(FULL).iter("text") if re.fullmatch(r"H\d", t.text or ""))
    assert len(ys) == 5
    assert all(b - a >= 3 for a, b in pairwise(ys))


@pytest.mark.parametrize(("load", "words"), [(0.0, "0"), (0.42, "0.4"), (2.96, "3.0"), (3.6, "4"), (10.4, "over 10")])
def test_one_figure_under_one_and_none_above_three(load: float, words: str) -> None:
    assert load_words(load) == words


def test_a_median_never_stands_without_its_band() -> None:
    assert band_words(LoadRange(0.8, 2.4, 7.3)) == "2.4 in 100 (0.8 to 7)"
    assert band_words(LoadRange(12.0, 30.0, 90.0)) == "over 10 in 100", "what can't be drawn has no band"


def test_odds_are_hives_of_ten() -> None:
    assert [ten_words(share) for share in (0.0, 0.24, 1.0)] == ["none of 10", "2 of 10", "10 of 10"]


def test_the_season_page_says_what_it_comes_to() -> None:
    on = LoadRange(0.8, 2.4, 7.3)
    one = replace(
        FULL,
        on_winter=on,
        untreated_on_winter=LoadRange(3.0, 11.0, 40.0),
        odds=MiteOdds(FIRST + 250, FIRST + 270, 0.2, 0.9),
        whose="somebody's guide",
    )
    html = season_html(replace(PLAN, mites=(one,)), VIEW.key, VIEW.season)
    assert "2.4 in 100 (0.8 to 7); nothing more given: over 10 in 100 (3.0 to over 10)." in html
    assert "Of 10 such hives, 2 would be over the line (somebody&#39;s guide) on the worst day of" in html


@pytest.mark.parametrize(
    ("counts", "words"),
    [((), "Not enough, unless counts find fewer: of 10"), ((count(100, 2.0),), "Not enough: of 10")],
)
def test_a_plan_that_is_not_enough_says_so(counts: tuple[MiteCount, ...], words: str) -> None:
    odds = MiteOdds(FIRST + 250, FIRST + 270, 0.6, 0.9, enough=False)
    (one,) = mites_pictures(replace(PLAN, mites=(replace(FULL, odds=odds, counts=counts),)), VIEW)
    assert any(said_.startswith(words) for _, some in one.sentences for said_ in some)


def test_a_count_that_was_not_expected_is_said() -> None:
    far = replace(FULL, counts=(replace(count(100, 9.0), far="more"),))
    (one,) = mites_pictures(replace(PLAN, mites=(far,)), VIEW)
    assert any("Far more than was drawn" in words for _, some in one.sentences for words in some)


def test_two_kinds_of_hives_stand_side_by_side_on_one_scale_with_one_key() -> None:
    given = (MiteBar("Another", FIRST + 200, FIRST + 210, True),)
    new = replace(year(0.2, 1.0), hives=("3",), kind="new", courses=given)
    (one,) = mites_pictures(replace(PLAN, mites=(FULL, new)), VIEW)
    drawn = ElementTree.fromstring(str(one.chart))
    texts = [text.text for text in drawn.iter("text")]
    named = [text for text in texts if text and text.startswith("Hive")]
    assert named == ["Hives 1 and 2, through winter", "Hive 3, of this season"]
    assert texts.count("8 of 10 such hives") == texts.count("Another") == texts.count("trap combs cut") == 1
    assert texts.count("10") == 2, "one scale, though the second has few mites"
    assert float(drawn.get("height", "0").removesuffix("mm")) < 80
    for way in (p.get("d", "") for p in drawn.iter("path")):
        assert all(0 <= float(x) <= CHART_WIDTH + 0.01 for x in re.findall(r"[ML]([\d.]+) ", way))
    words = [f"{name}: {' '.join(some)}" for name, some in one.sentences]
    assert "Nothing was counted yet in hive 3" in words[1]
    assert "Nothing was counted yet" not in words[0]


def test_a_season_page_without_a_projection_has_no_picture() -> None:
    assert "The mites ahead" not in season_html(PLAN, VIEW.key, VIEW.season)
