"""Causes in words: the one table of what each code is called in print.

In: a ``Because``. Out: English. A blank is the place of a value, and says how the value is written: ``{0:day}``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from string import Formatter
from typing import Any

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.values.words import (
    counted,
    day_range,
    duration,
    joined,
    month_day,
    short_day,
    weight,
    with_unit,
    year,
)

MOST_DAYS = 3
"""So many days does a sentence list, where it may leave some out."""

CAUSE_WORDS: dict[Code, str] = {
    Code.MIND: "Mind: {0:cause}.",
    Code.MEANT_FOR: "it is meant for a {0:plain} that is {1:or}",
    Code.NOT_MEANT_FOR: "it is not meant for a {0:plain} that is {1:or}",
    Code.QUEEN_IS: "the queen is {0:plain}",
    Code.WRITE_LAYING: "write it down when she lays again",
    Code.TOO_FEW_FRAMES: "{0:.0f} frames of brood, and {1:.0f} are needed",
    Code.TOO_MANY_FRAMES: "{0:.0f} frames of brood, and {1:.0f} at most are wanted",
    Code.STRENGTHEN: "strengthen it, or wait",
    Code.ONLY_FROM: "Only with {0:.0f} frames of brood or more.",
    Code.ONLY_TO: "Only with {0:.0f} frames of brood or fewer.",
    Code.ONLY_BETWEEN: "Only with {0:ends} frames of brood.",
    Code.MEANT_FOR_SICK: "it is meant for brood that looks sick",
    Code.BROOD_SICK: "its brood looks sick",
    Code.CALL_INSPECTOR: "call the inspector; no comb leaves the hive until it is cleared",
    Code.YARD_IS_CLOSED: "hive {0} looks sick since {1:day}: no comb, super or bee goes in or out of this yard",
    Code.UNTIL_HEALTHY: "call the inspector; write it down when that hive is cleared, or looks healthy",
    Code.STAYS_HERE: "A hive here looks sick: what comes out stays in this yard, bagged; nothing goes in for it.",
    Code.WRITTEN_WHILE_CLOSED: "{0}: '{1}', while hive {2} looks sick since {3:day} and the yard is closed",
    Code.TO_COME_WHILE_CLOSED: "bees to come on {0:day}, and hive {1} looks sick since {2:day}: the yard is closed",
    Code.TELL_INSPECTOR: "tell the inspector what went where",
    Code.PLACE_TOO_FEW: ("{0} has {1} drawn frame for its place, and {2:.0f} are needed: one hangs, one freezes"),
    Code.PLACE_TOO_MANY: "{0} has {1} drawn frames for its place, and {2:.0f} at most are wanted",
    Code.DRAW_ANOTHER: "draw another drone frame, and write 'frames: {0:.0f}'",
    Code.WRITE_FRAMES: "write 'frames: {0:.0f}'",
    Code.BOX_FULL_FROM: "Its box counts as full from {0:day}.",
    Code.NO_FLOW: "there is no {0:flows} here",
    Code.OTHER_METHOD: "another method",
    Code.NOT_IN_FLOW: "Not in the {0:flow}: {1:days}.",
    Code.ONLY_IN_FLOW: "Only in the {0:flows}: {1:periods}.",
    Code.GAP_PROPOLISED: (
        "a {0} frame in a {1} box leaves a gap of {2:.0f} mm below it: bees propolise it; a trap needs {3:.0f} mm"
    ),
    Code.GAP_TOO_LITTLE: (
        "a {0} frame in a {1} box leaves a gap of {2:.0f} mm below it: too little comb; a trap needs {3:.0f} mm"
    ),
    Code.USE_DRAWN: "use drawn drone frames: write '{0}: {{kind: drawn, frames: 2}}'",
    Code.NO_DAY_TO_EMPTY: "no day of yours is in time to empty it",
    Code.DAY_IN: "a day in {0:windows}",
    Code.OTHER_WEEKDAY: "another weekday",
    Code.FULL_TOO_LATE: "{0} ({1:day}), and a trap is hung by {2:day}",
    Code.BOX_FULL_TOO_LATE: "its box is full ({0:day}), and a trap is hung by {1:day}",
    Code.HANG_PAST: "it is too late to hang it: that was to be done in {0:days}",
    Code.HANG_IN_DEARTH: "the time to hang it ({0:days}) is a dearth here",
    Code.NO_DAY_TO_HANG: "no day of yours lies between {0:days} to hang it",
    Code.NEXT_SEASON: "hang one next season",
    Code.ENTRANCE_WIDE: "entrance over its {0}: reducers and guards out",
    Code.FLOOR_SHUT: "mesh floor shut",
    Code.FLOOR_OPEN: "mesh floor open",
    Code.NONE_HEARD_OF: "nobody wrote of any: look",
    Code.SUPERS_WERE_DUE: "supers were due from {0:day} on, and nobody wrote of any: look",
    Code.NOBODY_OPENS: "nobody opens the hive {0:days_long} before, nor in the {1:days_long} after",
    Code.NO_FEEDING: "no feeding while it is in",
    Code.FED_ON: "fed on {0:each_day}",
    Code.LAST_FOOD: "the last food {0:days_long} before",
    Code.FEED_FIRST: "No feed while {0} is in. Light? Feed it first, put that in at a later visit.",
    Code.FEED_NONE: "No feed while {0} is in. Light? Feed it once that is out. Starving? Take it out and feed.",
    Code.FED_MEANWHILE: "{0}: its label wants no feeding while it is in, {1:causes}",
    Code.FEED_BEFORE: "feed well before it goes in, or once it is out; a hive that starves: take it out, and feed",
    Code.LEAVE_WIDE: "Not {0:and}: open over the whole width there, for {1}.",
    Code.FEED: "feed, or hang one next season",
    Code.DAY_OR_NEXT_SEASON: "a day in that time, or next season",
    Code.COMES_OUT: "No method of this colony uses it: it comes out.",
    Code.OVERDUE: "{0}: too late on {1:some_days}: {2}",
    Code.LAST_DAY_OVER: "{0}: too late on {1:some_days}: its last good day is over",
    Code.WAITS: "{0} {1:and}: {2}: waits until {3:day}: {4:cause}.",
    Code.DUE_BY: "{0}, due by {1:day}",
    Code.LATE_OVER: "{0}: comes late, on {1:some_days}: its time is over",
    Code.LATE_GONE_BY: "{0}: comes late, on {1:some_days}: it was not done on your days in its time",
    Code.LATE_NO_DAY: "{0}: comes late, on {1:some_days}: no day of yours lies in its time",
    Code.LATE_BEHIND: "{0}: comes late, on {1:some_days}: it comes after '{2}' on {3:day}",
    Code.LATE_KEPT: "{0}: comes late, on {1:some_days}: on your days in its time {2:cause}",
    Code.NOT_TO_BEGIN: "it is not begun",
    Code.SOONER_BEFORE: "an earlier day for that",
    Code.FIRST_IT_CAN: "nothing: that is the first of your days on which it can be done",
    Code.EARLY_KEPT: "{0}: done early, on {1:some_days}: the days of its time are kept for other work",
    Code.EARLY_NO_DAY: "{0}: done early, on {1:some_days}: no day of yours lies in its time",
    Code.A_DAY_SOON: "a day as soon as you can",
    Code.DAY_BUT_FOR_HOLIDAY: "a day in {0:windows} (you could come on {1:each_day}, but for the holiday)",
    Code.ENDS_EARLY: (
        "{0}: ends on {1:day}, take the frame out then: no day of yours is in time for the next ({2:days})"
    ),
    Code.TAKES_LONGER: "{0:day} takes {1:minutes}, and you have {2:g} h",
    Code.ANOTHER_DAY_NEAR: "another day of yours near it, or a second pair of hands",
    Code.HANGS_FOR_GOOD: "{0}: it hangs, and no day of yours is left to empty it",
    Code.AS_LABEL_SAYS: "as the label in your hand says; mend the line if it is wrong",
    Code.MEND_LINE: "mend the line, or leave it as it is: both are kept",
    Code.SEEN_MISFITS: "{0}: 'found {1} {2}' does not fit the day it was emptied",
    Code.SEEN_STANDS: "what was seen stands, and the dates follow it",
    Code.BEFORE_IT_BEGAN: "{0}: '{1}' lies before the colony began ({2})",
    Code.NOT_HUNG_BEFORE: "{0}: '{1} {2}', but {2} was not hung before",
    Code.MORE_OUT_THAN_IN: "{0}: {1:g} of {2} taken out, and only {3:g} had been put in ({4:listed})",
    Code.OUT_AND_NEVER_IN: "{0}: {1:g} of {2} taken out, and only {3:g} had been put in",
    Code.NO_COURSE: "no course fits for: {0}",
    Code.NO_COURSE_IN: (
        "no label allows a course in {0:and} for: {1}: mites go out from a hive that is left untreated"
    ),
    Code.OTHER_PRODUCT: "another product than those named; count, and ask for advice",
    Code.WAYS_OUT: "{0:either}",
    Code.LIMITS_BREAK: "{0}: its label's limits do not hold then ({1})",
    Code.LIMITS_BREAK_ON: "{0} on {1:day}: its label's limits do not hold then ({2})",
    Code.DO_NOT_TREAT: "do not treat that day; another day of yours, or another product",
    Code.NOT_QUIET: "{0} on {1:each_day}: its quiet days are not kept, {2:causes}",
    Code.PUT_OFF: "leave that hive shut, or put the work off by some days",
    Code.COMBS_LIFTED: "{0} on {1:each_day}: brood combs are lifted while it is in, {2:causes}",
    Code.GLOVES_OR_PUT_OFF: "with gloves, and as the label says; or put the work off until it is out",
    Code.WORK_ON: "{0} on {1:day}",
    Code.SUPERS_TOO_EARLY: "Supers are on too early after {0}: they may go on from {1:day}",
    Code.SUPERS_ARE_ON: (
        "Supers are on, and the label of {0}, in since {1:day}, wants them off: "
        "from {2:day} at the earliest, once it is out"
    ),
    Code.UNITED_WITH: "United with a hive that had {0} in since {1:days_of_it}: {2:amount} are in, all come out",
    Code.SET_OVER_SET: (
        "A set over a set: {0} again on {1:day}, with the last still in: {2:amount} are in, all come out"
    ),
    Code.TWO_AT_ONCE: "{0:first} is in with {1}, whose label wants nothing else in the hive",
    Code.TOO_MUCH: "{0:amount} of {1} went in on {2:day}: its label gives a hive of this size {3:amount}",
    Code.TOO_MUCH_FOR_NUCLEUS: "{0:amount} of {1} went in on {2:day}: its label gives a nucleus {3:amount}",
    Code.QUIET_DAY: "A quiet day of {0} ({1:day}): only because it can't wait.",
    Code.TAKE_OUT_FIRST: "First take {0} out.",
    Code.LIFT_OFF_FIRST: "First lift {0} off, gloves on; lay it back as it was.",
    Code.ON_A_HOLIDAY: "A holiday: no other day of yours is in time for this.",
    Code.HANGS_ELSEWHERE: "It hangs in slot {0}: hang it in slot {1}.",
    Code.BORROWED_LINE: "another country's: {0}",
    Code.ONCE_THEY_ARE_IN: "Once they are in: {0:day}, as your file has it.",
    Code.COUNT_OUT: "{0} went in: count {0} out.",
    Code.COUNT_ALL_OUT: "Count out as many as went in.",
    Code.EARLY_SINCE: "Early, since no later day of yours is in time ({0:day} is the last).",
    Code.WAS_DUE: "Late: due by {0:day}.",
    Code.OUT_EARLY: "It comes out early: no day of yours is in time for its next turn ({0:days}).",
    Code.SUPERS_FROM: "Supers may go on from {0:day}.",
    Code.WINTER_STORES: "For winter here: {0:weight} of honey alone.",
    Code.LOOK_FIRST: "{0}: look first",
    Code.TO_BE_CAGED: "the queen is to be caged from {0:day}, eggs by {1:day}",
    Code.CELLS_FOUND: "queen cells were found, to be looked at again by {0:day}",
    Code.CELLS_FIRST: "look first what became of the queen cells",
    Code.HER_EGGS_BY: "{0}, eggs by {1:day}",
    Code.A_LAYING_QUEEN: "a queen who lays",
    Code.EGGS_FIRST: "look for eggs first: they should be there by {0:day}",
    Code.ONE_COURSE_WITH: "it would be read as one course with that of {0:day}",
    Code.COURSES_APART: "more than {0} days from one course to the next",
    Code.OVER_WINTER_BEES: "{0} over the same winter bees",
    Code.AS_PACK_SAYS: "as your pack says: {0}",
    Code.FOR_THIS_HIVE: "For this hive: {0}.",
    Code.WHY_NOW: "Why now: {0}.",
    Code.COUNTED_TOO_EARLY: "Counted on {0:day}, too early for this: again, from {1:day} on.",
    Code.COUNTED_WITHOUT_BROOD: "Counted on {0:day} without brood, and not judged: again.",
    Code.COUNT_APART: "no longer than {0} days without a count while there is brood",
    Code.COUNT_OVERDUE: "too long without a count: as soon as it can be",
    Code.COUNT_BEFORE: "before the course that begins on {0:day}",
    Code.COUNT_AFTER: "what did the course do that ends on {0:day}?",
    Code.COUNT_LYING: "does what lies in the hive since {0:day} work?",
    Code.COUNT_OF_SPRING: "the first count of spring",
    Code.COUNT_OF_AUTUMN: "the last count before there is least brood",
    Code.COUNT_OF_REGION: "the region's law or advisers ask for it",
    Code.SIGNS_UNCOUNTED: "crippled wings in hive {0} on {1:day}, and no mites counted since",
    Code.NO_CYCLE_LEFT: "Take the frame out: no whole cycle fits before building ends.",
    Code.LAST_BROOD_OUT: "no eggs on {0:day}, the queen there: middle combs that day: nothing capped",
    Code.FLOW_GIVEN_UP: "{0}; costs {1} days of flow",
    Code.ROUND_SPRING: "spring round: mites grow with the brood from now on",
    Code.ROUND_SUMMER: "summer round: brood hardly stops, and mites with it",
    Code.ROUND_LATE_SUMMER: "late summer round, before the bees are reared that live through winter",
    Code.ADVISED_BY: "advisers begin this round by {0:day}",
    Code.NEXT_NEEDS_ITS_DAYS: "later it would come too near to the next course, {0}, {1:day}",
    Code.LATER_DOES_LESS: "later it would do less for the bees",
    Code.ADVISED_AGAINST: "advised against all the same: {0}",
    Code.COUNTED_WAITS_NOT: "what a count asks for waits for no visit that spares a drive",
    Code.LABEL_NO_LATER: "its limits do not hold any more on {0:day}",
    Code.ROUND_EARLY_AUTUMN: "early autumn round, against the mites that come in from other hives",
    Code.ROUND_AUTUMN: "autumn round, which the law asks for",
    Code.ROUND_WINTER: "least brood of the year: nearly all mites are on bees. Look first",
    Code.ROUND_FURTHER: "one more round: without it too many hives would be over the line",
    Code.YEAR_NOT_ENOUGH: (
        "not enough: with these courses {0} of 10 such hives would still be over the line, year by year"
    ),
    Code.YEAR_BARRED: (
        "{0} belongs to the year, and a label bars it in {1:and} on each of your days from {2:day} to {3:day}"
    ),
    Code.ITS_COURSE_IS_IN: "{0} is in {1} since {2:day}: nothing more goes in beside it",
    Code.COUNT_AT_ITS_END: "count there once it is out; over the line then, it has not worked, or mites came in",
    Code.COUNT_ANSWERED: "Over the line in {0:and} on {1:day}, treated since {2:day}: the next count tells.",
    Code.PASSED_BY: (
        "{0} was given in this yard and not in {1:and}, and its time was over on {2:day}: count there and go by that; "
        "mites go out from a hive that is left untreated"
    ),
    Code.ROUND_IN_PART: "as the other hives of the yard, which have it since {0:day}",
    Code.ROUND_BREAK: "the queen is let out, nothing is capped, and all mites are on bees: one dose reaches them",
    Code.BREAK_IS_OVER: "cells are capped again after {0:day}",
    Code.NO_BREAK_NEEDED: "no dose of its year would rest on it, and no queen is caged for nothing",
    Code.CAGED_FOR_DOSE: "a dose is given as she is let out, on {0:day}",
    Code.USUALLY_SO: "usually it is",
    Code.USUALLY_NOT: "usually it is not",
    Code.GOOD_UNTIL: "{0}: begin it by {1:day}; nothing else of yours would do",
    Code.GOOD_UNTIL_ON: "{0}: begin it by {1:day}; or instead {2} on {3:day}",
    Code.GOOD_UNTIL_OR: ("{0}: begin it by {1:day}; or instead {2} from {3:day}, at the latest {4:day}"),
    Code.KEPT_OFF: "{0}, for the rounds of the year: kept off {1} of {2} days: {3:and}",
    Code.LESS_LIKED: "{0}: fits on {1} days; the courses that are chosen leave fewer mites, or are more to your liking",
    Code.WALL_CLASS: "mites in many places withstand its class",
    Code.WALL_DRONES: "before drones are reared",
    Code.WALL_COLD: "usually too cold for it",
    Code.WALL_HOT: "usually too hot for it",
    Code.WALL_FLOW: "in the main flow",
    Code.WALL_QUICK: "over brood, which it does not reach",
    Code.WALL_FULL_BROOD: "over full brood, which outlasts it",
    Code.WALL_RESTED: "too soon after another course",
    Code.TILL_COUNTED: "Stands until counts excuse it in every hive: not counted, give it.",
    Code.CLASS_FAILED: (
        "{0:first}: fewer than {1} in 100 mites gone after the courses begun on {2:with_years}, by counts before and "
        "after; mites here may withstand it"
    ),
    Code.TELL_ADVISER: "another class, and a word to your adviser",
    Code.TREAT_AT: "Treat the yard at {0} or more in {1}.",
    Code.CHECK_GUIDE: "From memory: check your guide.",
    Code.OVER_TREAT: "{0} or more in {1}, in any hive: treat the yard.",
    Code.BETWEEN_TREAT: "{0} to {1}: treat as planned.",
    Code.BETWEEN_CHOOSE: "{0} to {1}: treat, or count again by {2:day}.",
    Code.BETWEEN_COUNT: "{0} to {1}: count again by {2:day}.",
    Code.FEWER_PLAN_ANEW: "Fewer in every hive: write it down and plan anew; the treatment of {0:day} may fall away.",
    Code.NOT_COUNTED: "NOT COUNTED by {0:day}: TREAT.",
    Code.FEWER_MAY_WAIT: "Fewer in every hive: today's treatment may wait; write it down and plan anew.",
    Code.NOT_COUNTED_TODAY: "NOT COUNTED: TREAT.",
    Code.WATCHED: "the count of {0:day} is one to watch: mites double in a month",
    Code.WATCHED_LATE: "the count of {0:day} is one to watch: treat, or count again now; yours to choose",
    Code.NEIGHBOUR_DIED: "hive {0} died, {1:day}: its mites go home with robbers",
    Code.FOR_WHAT_LIES: "something lies in the hive",
    Code.FOR_A_VIRGIN: "a virgin or queen cells may be in it",
    Code.FOR_WANT_OF_BROOD: "there is no brood by which a count could be judged",
    Code.FOR_FEW_BEES: "a wash takes too many bees where they cover fewer than six frames",
    Code.TOO_COLD_TO_WASH: "In place of '{0}': days are usually too cold by then to lift combs.",
    Code.KEPT_FOR_A_VIRGIN: "{0}: not before {1:some_days}: {2:cause}",
    Code.LEAVE_IT_SHUT: "leave it shut until she lays; then do it, and count",
    Code.NOTHING_KNOWN: (
        "Nothing is known of the time before {0:day}, the first plan. Write down what was counted, given and put in; "
        "what is planned once a winter and was given already, leave out."
    ),
    Code.NOT_HEARD_OF: (
        "Not heard of: {0:tasks} printed for days before {1:day}. Planning goes on as if they had been done; no count "
        "and no taking out is taken for done. Write down what was."
    ),
    Code.LINES_TO_COME: "Left out of the journal: {0:lines} of days after {1:day}.",
}


def because_words(because: Because) -> str:
    """A cause in words. Raises ValueError where it has more values or fewer than its words have blanks."""
    words = CAUSE_WORDS[because.code]
    if len(because.values) != len(blanks(words)):
        raise ValueError(f"{because.code} has {len(blanks(words))} blanks, and {len(because.values)} values")
    return _WRITER.vformat(words, because.values, {})


def causes_words(causes: Iterable[Because]) -> tuple[str, ...]:
    """Each of several causes in words."""
    return tuple(map(because_words, causes))


def blanks(words: str) -> set[str]:
    """The blanks of words, each once."""
    return {name for _, name, _, _ in Formatter().parse(words) if name is not None}


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _some_days(days: Sequence[int]) -> str:
    """Days in a sentence: a few of them are listed."""
    return joined(map(short_day, days[:MOST_DAYS])) + (" and later" if len(days) > MOST_DAYS else "")


def _amount(pair: tuple[float, str]) -> str:
    number, unit = pair
    return with_unit(f"{number:g}", unit)


def _flow(word: str) -> str:
    return word if word == "dearth" else f"{word} flow"


HOW_WRITTEN: dict[str, Callable[[Any], str]] = {
    "cause": because_words,
    "day": short_day,
    "each_day": lambda days: joined(map(short_day, days)),
    "some_days": _some_days,
    "with_years": lambda days: joined([f"{month_day(day)} {year(day)}" for day in days]),
    "days_of_it": lambda days: "; ".join(map(short_day, days)),
    "days": lambda period: day_range(*period),
    "windows": lambda windows: "; ".join(day_range(*one) for one in windows),
    "periods": lambda periods: joined(day_range(*period) for period in periods),
    "plain": _plain,
    "and": joined,
    "listed": ", ".join,
    "either": "; ".join,
    "causes": lambda causes: joined(map(because_words, causes)),
    "first": lambda text: f"{text[:1].upper()}{text[1:]}",
    "minutes": duration,
    "amount": _amount,
    "tasks": lambda number: counted(number, "task"),
    "days_long": lambda number: counted(number, "day"),
    "lines": lambda number: counted(number, "line"),
    "or": lambda words: joined(map(_plain, words), "or"),
    "weight": lambda ends: weight(*ends),
    "flow": _flow,
    "flows": lambda words: joined((_plain(_flow(word)) for word in words), "or"),
    "ends": lambda ends: joined(dict.fromkeys(f"{end:.0f}" for end in ends), "to"),
}
"""How a value is written, by the word behind its blank's colon; any other word is one of ``format``."""


class _Writer(Formatter):
    """Writes values as their blanks say."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """A value, by ``HOW_WRITTEN`` or as ``format`` does it."""
        how = HOW_WRITTEN.get(format_spec)
        return how(value) if how else format(value, format_spec)


_WRITER = _Writer()
