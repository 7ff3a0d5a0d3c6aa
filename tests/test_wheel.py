"""The wheel: rules and templates travel in it, and are found where it is installed, without the checkout."""

from __future__ import annotations

import os
import site
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True, text=True)
    return next(out.glob("*.whl"))


def test_the_wheel_holds_rules_templates_schemas_and_types(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder, there in (("rules", "ipmcal/_data/rules"), ("templates", "ipmcal/_data/templates")):
        for file in (ROOT / folder).rglob("*.*"):
            assert f"{there}/{file.relative_to(ROOT / folder).as_posix()}" in names
    assert "ipmcal/LICENSE" in names
    assert {"ipmcal/py.typed", "ipmcal/schemas/yard.json", "ipmcal/schemas/plan.json"} <= names
    assert not any(name.startswith(("tests/", "example_yards/")) for name in names)


def test_installed_from_the_wheel_it_plans_a_yard(wheel: Path, yards: Path, tmp_path: Path) -> None:
    """A fresh environment with the wheel alone; what it depends on is lent from this one, and the checkout is not."""
    target = tmp_path / "env"
    subprocess.run([sys.executable, "-m", "venv", str(target)], check=True)
    python = target / ("Scripts" if os.name == "nt" else "bin") / "python"
    pip = [str(python), "-m", "pip", "install", "--quiet", "--no-deps", "--disable-pip-version-check", str(wheel)]
    subprocess.run(pip, check=True, capture_output=True)
    lent = {**os.environ, "PYTHONPATH": os.pathsep.join(site.getsitepackages())}
    where = [str(python), "-c", "import ipmcal, pathlib; print(pathlib.Path(ipmcal.__file__).parent)"]
    home = subprocess.run(where, check=True, capture_output=True, text=True, env=lent, cwd=tmp_path).stdout.strip()
    assert home.startswith(str(target)), "the checkout must not be what runs"
    command = [str(python), "-m", "ipmcal", "plan", str(yards / "first_season.yaml"), "--as-of", "2027-05-10"]
    done = subprocess.run(command, capture_output=True, text=True, env=lent, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "first_season" / "feeds" / "first_season.ics").exists()
