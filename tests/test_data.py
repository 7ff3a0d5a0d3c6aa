"""Data folders are found in a checkout and in an installed package."""

from __future__ import annotations

from pathlib import Path

import pytest

from ipmcal import data


def test_a_checkout_has_them_at_its_top() -> None:
    assert (data.folder("templates") / "sheet.html.j2").is_file()


def test_the_packed_folder_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "ipmcal"
    (tmp_path / "rules").mkdir()
    package.mkdir()
    monkeypatch.setattr(data, "_HERE", package)
    assert data.folder("rules") == tmp_path / "rules"
    (package / "_data" / "rules").mkdir(parents=True)
    assert data.folder("rules") == package / "_data" / "rules"


def test_a_missing_folder_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(data, "_HERE", tmp_path / "ipmcal")
    with pytest.raises(FileNotFoundError, match="'rules' is missing"):
        data.folder("rules")
