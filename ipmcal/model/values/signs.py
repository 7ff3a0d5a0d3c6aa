"""The signs of sheet codes, and the letter that checks one where somebody types it."""

from __future__ import annotations

from typing import Final

LETTERS: Final = "ACDEFHJKMNPRTVWXY"


DIGITS: Final = "23456789"
"""The signs of a sheet code: no pair that looks alike is left (B/8, G/6, I/1, L/1, O/0, Q/0, S/5, U/V, Z/2)."""


def check_letter(code: str) -> str:
    """The letter behind a code: another where any one sign is another, or two beside each other are swapped.

    17, the number of letters, is a prime, and no sign counts as often as that: any one sign changes the sum. Raises
    ValueError for a sign that no code has.
    """
    values = ((LETTERS if sign in LETTERS else DIGITS).index(sign) for sign in code)
    return LETTERS[sum((place + 2) * value for place, value in enumerate(values)) % len(LETTERS)]


def printed_code(code: str) -> str:
    """A sheet's code as messages carry it, with the letter that checks it."""
    return code + check_letter(code)


def is_printed_code(text: str) -> bool:
    """Whether a word is a sheet's code with the letter that checks it."""
    code = text.upper()
    known = len(code) > len("A2") and set(code) <= set(LETTERS + DIGITS) and code[-1] in LETTERS
    return known and code[-2] in DIGITS and check_letter(code[:-1]) == code[-1]
