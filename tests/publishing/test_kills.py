"""A changed plan is killed while it is published: the next run ends with the bytes of an undisturbed one."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from publishing import kills

from ipmcal.publishing import publish as publishing
from ipmcal.publishing.memory.ledger import read_ledger


@pytest.mark.skipif(os.name != "posix", reason="kills are those of a POSIX system")
def test_killed_at_twenty_moments_nothing_is_torn_stale_or_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("render_job", "engine"):  # put back what the stand-ins take the place of
        monkeypatch.setattr(publishing, name, getattr(publishing, name))
    under_way, wrong = kills.trial(20, 7, tmp_path)
    assert wrong == []
    assert under_way >= 10, "too few kills to mean anything"


def test_without_an_engine_no_old_pdf_is_left_beside_a_new_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("render_job", "engine"):
        monkeypatch.setattr(publishing, name, getattr(publishing, name))
    first, then = kills.plans()
    kills.publish(first, tmp_path)
    monkeypatch.setattr(publishing, "engine", lambda: "none here")
    ledger = tmp_path / "ledger.json"
    done = publishing.publish(then, read_ledger(ledger, then.outfit), ledger, tmp_path / "out")
    assert done.no_pdf
    pdfs = list((tmp_path / "out").rglob("*.pdf"))
    assert all(pdf.read_bytes() == kills.slow_pdfs([pdf.with_suffix(".html").read_text()])[0] for pdf in pdfs)
    ahead = {p.stem for p in pdfs} - {p.stem for p in (tmp_path / "out").rglob("*.html")}
    assert ahead == set()
