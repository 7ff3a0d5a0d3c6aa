"""The drawings: few elements, nothing outside the paper, every trap frame where it hangs."""

from __future__ import annotations

import re
from datetime import date
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.plan.views import TrapView
from ipmcal.publishing.paper.ink.charts import BOX_WIDTH, CHART_WIDTH, Bar, hive_box, timeline

YEAR = date(2027, 1, 1).toordinal()
END = date(2027, 12, 31).toordinal()


def parsed(svg: str) -> ElementTree.Element:
    """The drawing as XML: escaping that went wrong does not parse."""
    return ElementTree.fromstring(str(svg))


def words(svg: str) -> list[str]:
    return [text.text or "" for text in parsed(svg).iter("text")]


def bar(title: str = "First pollen", low: int = 80, high: int = 100) -> Bar:
    return Bar(title, YEAR + low, YEAR + (low + high) // 2, YEAR + (low + high) // 2, YEAR + high, "1 Apr")


def bars_at(svg: str) -> list[float]:
    """Middles of the filled bars (trap frames), in mm."""
    (way,) = [p.get("d", "") for p in parsed(svg).iter("path") if p.get("fill") is None and "h" in p.get("d", "")]
    return [float(x) + float(w) / 2 for x, w in re.findall(r"M([\d.]+) [\d.]+h([\d.]+)", way)]


@pytest.mark.parametrize(("slot", "frames"), [(1, 10), (2, 10), (9, 10), (10, 10), (3, 6), (11, 12)])
def test_a_trap_is_drawn_in_its_slot_counted_from_your_left(slot: int, frames: int) -> None:
    (x,) = bars_at(hive_box(frames, [TrapView("T1", 1, slot, slot)]))
    assert x == pytest.approx(1 + (BOX_WIDTH - 2) / frames * (slot - 0.5), abs=0.02)


def test_a_trap_away_from_home_has_an_outline_and_an_arrow() -> None:
    home = hive_box(10, [TrapView("T1", 1, 9, 9)])
    away = hive_box(10, [TrapView("T1", 1, 3, 9)])
    dashed = [path for path in parsed(away).iter("path") if path.get("stroke-dasharray")]
    assert len(dashed) == 1
    assert not [path for path in parsed(home).iter("path") if path.get("stroke-dasharray")]
    assert len(list(parsed(away).iter("path"))) == len(list(parsed(home).iter("path"))) + 2
    assert "T1 in slot 3, belongs in slot 9" in (parsed(away).findtext("title") or "")


def test_a_trap_that_is_not_hung_is_an_outline_only() -> None:
    svg = hive_box(10, [TrapView("T1", 1, None, 2)])
    assert "T1 not in the box, belongs in slot 2" in (parsed(svg).findtext("title") or "")
    assert len([path for path in parsed(svg).iter("path") if path.get("stroke-dasharray")]) == 1


def test_the_box_says_where_you_stand() -> None:
    said = words(hive_box(10, [TrapView("T1", 1, 2, 2)]))
    assert {"entrance", "you stand here", "1", "10", "T1"} == set(said)


def test_neighbours_have_their_labels_in_two_rows() -> None:
    svg = hive_box(10, [TrapView("T1", 1, 2, 2), TrapView("T2", 1, 3, 3)])
    rows = {text.get("y") for text in parsed(svg).iter("text") if text.text in ("T1", "T2")}
    assert len(rows) == 2


def test_slots_beyond_the_box_widen_it() -> None:
    assert "12" in words(hive_box(10, [TrapView("T1", 1, 12, 12)]))


@given(
    st.integers(1, 16),
    st.lists(st.tuples(st.text("TW<&1", min_size=1, max_size=9), st.integers(1, 16), st.integers(1, 16)), max_size=5),
)
def test_labels_stay_inside_and_apart(frames: int, traps: list[tuple[str, int, int]]) -> None:
    svg = parsed(hive_box(frames, [TrapView(name, 1, slot, home) for name, slot, home in traps]))
    height = float(svg.get("height", "0").removesuffix("mm"))
    seen: list[tuple[float, float, float]] = []
    for text in svg.iter("text"):
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        assert 0 < y < height
        if text.get("font-weight"):
            half = 1.35 * len(text.text or "")
            assert half - 0.01 <= x <= BOX_WIDTH - half + 0.01
            assert all(y != y2 or abs(x - x2) >= half + half2 for x2, y2, half2 in seen)
            seen.append((x, y, half))


def test_the_timeline_has_one_path_a_series_however_many_visits() -> None:
    few = timeline(YEAR, END, [bar()], [YEAR + 100], [YEAR + 102], ["1°"] * 12)
    many = timeline(YEAR, END, [bar(f"m{i}") for i in range(12)], range(YEAR, END, 5), range(YEAR, END, 7), ["1°"] * 12)
    assert len(list(parsed(few).iter("path"))) == len(list(parsed(many).iter("path"))) == 7
    assert len(words(many)) <= 2 * 12 + 2 * 12 + 3


def test_days_stand_in_the_order_of_the_calendar_and_on_the_paper() -> None:
    visits = list(range(YEAR, END, 30))
    svg = timeline(YEAR, END, [], visits, [])
    (way,) = [p.get("d", "") for p in parsed(svg).iter("path") if "h2.2" in p.get("d", "")]
    places = [float(x) for x in re.findall(r"M([\d.]+)", way)]
    assert len(places) == len(visits)
    assert places == sorted(places)
    assert places[0] > 52
    assert places[-1] < CHART_WIDTH
    assert places[1] - places[0] == pytest.approx(30 * (CHART_WIDTH - 54) / 365, abs=0.02)


@pytest.mark.parametrize(
    ("first", "last", "months"),
    [
        (date(2027, 1, 1), date(2027, 12, 31), "Jan Feb Mar Apr May June July Aug Sept Oct Nov Dec"),
        (date(2027, 7, 1), date(2028, 6, 30), "July Aug Sept Oct Nov Dec Jan Feb Mar Apr May June"),
        (date(2027, 5, 25), date(2027, 7, 31), "June July"),
    ],
)
def test_months_are_named_from_the_seasons_first_day(first: date, last: date, months: str) -> None:
    assert words(timeline(first.toordinal(), last.toordinal(), [], [], []))[:-2] == months.split()


def test_words_are_escaped_and_long_ones_cut() -> None:
    svg = timeline(YEAR, END, [bar("<script>&" + "x" * 500)], [], [])
    assert any(word.startswith("<script>&xxx") for word in words(svg))
    assert any(word.endswith("…") for word in words(svg))
    assert "<script>" not in svg


def test_a_long_name_is_whole_on_two_lines_and_every_letter_is_large_enough() -> None:
    name = "last day on which drone comb is built and filled"
    svg = timeline(YEAR, END, [bar(name), bar("short")], [YEAR + 100], [])
    assert name in " ".join(words(svg))
    assert min(float(size) for size in re.findall(r'font-size="([0-9.]+)"', svg)) >= 8 * 25.4 / 72


@pytest.mark.parametrize(("low", "lines"), [(20, 2), (80, 2), (120, 1), (340, 1)])
def test_a_long_name_reaches_into_the_chart_only_as_far_as_nothing_is_drawn_there(low: int, lines: int) -> None:
    """48 letters are 89 mm wide at most: the names' 54 mm and the first hundred days."""
    name = "last day on which drone comb is built and filled"
    svg = timeline(YEAR, END, [bar(name, low=low, high=low + 10)], [], [])
    assert (name in words(svg)) == (lines == 1)
    assert name in " ".join(words(svg))


def test_days_outside_the_season_stay_on_the_paper() -> None:
    svg = timeline(YEAR, END, [bar("early", low=-400, high=900)], [YEAR - 50, END + 50], [])
    for x in re.findall(r"[MH]([\d.]+)", "".join(p.get("d", "") for p in parsed(svg).iter("path"))):
        assert 0 <= float(x) <= CHART_WIDTH + 0.01
