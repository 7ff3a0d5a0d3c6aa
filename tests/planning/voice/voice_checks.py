"""One voice: `options`, the plan, the sheet, the season page and `why` say the same of the same day.

In: a plan made with ``explain``, the outfit that it was made from, the rulebook. Out: what two of them say differently,
in words. Each voice is asked as its page asks it, and read as its reader does: by what stands on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planning.voice.course_voices import as_options_say, begins_as_said, counts_call, seconds_stand
from planning.voice.page_voices import boxes_answer, reasons_agree, season_agrees, sheets_agree

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.rulebook import Rulebook


@dataclass(frozen=True, slots=True)
class Differs:
    """Two voices that differ: of what kind, and what each says."""

    kind: str
    words: str


def differences(plan: Plan, outfit: Outfit, book: Rulebook) -> Iterator[Differs]:
    """All that two voices say differently of a plan."""
    for kind, words in (
        ("options", as_options_say(plan, outfit, book)),
        ("second choice", seconds_stand(plan, outfit, book)),
        ("first choice", begins_as_said(plan, book)),
        ("count", counts_call(plan)),
        ("sheet", sheets_agree(plan)),
        ("box", boxes_answer(plan)),
        ("season page", season_agrees(plan)),
        ("why", reasons_agree(plan, book)),
    ):
        yield from (Differs(kind, one) for one in words)
