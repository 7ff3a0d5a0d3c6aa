"""What ``ipmcal log --from`` does: messages of keepers become lines of their journals, or questions to send back.

In: a club's folder, or an outfit, and the text of messages. Out: lines in journals, and what was understood, written
and has to be asked. A message that was taken already writes nothing; of one that is half sure, that half is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import NoReturn

from ipmcal.data import folder as data_folder
from ipmcal.journaling.entering import Request, enter
from ipmcal.journaling.printed import far_from, printed_sheet
from ipmcal.loading import shipped_rules
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.signs import printed_code
from ipmcal.model.values.words import short_day, year
from ipmcal.publishing.memory.codes import find_sheet, sheet_window
from ipmcal.publishing.memory.ledger import Ledger, LedgerError, LedgerSheet, read_ledger
from ipmcal.reading.club.clubfile import CLUB, ClubKeeper, read_club
from ipmcal.reading.club.messages import Message, messages_in, read_message
from ipmcal.reading.club.spokendays import MessageError
from ipmcal.reading.club.understanding import understand
from ipmcal.reading.entering.entries import EntryError, Facts
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.source.files import exists
from ipmcal.reading.source.named import named_table
from ipmcal.reading.yards.yards import Loaded, load

FORM = ("code", "date", "lines", "by")
NOBODY = "nobody"
MAX_POST = 5_000_000
AS_PRINTED = "write it as it stands at the foot of the sheet, behind 'Text back:', with its last letter"


@dataclass(frozen=True)
class PostAnswer:
    """What became of a message: whose it is, what was understood and written, and questions to send back."""

    who: str
    phone: str
    understood: tuple[str, ...]
    written: int
    questions: tuple[str, ...]


@dataclass(frozen=True)
class Post:
    """The messages of a run: as on the day ``today``, by whom where that is told; ``dry`` writes nothing."""

    path: Path
    today: int
    by: str = ""
    dry: bool = False


def take(text: str, shown: str, post: Post) -> Iterator[PostAnswer]:
    """Takes messages one by one, in their order. Raises BadInput where nothing can be read, and OSError."""
    clerk = Clerk(post)
    for message, by in _messages(text, shown):
        yield clerk.answer(message, by)


def _messages(text: str, shown: str) -> Iterator[tuple[str, str]]:
    """Messages with who sent them: the rows of a form's CSV, or a text."""
    head = next((line for line in text.splitlines() if line.strip()), "").lower()
    if head.strip('"').startswith(FORM[0]) and all(name in head for name in FORM[1:3]):
        for _, row in named_table(text, shown, FORM, FORM[:3]).rows:
            code, day, lines = (row[name].text for name in FORM[:3])
            yield f"{code}\n{day}\n{lines}", row["by"].text if "by" in row else ""
        return
    yield from ((message, "") for message in messages_in(text))


@dataclass
class Clerk:
    """Takes messages; the club's file is read once, each keeper's files anew for each message."""

    post: Post

    @cached_property
    def book(self) -> Rulebook:
        """The shipped rules."""
        return shipped_rules()

    @cached_property
    def keepers(self) -> Mapping[str, tuple[Path, ClubKeeper]]:
        """By the mark that their codes begin with, the folders and the keepers; "" is a lone outfit."""
        if not exists(self.post.path / CLUB, CLUB):
            return {"": (self.post.path, ClubKeeper("", "", "", ""))}
        club = read_club(self.post.path / CLUB)
        return {one.mark: (self.post.path / folder, one) for folder, one in club.items()}

    def answer(self, text: str, by: str) -> PostAnswer:
        """One message."""
        keeper = ClubKeeper("", "", "", "")
        try:
            message = read_message(text)
            path, keeper = self.whose(message.code)
            return self._entered(message, path, keeper, by or self.post.by)
        except (MessageError, EntryError, BadInput, LedgerError) as error:
            first = " ".join(text.split())
            return PostAnswer(keeper.keeper or NOBODY, keeper.phone, (first[:80],), 0, (_question(error),))

    def whose(self, code: str) -> tuple[Path, ClubKeeper]:
        """The folder and the keeper of a code. Raises MessageError."""
        found = [(mark, one) for mark, one in self.keepers.items() if _marked(code, mark)]
        if len(found) != 1:
            raise MessageError(f"{printed_code(code)} is not the code of a sheet of anybody here; {AS_PRINTED}")
        return found[0][1]

    def known(self, code: str, path: Path) -> tuple[Loaded, Ledger, LedgerSheet]:
        """What is known in a keeper's folder of the sheet with a code. Raises MessageError, BadInput, LedgerError."""
        loaded = load(path, data_folder("rules"), self.book)
        ledger = read_ledger(loaded.ledger, loaded.outfit.id)
        sheet = find_sheet(ledger, code)
        if sheet is None:
            raise MessageError(f"{printed_code(code)} is not the code of a sheet that is known; {AS_PRINTED}")
        return loaded, ledger, sheet

    def _entered(self, message: Message, path: Path, keeper: ClubKeeper, by: str) -> PostAnswer:
        loaded, ledger, sheet = self.known(message.code, path)
        day = self._day(message, sheet, sheet_window(ledger, sheet.code, sheet.day))
        who = keeper.keeper or loaded.outfit.name
        printed, on = printed_sheet(ledger, sheet, loaded.book), str(date.fromordinal(day))
        facts = Facts(loaded.outfit, loaded.book, loaded.keys, self.post.today, loaded.outfit.journal or (), by)
        read = understand(message, printed, facts, day)
        if not (read.sure or read.questions):
            raise MessageError("nothing is said of any line; write the number of each line and what was done")
        said, questions, written = [f"sheet {message.code}, {short_day(day)}"], list(read.questions), 0
        if read.sure:
            words = (message.code, *(f"{number} {text}" for number, text in read.sure))
            request = Request(str(path), words, on, by, "", self.post.today, self.post.dry, sure=True)
            try:
                written = enter(loaded, request, _nobody_asks, said.append)
            except BadInput as error:  # each line by itself is in order, and all of them together are not
                questions.append(_question(error))
        return PostAnswer(who, keeper.phone, tuple(said), written, tuple(f"{message.code}: {one}" for one in questions))

    def _day(self, message: Message, sheet: LedgerSheet, window: tuple[int, int]) -> int:
        """The day of work: as said, or else the sheet's own. Raises MessageError where it has to be asked."""
        said, today = message.day, self.post.today
        if said.back is not None and today - said.back != sheet.day:
            raise MessageError("nobody knows here on which day you wrote that; on which day was it done?")
        day = said.near(sheet.day) if said.said else sheet.day
        if day > today:
            raise MessageError(f"{short_day(day)} is still to come; on which day was it done?")
        if said.said and not window[0] <= day <= window[1]:
            raise MessageError(f"{far_from(sheet.day, window)}; was it done on {short_day(day)} {year(day)}?")
        return day


def _marked(code: str, mark: str) -> bool:
    """Whether a code is a mark with the signs of a sheet behind it; any code where there is no club."""
    rest = code.removeprefix(mark)
    return not mark or (code.startswith(mark) and rest[:1].isalpha() and rest[1:].isdigit())


def _question(error: Exception) -> str:
    if isinstance(error, BadInput):
        return "; ".join(str(one) for one in error.complaints)
    return str(error)


def _nobody_asks(question: str, default: str) -> NoReturn:
    raise MessageError(question)
