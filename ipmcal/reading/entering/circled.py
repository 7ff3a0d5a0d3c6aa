"""Words that a sheet prints to be circled: what is written in the journal where one of them is said of a line.

In: a line's step, the words, the rulebook. Out: how many of the words were one to be circled, and lines of the journal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ipmcal.model.rules.methods import Step
from ipmcal.model.rules.rulebook import Rulebook


@dataclass(frozen=True, slots=True)
class CircledWord:
    """A circled word: how many words it takes up; whether its step was done, where it is one of that step's."""

    length: int
    printed: str
    done: bool
    of_step: bool


def words_of(step: Step | None, book: Rulebook) -> tuple[str, ...]:
    """The words that are printed on a line of this step to be circled."""
    if step is None:
        return ()
    return (*(book.findings[name].circle for name in step.findings), *step.circle)


def circled_word(step: Step | None, words: Sequence[str], book: Rulebook, *, about_hive: bool) -> CircledWord | None:
    """The circled word with which ``words`` begin, the longest; None where they begin with none.

    Besides those of its own step, a line about a hive takes any that writes a line of its own, such as SICK: what is
    seen is seen, whatever was printed.
    """
    printed = step.circle if step is not None else ()
    for length in range(len(words), 0, -1):
        word = " ".join(words[:length]).upper()
        rule = book.circled.get(word)
        if rule is None:
            continue
        if word in printed:
            return CircledWord(length, word, rule.done, of_step=True)
        if about_hive and rule.logs is not None and rule.done:
            return CircledWord(length, word, done=True, of_step=False)
    return None


def written_of(
    step: Step, found: CircledWord, skipped: Sequence[str], book: Rulebook, trap: str = ""
) -> list[list[str]]:
    """The journal's lines for a circled word, in words: the step done or ``skipped``, and what goes with the word."""
    lines: list[list[str]] = []
    if found.of_step and found.done:
        text = book.events[step.logs].value == "text"
        lines.append([step.logs, *(found.printed.lower().split() if text else (trap,) if trap else ())])
    elif found.of_step:
        lines.append(list(skipped))
    logs = book.circled[found.printed].logs
    return [*lines, *([logs.split()] if logs else [])]
