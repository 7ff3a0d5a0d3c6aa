"""What ``ipmcal log --from`` does: messages of keepers become lines of their journals, or questions to send back.

In: a club's folder, or an outfit, and the text of messages. Out: lines in journals, and what was understood, written
and has to be asked. A message that was taken already writes nothing; of one that is half sure, that half is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import NoReturn

from ipmcal.data import folder as data_folder
from ipmcal.entering import Request, enter
from ipmcal.loading import shipped_rules
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.signs import printed_code
from ipmcal.model.values.words import short_day
from ipmcal.publishing.memory.codes import find_sheet
from ipmcal.publishing.memory.ledger import LedgerError, read_ledger
from ipmcal.reading.club.clubfile import CLUB, ClubKeeper, read_club
from ipmcal.reading.club.messages import Message, MessageError, messages_in, read_message
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.source.files import exists
from ipmcal.reading.source.named import named_table
from ipmcal.reading.yards.yards import Loaded, load

FORM = ("code", "date", "lines", "by")
FAR = 31
"""Days between the day on a sheet and the day of work from which on it is asked whether that is the day meant."""
NOBODY = "nobody"
MAX_POST = 5_000_000


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
    clerk = _Clerk(post)
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
class _Clerk:
    """Takes messages; the club's file is read once, each keeper's files anew for each message."""

    post: Post

    @cached_property
    def book(self) -> Rulebook:
        """The shipped rules."""
        return shipped_rules()

    @cached_property
    def known(self) -> tuple[str, ...]:
        """What may be said of a line besides done and a count, to tell where the next line begins."""
        return tuple(word.lower() for one in self.book.findings.values() for word in (one.circle, one.title))

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
            message = read_message(text, self.known)
            path, keeper = self._whose(message.code)
            return self._entered(message, path, keeper, by or self.post.by)
        except (MessageError, BadInput, LedgerError) as error:
            first = " ".join(text.split())
            return PostAnswer(keeper.keeper or NOBODY, keeper.phone, (first[:80],), 0, (_question(error),))

    def _whose(self, code: str) -> tuple[Path, ClubKeeper]:
        found = [(mark, one) for mark, one in self.keepers.items() if _marked(code, mark)]
        if len(found) != 1:
            raise MessageError(f"{printed_code(code)} is not the code of a sheet of anybody here; is it another sign?")
        return found[0][1]

    def _entered(self, message: Message, path: Path, keeper: ClubKeeper, by: str) -> PostAnswer:
        loaded = load(path, data_folder("rules"), self.book)
        sheet = find_sheet(read_ledger(loaded.ledger, loaded.outfit.id), message.code)
        if sheet is None:
            raise MessageError(f"{printed_code(message.code)} is not the code of a sheet that is known; is it another?")
        day = message.day_near(sheet.day)
        if day > self.post.today:
            raise MessageError(f"{short_day(day)} is still to come; on which day was it done?")
        if abs(day - sheet.day) > FAR:
            when = f"{short_day(day)} {date.fromordinal(day).year}"
            raise MessageError(f"the sheet is for {short_day(sheet.day)}; was it done on {when}?")
        who = keeper.keeper or loaded.outfit.name
        request = Request(str(path), (message.code,), str(date.fromordinal(day)), by, "", self.post.today, True)
        sure, questions = self._sure(loaded, request, message)
        said: list[str] = [f"sheet {message.code}, {short_day(day)}"]
        written = 0
        if sure:
            whole = replace(request, words=(message.code, *sure), dry=self.post.dry)
            try:
                written = enter(loaded, whole, _nobody_asks, said.append)
            except BadInput as error:  # each line by itself is in order, and all of them together are not
                questions.append(_question(error))
        return PostAnswer(who, keeper.phone, tuple(said), written, tuple(f"{message.code}: {one}" for one in questions))

    def _sure(self, loaded: Loaded, request: Request, message: Message) -> tuple[list[str], list[str]]:
        """The lines that are in order, and questions about the others."""
        sure: list[str] = []
        questions: list[str] = []
        for number, text in message.lines:
            line = f"{number} {text}"
            try:
                enter(loaded, replace(request, words=(message.code, line)), _nobody_asks, _nothing)
                sure.append(line)
            except BadInput as error:
                questions.append(f"line {line}: {'; '.join(one.what for one in error.complaints)}")
        return sure, questions


def _marked(code: str, mark: str) -> bool:
    """Whether a code is a mark with the signs of a sheet behind it; any code where there is no club."""
    rest = code.removeprefix(mark)
    return not mark or (code.startswith(mark) and rest[:1].isalpha() and rest[1:].isdigit())


def _question(error: MessageError | BadInput | LedgerError) -> str:
    if isinstance(error, BadInput):
        return "; ".join(str(one) for one in error.complaints)
    return str(error)


def _nobody_asks(question: str, default: str) -> NoReturn:
    raise MessageError(question)


def _nothing(line: str) -> None:
    pass
