"""Slips of a hand in every file of every example: one clear complaint at the line that has to be mended, or none.

In: the examples, each of their lines spoilt as keepers and their programs spoil them. What a slip leaves in order
(another line end, a mark at the file's beginning) is read as before.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import pytest
from command import ipmcal

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.yards.yards import load

YARDS = Path(__file__).resolve().parents[3] / "example_yards"
FILES = sorted(path.relative_to(YARDS) for path in YARDS.rglob("*.yaml"))
Slip = tuple[str, int, str, str]
"""What was done, the line that was spoilt (from 1), the text that came of it, words that the complaint has to hold."""


@cache
def lines_of(file: Path) -> tuple[str, ...]:
    return tuple((YARDS / file).read_text(encoding="utf-8").split("\n"))


def spoilt(file: Path, n: int, new: str) -> str:
    lines = list(lines_of(file))
    lines[n] = new
    return "\n".join(lines)


def said(file: Path) -> Iterator[tuple[int, str]]:
    """The lines that say something, by number from 0."""
    return ((n, line) for n, line in enumerate(lines_of(file)) if line.strip() and not line.lstrip().startswith("#"))


def slips_of_form(file: Path) -> Iterator[Slip]:
    """What breaks the form of a file: quotes, colons, brackets, blanks and tabs."""
    keys = 0
    for n, line in said(file):
        key = re.match(r"(\s*(?:- )?)(\w+):(?= |$)", line)
        value = "" if key is None else re.sub(r"(^| )#.*", "", line[key.end() :]).strip()
        if key:
            yield "no colon", n, spoilt(file, n, line.replace(":", "", 1)), ""
        if key and value:
            again = "stands here a second time" if key[1].strip() != "-" else ""
            yield "twice", n + 1, spoilt(file, n, f"{line}\n{line}"), again
            yield "no value", n, spoilt(file, n, key[0]), ""
            if value[0] not in "{[":
                yield "no blank", n, spoilt(file, n, line.replace(": ", ":", 1)), ""
        if line.count('"') == 2:  # both
            at = line.rindex('"')
            yield "no quote behind", n, spoilt(file, n, line[:at] + line[at + 1 :]), ""
        for sign in "{[":
            if sign in line:
                yield f"no {sign}", n, spoilt(file, n, line.replace(sign, "", 1)), ""
        for sign in "}]":
            if sign in line:
                yield f"no {sign}", n, spoilt(file, n, line.replace(sign, "", 1)), ""
        yield "a tab", n, spoilt(file, n, f"\t{line.lstrip()}"), "a tab stands here"
        keys += 1
    assert keys > 1


def slips_of_words(file: Path) -> Iterator[Slip]:
    """What the form allows and the words do not."""
    for n, line in said(file):
        for what, old, new, words in (
            ("a key nobody knows", r"\b(days|region|name|program)(?=: )", r"\1x", "did you mean"),
            ("a bad date", r"\b(20\d\d)-\d\d-\d\d\b", r"\1-02-30", "2"),
            ("a wrong unit", r"(elevation: \d+) m", r"\1 kg", "elevation"),
            ("no unit", r"(elevation: \d+) m", r"\1", "elevation"),
            ("a word for a number", r"(latitude: )-?[\d.]+", r"\1north", "latitude"),
            ("off the earth", r"(latitude: )-?[\d.]+", r"\1 952.1", "latitude"),
            ("a list for a word", r"^(region|program|outfit): (\w+)", r"\1: [\2]", ""),
            ("a mapping for a list", r"^days: .*", "days: {a: b}", "days"),
            ("an unknown word", r"^(region|program|jurisdiction): (\w+)", r"\1: \2x", "did you mean"),
            ("no such day", r"^days: \[\w+", "days: [sumday", "days"),
            ("a bad beginning", r"began: \d{4} overwintered", "began: 2025 overwinterd", "began"),
            ("no such box", r"boxes: \[\w+", "boxes: [deeep", "boxes"),
        ):
            made = re.sub(old, new, line, count=1)
            if made != line:
                yield what, n, spoilt(file, n, made), words


def place(file: Path, text: str | bytes, tmp_path: Path) -> Path:
    """The example with one file spoilt, in a folder of its own; the path that is planned."""
    top = YARDS / file.parts[0]
    copy = tmp_path / file.parts[0]
    tmp_path.mkdir(parents=True, exist_ok=True)
    if top.is_dir():
        shutil.copytree(top, copy, ignore=shutil.ignore_patterns("*ledger*"))
    (tmp_path / file).write_bytes(text if isinstance(text, bytes) else text.encode())
    return copy


def refused(top: Path, file: Path, book: Rulebook) -> list[Complaint]:
    """The complaints about a file; none where it is read."""
    try:
        load(top, folder("rules"), book)
    except BadInput as error:
        return [one for one in error.complaints if one.file.endswith(file.name)]
    return []


def clear(complaints: Sequence[Complaint], line: int, words: str, about: str) -> None:
    """What is said names the line (or, for what follows from a slip of form, its neighbour), and how to mend it."""
    told = "\n".join(map(str, complaints))
    assert complaints, f"{about}: nobody complained"
    assert line in {one.line for one in complaints} or not words, f"{about}: {told}"
    assert abs(complaints[0].line - line) <= 1, f"{about}: {told}"
    assert all("\n" not in str(one) and len(str(one)) < 800 for one in complaints), about
    assert words in told, f"{about}: {told}"
    assert not re.search(r"while (parsing|scanning)|expected <|Traceback|pydantic", told), f"{about}: {told}"


@pytest.mark.parametrize("file", FILES, ids=str)
def test_each_slip_in_each_line_is_one_clear_complaint(file: Path, tmp_path: Path, book: Rulebook) -> None:
    top, count = place(file, (YARDS / file).read_bytes(), tmp_path), 0
    for what, n, text, words in (*slips_of_form(file), *slips_of_words(file)):
        (tmp_path / file).write_text(text, encoding="utf-8")
        about = f"{what}, line {n + 1}: {lines_of(file)[min(n, len(lines_of(file)) - 1)]}"
        clear(refused(top, file, book), n + 1, words, about)
        count += 1
    assert count > 10


@pytest.mark.parametrize("file", FILES, ids=str)
def test_other_line_ends_and_a_mark_at_the_beginning_are_read_as_before(
    file: Path, tmp_path: Path, book: Rulebook
) -> None:
    raw = (YARDS / file).read_bytes()
    top = place(file, raw, tmp_path)
    as_it_was = load(top, folder("rules"), book).outfit
    for other in (raw.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + raw, raw.rstrip(b"\n")):
        (tmp_path / file).write_bytes(other)
        assert load(top, folder("rules"), book).outfit == as_it_was


WHOLE = (
    (b"", "1:1 is empty"),
    (b"\n\n# nothing\n", "1:1 is empty"),
    ('yard: "Caf\u00e9"\n'.encode("latin-1"), "1:11 is not UTF-8 text here (byte 0xe9); save the file as UTF-8"),
    ('yard: "A"\n'.encode("utf-16"), "1:1 is UTF-16, not UTF-8; save the file as UTF-8"),
    (b'yard: "A\x00"\n', "holds a hidden character"),
    (b"PK\x03\x04" + bytes(range(256)), ""),
    (b"just a letter to somebody", ""),
    (b"- a\n- b\n", ""),
)


@pytest.mark.parametrize(("raw", "words"), WHOLE, ids=[str(i) for i in range(len(WHOLE))])
def test_a_file_that_is_something_else_is_one_error_and_nothing_is_written(
    raw: bytes, words: str, tmp_path: Path
) -> None:
    for file in (Path("allotment.yaml"), Path("long_meadow/creek.yaml")):
        top = place(file, raw, tmp_path / file.stem)
        before = sorted((tmp_path / file.stem).rglob("*"))
        for order in (("check", top), ("plan", top, "--out", tmp_path / file.stem / "out")):
            ran = ipmcal(*order, "--as-of", "2027-05-01", columns=400)
            assert ran.returncode == 2, ran
            assert f"{file.name}:" in ran.stderr + ran.stdout, ran
            assert words in ran.stderr + ran.stdout, ran
            assert "Traceback" not in ran.stderr + ran.stdout
        assert sorted((tmp_path / file.stem).rglob("*")) == before
