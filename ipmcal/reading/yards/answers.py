"""Answers as keepers give them: ``42.45, -76.50``, ``620 ft``, ``weekends``, ``a nuc on 8 May 2027``, ``2 deeps``.

In: what was typed. Out: what a yard file has for it; what is not understood comes back as it is, for the check to say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from ipmcal.model.outfit.yardfile import FEET, WEEKDAYS
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.values.days import day
from ipmcal.reading.source.dates import read_day

HOW_MANY = {"one": 1, "two": 2, "three": 3, "four": 4, "double": 2, "single": 1}
MOST_BOXES = 8
SAME = ("same", "same as the last", "same as last", "as the last", "the same", "ditto", "as before")
_DAYS = {"weekend": ("sat", "sun"), "weekday": WEEKDAYS[:5], "everyday": ("any",), "daily": ("any",), "all": ("any",)}
_BEGAN = {"nuc": "nucleus", "wintered": "overwintered", "overwinter": "overwintered", "bees": "package"}
_SMALL = {"a", "an", "on", "in", "from", "and", "the", "as", "with", "&", "+", "box", "boxes", "of", "at"}
_DEGREE = r"([-+]?[0-9]{1,3}(?:\.[0-9]+)?) *°? *([NSEWnsew])?"


def degrees(answer: str) -> list[str]:
    """The degrees in an answer, two at most, with signs: ``42.45 N, 76.5 W`` is ['42.45', '-76.5']; [] if unclear."""
    match = re.fullmatch(rf"\s*{_DEGREE}\s*(?:[,;/ ]\s*{_DEGREE}\s*)?", answer)
    if not match:
        return []
    found = []
    for number, side in ((match[1], match[2]), (match[3], match[4])):
        if number is None:
            continue
        turned = side is not None and side.upper() in "SW" and not number.startswith("-")
        found.append(f"{'-' if turned else ''}{number.removeprefix('+')}")
    return found


def in_metres(answer: str) -> str:
    """Feet in metres; anything else as it is."""
    match = re.fullmatch(r"([-+]?[0-9]+(?:[.,][0-9]+)?) *(ft|feet|foot|m|metres?|meters?)\.?", answer.strip().lower())
    if not match:
        return answer
    number = float(match[1].replace(",", ".")) if len(match[1].partition(",")[2]) < len("000") else None
    if number is None:
        number = float(match[1].replace(",", ""))
    return f"{round(number * FEET) if match[2].startswith('f') else f'{number:g}'} m"


def weekdays(answer: str) -> list[str]:
    """Weekdays in their short form, or 'any'; a word that is none as it is."""
    found: list[str] = []
    for word in re.sub(r"every ?day", "everyday", answer.lower()).replace(",", " ").replace("/", " ").split():
        if word in ("and", "&", "+", "or", "on", "every"):
            continue
        many = _DAYS.get(word.removesuffix("s"))
        short = word[:3] if word.removesuffix("s").endswith("day") and word[:3] in WEEKDAYS else word
        found += many if many else [short]
    return list(dict.fromkeys(found))


def began(answer: str) -> str:
    """When and how a hive began as a yard file has it: ``a nuc on 8 May 2027`` is '2027-05-08 nucleus'."""
    words = [word for word in answer.replace(",", " ").split() if word.lower() not in _SMALL]
    plain = [_BEGAN.get(word.lower(), word.lower()) for word in words]
    hows = [word for word in plain if word in BEGINNINGS]
    when = " ".join(word for word, low in zip(words, plain, strict=True) if low not in BEGINNINGS)
    if len(set(hows)) != 1:
        return answer
    if re.fullmatch("[0-9]{4}", when):
        return f"{when} {hows[0]}"
    try:
        return f"{day(read_day(when)).isoformat()} {hows[0]}"
    except ValueError:
        return f"{when} {hows[0]}"


def boxes(answer: str, allowed: Sequence[str]) -> list[str]:
    """Boxes from the bottom up: ``2 deeps and a medium`` is deep, deep, medium; a word that is none as it is."""
    found: list[str] = []
    number = 1
    for word in re.sub(r"(?<=[0-9]) *x\b|\bx *(?=[0-9])", " ", answer.lower()).replace(",", " ").split():
        if word.isdigit() or word in HOW_MANY:
            number = int(word) if word.isdigit() else HOW_MANY[word]
        elif word not in _SMALL:
            kind = next((k for k in allowed if word in (k, f"{k}s", f"{k}es")), word)
            found += [kind] * max(1, min(number, MOST_BOXES))
            number = 1
    return found
