"""What may be said of a printed line, as people say it: its words to circle, findings, done and not done.

In: a line's step and the rulebook. Out: phrases, each with what it says in the words that entries take. Two letters
that changed places, or a doubled one that lost its double, are the same word; any other slip is asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from ipmcal.model.rules.methods import Step
from ipmcal.model.rules.rulebook import Rulebook

SAID_DONE, NOT_DONE = "done", "not done"
YES = ("done", "yes", "yep", "ok", "okay", "did", "did it", "finished", "x")
NO = (
    *("not done", "no", "nope", "not yet", "skipped", "skip", "no time", "left out", "forgot", "forgot it"),
    *("didn't", "didn't do", "didn't do it", "did not", "did not do", "did not do it"),
)
SMALL_WORDS = frozenset({"the", "a", "an", "it"})
"""Words that may stand inside of a phrase and change nothing."""
AMOUNTS = frozenset({"treatment", "text", "trap_slot", "frames", "colony"})
"""Forms of a value in which a number may stand first."""
SURE_LENGTH = 4
"""From how many letters on a word with a slip is still taken for what it must be."""

Words = tuple[str, ...]


def _as_words(*texts: str) -> dict[Words, str]:
    return {tuple(text.lower().replace("_", " ").split()): text.lower() for text in texts}


DONE_OR_NOT: Mapping[Words, str] = {
    **dict.fromkeys(_as_words(*YES), SAID_DONE),
    **dict.fromkeys(_as_words(*NO), NOT_DONE),
}


@dataclass(frozen=True, slots=True)
class Heard:
    """What may be said of a line: whose it is, its trap, phrases with what they say, whether a count or a number is.

    ``nouns`` may stand beside the number; ``several`` figures may stand behind a blank's first word, with commas.
    """

    number: int
    who: str = ""
    trap: str = ""
    phrases: Mapping[Words, str] = field(default_factory=lambda: DONE_OR_NOT)
    counts: bool = False
    amount: bool = False
    nouns: frozenset[str] = frozenset()
    several: frozenset[str] = frozenset()

    def phrase(self, words: Sequence[str]) -> tuple[int, str]:
        """How many of the words the longest phrase takes with which they begin, and what it says; 0 for none."""
        best = 0, ""
        for phrase, says in self.phrases.items():
            length = _begins(words, phrase)
            if length > best[0] or (length == best[0] and length and words[0].lower() == phrase[0]):
                best = length, says
        return best


def heard_of(number: int, who: str, trap: str, step: Step | None, book: Rulebook) -> Heard:
    """A line by its step; of a step that the rules have no more, or of a keeper's own task, done or not is said."""
    if step is None:
        return Heard(number, who, trap)
    rule = book.events[step.logs]
    words = [word for word in step.circle if word.upper() != NOT_DONE.upper()]
    if not who.startswith("@"):
        words += [word for word, one in book.circled.items() if one.logs is not None and one.done and word not in words]
    phrases = {**DONE_OR_NOT, **_as_words(*words)}
    for name in step.findings:
        finding = book.findings[name]
        phrases |= dict.fromkeys(_as_words(name, finding.circle, finding.title), finding.circle.lower())
    labels = frozenset(word for label in (*step.blanks, *rule.blanks)[:1] for word in _forms(label))
    several = frozenset(label.lower().split()[0].strip(",") for label in step.blanks if rule.value == "treatment")
    amount = rule.value in AMOUNTS and bool(step.blanks or rule.value != "text")
    return Heard(number, who, trap, phrases, bool(counted_by(step, book)), amount, labels, several)


def counted_by(step: Step | None, book: Rulebook) -> str:
    """The journal's word for a bare count that is said of a line: its own, or that of a finding which asks for one."""
    if step is None or step.logs not in book.events:
        return ""
    if book.events[step.logs].value == "count":
        return step.logs
    return next((logs for name in step.findings if (logs := book.findings[name].logs) is not None), "")


def count_taken(step: Step | None, book: Rulebook) -> str:
    """The count that a line takes, in the form of its word's example: "a count such as 4/300 (mites/bees)"; or ""."""
    word = counted_by(step, book)
    if not word:
        return ""
    rule = book.events[word]
    _, _, example = rule.example.rpartition(" ")
    return f"a count such as {example}" + (f" ({'/'.join(rule.blanks)})" if rule.blanks else "")


def _forms(label: str) -> Collection[str]:
    """A printed label's words, and each without the s of many."""
    words = label.lower().split()
    return {*words, *(word.removesuffix("s") for word in words)}


def _begins(words: Sequence[str], phrase: Words) -> int:
    """How many words are taken up where they begin with a phrase; 0 where they don't."""
    at = 0
    for wanted in phrase:
        while at and at < len(words) and words[at].lower() in SMALL_WORDS and words[at].lower() != wanted:
            at += 1
        if at >= len(words) or not same(words[at].lower(), wanted):
            return 0
        at += 1
    return at


def same(word: str, wanted: str) -> bool:
    """Whether a word is meant by another: with two letters changed round, or one not doubled that should be."""
    if word == wanted or min(len(word), len(wanted)) < SURE_LENGTH:
        return word == wanted
    if single(word) == single(wanted):
        return True
    differ = [i for i, (a, b) in enumerate(zip(word, wanted, strict=False)) if a != b]
    turned = len(word) == len(wanted) and len(differ) == len("ab") and differ[1] == differ[0] + 1
    return turned and word[differ[0]] == wanted[differ[1]] and word[differ[1]] == wanted[differ[0]]


def single(word: str) -> str:
    """A word with each doubled letter once."""
    return "".join(letter for i, letter in enumerate(word) if not i or letter != word[i - 1])
