"""Words for paper: dates, ranges, lists, durations, and text made safe to print.

In: ordinals, numbers and other people's text. Out: English, made by hand so that no locale can change it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
SHORT_MONTHS = (
    "Jan",
    "Feb",
    "Mar",
    "Apr",
    "May",
    "June",
    "July",
    "Aug",
    "Sept",
    "Oct",
    "Nov",
    "Dec",
)
WEEKDAY_NAMES = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")


def long_day(ordinal: int) -> str:
    """Weekday and month in full.

    >>> long_day(date(2027, 5, 22).toordinal())
    'Saturday 22 May'
    """
    day = date.fromordinal(ordinal)
    return f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def short_day(ordinal: int) -> str:
    """Weekday and month, short.

    >>> short_day(date(2027, 9, 4).toordinal())
    'Sat 4 Sept'
    """
    return f"{weekday(ordinal)} {month_day(ordinal)}"


def weekday(ordinal: int) -> str:
    """The weekday's first three letters."""
    return DAYS[date.fromordinal(ordinal).weekday()][:3]


def dated_day(ordinal: int) -> str:
    """Weekday, day, month and year, short ("Sat 4 Sept 2027")."""
    return f"{short_day(ordinal)} {year(ordinal)}"


def month_day(ordinal: int, years: Sequence[int] = ()) -> str:
    """Day and month without the weekday, for days that are only roughly known ("4 Sept"); with its year where a text is
    about other ``years``."""
    day = date.fromordinal(ordinal)
    words = f"{day.day} {SHORT_MONTHS[day.month - 1]}"
    return f"{words} {day.year}" if years and day.year not in years else words


def year(ordinal: int) -> int:
    """The calendar year of a day."""
    return date.fromordinal(ordinal).year


def full_day(ordinal: int) -> str:
    """Day, month and year, for what lies further off than a season ("14 Aug 2027")."""
    return f"{month_day(ordinal)} {year(ordinal)}"


def day_range(first: int, last: int) -> str:
    """Two days and all between, the month said once where it is one.

    >>> a = date(2027, 5, 22).toordinal()
    >>> day_range(a, a), day_range(a, a + 2), day_range(a, a + 14)
    ('Sat 22 May', 'Sat 22 to Mon 24 May', 'Sat 22 May to Sat 5 June')
    """
    if first == last:
        return short_day(first)
    start, end = date.fromordinal(first), date.fromordinal(last)
    same = (start.year, start.month) == (end.year, end.month)
    return f"{weekday(first)} {start.day} to {short_day(last)}" if same else f"{short_day(first)} to {short_day(last)}"


def rough_range(first: int, last: int, years: Sequence[int] = ()) -> str:
    """As ``day_range``, without weekdays: for days of a season ("22 May to 5 June"); ``years`` as in ``month_day``."""
    if first == last:
        return month_day(first, years)
    start, end = date.fromordinal(first), date.fromordinal(last)
    same = (start.year, start.month) == (end.year, end.month)
    return f"{start.day if same else month_day(first, years)} to {month_day(last, years)}"


def years_of(first: int, last: int) -> tuple[int, ...]:
    """The calendar years of a span of days, ascending."""
    return tuple(range(year(first), year(last) + 1))


def with_years(text: str, years: Sequence[int]) -> str:
    """A text about some years, ascending, in which each day that is named with its weekday and lies in none of them has
    its year: the weekday tells it.

    >>> with_years("Back Sat 1 to Mon 10 Jan, as on Sat 26 Dec and Sun 26 Dec 2027", (2026,))
    'Back Sat 1 to Mon 10 Jan 2028, as on Sat 26 Dec and Sun 26 Dec 2027'
    """
    return _DATED.sub(lambda found: found[0] + _year_behind(found, years), text)


_NAMED = "|".join(sorted({*DAYS, *(name[:3] for name in DAYS)}, key=len, reverse=True))
_MONTHS = "|".join(sorted({*MONTHS, *SHORT_MONTHS}, key=len, reverse=True))
_DATED = re.compile(rf"\b({_NAMED}) (\d{{1,2}}) ({_MONTHS})\b(?! \d{{4}}\b)")
_YEARS_AWAY = (1, -1, 2, -2, 3, -3)


def _year_behind(found: re.Match[str], years: Sequence[int]) -> str:
    """The year behind a day, " 2028", where its weekday is none that it has in any of the years; else ""."""
    months = MONTHS if found[3] in MONTHS else SHORT_MONTHS
    others = (years[0 if away < 0 else -1] + away for away in _YEARS_AWAY)
    for at in (*years, *others):
        try:
            day = date(at, months.index(found[3]) + 1, int(found[2]))
        except ValueError:
            continue  # 29 February
        if DAYS[day.weekday()][:3] == found[1][:3]:
            return "" if at in years else f" {at}"
    return ""


def joined(items: Iterable[object], last: str = "and") -> str:
    """A list in a sentence.

    >>> joined(["3", "5", "8"]), joined(["3", "5"], "or")
    ('3, 5 and 8', '3 or 5')
    """
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def sentence(words: str) -> str:
    """Words as a sentence: a capital first, a full stop behind.

    >>> sentence("supers off during the course")
    'Supers off during the course.'
    """
    return f"{words[:1].upper()}{words[1:]}".rstrip(".") + "."


def inside(title: str) -> str:
    """A title inside of a sentence.

    >>> inside("Formic acid, paired strips")
    'formic acid, paired strips'
    """
    return f"{title[:1].lower()}{title[1:]}"


def mites_gone(share: float, low: float, high: float) -> str:
    """What counts before and after a course tell of it: the share of the mites that went, with its likely ends.

    >>> mites_gone(0.88, 0.6, 0.96)
    '88% of the mites gone (likely 60% to 96%)'
    >>> mites_gone(-0.5, -3.2, 0.7)
    '50% more mites than before (likely more mites than before to 70%)'
    """
    did = f"{share:.0%} of the mites gone" if share >= 0 else f"{-share:.0%} more mites than before"
    first, last = ("more mites than before" if end < 0 else f"{end:.0%}" for end in (low, high))
    return f"{did} (likely {first} to {last})" if first != last else did


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "visit"), counted(14, "visit"), counted(2, "box", "boxes")
    ('1 visit', '14 visits', '2 boxes')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


MEASURED = ("mL", "g", "L")
"""Units of what is poured or weighed: they have no plural."""


def with_unit(number: str, unit: str) -> str:
    """A number with its unit, as units stand in rule files: in the plural.

    >>> with_unit("1", "strips"), with_unit("1", "pouches"), with_unit("1", "mL"), with_unit("5 to 50", "mL")
    ('1 strip', '1 pouch', '1 mL', '5 to 50 mL')
    """
    if number == "1" and unit not in MEASURED:
        unit = "pouch" if unit == "pouches" else unit.removesuffix("s")
    return f"{number} {unit}".strip()


POUND = 0.45359237
"""Kilograms, by definition."""


def weight(low: float, high: float) -> str:
    """A weight or a range of them, kg, with the pounds that it is.

    >>> weight(27, 41), weight(15, 15)
    ('27 to 41 kg (60 to 90 lb)', '15 kg (33 lb)')
    """
    kilos, pounds = ([f"{end / unit:.0f}" for end in dict.fromkeys((low, high))] for unit in (1.0, POUND))
    return f"{' to '.join(kilos)} kg ({' to '.join(pounds)} lb)"


def in_fahrenheit(text: str) -> str:
    """A sentence with its degrees Celsius, one or a range, as whole degrees Fahrenheit, as a keeper of these reads it.

    >>> in_fahrenheit("Keep it below 25 °C. 10 to 20 °C is best.")
    'Keep it below 77 °F. 50 to 68 °F is best.'
    """
    return _CELSIUS.sub(lambda found: _RUN_OF_DIGITS.sub(_fahrenheit, found[0]).replace("°C", "°F"), text)


_CELSIUS = re.compile(r"(?:\d+(?:\.\d+)? to )?\d+(?:\.\d+)? °C")
_RUN_OF_DIGITS = re.compile(r"\d+(?:\.\d+)?")


def _fahrenheit(found: re.Match[str]) -> str:
    return f"{float(found[0]) * 9 / 5 + 32:.0f}"


def duration(minutes: int) -> str:
    """Minutes in hours and minutes, rounded up to five.

    >>> duration(138), duration(40), duration(60)
    ('2 h 20 min', '40 min', '1 h')
    """
    hours, rest = divmod(-(-minutes // 5) * 5, 60)
    return " ".join(part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest else "") if part) or "0 min"


def position(latitude: float, longitude: float) -> str:
    """Coordinates in degrees as one reads them to an emergency operator; two to four decimals, as given.

    >>> position(42.11, -76.0612)
    '42.11 N, 76.0612 W'
    """
    return (
        f"{_degrees(latitude)} {'N' if latitude >= 0 else 'S'}, {_degrees(longitude)} {'E' if longitude >= 0 else 'W'}"
    )


def _degrees(value: float) -> str:
    whole, _, decimals = f"{abs(value):.4f}".partition(".")
    return f"{whole}.{decimals.rstrip('0').ljust(2, '0')}"


def shortened(text: str, most: int) -> str:
    """At most ``most`` characters, the cut marked: for places where more would break the page."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def hives(names: Sequence[str], everyone: Sequence[str]) -> str:
    """Names of hives out of a yard: all of them, all but a few, a row of them, or one by one.

    >>> yard = ["1", "2", "3", "4", "5", "6", "7"]
    >>> hives(yard, yard), hives(yard[1:], yard), hives(yard[1:5], yard), hives(["2", "5"], yard)
    ('all 7', 'all but 1', '2 to 5', '2, 5')
    """
    missing = [name for name in everyone if name not in set(names)]
    if len(everyone) > 3 and set(names) <= set(everyone):
        if not missing:
            return f"all {len(everyone)}"
        if len(missing) * 4 <= len(everyone):
            return f"all but {', '.join(missing)}"
        first = everyone.index(names[0]) if names and names[0] in everyone else 0
        if len(names) > 3 and list(everyone[first : first + len(names)]) == list(names):
            return f"{names[0]} to {names[-1]}"
    return ", ".join(names)


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Text that any of our faces can print: on one line, no invisible characters, pictures named in words.

    Line ends and tabs become blanks; controls, direction marks, joiners and unassigned characters go; a picture, which
    a printer would draw as an empty box, is said by its name, so that a hive painted with one keeps a name:

    >>> plain("Nord\\n\\N{HONEYBEE}\\u202e 7")
    'Nord (honeybee) 7'
    """
    if text.isascii() and text.isprintable():
        return text
    return " ".join("".join(map(_plain_letter, unicodedata.normalize("NFC", text))).split())


def _plain_letter(letter: str) -> str:
    kind = unicodedata.category(letter)
    if letter.isspace():
        return " "
    if kind[0] == "C" or "\ufe00" <= letter <= "\ufe0f" or letter == "\u20e3":
        return ""
    if letter >= "\U0001f000" and kind[0] == "S":
        name = unicodedata.name(letter, "")
        return f" ({name.lower()}) " if name else ""
    return letter
