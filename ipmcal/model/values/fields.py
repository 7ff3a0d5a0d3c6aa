"""The field types of rule and yard files: how pydantic reads each form, and what the JSON Schema says of it.

In: the data of a ``Tree``. Out: values of ``forms.py``. An editor's YAML reader types scalars before it checks them,
so the schemas allow ``5`` as a number and ``yes`` as a boolean where the reader takes their text.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler, PlainValidator, ValidationInfo
from pydantic import WithJsonSchema as Schema
from pydantic_core import CoreSchema, core_schema

from ipmcal.model.values import forms
from ipmcal.model.values.cited import Basis, Citation, Cited
from ipmcal.model.values.count import Threshold
from ipmcal.model.values.days import Span
from ipmcal.model.values.text import quoted

MAX_IDENTIFIER = 60
MAX_WHOLE = 9999
IDENTIFIER = re.compile(rf"[a-z][a-z0-9_]{{0,{MAX_IDENTIFIER - 1}}}")
CITES = r"( +@[a-z][a-z0-9_]*(:[^ /@]+)?(/(read|second|derived|practice|memory|assumption))?)*"
_MONTH_DAY = "[01][0-9]-[0-3][0-9]"
_DATE = f"[12][0-9]{{3}}-{_MONTH_DAY}"
_RANGE = r"-?[0-9.]*[0-9][0-9.]*"


def sources_of(info: ValidationInfo) -> forms.Sources:
    """The sources that the reader passes along as validation context."""
    context: dict[str, Any] = info.context or {}
    sources: dict[str, Basis] = context.get("sources", {})
    return sources


def _scalar(value: object) -> str:
    if not isinstance(value, str):
        kind = "a list" if isinstance(value, list) else "a mapping"
        raise ValueError(f"expected one value, found {kind}")
    return value


def form(
    parse: Callable[[str, forms.Sources], object],
    example: str,
    description: str,
    pattern: str = "",
    *others: str,
) -> tuple[object, ...]:
    """A form with sources: its parser, and its schema; ``others`` are the types an editor may take its text for."""

    def read(value: object, info: ValidationInfo) -> object:
        return parse(_scalar(value), sources_of(info))

    schema: dict[str, Any] = {"type": ["string", *others] if others else "string", "description": description}
    schema |= {"pattern": f"^{pattern}$"} if pattern else {}
    schema |= {"examples": [example]} if example else {}
    return (PlainValidator(read), Schema(schema))


def written(
    parse: Callable[[str], object], example: str, description: str, pattern: str = "", *others: str
) -> tuple[object, ...]:
    """A field whose form needs no source: a parser, an example and a description for the JSON Schema."""
    return form(lambda text, _: parse(text), example, description, pattern, *others)


def measured(unit: str, example: str) -> Any:
    """A field that holds an amount in one unit: ``Annotated[Cited[Amount], *measured("mm", "232 mm")]``."""
    about = f"an amount in {unit}, with its source" if unit != "1" else "a plain number, with its source"
    return form(lambda t, s: forms.amount(t, s, unit), example, about, rf"{_RANGE}( +\S+)?{CITES}", "number")


def closed(unit: str, example: str) -> Any:
    """As ``measured``, for what is read by its ends: a number or a range with both; an open range is refused."""
    about = f"a number or a closed range in {unit}, with its source"
    if unit == "1":
        about = "a number or a closed range, with its source"
    number = r"-?[0-9][0-9.]*"
    return form(lambda t, s: forms.closed_amount(t, s, unit), example, about, rf"{number}( +\S+)?{CITES}", "number")


def whole(low: int, high: int) -> Any:
    """A field that holds a whole number in a range: ``Annotated[int, *whole(1, 40)]``."""

    def read(text: str) -> int:
        if not re.fullmatch(r"-?[0-9]{1,6}", text):
            raise ValueError(f"{quoted(text)} is not a whole number, such as '{low}'")
        if not low <= int(text) <= high:
            raise ValueError(f"'{text}' is out of range: from {low} to {high}")
        return int(text)

    return written(read, "", f"a whole number from {low} to {high}", "[0-9]{1,4}", "integer")


@dataclass(frozen=True)
class ShortForm:
    """A field that may be written shorter: how the short form becomes the long one, and the schema of both."""

    read: Callable[[object], object]
    schema: Callable[[dict[str, Any]], dict[str, Any]]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.schema(handler(core))


def as_list(value: object) -> object:
    """A single value where a list is meant is a list of one."""
    return [value] if isinstance(value, str) else value


ONE_OR_MANY = ShortForm(as_list, lambda many: {"anyOf": [many["items"], many]})
"""One value, or a list of them in brackets."""


def _identifier(text: str) -> str:
    if not IDENTIFIER.fullmatch(text):
        example = "use small letters, digits and '_', begin with a letter, such as 'trap_comb_cut'"
        raise ValueError(f"{quoted(text)} is not an identifier; {example}")
    return str(text)


def _prose(text: str) -> str:
    """Text on one line: line breaks are read as blanks."""
    words = " ".join(text.split())
    if not words:
        raise ValueError("this text is empty")
    return words


def _yes_no(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValueError(f"{quoted(text)} is neither 'yes' nor 'no'")
    return text == "yes"


def _degrees(text: str) -> float:
    if not re.fullmatch(r"-?[0-9]{1,3}(\.[0-9]{1,12})?", text):
        raise ValueError(f"{quoted(text)} is not a number of degrees, such as '43.11' or '-76.10'")
    return float(text)


def _metres(text: str) -> float:
    match = re.fullmatch(r"(-?[0-9]{1,4}(?:\.[0-9]+)?) +m", text)
    if not match:
        raise ValueError(f"{quoted(text)} is not an elevation in metres, such as '125 m'")
    return float(match[1])


def _season(text: str) -> tuple[forms.MonthDay, forms.MonthDay]:
    first, dots, last = text.partition("..")
    if not dots:
        raise ValueError(f"{quoted(text)} is not a season; write its first and last day, such as '01-01..12-31'")
    return forms.month_and_day(first), forms.month_and_day(last)


def _number(text: str, sources: forms.Sources) -> Cited[float]:
    cited = forms.amount(text, sources)
    if cited.value.unit not in ("1", "°C") or cited.value.low is None or cited.value.low != cited.value.high:
        raise ValueError(f"{quoted(text)} is not a number")
    return Cited(cited.value.low, cited.cites, cited.place, cited.key, cited.text)


def _cite(text: str, sources: forms.Sources) -> tuple[Citation, ...]:
    return forms.citations([word if word.startswith("@") else "@" + word for word in text.split()], sources)


_NAME = f"[a-z][a-z0-9_]{{0,{MAX_IDENTIFIER - 1}}}"
_BOUND_WORDS = r"((earliest|usually|latest) +)?[a-z0-9][a-z0-9_.-]*( +[+-] +[0-9]{1,4} +d)?"
_CLOCK_WORDS = r"[a-z0-9][a-z0-9_.-]*( +\+ +([0-9][0-9.]* +d|[a-z_]+\.[a-z_]+))?"
_LIMIT_WORDS = r"(at|above) +[0-9.]+ +in +[0-9.]+ +(bees|g|d|drone_cells)"
_MARK_WORDS = rf"(none|{_MONTH_DAY}(\.\.{_MONTH_DAY})?( *(±|\+-) *[0-9.]+ *d)?)"

Identifier = Annotated[str, *written(_identifier, "", "small letters, digits and _", _NAME, "boolean")]
Prose = Annotated[str, *written(_prose, "", "text, in double quotes", "", "number", "boolean")]
YesNo = Annotated[bool, *written(_yes_no, "", "yes or no", "(yes|no)", "boolean")]
Whole = Annotated[int, *whole(0, MAX_WHOLE)]
Degrees = Annotated[float, *written(_degrees, "43.11", "degrees, south and west negative", r"-?[0-9.]+", "number")]
Metres = Annotated[float, *written(_metres, "125 m", "metres above the sea", r"-?[0-9.]+ +m")]
Day = Annotated[date, *written(forms.iso_date, "2027-05-02", "a date: year, month and day", _DATE)]
YearDay = Annotated[forms.MonthDay, *written(forms.month_and_day, "12-25", "month and day", _MONTH_DAY)]
SeasonField = Annotated[
    tuple[forms.MonthDay, forms.MonthDay],
    *written(_season, "01-01..12-31", "the season's first and last day", rf"{_MONTH_DAY}\.\.{_MONTH_DAY}"),
]
DaysSpan = Annotated[
    Cited[Span],
    *form(forms.days, "1..3..7 d @practice", "days, earliest..usual..latest", rf"{_RANGE} +(d|days?|h){CITES}"),
]
AnyAmount = Annotated[
    Cited[forms.Amount],
    *form(forms.amount, "20..28 mm @practice", "an amount with unit and source", rf"{_RANGE}( +\S+)?{CITES}", "number"),
]
Number = Annotated[Cited[float], *form(_number, "13.5", "a number", rf"{_RANGE}( +°?C)?{CITES}", "number")]
Mark = Annotated[
    Cited[forms.MarkDays],
    *form(forms.mark_days, "05-10 ± 7 d @practice", "a day or period of the season, or none", _MARK_WORDS + CITES),
]
BoundField = Annotated[
    forms.Bound,
    *form(forms.bound, "usually season.swarm_start - 14 d", "a day that a step is bound to", _BOUND_WORDS + CITES),
]
Bounds = Annotated[tuple[BoundField, ...], ONE_OR_MANY]
Clock = Annotated[
    forms.ClockDay,
    *form(forms.clock_day, "emptied + 1..3..7 d @practice", "a day of the clock", _CLOCK_WORDS + CITES),
]
Clocks = Annotated[tuple[Clock, ...], ONE_OR_MANY]
ThresholdField = Annotated[
    Cited[Threshold],
    *form(forms.threshold, "at 6 in 300 bees @practice", "so many mites or more, or above", _LIMIT_WORDS + CITES),
]
Cites = Annotated[
    tuple[Citation, ...],
    *form(_cite, "practice", "sources for every value below, without '@'", r"\S+( +\S+)*"),
]
Proses = Annotated[tuple[Prose, ...], ONE_OR_MANY]
Identifiers = Annotated[tuple[Identifier, ...], ONE_OR_MANY]


class Closed(BaseModel):
    """A mapping with a closed set of keys, frozen once it is read.

    Each schema is built when something is first read by it: a file's holds those of all mappings in it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True)


class RuleFile(Closed):
    """What every rule file says of itself: when it was last checked, and its default citation."""

    checked: Day
    cite: Cites = ()
