"""What keepers write of a sheet: most of it is understood, the rest is asked, nothing is taken for something else."""

from __future__ import annotations

import random
import re
import string
from datetime import date
from pathlib import Path

import pytest
import yaml

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.signs import DIGITS, LETTERS, check_letter, printed_code
from ipmcal.reading.club.messages import Message, messages_in, read_message
from ipmcal.reading.club.spokendays import MessageError, SpokenDay
from ipmcal.reading.entering.entries import EntryError
from ipmcal.reading.entering.phrases import DONE_OR_NOT, Heard
from ipmcal.reading.entering.speech import told_apart

STYLES = yaml.safe_load(Path(__file__).with_name("messages.yaml").read_text())
SENT = [(style, *one) for style, many in STYLES.items() for one in many]
NEAR = date(2027, 7, 1).toordinal()


def any_lines(book: Rulebook) -> list[Heard]:
    """Lines of which anything may be said that these messages say: a count, a finding, done or not."""
    words = {word.lower() for one in book.findings.values() for word in (one.circle, one.title)}
    phrases = {**DONE_OR_NOT, **{tuple(word.split()): word for word in words}}
    return [Heard(number, phrases=phrases, counts=True) for number in range(1, 13)]


def said(text: str, book: Rulebook) -> list[tuple[int, str]]:
    return told_apart(text, any_lines(book), book.events, letter=True)


def understood(text: str, book: Rulebook) -> tuple[str, str, str] | None:
    """Code, day and lines as the frozen messages have them; None where something is asked."""
    try:
        found = read_message(text)
        lines = said(found.text, book)
    except (MessageError, EntryError):
        return None
    day = date.fromordinal(found.day.near(NEAR)).isoformat() if found.day.said else ""
    return found.code, day, "; ".join(f"{n} {what}" for n, what in lines).lower()


def test_two_hundred_messages_in_twelve_styles(book: Rulebook) -> None:
    assert (len(SENT), len(STYLES)) == (200, 12)
    read = [(style, text, understood(text, book), (code, day, lines.lower())) for style, text, code, day, lines in SENT]
    assert [one for one in read if one[2] is not None and one[2] != one[3]] == [], "misread"
    asked = [one[:2] for one in read if one[2] is None]
    assert len(asked) <= len(SENT) * 0.05, asked


@pytest.mark.parametrize("seed", range(4))
def test_a_thousand_mutated_messages_name_no_other_sheet_and_break_nothing(seed: int, book: Rulebook) -> None:
    """A sign dropped, added, changed or swapped, anywhere: what is still read is of the same sheet.

    Of its lines too, but where the number of a line itself was changed into that of another: then it is a message
    like any other, which nobody can tell from what was meant (those that keep the numbers are held to them).
    """
    chance = random.Random(seed)
    other: list[tuple[str, str]] = []
    for _ in range(250):
        _, text, code, _, lines = chance.choice(SENT)
        mutant = mutated(text, chance)
        try:
            found = read_message(mutant)
            if not found.day.said:
                continue  # then what is odd may have been the day, and nothing is written where anything is
            numbers = {number for number, _ in said(found.text, book)}
        except (MessageError, EntryError):
            continue
        mine = {int(part.split()[0]) for part in lines.split("; ")}
        touched = re.findall(r"[0-9]+", mutant) != re.findall(r"[0-9]+", text)
        if not re.fullmatch("[A-Z][0-9]+[A-Z][0-9]+", found.code):
            continue  # a code without a mark, which no keeper of a club has
        if found.code != code or (numbers - mine and not touched):
            other.append((text, mutant))
    assert other == []


def mutated(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text))
    sign = chance.choice(string.ascii_letters + string.digits + " .,:/-\n#é")
    ways = (text[:at] + text[at + 1 :], text[:at] + sign + text[at:], text[:at] + sign + text[at + 1 :])
    swapped = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
    return chance.choice((*ways, swapped))


def test_the_check_letter_changes_with_any_one_sign_and_with_two_swapped() -> None:
    """By trying all: the codes of two blocks of two signs, as a club's are."""
    codes = [f"{a}{b}{c}{d}" for a in LETTERS[:6] for b in DIGITS for c in LETTERS for d in DIGITS]
    for code in codes[::97]:
        for at, sign in enumerate(code):
            alike = LETTERS if sign in LETTERS else DIGITS
            others = [code[:at] + other + code[at + 1 :] for other in alike if other != sign]
            assert check_letter(code) not in map(check_letter, others)
        turned = code[2] + code[1] + code[0] + code[3]
        assert turned == code or check_letter(turned) != check_letter(code)


K7A2 = printed_code("K7A2")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "which sheet is it"),
        ("done", "which sheet is it"),
        ("K7A2 15 May: 1 done", "is not the code of a sheet"),
        ("K7A2X 15 May: 1 done", "is not the code of a sheet"),
        (f"{K7A2} 15 May or 16 May: 1 done", "more than one day"),
        (f"{K7A2} 05/06/2027: 1 done", "which day is it"),
        (f"{K7A2} 31 June: 1 done", "which day is it"),
        (f"{K7A2} 15 May", "nothing is said of any line"),
        (f"{K7A2} 15 May: 9/300", "of which line is that"),
        (f"{K7A2} 5/6: 1 done", "which day is it"),
        (f"{K7A2} 15 May, 16.5.: 1 done", "more than one day"),
        (f"{K7A2} today or yesterday: 1 done", "more than one day"),
        (f"{K7A2} 15 May: 1 done, brood on 4 frames", "of which line is that"),
        (f"{K7A2} {printed_code('K7C3')} 15 May: 1 done", "one message a sheet"),
        (f"{K7A2} 15 May: 1 {'x' * 2000}", "too long"),
    ],
)
def test_what_is_not_sure_is_asked(text: str, words: str, book: Rulebook) -> None:
    with pytest.raises((MessageError, EntryError), match=words):
        said(read_message(text).text, book)


def test_sixty_pasted_messages_are_told_apart() -> None:
    one, two = f"{K7A2} 15 May: 1 done", f"1 9/300 ({printed_code('K7C3')}, 15 May)"
    assert messages_in(f"{one}\r\n\r\n{two}\n") == [one, two]
    assert messages_in(f"{one}\n{two}") == [one, two]
    lines = f"{K7A2}\n15 May\n1 done\n2 not done"
    assert messages_in(f"{lines}\n{one}") == [lines, one]
    assert messages_in(" \n \n") == []


def test_a_year_that_is_not_said_is_the_one_nearest_the_sheet() -> None:
    found = read_message(f"{K7A2} 28 Dec: 1 done")
    assert (found.code, found.day) == ("K7A2", SpokenDay(0, 12, 28))
    assert date.fromordinal(found.day.near(date(2028, 1, 2).toordinal())) == date(2027, 12, 28)
    assert isinstance(found, Message)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("15.5.2027", SpokenDay(2027, 5, 15)),
        ("15-5-2027", SpokenDay(2027, 5, 15)),
        ("5/29", SpokenDay(0, 5, 29)),
        ("29/5", SpokenDay(0, 5, 29)),
        ("fifteenth of May", SpokenDay(0, 5, 15)),
        ("twenty-first May", SpokenDay(0, 5, 21)),
        ("May 15th", SpokenDay(0, 5, 15)),
        ("today", SpokenDay(back=0)),
        ("yesterday", SpokenDay(back=1)),
        ("", SpokenDay()),
    ],
)
def test_a_day_as_it_is_said(text: str, day: SpokenDay) -> None:
    assert read_message(f"{K7A2} {text}: 1 done").day == day


@pytest.mark.parametrize("text", ["K 7 A 2 T: 1 done", "K7 A2 T 1 done", "K7A2T1 done", "k7a2t1 done"])
def test_a_code_that_is_spelt_or_run_together(text: str) -> None:
    assert K7A2 == "K7A2T"
    assert read_message(text).code == "K7A2"


@pytest.mark.parametrize(
    ("text", "asks"),
    [
        ("A2A2 8 May: 1 eggs", "'A2A2' can be a code whose last letter is missing or wrong"),
        ("A2A2T 1 done", "'A2A2T' can be a code"),
        ("A2C3X 1 done", "'A2C3X' is not the code of a sheet"),
    ],
)
def test_a_code_with_a_slip_is_asked_about_as_it_was_written(text: str, asks: str) -> None:
    with pytest.raises(MessageError, match=re.escape(asks)):
        read_message(text)


@pytest.mark.parametrize("text", ["A2A2A 1 done", "A2 A2 A: 1 done", "A2A2-A 1 done", "> a2a2a 1 done"])
def test_a_code_with_a_keepers_mark_is_that_sheets(text: str) -> None:
    assert read_message(text).code == "A2A2"


def test_messages_run_together_are_told_apart_where_each_begins_as_with_a_code() -> None:
    """The letter of the second is wrong: that one is asked about, and the others are not taken for one with it."""
    one, two, three = "C3C3W 9 May: 1 done, 2 eggs", "A2C3X 15 May: 1 done", "A2A2A 9 June: 1 done"
    assert messages_in(f"{one}\n{two}\n{three}") == [one, two, three]
    assert messages_in(f"{one}\nT1 cut\n2 9/300") == [f"{one}\nT1 cut\n2 9/300"]
