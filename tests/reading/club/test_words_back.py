"""Two hundred messages that were frozen before their reader was looked at, and a thousand of them spoilt.

The sheets are printed ones of the first example; the lines stand in ``words_back.yaml``. What is understood is held
against what a person takes it for; what a person could not be sure of has to be asked.
"""

from __future__ import annotations

import hashlib
import json
import random
import re
import string
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.club.messages import read_message
from ipmcal.reading.club.spokendays import MessageError
from ipmcal.reading.club.understanding import understand
from ipmcal.reading.entering.entries import Facts
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.entering.sheetwords import line_entries
from ipmcal.reading.yards.yards import load

WRITTEN = yaml.safe_load(Path(__file__).with_name("words_back.yaml").read_text())
MESSAGES = [(style, one) for style, many in WRITTEN["messages"].items() for one in many]
FROZEN = "8f7d69f14e734232"
TASKS = {
    "swarm": "swarm_check/2027/check/1",
    "hang": "trap_comb_frozen/2027/hang/1",
    "count": "mite_count/2027/spring/1",
    "supers": "supers/2027/put_on/1",
    "look": "trap_comb_cut/2027/cut/1",
    "cut": "trap_comb_cut/2027/cut/1",
    "swap": "trap_comb_frozen/2027/swap/1",
    "mow": "own/2027/mow/1",
    "nucleus": "new_nucleus/2027/settled/1",
    "next_box": "new_nucleus/2027/room/1",
    "formic": "formic_strips_pair/2027/apply/1",
    "stores": "feeding/2027/autumn_again/1",
    "mouse": "winter_preparation/2027/close_up/1",
}
"""The step of each kind of line, as the first example's sheets have it."""
SHARE = 0.95
Said = dict[int, tuple[str, ...]]


@pytest.fixture(scope="module")
def facts(book: Rulebook) -> Facts:
    loaded = load(folder("rules").parent / "example_yards" / "hollow_lane", folder("rules"), book)
    return Facts(loaded.outfit, book, loaded.keys, date(2027, 12, 31).toordinal(), by="AB")


@cache
def sheets() -> dict[str, tuple[PrintedSheet, dict[int, str]]]:
    """The printed sheets by their codes, with the kind of each line."""
    return {code[:-1]: _sheet(code[:-1], one) for code, one in WRITTEN["sheets"].items()}


BOOK: list[Rulebook] = []


def _sheet(code: str, one: dict[str, Any]) -> tuple[PrintedSheet, dict[int, str]]:
    lines, kinds = [], {}
    for part in one["lines"].split("; "):
        number, kind, who = part.split()
        who = "@mill_field" if who == "yard" else who
        lines.append(sheet_line(int(number), f"{who}/{TASKS[kind]}", BOOK[0], look=kind == "look", value="3"))
        kinds[int(number)] = kind
    yard = "orchard" if lines[-1].who in ("3", "4", "5") else "mill_field"
    return PrintedSheet(code, yard, one["day"].toordinal(), tuple(lines)), kinds


@pytest.fixture(autouse=True)
def _book(book: Rulebook) -> None:
    BOOK[:] = [book]


def heard(text: str, facts: Facts) -> tuple[str, int, tuple[tuple[int, str], ...], tuple[str, ...]]:
    """Code, day, lines and questions of a message. Raises MessageError where all of it is asked."""
    message = read_message(text)
    if message.code not in sheets():
        raise MessageError("no such sheet")
    sheet, _ = sheets()[message.code]
    day = message.day.near(sheet.day) if message.day.said else sheet.day
    read = understand(message, sheet, facts, day)
    return message.code, day, read.sure, read.questions


def plain(lines: Sequence[tuple[int, str]]) -> Said:
    """Lines with the words said of each, without order; what was not done is as if it were not said."""
    found: Said = {}
    for number, text in lines:
        words = re.sub(r"\b(?:supers?|strips?) (?=[0-9])|(?<=[0-9]) (?:supers?|strips?)\b", " ", text.lower())
        if words.strip() != "not done":
            found[number] = tuple(sorted(w for w in words.split() if w != "done" or words.strip() == "done"))
    return found


def meant(text: str) -> Said:
    parts = [part.split(None, 1) for part in text.split("; ") if part]
    return plain([(int(number), what) for number, what in parts])


def test_the_messages_are_those_that_were_frozen() -> None:
    text = json.dumps([(style, one["says"]) for style, one in MESSAGES])
    assert (len(MESSAGES), len(WRITTEN["messages"])) == (200, 12)
    assert hashlib.sha256(text.encode()).hexdigest()[:16] == FROZEN


def test_two_hundred_messages_written_without_sight_of_their_reader(facts: Facts) -> None:
    """A treatment without its lot is asked for it, which is what is wanted: its lines were told apart rightly."""
    asked, wrong = [], []
    for style, one in MESSAGES:
        text, sent = one["says"], one.get("sent")
        try:
            code, day, sure, questions = heard(text, facts)
        except MessageError as error:
            asked += [(style, text, str(error))] if "means" in one else []
            continue
        said = plain(sure)
        if "asks" in one:
            late = sent is not None and day > sent.toordinal()
            wrong += [] if late or (questions and not said) else [(style, text, str(said))]
            continue
        worked = one["worked"].toordinal() if "worked" in one else sheets()[code][0].day
        means = meant(one["means"])
        lots = [q for q in questions if "of which lot" in q or "by whom" in q]
        if {n: means.get(n) for n in said} != said or (said and day != worked):
            wrong.append((style, text, f"{date.fromordinal(day)} {said}"))
        elif len(said) + len(lots) < len(means) or len(lots) < len(questions):
            asked.append((style, text, f"{said} {questions}"))
    assert wrong == [], "misread"
    assert len(asked) <= len(MESSAGES) * (1 - SHARE), asked


@pytest.mark.parametrize("seed", range(4))
def test_a_thousand_spoilt_ones_write_of_no_other_hive_or_line(seed: int, facts: Facts) -> None:
    """A sign dropped, added, changed or swapped: what is still taken is of the same sheet and of its lines.

    Where the number of a line itself was changed into that of another, nobody can tell: only those that keep their
    numbers are held to their lines.
    """
    chance, other, taken = random.Random(seed), [], 0
    for _ in range(250):
        _, one = chance.choice([m for m in MESSAGES if "means" in m[1]])
        mutant = mutated(one["says"], chance)
        try:
            code, _, sure, _ = heard(mutant, facts)
            own_code, *_ = heard(one["says"], facts)
        except MessageError:
            continue
        said = plain(sure)
        taken += bool(said)
        sheet, _ = sheets()[code]
        touched = digits(mutant) != digits(one["says"])
        if code != own_code or (set(said) - set(meant(one["means"])) and not touched):
            other.append((one["says"], mutant, said))
        for number, words in sure:
            hives = {e.event.colony for e in line_entries(facts, sheet, number, words, sheet.day)}
            assert hives <= {None, sheet.line(number).who}, (mutant, number)
    assert other == []
    assert taken > 70, "many of them are understood all the same"


def digits(text: str) -> list[str]:
    """The numbers of a text, with those in words."""
    ones = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "to"]
    return re.findall(rf"[0-9]+|\b(?:{'|'.join(ones)})\b|[-–]|\.\.", text.lower())


def mutated(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text))
    sign = chance.choice(string.ascii_letters + string.digits + " .,:/-\n#é")
    ways = (text[:at] + text[at + 1 :], text[:at] + sign + text[at:], text[:at] + sign + text[at + 1 :])
    swapped = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
    return chance.choice((*ways, swapped))
