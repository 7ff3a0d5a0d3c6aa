"""A changed plan is killed while it is published: the next run ends with the bytes of an undisturbed one."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from publishing import kills

from ipmcal.publishing import publish as publishing


@pytest.mark.skipif(os.name != "posix", reason="kills are those of a POSIX system")
def test_killed_at_twenty_moments_nothing_is_torn_stale_or_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("render_many", "engine"):  # put back what the stand-ins take the place of
        monkeypatch.setattr(publishing, name, getattr(publishing, name))
    under_way, wrong = kills.trial(20, 7, tmp_path)
    assert wrong == []
    assert under_way >= 10, "too few kills to mean anything"
