"""Mutants: single-line changes that must not survive the tests. Run by hand: ``python tests/mutants.py --help``.

In: the source of planning, reading and biology, and a seed. Out: a table that says of each mutant what became of it.
Each is made in a copy of the tree; the tests that mirror its module run first, then wider ones, and stop at the first
that fails. Survivors that are the same program are argued in ``mutants.yaml``, by file and line; the rest are work.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import yaml

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("planning", "reading", "biology")
SEED, NUMBER, LIMIT = 2027, 60, 300
COPIED = ("ipmcal", "rules", "templates", "tests", "example_yards")
WIDER = {
    "planning": (
        ("tests/planning",),
        ("tests/handbook", "tests/saying", "tests/frozen", "tests/test_options.py", "tests/test_log.py"),
    ),
    "reading": (
        ("tests/reading", "tests/broken"),
        ("tests/planning/test_new_rules_from_a_folder.py", "tests/test_cli.py", "tests/test_log.py"),
    ),
    "biology": (("tests/biology", "tests/handbook"), ("tests/planning",)),
}
"""By room: the tests that run where those of the module itself pass."""


@dataclass(frozen=True, slots=True, order=True)
class Mutant:
    """A change of one line: ``old`` at ``column`` (bytes) becomes ``new``."""

    file: str
    line: int
    column: int
    old: str
    new: str
    text: str

    @property
    def becomes(self) -> str:
        """The line as the mutant has it."""
        whole = self.text.encode()
        return (whole[: self.column] + self.new.encode() + whole[self.column + len(self.old.encode()) :]).decode()

    def source(self) -> str:
        """The whole file with the mutant in it."""
        lines = (ROOT / self.file).read_text().split("\n")
        lines[self.line - 1] = self.becomes
        return "\n".join(lines)


# Making them ----------------------------------------------------------------------------------------------------------

FLIPS: dict[type[ast.cmpop], tuple[str, str]] = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
GUARDS = ("strict", "repr", "slots", "frozen")
"""Arguments that only guard a program that is right."""
SIGNS: dict[type[ast.operator], tuple[str, str]] = {ast.Add: ("+", "-"), ast.Sub: ("-", "+")}


class _Sites(ast.NodeVisitor):
    """Finds what can be changed in one file; annotations, docstrings, decorators and asserts are left alone."""

    def __init__(self, file: str, source: str) -> None:
        self.file, self.lines = file, source.split("\n")
        self.found: list[Mutant] = []

    def at(self, line: int, column: int, old: str, new: str) -> None:
        self.found.append(Mutant(self.file, line, column, old, new, self.lines[line - 1]))

    def between(self, left: ast.expr, right: ast.expr, old: str, new: str) -> None:
        """A sign that stands between two expressions of one line."""
        if left.end_lineno != right.lineno or left.end_col_offset is None:
            return
        raw = self.lines[right.lineno - 1].encode()[left.end_col_offset : right.col_offset].decode()
        sign = re.search(rf"(?<!\S){re.escape(old)}(?!\S)", raw)
        if sign:
            self.at(right.lineno, left.end_col_offset + len(raw[: sign.start()].encode()), old, new)

    def visit_Compare(self, node: ast.Compare) -> None:
        sides = [node.left, *node.comparators]
        for left, op, right in zip(sides, node.ops, sides[1:], strict=False):
            self.between(left, right, *FLIPS[type(op)])
            if isinstance(right, ast.Constant) and isinstance(right.value, str) and right.value:
                self.at(right.lineno, right.col_offset + 1, right.value[0], "_" + right.value[0])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.between(left, right, *words)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if type(node.op) in SIGNS:
            self.between(node.left, node.right, *SIGNS[type(node.op)])
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            self.at(node.lineno, node.col_offset, "not ", "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if type(node.value) is bool:
            self.at(node.lineno, node.col_offset, str(node.value), str(not node.value))
        elif type(node.value) is int and node.value < 1000:
            self.at(node.lineno, node.col_offset, str(node.value), str(node.value + 1))
            self.at(node.lineno, node.col_offset, str(node.value), str(node.value - 1))

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in NAMES and isinstance(node.ctx, ast.Load):
            self.at(node.lineno, node.col_offset, node.id, NAMES[node.id])

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg not in GUARDS:
            self.visit(node.value)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for part in (*node.args.defaults, *(d for d in node.args.kw_defaults if d), *node.body):
            self.visit(part)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for part in node.body:
            self.visit(part)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assert(self, node: ast.Assert) -> None:
        """Left alone: what it says is for the type checker."""

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Left alone: the places of what stands in it are not told alike by every Python."""


def mutants() -> list[Mutant]:
    """Every mutant that can be made, in the order of files and lines."""
    found: list[Mutant] = []
    for path in sorted(p for room in ROOMS for p in (ROOT / "ipmcal" / room).rglob("*.py")):
        source = path.read_text()
        sites = _Sites(path.relative_to(ROOT).as_posix(), source)
        sites.visit(ast.parse(source))
        found += sorted(sites.found, key=lambda m: (m.line, m.column, m.new))
    return found


def chosen(number: int, seed: int, file: str | None = None) -> list[Mutant]:
    """So many mutants, no two of one line, drawn evenly from all lines that can be changed.

    The lot of a mutant is a digest of the seed, its file and its line: what changes elsewhere does not draw others.
    """
    lots = sorted((_lot(one, seed), one) for one in mutants() if file in (None, one.file))
    first: dict[tuple[str, str], list[Mutant]] = {}
    for _, one in lots:
        first.setdefault((one.file, one.text.strip()), []).append(one)
    lines = sorted(first.items(), key=lambda item: _digest(seed, *item[0]))
    drawn = (next(filter(_is_program, some), None) for _, some in lines)
    return list(islice((one for one in drawn if one is not None), number))


def _lot(one: Mutant, seed: int) -> str:
    return _digest(seed, one.file, one.text.strip(), one.becomes.strip())


def _digest(seed: int, *words: str) -> str:
    return hashlib.sha256("\n".join((str(seed), *words)).encode()).hexdigest()


def _is_program(one: Mutant) -> bool:
    try:
        compile(one.source(), one.file, "exec")
    except SyntaxError:
        return False
    return one.text.encode()[one.column :].startswith(one.old.encode())


# Trying them ----------------------------------------------------------------------------------------------------------


def stages(file: str, *, near: bool) -> Iterator[tuple[str, ...]]:
    """The tests to run for a module, nearest first; ``near``: only those that mirror it and its folder."""
    inside = Path(file).relative_to("ipmcal")
    mirror = ROOT / "tests" / inside.parent / f"test_{inside.name}"
    if mirror.exists():
        yield (mirror.relative_to(ROOT).as_posix(),)
    folder = ROOT / "tests" / inside.parent
    if len(inside.parts) > 2 and any(folder.glob("test_*.py")):
        yield (folder.relative_to(ROOT).as_posix(),)
    if not near:
        yield from WIDER[inside.parts[0]]


def tried(one: Mutant, copy: Path, limit: float, *, near: bool) -> tuple[str, str]:
    """What became of a mutant in the copy: killed and by which test, stopped by the clock, or survived."""
    target = copy / one.file
    whole = target.read_text()
    target.write_text(one.source())
    ends = time.monotonic() + limit
    try:
        for tests in stages(one.file, near=near):
            code, told = _run(tests, copy, max(1.0, ends - time.monotonic()))
            if code is None:
                return "too long", " ".join(tests)
            if code not in (0, 5):
                failed = re.search(r"^(?:FAILED|ERROR) (\S+)", told, re.MULTILINE)
                return "killed", failed[1] if failed else told.strip().splitlines()[-1]
        return "survived", ""
    finally:
        target.write_text(whole)


def _run(tests: Sequence[str], copy: Path, limit: float) -> tuple[int | None, str]:
    """The exit code of pytest (None: it ran longer than ``limit`` seconds), and what it said."""
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "--tb=no", "-p", "no:cacheprovider", "-rfE", *tests]
    there = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.Popen(
        command,
        cwd=copy,
        env=there,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        start_new_session=True,
    )
    try:
        told, _ = done.communicate(timeout=limit)
    except subprocess.TimeoutExpired:
        os.killpg(done.pid, signal.SIGKILL)
        done.communicate()
        return None, ""
    return done.returncode, told


# Those that are the same program --------------------------------------------------------------------------------------


def same() -> dict[tuple[str, str, str], str]:
    """Why a mutant is the same program, by file, line and what the line becomes. Raises ValueError for a stale one."""
    found = {}
    for entry in yaml.safe_load((Path(__file__).with_suffix(".yaml")).read_text()) or ():
        lines = {line.strip() for line in (ROOT / entry["file"]).read_text().split("\n")}
        if entry["line"] not in lines:
            raise ValueError(f"{entry['file']} has no such line any more: {entry['line']}")
        found[entry["file"], entry["line"], entry["becomes"]] = entry["why"]
    return found


def main() -> int:
    """Try them and print the table; exit code 1 where one survived that is not argued away."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--number", type=int, default=NUMBER, help="how many are drawn (default: %(default)s)")
    ask.add_argument("--seed", type=int, default=SEED, help="which are drawn (default: %(default)s)")
    ask.add_argument("--first", type=int, default=1, help="begin with this one of them, counted from 1")
    ask.add_argument("--last", type=int, default=None, help="end with this one of them")
    ask.add_argument("--limit", type=float, default=LIMIT, help="seconds for one mutant (default: %(default)s)")
    ask.add_argument("--near", action="store_true", help="only the tests that mirror the module and its folder")
    ask.add_argument("--file", help="every line of this file instead, such as ipmcal/planning/labels/amounts.py")
    ask.add_argument("--only", type=int, nargs="*", help="only these of them, by number")
    ask.add_argument("--list", action="store_true", help="only show which are drawn")
    given = ask.parse_args()
    known, left = same(), 0
    drawn = list(enumerate(chosen(given.number, given.seed, given.file), 1))[given.first - 1 : given.last]
    drawn = [(number, one) for number, one in drawn if not given.only or number in given.only]
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place)
        for name in COPIED:
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", "*ledger.json"))
        for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
            shutil.copy(ROOT / name, copy / name)
        for number, one in drawn:
            key = (one.file, one.text.strip(), one.becomes.strip())
            begun = time.monotonic()
            if given.list:
                fate, by = "drawn", ""
            elif key in known:
                fate, by = "the same", known[key]
            else:
                fate, by = tried(one, copy, given.limit, near=given.near)
            left += fate == "survived"
            print(f"{number:3} {fate:9} {time.monotonic() - begun:4.0f} s  {one.file}:{one.line}  {by}")
            print(f"      - {one.text.strip()}\n      + {one.becomes.strip()}", flush=True)
    print(f"{len(drawn)} tried, {left} survived")
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
