"""``club.json``: the keepers of a club by folder, and what each one's sheet codes begin with, once and for all.

In: the file. Out: keepers; the text to write.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from ipmcal.reading.source.files import bad, exists, read_text

CLUB = "club.json"
MAX_CLUB = 20_000_000


@dataclass(frozen=True, slots=True)
class ClubKeeper:
    """A keeper: name, mentor, phone, and the mark that stands before their sheet codes."""

    keeper: str
    mentor: str
    phone: str
    mark: str


def read_club(path: Path) -> dict[str, ClubKeeper]:
    """The keepers by folder, also those who left; none where there is no file yet. Raises BadInput."""
    if not exists(path, CLUB):
        return {}
    names = [field.name for field in fields(ClubKeeper)]
    try:
        loose = json.loads(read_text(path, CLUB, MAX_CLUB))
        club = {folder: ClubKeeper(*(one[name] for name in names)) for folder, one in loose.items()}
        if all(isinstance(one, str) for keeper in club.values() for one in asdict(keeper).values()):
            return club
    except (ValueError, RecursionError, AttributeError, LookupError, TypeError):
        pass
    raise bad(CLUB, "is damaged; put back the last good copy: it says what each keeper's sheet codes begin with")


def club_text(club: Mapping[str, ClubKeeper]) -> str:
    """The text of the file."""
    data = {folder: asdict(one) for folder, one in club.items()}
    return json.dumps(data, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
