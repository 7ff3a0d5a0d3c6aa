"""Talk with the keeper, as functions that the command line hands in: what is asked, what is said."""

from collections.abc import Callable

Prompt = Callable[[str, str], str]
"""A question and its default ("" for none); the answer, stripped."""
Say = Callable[[str], None]
