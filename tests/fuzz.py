"""Command lines and files as no keeper would write them: never a traceback, and exit codes that say what happened.

``python tests/fuzz.py TIMES [SEED]`` (sources and ``tests`` have to be on the path) runs so many in this process and
says what was found; the tests run a few hundred. Each run has a number: ``python tests/fuzz.py +NUMBER`` runs that one
alone and shows it. PDFs are left out, so that ``plan`` ends with 3.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import shutil
import string
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from ipmcal import cli, loading
from ipmcal.data import folder
from ipmcal.publishing import publish, record
from ipmcal.reading.rules.rulebook import load_rulebook

YARDS = Path(__file__).resolve().parent.parent / "example_yards"
CODES = (0, 1, 2, 3)
CONTENTS = {"small": "first_season.yaml", "walk": "allotment.yaml"}
COMMANDS = ("plan", "check", "status", "options", "log", "why", "record", "rules", "schema", "new")
ODD = (
    *("", " ", "-", "--", "0", "-1", "999999999999999999999", "é", "\u202e", "\x00", "\x07", "\x85", "\udcff\udcfe"),
    *("=1+1", "@", "@x", "' \"", "..", "/", "~", "%", "x" * 300, "a/" * 200, "\N{SNOWMAN}", "\n", "\t", ",;", "null"),
)
DAYS = ("2027-05-10", "10 May 2027", "1900-01-01", "2199-12-31", "9999-12-31", "0001-01-01", "2027-02-30", "5/6/2027")
EVENTS = ("count 4/300", "inspected", "swarmed", "caged", "treated oxalic_trickle 35 mL lot K by AB", "supers_on 1")
MORE_EVENTS = ("died", "void inspected", "strips_in amitraz_strip 2 lot K by AB", "caught", "united 2", "queen laying")


@dataclass(frozen=True)
class Ran:
    """What a run came to."""

    arguments: tuple[str, ...]
    code: object
    said: str
    touched: bool


class Fuzz:
    """One run by its number: files, a command line, and what came of them."""

    def __init__(self, number: int, place: Path) -> None:
        self.chance, self.place = random.Random(number), place

    def run(self) -> Ran:
        """Make the files, run the command, look at what is left. The folder is emptied before."""
        for path in sorted(self.place.iterdir()):
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        self._files()
        arguments = tuple(self._arguments())
        before = _tree(self.place)
        code, said = _called(arguments, self.place, "".join(self._answers()), self.chance.choice(ENCODINGS))
        return Ran(arguments, code, said, _tree(self.place) != before)

    # Files ------------------------------------------------------------------------------------------------------------

    def _files(self) -> None:
        name = self.chance.choice(sorted(CONTENTS.values()))
        yard = (YARDS / name).read_text()
        journal = "date,yard,colony,event,value,note\n" + "".join(self._lines())
        (self.place / "y.yaml").write_bytes(self._spoilt(yard, 0.4))
        if self.chance.random() < 0.6:
            (self.place / "y.journal.csv").write_bytes(self._spoilt(journal, 0.4))
        if self.chance.random() < 0.3:
            (self.place / "y.ledger.json").write_bytes(self._spoilt(_ledger(), 0.8))
        if self.chance.random() < 0.2:
            (self.place / "o").mkdir()
            (self.place / "o" / "outfit.yaml").write_bytes(self._spoilt('outfit: o\nname: "O"\n', 0.3))
            (self.place / "o" / f"{self._pick('z', 'all-yards')}.yaml").write_bytes(self._spoilt(yard, 0.3))

    def _lines(self) -> Iterator[str]:
        for _ in range(self.chance.randrange(6)):
            day = f"2027-0{self.chance.randint(5, 6)}-{self.chance.randint(2, 12):02}"
            word, _, value = self.chance.choice((*EVENTS, *MORE_EVENTS)).partition(" ")
            yield f"{day},y,{self._pick(*'1' * 9, *'2' * 9, '9')},{word},{value},\n"

    def _spoilt(self, text: str, share: float) -> bytes:
        """A file as it is, or with a few slips: in a line, a word, a sign or a byte."""
        if self.chance.random() > share:
            return text.encode()
        lines = text.splitlines(keepends=True)
        for _ in range(self.chance.randint(1, 3)):
            at = self.chance.randrange(max(1, len(lines)))
            if lines:
                lines[at] = self._slip(lines[at])
        raw = "".join(lines).encode("utf-8", "surrogateescape")
        if self.chance.random() < 0.15:
            at = self.chance.randrange(len(raw) + 1)
            raw = raw[:at] + bytes([self.chance.randrange(256)]) + raw[at + self.chance.randrange(2) :]
        return raw[: self.chance.randrange(len(raw) + 1)] if self.chance.random() < 0.05 else raw

    def _slip(self, line: str) -> str:
        kind = self.chance.randrange(5)
        at = self.chance.randrange(len(line) + 1)
        odd = self.chance.choice((*(o for o in ODD if "\udcff" not in o), *DAYS, "yes", "[", "{", "1e9", "-5", "any"))
        if kind == 0:
            return ""
        if kind == 1:
            return line + line
        if kind == 2:
            return line[:at] + odd + line[at:]
        words = line.split(" ")
        words[self.chance.randrange(len(words))] = odd
        return " ".join(words) if kind == 3 else line[:at] + self.chance.choice(string.printable) + line[at + 1 :]

    # Command lines ----------------------------------------------------------------------------------------------------

    def _pick(self, *some: str) -> str:
        return self.chance.choice(some)

    def _arguments(self) -> Iterator[str]:
        command = self.chance.choice((*COMMANDS, "log", "log", "log", "check", "status"))
        yield command
        if command not in ("rules", "schema"):
            yield self._path(command)
        makers: dict[str, Callable[[], list[str]]] = {"log": self._log, "why": self._why, "options": self._options}
        yield from makers.get(command, list)()
        if self.chance.random() < 0.8 and command not in ("rules", "schema", "new"):
            yield from ("--as-of", self._pick(*("2027-06-10",) * 40, "2027-11-20", *DAYS, *ODD))
        if command in ("plan", "why") and self.chance.random() < 0.3:
            yield from ("--season", self._pick("2027", "2026", "0", "-1", "9999", "10000", "1899", "2199", "x", *ODD))
        if command == "record" and self.chance.random() < 0.4:
            yield from ("--year", self._pick("2027", "0", "9999", "99999999", "1", *ODD))
        if command == "plan" and self.chance.random() < 0.3:
            yield from ("--print", self._pick("sheet", "feed,plan", "sheets", "", ",", *ODD))
        if command in ("plan", "record", "schema") and self.chance.random() < 0.3:
            yield from ("--out", self._pick("deep/out", "y.yaml", "y.yaml/x", "locked/x", *ODD))
        if self.chance.random() < 0.05:
            yield self.chance.choice(ODD)

    def _path(self, command: str) -> str:
        if command == "new":
            return self._pick("new.yaml", "y.yaml", "locked/new.yaml", "x" * 300 + ".yaml", *ODD)
        return self._pick(
            *("y.yaml",) * 60, "o", "o", "o", ".", "missing.yaml", "y.journal.csv", "locked", "locked/y.yaml", *ODD
        )

    def _log(self) -> list[str]:
        words = self.chance.choice((*EVENTS, *MORE_EVENTS)).split()
        found = [self._pick(*"1" * 20, *"2" * 20, "9", "@y", "K7", "A2", "C3", *ODD), *words]
        if self.chance.random() < 0.3:
            found[self.chance.randrange(len(found))] = self.chance.choice(ODD)
        for option in ("--note", "--by", "--on"):
            if self.chance.random() < 0.4:
                values = (*("2027-06-01",) * 30, *DAYS, *ODD) if option == "--on" else ("AB", *ODD)
                found += [option, self.chance.choice(values)]
        return found + (["--dry"] if self.chance.random() < 0.1 else [])

    def _why(self) -> list[str]:
        return [self._pick("y", "y/2027-05-15", "1/", "mite_count", *ODD)]

    def _options(self) -> list[str]:
        colony = [self._pick("1", "2", *ODD)] if self.chance.random() < 0.6 else []
        return colony + (["--on", self._pick(*DAYS, *ODD)] if self.chance.random() < 0.4 else [])

    def _answers(self) -> Iterator[str]:
        for _ in range(self.chance.randrange(30)):
            yield (
                self._pick("y", "n", "1", "2", "sat", "us_northeast", "43", "-76", "2027-05-01 package", *ODD[:6])
                + "\n"
            )


ENCODINGS = ("utf-8", "utf-8", "ascii", "latin-1", "cp437")


@cache
def _ledger() -> str:
    """The ledger of the small yard after its first plan."""
    with tempfile.TemporaryDirectory() as place:
        here = Path(place)
        shutil.copy(YARDS / "first_season.yaml", here / "y.yaml")
        arguments = ("plan", "y.yaml", "--as-of", "2027-05-10")
        code, said = _called(arguments, here, "", "utf-8")
        assert code == cli.NO_ENGINE, said
        return (here / "y.ledger.json").read_text()


def _tree(place: Path) -> dict[str, bytes]:
    paths = (p for p in place.rglob("*") if p.is_file() and not p.name.endswith(".lock"))
    return {str(p): p.read_bytes() for p in paths}


def _called(arguments: tuple[str, ...], place: Path, answers: str, encoding: str) -> tuple[object, str]:
    """The exit code and all that was said; an exception that came through stands for its code."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2)]
    here, argv, stdin = Path.cwd(), sys.argv, sys.stdin
    code: object = 0
    try:
        os.chdir(place)
        sys.argv = ["ipmcal", *arguments]
        sys.stdin = io.StringIO(answers)
        with contextlib.redirect_stdout(streams[0]), contextlib.redirect_stderr(streams[1]):
            cli.main()
    except SystemExit as end:
        code = end.code or 0
    except BaseException as error:  # whatever comes through is what is looked for
        code = f"{type(error).__name__}: {error}"
    finally:
        os.chdir(here)
        sys.argv, sys.stdin = argv, stdin
    for stream in streams:
        stream.flush()
    return code, "".join(stream.buffer.getvalue().decode(encoding, "replace") for stream in streams)  # type: ignore[attr-defined]


@contextlib.contextmanager
def quick() -> Iterator[None]:
    """The shipped rules are read once, and no PDF is made."""
    book = load_rulebook(folder("rules"))
    patched: list[tuple[Any, str, object]] = [
        (loading, "shipped_rules", lambda: book),
        (publish, "engine", lambda: "no PDFs in this trial"),
        (record, "engine", lambda: "no PDFs in this trial"),
    ]
    was = [getattr(where, name) for where, name, _ in patched]
    for where, name, what in patched:
        setattr(where, name, what)
    try:
        yield
    finally:
        for (where, name, _), old in zip(patched, was, strict=True):
            setattr(where, name, old)


def fault(ran: Ran) -> str:
    """What is wrong with a run; "" where nothing is."""
    if ran.code not in CODES:
        return f"ended with {ran.code}"
    if "Traceback" in ran.said:
        return "a traceback"
    if ran.code == cli.BAD_INPUT and ran.touched:
        return "bad input, and something was written"
    return "bad input, and nothing said" if ran.code == cli.BAD_INPUT and not ran.said.strip() else ""


def trial(numbers: range, most: float = float("inf")) -> tuple[Counter[object], list[str]]:
    """Exit codes by how often they came, and what was wrong; it ends after ``most`` seconds."""
    codes: Counter[object] = Counter()
    wrong: list[str] = []
    end = time.monotonic() + most
    with quick(), tempfile.TemporaryDirectory() as place:
        for number in numbers:
            if time.monotonic() > end:
                break
            ran = Fuzz(number, Path(place)).run()
            codes[ran.code] += 1
            if what := fault(ran):
                wrong.append(f"{number}: {what}: {ran.arguments!r}: {ran.said[-300:]!r}")
    return codes, wrong


def _one(number: int) -> None:
    with quick(), tempfile.TemporaryDirectory() as place:
        ran = Fuzz(number, Path(place)).run()
        for path, content in _tree(Path(place)).items():
            print(f"--- {Path(path).name}\n{content[:3000].decode('utf-8', 'backslashreplace')}")
        print(f"{ran.arguments!r}: {ran.code}\n{ran.said}")


if __name__ == "__main__":
    if sys.argv[1].startswith("+"):
        _one(int(sys.argv[1]))
        sys.exit(0)
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    seconds = float(sys.argv[3]) if len(sys.argv) > 3 else float("inf")
    counts, faults = trial(range(first, first + int(sys.argv[1])), seconds)
    print(f"{sum(counts.values())} runs; exit codes {dict(counts)}; {len(faults)} faults")
    for line in faults:
        print(f"  {line}".encode("utf-8", "backslashreplace").decode())
    sys.exit(1 if faults else 0)
