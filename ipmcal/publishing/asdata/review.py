"""A season looked back on, as data: its part of ``plan.json``. In: a ``YearReview``. Out: shapes."""

from __future__ import annotations

from typing import Final

from ipmcal.publishing.asdata.forms import (
    COUNT,
    DAY,
    INTEGER,
    REAL,
    TEXT,
    TEXTS,
    Field,
    Shape,
    list_of,
    one_of,
    or_null,
    part,
)

_FATE: Final = Shape(
    "hive_fate",
    "What became of a hive.",
    (
        Field("colony", TEXT, "Key of the colony."),
        Field("day", DAY, "The day."),
        Field("word", TEXT, "What was written."),
        Field("note", TEXT, "What was written behind it; or empty."),
    ),
)

_DWINDLED: Final = Shape(
    "dwindled",
    "A hive with far fewer frames of bees than it had.",
    (
        Field("colony", TEXT, "Key of the colony."),
        Field("most", REAL, "Frames of bees at most."),
        Field("most_on", DAY, "When that was."),
        Field("last", REAL, "The last that were seen."),
        Field("last_on", DAY, "When that was."),
    ),
)

_LAST: Final = Shape(
    "last_count",
    "The last count of a hive.",
    (
        Field("colony", TEXT, "Key of the colony."),
        Field("day", or_null(DAY), "The day; null where it was never counted."),
        Field("found", TEXT, "Mites, in what, and the rate; or empty."),
        Field("call", TEXT, "What it said to do; or empty."),
    ),
)

_FOUND: Final = Shape(
    "course_found",
    "What a course did, by counts before and after it in the same hives, taken together.",
    (
        Field("title", TEXT, "The product."),
        Field("class_", TEXT, "Its class, by name."),
        Field("class_title", TEXT, "The class in words."),
        Field("began", DAY, "The first day in any of the hives."),
        Field("ended", or_null(DAY), "The last day in any of them; null while it lies in one."),
        Field("hives", TEXTS, "The colonies that had it."),
        Field("counted", TEXTS, "Those that were counted before and after."),
        Field("before", list_of(COUNT), "Mites and bees before."),
        Field("after", list_of(COUNT), "Mites and bees after."),
        Field("share", or_null(REAL), "The share of mites gone, 1 being all; null where it is not known."),
        Field("low", REAL, "The lower end of its interval."),
        Field("high", REAL, "The upper end."),
        Field("why", one_of(("", "no_counts", "none_before", "under_way")), "Why it is not known; or empty."),
    ),
)

_OUT: Final = Shape(
    "class_out",
    "A class of products that failed so often that another one is taken.",
    (
        Field("class_", TEXT, "The class, by name."),
        Field("title", TEXT, "The class in words."),
        Field("began", list_of(DAY), "The courses that say so."),
        Field("below", REAL, "The share of mites gone below which a course failed."),
    ),
)

_LEFT: Final = Shape(
    "load_at_end",
    "What hives of one kind carry at the end of the season, as drawn.",
    (
        Field("hives", TEXTS, "Keys of the colonies.", lambda row: row[0]),
        Field("load", part("load"), "Mites in 100 bees.", lambda row: row[1]),
    ),
)

_START: Final = Shape(
    "next_start",
    "What the drawing of the next season begins with.",
    (
        Field("known", one_of(("dosed", "undosed", "unknown")), "What is known of the weeks of least brood."),
        Field("mites", REAL, "Mites a hive."),
        Field("dosed", list_of(DAY), "Days on which an acid is written in those weeks."),
        Field("loads", list_of(part("load_at_end")), "What hives carry at the end."),
    ),
)

_REVIEW: Final = Shape(
    "review",
    "A yard's season, looked back on.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("season", INTEGER, "The season, by the year in which it begins."),
        Field("ends", DAY, "Its last day."),
        Field("alive", TEXTS, "The colonies that live."),
        Field("lost", list_of(part("hive_fate")), "Those that ended in it."),
        Field("dwindled", list_of(part("dwindled")), "Those with far fewer bees than they had."),
        Field("counts", list_of(part("last_count")), "The last count of each that lives."),
        Field("courses", list_of(part("course_found")), "What each course did."),
        Field("out", list_of(part("class_out")), "Classes that are not taken again."),
        Field("start", part("next_start"), "What the next season starts from."),
    ),
)

REVIEW_SHAPES: Final = (_FATE, _DWINDLED, _LAST, _FOUND, _OUT, _LEFT, _START, _REVIEW)
