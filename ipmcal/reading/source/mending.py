"""Where to mend: what the YAML reader stumbled over, told at the line that the keeper has to change, which is shown.

In: the reader's error, the text. Out: one complaint. The reader stops where it can go on no longer, which often is a
line later than the slip: a colon, quote or bracket that is missing, a line that begins too far in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import yaml

from ipmcal.model.values.text import one_line, quoted
from ipmcal.reading.source.complaints import Complaint

ODD_STARTS = ("@", "`", "%")
_KEY = re.compile(r"\s*(?:- +)*(?:\"[^\"]*\"|'[^']*'|[^\s:#\"'{}\[\],][^:#\"'{}\[\],]*?)\s*:(?:\s|$)")
"""A line that begins with a key and its colon."""
_NO_BLANK = re.compile(r"\s*(?:- +)*[A-Za-z0-9_]+:(?=[^\s/])")
_QUOTED = re.compile(r"\"(?:\\.|[^\"\\])*\"|'(?:''|[^'])*'")


@dataclass(frozen=True)
class _Slip:
    """What is wrong where: line and column count from 0."""

    line: int
    column: int
    what: str


@dataclass(frozen=True)
class _Stop:
    """Where the reader stopped, in its own words; ``opened`` is where that began in which it was."""

    lines: Sequence[str]
    line: int
    column: int
    problem: str
    context: str
    opened: Any

    @property
    def text(self) -> str:
        """The line at which it stopped; "" behind the last."""
        return self.lines[self.line] if self.line < len(self.lines) else ""

    @property
    def above(self) -> int | None:
        """The next line above that says anything."""
        return next((i for i in reversed(range(self.line)) if _says(self.lines[i])), None)

    @property
    def at_its_start(self) -> bool:
        """Whether the reader stopped where the line begins to say something."""
        return self.column == _indent(self.text)


def yaml_complaint(error: yaml.MarkedYAMLError, text: str, file: str) -> Complaint:
    """The complaint about text that is not YAML: where to mend it, how, and the line itself."""
    mark = error.problem_mark or error.context_mark
    what = one_line(str(error.problem or error.context or "unreadable"), 200)
    if mark is None:
        return Complaint(file, 0, 0, f"is not YAML: {what}")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    stop = _Stop(lines, mark.line, mark.column, what, str(error.context or ""), error.context_mark)
    slip = next((slip for find in _FINDERS if (slip := find(stop)) is not None), None)
    slip = slip or _Slip(stop.line, stop.column, what)
    shown = lines[slip.line].strip() if slip.line < len(lines) else ""
    there = f", in {quoted(shown)}" if shown else ""
    return Complaint(file, slip.line + 1, slip.column + 1, f"is not YAML: {slip.what}{there}")


def _says(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _bare(line: str) -> str:
    """A line without its quoted texts and its comment."""
    return re.sub(r"(?:^|\s)#.*", "", _QUOTED.sub("''", line))


# What it may have been, the surest first ------------------------------------------------------------------------------


def _tab(stop: _Stop) -> _Slip | None:
    for i, line in enumerate(stop.lines[: stop.line + 1]):
        if _says(line) and "\t" in line[: len(line) - len(line.lstrip())]:
            return _Slip(i, line.index("\t"), "a tab stands here; indent with blanks")
    return None


def _odd_start(stop: _Stop) -> _Slip | None:
    here = stop.text[stop.column : stop.column + 1]
    if here in ODD_STARTS and here and "cannot start" in stop.problem:
        return _Slip(stop.line, stop.column, f"nothing can begin with '{here}'; put the text in double quotes")
    return None


def _open_quote(stop: _Stop) -> _Slip | None:
    """A double quote without its other one; a text over several lines has one in its first line and in its last."""
    odd = [i for i, line in enumerate(stop.lines[: stop.line + 1]) if _says(line) and '"' in _bare(line)]
    if len(odd) % 2 and "escape" not in stop.problem:
        line = stop.lines[odd[-1]]
        kept = _QUOTED.sub(lambda found: "x" * len(found[0]), line)
        return _Slip(odd[-1], kept.index('"'), "a double quote has no other one; quote the text on both sides")
    if "quoted scalar" in stop.context and "end of stream" in stop.problem and stop.opened is not None:
        return _Slip(stop.opened.line, stop.opened.column, "the quote that opens here is not closed")
    return None


def _no_opening(stop: _Stop) -> _Slip | None:
    """A line that closes a brace which was not opened, or whose key has no colon before one."""
    bare = _bare(stop.text)
    if "mapping values are not allowed" not in stop.problem:
        return None
    if bare.count("}") > bare.count("{"):
        return _Slip(stop.line, _indent(stop.text), "a '{' is missing before what its '}' closes")
    if re.match(r"\s*(?:- +)*\w+ *[{\[]", bare):
        return _Slip(stop.line, _indent(stop.text), "a ':' is missing behind the key")
    return None


def _no_colon(stop: _Stop) -> _Slip | None:
    """A line of which the key has no colon, or none with a blank behind it: the reader stops at the next."""
    if "could not find expected ':'" in stop.problem:
        at = stop.opened.line if stop.opened is not None else stop.above
    elif "mapping values are not allowed" in stop.problem:
        at = stop.above
    else:
        return None
    line = "" if at is None else stop.lines[at]
    if at is None or not _says(line) or _KEY.match(line) or not re.match(r"[\w\"' -]", line.lstrip()[:1]):
        return None
    if _NO_BLANK.match(line):
        return _Slip(at, line.index(":"), "a blank is missing behind the colon")
    if line.lstrip().startswith("-") and ":" not in _bare(line) and stop.above != at:
        return None
    return _Slip(at, _indent(line), "a ':' is missing behind the key")


def _too_far_in(stop: _Stop) -> _Slip | None:
    """A line that begins in another column than those of its block."""
    mapped = "mapping values are not allowed" in stop.problem and len(re.findall(r":(?:\s|$)", _bare(stop.text))) == 1
    expected = re.search(r"did not find expected (key|'-' indicator|<document start>)", stop.problem)
    if expected and expected[1] == "<document start>":
        at = next((i for i, line in enumerate(stop.lines) if _says(line) and _indent(line)), None)
        return None if at is None else _Slip(at, 0, "the first line begins with blanks; delete them")
    above = stop.above
    if above is None or not (mapped or (expected and stop.at_its_start)):
        return None
    if _bare(stop.lines[above]).rstrip().endswith(":"):
        return None
    mine, other = _indent(stop.text), _indent(stop.lines[above])
    if mine == other or (mapped and (mine < other or not _KEY.match(stop.text))):
        return None
    what = f"begins in column {mine + 1}, and the line above in column {other + 1}; what belongs together begins alike"
    return _Slip(stop.line, mine, what)


def _brackets(stop: _Stop) -> _Slip | None:
    if "mapping values are not allowed" in stop.problem:
        what = f"{stop.problem}; put text that holds ': ' in double quotes"
        return _Slip(stop.line, stop.column, what)
    if stop.opened is not None and re.search("flow (sequence|mapping)", stop.context):
        opened = _bare(stop.lines[stop.opened.line])
        if stop.opened.line < stop.line and sum(map(opened.count, "[{")) > sum(map(opened.count, "]}")):
            what = "the bracket or brace that opens here is not closed in its line, or a comma or a value is missing"
            return _Slip(stop.opened.line, stop.opened.column, what)
        where = f"line {stop.opened.line + 1}, column {stop.opened.column + 1}"
        what = f"the bracket or brace of {where} is not closed before this, or a comma or a value is missing"
        return _Slip(stop.line, stop.column, what)
    if "node content" in stop.problem:
        return _Slip(stop.line, stop.column, "a value is missing here, or a bracket or brace does not match")
    return None


def _unlike(stop: _Stop) -> _Slip | None:
    if "expected ',' or" in stop.problem or "did not find expected" in stop.problem or "expected ':'" in stop.problem:
        what = "what stands here does not belong to what is before it: a quote, colon, comma or indentation is wrong"
        return _Slip(stop.line, stop.column, what)
    return None


_FINDERS: tuple[Callable[[_Stop], _Slip | None], ...] = (
    _tab, _odd_start, _open_quote, _no_opening, _no_colon, _too_far_in, _brackets, _unlike,
)  # fmt: skip
