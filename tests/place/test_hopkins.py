"""Hopkins' bioclimatic law: the bare formula. Published transfers stand in tests/handbook/season.yaml."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.place.hopkins import Rates, Reach, Site, reach, shift_days

# Hopkins 1918, Mon. Wea. Rev. Suppl. 9 (rates as quoted by later authors): 4 days for 1 degree of latitude, 5 degrees
# of longitude, 400 ft (121.92 m) of elevation.
LAW = Rates(poleward=4.0, east=4.0 / 5, up=4.0 / 121.92)
HOME = Site(40.0, -80.0, 200.0)


def sites(lowest: float, highest: float) -> st.SearchStrategy[Site]:
    return st.builds(Site, st.floats(lowest, highest), st.floats(-180, 180), st.floats(-400, 5000))


@pytest.mark.parametrize(
    ("place", "days"),
    [
        (Site(41.0, -80.0, 200.0), 4.0),
        (Site(39.0, -80.0, 200.0), -4.0),
        (Site(40.0, -75.0, 200.0), 4.0),
        (Site(40.0, -80.0, 321.92), 4.0),
        (HOME, 0.0),
    ],
)
def test_one_step_of_the_law_is_four_days(place: Site, days: float) -> None:
    assert shift_days(HOME, place, LAW, longitude_counts=True) == pytest.approx(days, abs=1e-9)


def test_in_the_south_poleward_is_later() -> None:
    """The law counts latitude from the equator: an extension to the south by symmetry, common practice."""
    nearer, farther = Site(-37.0, 175.0, 50.0), Site(-38.0, 175.0, 50.0)
    assert shift_days(nearer, farther, LAW, longitude_counts=False) == pytest.approx(4.0)


def test_longitude_goes_the_short_way_round() -> None:
    west, east = Site(52.0, 179.0, 0.0), Site(52.0, -179.0, 0.0)
    assert shift_days(west, east, LAW, longitude_counts=True) == pytest.approx(1.6)
    assert shift_days(east, west, LAW, longitude_counts=True) == pytest.approx(-1.6)


def test_no_season_moves_across_the_equator() -> None:
    with pytest.raises(ValueError, match=r"latitudes 3\.0 and -3\.0 lie on two sides of the equator"):
        shift_days(Site(3.0, 0.0, 0.0), Site(-3.0, 0.0, 0.0), LAW, longitude_counts=False)


@pytest.mark.parametrize(
    ("latitude", "longitude", "elevation", "words"),
    [(90.1, 0.0, 0.0, "latitude 90.1"), (0.0, -181.0, 0.0, "longitude -181"), (0.0, 0.0, math.nan, "elevation nan")],
)
def test_a_site_lies_on_the_earth(latitude: float, longitude: float, elevation: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Site(latitude, longitude, elevation)


def test_reach_and_its_limits() -> None:
    assert reach(HOME, Site(37.0, -10.0, 650.0)) == Reach(latitude=3.0, elevation=450.0)
    assert not Reach(3.0, 450.0).beyond(3.0, 450.0)
    assert Reach(3.1, 0.0).beyond(3.0, 450.0)
    assert Reach(0.0, 451.0).beyond(3.0, 450.0)
    assert not Reach(5.9, 4000.0).beyond(6.0)


@given(sites(0, 90), sites(0, 90), st.booleans())
def test_there_and_back_is_nothing(here: Site, there: Site, counts: bool) -> None:
    if counts and abs(abs(here.longitude - there.longitude) - 180) < 1e-9:
        return  # antipodal meridians: either way round is the short one
    there_and_back = shift_days(here, there, LAW, longitude_counts=counts) + shift_days(
        there, here, LAW, longitude_counts=counts
    )
    assert there_and_back == pytest.approx(0.0, abs=1e-6)


@given(sites(0, 90), sites(0, 90), sites(0, 90))
def test_a_way_by_a_third_site_takes_as_many_days(a: Site, b: Site, c: Site) -> None:
    direct = shift_days(a, c, LAW, longitude_counts=False)
    by_way_of_b = shift_days(a, b, LAW, longitude_counts=False) + shift_days(b, c, LAW, longitude_counts=False)
    assert by_way_of_b == pytest.approx(direct, abs=1e-6)


@given(sites(-90, 90), sites(-90, 90))
def test_reach_is_the_same_both_ways(a: Site, b: Site) -> None:
    assert reach(a, b) == reach(b, a)
