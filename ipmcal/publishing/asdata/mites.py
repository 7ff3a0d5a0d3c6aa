"""The mites of a season as data: their part of ``plan.json``. In: a ``MiteYear``. Out: shapes."""

from __future__ import annotations

from typing import Final

from ipmcal.publishing.asdata.forms import (
    COUNT,
    DAY,
    INTEGER,
    REAL,
    TEXT,
    TEXTS,
    YES_NO,
    Field,
    Shape,
    list_of,
    one_of,
    or_null,
    part,
)

_LOAD: Final = Shape(
    "load",
    "Mites in 100 bees, as a wash would read.",
    (
        Field("low", REAL, "Nine of ten such hives have more."),
        Field("median", REAL, "Half of such hives have more."),
        Field("high", REAL, "One of ten such hives has more."),
    ),
)

_DRAWN_DAY: Final = Shape(
    "drawn_day",
    "What is drawn for a day.",
    (
        Field("day", DAY, "The day.", lambda row: row[0]),
        Field("planned", part("load"), "With what is planned.", lambda row: row[1]),
        Field("untreated", REAL, "The median if nothing more is given.", lambda row: row[2]),
    ),
)

_LINE: Final = Shape(
    "mite_line",
    "The line at which an authority says to treat, from one day to another.",
    (
        Field("first", DAY, "From this day."),
        Field("last", DAY, "To this day."),
        Field("load", REAL, "Mites in 100 bees."),
        Field("above", YES_NO, "Whether only more than that is over it."),
    ),
)

_POINT: Final = Shape(
    "mite_count",
    "A count as it is drawn.",
    (
        Field("colony", TEXT, "Key of the colony."),
        Field("day", DAY, "The day of the count."),
        Field("load", REAL, "Mites in 100 bees."),
        Field("low", REAL, "The lower end of its interval."),
        Field("high", REAL, "The upper end."),
        Field("far", one_of(("", "more", "fewer")), "Far more or fewer than was drawn; or empty."),
    ),
)

_BAR: Final = Shape(
    "mite_bar",
    "A course on the days on which it acts.",
    (
        Field("title", TEXT, "The product."),
        Field("first", DAY, "The day on which it begins."),
        Field("last", DAY, "The last day on which it acts."),
        Field("planned", YES_NO, "Whether it lies ahead."),
    ),
)

_ODDS: Final = Shape(
    "mite_odds",
    "The share of hives over the line on the day on which most are.",
    (
        Field("first", DAY, "The first day that is judged."),
        Field("last", DAY, "The last one."),
        Field("planned", REAL, "The share with what is planned, 0 to 1."),
        Field("untreated", REAL, "The share if nothing more is given."),
        Field("enough", YES_NO, "Whether no more are over it, as planned, than the rules bear."),
    ),
)

_MITES: Final = Shape(
    "mite_year",
    "The mites of hives of one kind in a season: a drawing, not a promise.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("season", INTEGER, "The season, by the year in which it begins."),
        Field("hives", TEXTS, "Keys of the colonies."),
        Field("kind", one_of(("overwintered", "new")), "Whether they came through winter, or are of this season."),
        Field("days", list_of(part("drawn_day")), "Every seventh day.", lambda one: one.weekly),
        Field("lines", list_of(part("mite_line")), "The authority's line; empty where it judges another way."),
        Field("whose", TEXT, "The authority; or empty."),
        Field("counts", list_of(part("mite_count")), "Counts of mites on bees."),
        Field("stray", COUNT, "Counts of another kind, which move nothing."),
        Field("courses", list_of(part("mite_bar")), "Courses given and planned."),
        Field("cuts", list_of(DAY), "Days on which trap combs are cut."),
        Field("winter_first", DAY, "The first day on which winter bees are reared.", lambda one: one.winter[0]),
        Field("winter_last", DAY, "The last one.", lambda one: one.winter[1]),
        Field("on_winter", or_null(part("load")), "The load on that first day; null before they are there."),
        Field("untreated_on_winter", or_null(part("load")), "The same if nothing more is given."),
        Field("odds", or_null(part("mite_odds")), "How many would be over the line; null where none is judged."),
    ),
)

MITE_SHAPES: Final = (_LOAD, _DRAWN_DAY, _LINE, _POINT, _BAR, _ODDS, _MITES)
