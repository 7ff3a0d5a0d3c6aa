"""Shapes: what stands in ``plan.json``, field by field.

In: nothing. Out: ``SHAPES``. A field that the plan gains has to be entered here (a test compares); one that changes or
goes raises SCHEMA_VERSION. Days are ISO dates; an uncertain one is three: the earliest, the usual, the latest.
"""

from __future__ import annotations

from typing import Final

from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.methods import Act
from ipmcal.publishing.asdata.forms import (
    CHOICES,
    COUNT,
    DAY,
    INTEGER,
    REAL,
    REASON,
    SAID,
    SPAN,
    TEXT,
    TEXTS,
    YES_NO,
    Field,
    Shape,
    by_itself,
    list_of,
    one_of,
    or_null,
    part,
    row,
)
from ipmcal.publishing.asdata.mites import MITE_SHAPES
from ipmcal.publishing.asdata.review import REVIEW_SHAPES

SCHEMA_VERSION: Final = 2
TABLES: Final = ("reasons", "values", "choices", "answers", "texts")
"""What is written once, and referred to by its number."""


def _filled_last(_: Plan) -> tuple[()]:
    """Tables have their rows when all else is written."""
    return ()


_RULE: Final = one_of([rule.name.lower() for rule in Rule])


_VALUE: Final = Shape(
    "value",
    "A value from a rule file, a yard file or the journal.",
    (
        Field("key", TEXT, "Where it stands inside its file, keys joined with dots."),
        Field("text", TEXT, "The value as it is written there."),
        Field("cites", TEXTS, "Whom we have it from, each as @source:place/basis; the place may be missing."),
        Field("place", TEXT, "File, line and column, counted from 1."),
    ),
)

_REASON: Final = Shape(
    "reason",
    "One link of the chain of reasons of a day.",
    (
        Field("rule", _RULE, "The rule that it follows.", lambda reason: reason.rule.name.lower()),
        Field("subject", TEXT, "The mark, event, clock day, step or need that it is about, or empty."),
        Field("span", or_null(SPAN), "The day that comes out of it, if one does."),
        Field("values", list_of(row("values", part("value"))), "The values that went into it."),
        Field("under", list_of(REASON), "What it rests on."),
        Field("note", TEXT, "Free text from rules or keeper, or empty."),
    ),
)

_WINDOW: Final = Shape(
    "window",
    "When a step may be done: opens <= best <= closes <= hard_stop, all inclusive.",
    (
        Field("opens", DAY, "First day."),
        Field("best", DAY, "Best day."),
        Field("closes", DAY, "Last day without a hurry."),
        Field("hard_stop", or_null(DAY), "Last good day: later does harm. Null where lateness does none."),
        Field("why_opens", REASON, "Why it opens then."),
        Field("why_best", REASON, "Why that is the best day."),
        Field("why_closes", REASON, "Why it closes then."),
    ),
)

_ANSWER: Final = Shape(
    "answer",
    "What to do at the hive on a day when something is found.",
    (
        Field("finding", TEXT, "What is found, as the journal writes it."),
        Field("title", TEXT, "What is found, in words."),
        Field("day", DAY, "The day at the hive."),
        Field("act", one_of(list(Act)), "What it means for the step: done, closed as missed, still open, or void."),
        Field("do", SAID, "What to do."),
        Field("back_on", or_null(DAY), "The keeper's day on which to be back, if there is one."),
        Field("back_from", or_null(DAY), "First day on which to be back."),
        Field("back_by", or_null(DAY), "Last day on which to be back."),
        Field("cut_by", or_null(DAY), "The last good day, to write on the lid."),
        Field("forced", YES_NO, "True where no later day of the keeper's would be in time."),
    ),
)

_TASK: Final = Shape(
    "task",
    "One step for one colony, trap frame or yard.",
    (
        Field("id", TEXT, "Its identity, whatever its dates: colony[.trap]/method/season/step/n."),
        Field("yard", TEXT, "Key of the yard."),
        Field("colony", or_null(TEXT), "Key of the colony; null for the whole yard."),
        Field("trap", or_null(TEXT), "Name of the trap frame, if it is about one."),
        Field("method", TEXT, "Method or treatment, by the name of its rule file."),
        Field("step", TEXT, "Step of the method."),
        Field("n", INTEGER, "Which cycle, counted from the first begun."),
        Field("season", INTEGER, "Season, named by the year in which it begins."),
        Field("do", TEXT, "What to do, in words."),
        Field("window", part("window"), "When it may be done."),
        Field("planned", or_null(DAY), "Planned day; null unless the status is planned or unknown."),
        Field("rain_date", or_null(DAY), "The keeper's next possible day that still meets the last good day."),
        Field("status", one_of(list(Status)), "What became of it."),
        Field("done", or_null(DAY), "Day on which it was done."),
        Field("look", YES_NO, "True where what is found decides."),
        Field("harm", TEXT, "What harm lateness does, or empty."),
        Field("notes", list_of(SAID), "Things to know."),
        Field("cautions", list_of(SAID), "Cautions that stand beside the task."),
        Field("circle", TEXTS, "Words to circle on the sheet."),
        Field("blanks", TEXTS, "Labels of things to write on the sheet."),
        Field("bring", TEXTS, "Things to bring."),
        Field("minutes", COUNT, "Minutes that it takes."),
        Field("logs", TEXT, "Journal word that says it was done, or empty."),
        Field("answers", list_of(row("answers", part("answer"))), "What to do, by what is found."),
        Field("why_planned", list_of(REASON), "Why it is planned for that day."),
        Field("lid", TEXT, "Words that stand before the last good day, such as CUT BY; may be empty."),
        Field("product", TEXT, "What is given at this step, by its title, or empty."),
        Field("value", TEXT, "What a line of the journal would say behind its word, were it done as printed."),
        Field("how", list_of(SAID), "Those of the notes that are the same in each hive: how it is done."),
        Field("choices", or_null(CHOICES), "What to do by what is found, the same in each hive; or null."),
        Field("beside", TEXTS, "Labels of what may be written besides, where it is so."),
    ),
)

_CHOICE: Final = Shape(
    "choice",
    "What to do where something is found.",
    (
        Field("found", TEXT, "What is found."),
        Field("do", TEXT, "What to do."),
        Field("back", or_null(list_of(DAY)), "First and last day on which to be back; null where it is no matter."),
    ),
)

_CHOICES: Final = Shape(
    "choices",
    "What to do by what is found.",
    (
        Field("title", TEXT, "What it is about."),
        Field("lead", TEXT, "What stands above it, or empty."),
        Field("rows", list_of(part("choice")), "The findings."),
    ),
)

_BRING: Final = Shape(
    "bring",
    "A thing to pack.",
    (
        Field("load", TEXT, "Where it goes."),
        Field("title", TEXT, "What it is."),
        Field("count", COUNT, "How many; 0 where it is not counted."),
    ),
)

_VISIT: Final = Shape(
    "visit",
    "A day at one yard.",
    (
        Field("id", TEXT, "Name of the visit inside this plan."),
        Field("yard", TEXT, "Key of the yard."),
        Field("day", DAY, "The day."),
        Field("rain_date", or_null(DAY), "The day instead, if it rains; null where there is none."),
        Field("earliest", DAY, "First day to which it could be moved without harm."),
        Field("latest", DAY, "Last day to which it could be moved without harm."),
        Field("tasks", TEXTS, "Ids of its tasks, in walking order."),
        Field("minutes", COUNT, "Minutes that it takes."),
        Field("bring", list_of(part("bring")), "What to pack."),
        Field("prepare", TEXTS, "What to do on the evening before."),
        Field("must", TEXTS, "Ids of the tasks that can't wait, most urgent first."),
        Field("short", TEXTS, "Ids of the tasks to do where there are only 30 minutes."),
        Field("stop_if", TEXTS, "When to stop."),
        Field("forced_by", TEXT, "Id of the task that was the first to run out of days, or empty."),
        Field("rain_help", TEXT, "What would give a rain date where there is none, or empty."),
        Field("unwaiting", TEXTS, "Ids of the tasks that would be too late on the keeper's next day."),
        Field("because", TEXT, "Why it is on this day, in words."),
    ),
)

_CONFLICT: Final = Shape(
    "conflict",
    "Something in the plan that the keeper has to read.",
    (
        Field("yard", TEXT, "Key of the yard, or empty."),
        Field("subject", TEXT, "What it is about."),
        Field("what", TEXT, "What is wrong, in words.", lambda conflict: because_words(conflict.what)),
        Field("helps", TEXT, "What would mend it, or empty.", lambda conflict: because_words(conflict.helps)),
        Field("tasks", TEXTS, "Ids of the tasks concerned."),
        Field("reasons", list_of(REASON), "Why it is so."),
    ),
)

_REFUSAL: Final = Shape(
    "refusal",
    "A method that is not offered to a colony, trap frame or yard.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("subject", TEXT, "The colony or trap frame."),
        Field("method", TEXT, "Method or treatment, by the name of its rule file."),
        Field("title", TEXT, "The method in words."),
        Field("whys", TEXTS, "Every reason, in words.", lambda refusal: causes_words(refusal.whys)),
        Field("helps", TEXT, "What would mend it, or empty.", lambda refusal: "; ".join(causes_words(refusal.helps))),
        Field("reasons", list_of(REASON), "The reasons as data."),
    ),
)

_TRAP: Final = Shape(
    "trap",
    "A trap frame.",
    (
        Field("name", TEXT, "Its name, its own for life."),
        Field("box", INTEGER, "The box it hangs in, from the bottom, 1 first."),
        Field("slot", or_null(INTEGER), "The slot it hangs in, from the left seen from behind, 1 first."),
        Field("home", or_null(INTEGER), "The slot where it belongs."),
    ),
)

_BOX: Final = Shape(
    "box",
    "A box of the hive, below the supers.",
    (
        Field("kind", TEXT, "Its kind, in words."),
        Field("frames", COUNT, "How many frames it takes."),
    ),
)

_COLONY: Final = Shape(
    "colony",
    "A colony as documents show it.",
    (
        Field("key", TEXT, "Its key, its own for life."),
        Field("name", TEXT, "Its name, as painted on the hive."),
        Field("stand", TEXT, "Where it stands."),
        Field("began", TEXT, "When and as what it began."),
        Field("boxes", list_of(part("box")), "Its boxes, bottom first."),
        Field("supers", COUNT, "How many supers are on."),
        Field("traps", list_of(part("trap")), "Its trap frames."),
        Field("queen", TEXT, "What is known of the queen."),
        Field("last", TEXT, "What was done or found last."),
        Field("notes", TEXTS, "Things to know."),
        Field("mind", TEXT, "What to mind before it is opened, or empty."),
        Field(
            "warnings",
            TEXTS,
            "What is in it that should not be, or not yet, or not so much.",
            lambda colony: causes_words(colony.warnings),
        ),
    ),
)

_MARK: Final = Shape(
    "mark",
    "A day, or a period, of the season at a yard.",
    (
        Field("mark", TEXT, "Its word in the rules."),
        Field("title", TEXT, "The same in words."),
        Field("begins", SPAN, "The day, or the first day of the period."),
        Field("ends", or_null(SPAN), "The last day of the period; null where it is one day."),
        Field("reason", REASON, "Why it is then."),
    ),
)

_ALARMS: Final = Shape(
    "alarms",
    "Hours before midnight at the beginning of a day.",
    (
        Field("visit", REAL, "Of a visit."),
        Field("last_good_day", REAL, "Of a last good day that no visit meets."),
    ),
)

_YARD: Final = Shape(
    "yard",
    "A yard as documents show it. It says where the hives stand: think before you publish it.",
    (
        Field("key", TEXT, "Its key."),
        Field("name", TEXT, "Its name."),
        Field("latitude", REAL, "Degrees north, south negative."),
        Field("longitude", REAL, "Degrees east, west negative."),
        Field("directions", TEXT, "How to get there."),
        Field("region", TEXT, "Region, by the name of its rule file."),
        Field("jurisdiction", TEXT, "Jurisdiction, by the name of its rule file."),
        Field("paper", TEXT, "Size of paper."),
        Field("mentor", TEXT, "Whom to ring, by name and number; or empty."),
        Field("large_print", YES_NO, "True where the keeper wants letters of 16 pt and more."),
        Field("fahrenheit", YES_NO, "True where documents show degrees Fahrenheit; in here they are Celsius."),
        Field("days_title", TEXT, "The keeper's days, in words."),
        Field("any_day", YES_NO, "True where the keeper can come on any day."),
        Field("season", INTEGER, "Season, named by the year in which it begins."),
        Field("begins", DAY, "First day of the season."),
        Field("ends", DAY, "Last day of the season."),
        Field("language", TEXT, "Language of its documents."),
        Field("colonies", list_of(part("colony")), "Its colonies, in walking order."),
        Field("marks", list_of(part("mark")), "Its season."),
        Field("highs", list_of(REAL), "Usual daily highs by month, degrees Celsius; may be empty."),
        Field("notes", TEXTS, "Things to know."),
        Field("cautions", TEXTS, "Cautions that stand on each of its documents."),
        Field("each_hive", TEXTS, "Cautions said anew at each hive; the others once a sheet."),
        Field("alarms", or_null(part("alarms")), "When a phone rings; null where the keeper wants none."),
        Field("page", TEXT, "Address of the page where its documents are published; or empty."),
        Field("sick_words", TEXT, "Hives that look sick and since when, and what that asks of the yard; or empty."),
        Field("stores", TEXT, "How much food a hive wants for winter; or empty."),
    ),
)

_COUNT: Final = Shape(
    "count",
    "A count of mites, in words.",
    (
        Field("colony", TEXT, "Key of the colony."),
        Field("day", DAY, "The day of the count."),
        Field("found", TEXT, "Mites, in what, and the rate."),
        Field("sure", TEXT, "The interval beside it; empty where there is none."),
        Field("call", TEXT, "What it says to do."),
        Field("why", TEXT, "Why."),
        Field("line", TEXT, "The line that it is held to, and whose it is; empty where there is none."),
    ),
)

_CALL: Final = Shape(
    "call",
    "What the counts of a yard say to do for all of its colonies.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("day", or_null(DAY), "The day of the newest count."),
        Field("call", TEXT, "What to do."),
        Field("words", TEXT, "The same in a sentence."),
        Field("over", TEXTS, "Colonies over their line."),
        Field("again", TEXTS, "Colonies to count again."),
        Field("missing", COUNT, "How many more colonies have to be counted."),
        Field("treated", or_null(DAY), "The day on which a treatment began since; null where none did."),
        Field("counts", list_of(part("count")), "The counts that say it."),
        Field("efficacy", TEXTS, "What treatments did, as far as counts tell."),
    ),
)

_COURSE: Final = Shape(
    "course",
    "A treatment of one colony.",
    (
        Field("yard", TEXT, "Key of the yard in which the colony stands."),
        Field("colony", TEXT, "Key of the colony."),
        Field("product", TEXT, "The product, by its rule file's name or the keeper's own."),
        Field("began", DAY, "The day of its first application."),
        Field("ended", or_null(DAY), "The day on which nothing of it was left in the hive; null until then."),
        Field("left", TEXT, "How much of it is still in the hive; empty for nothing."),
        Field("assumed", YES_NO, "Whether nobody wrote that it was given: an earlier plan printed it."),
    ),
)

_LYING: Final = Shape(
    "lying",
    "What lies in a hive, written or planned.",
    (
        Field("yard", TEXT, "Key of the yard in which the colony stands."),
        Field("colony", TEXT, "Key of the colony."),
        Field("title", TEXT, "The product."),
        Field("number", TEXT, "How much of it, in words; empty where nobody knows."),
        Field("since", DAY, "The day on which it was, or will be, put in."),
        Field("out", or_null(DAY), "The day on which it is planned to come out."),
        Field("by", or_null(DAY), "The last good day to take it out."),
        Field("assumed", YES_NO, "Whether it was printed for that day, and not heard of."),
    ),
)

_WORTH: Final = Shape(
    "worth",
    "How many visits a yard takes, and the least there can be.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("visits", COUNT, "Visits planned."),
        Field("least", COUNT, "A proven least number, without regard to the hours of a visit."),
        Field("spared", COUNT, "Drives spared by moving courses away from the days that were printed for them."),
    ),
)

_DRIVE: Final = Shape(
    "drive",
    "A day on which several yards are visited.",
    (
        Field("name", TEXT, "The drive, as the yard files name it."),
        Field("day", DAY, "The day."),
        Field("visits", TEXTS, "Ids of the visits, in the order of the drive."),
        Field("minutes", COUNT, "Minutes in the yards together."),
        Field("reason", TEXT, "Why in that order."),
        Field("mind", TEXT, "What to mind between yards."),
    ),
)

_CHOOSING: Final = Shape(
    "choosing",
    "The courses of a yard's season, in words.",
    (
        Field("yard", TEXT, "Key of the yard."),
        Field("chosen", TEXTS, "What is chosen for each need."),
        Field("second", TEXTS, "What comes second."),
        Field("excluded", TEXTS, "What excluded the rest."),
        Field("supplies", TEXTS, "What the season takes, with the day on which each is needed first."),
        Field("left", TEXTS, "What no course serves, and what could give way for it."),
        Field("season", INTEGER, "The season, by the year in which it begins."),
    ),
)

WHOLE: Final = Shape(
    "plan",
    "The whole plan of an outfit, as planned on one day.",
    (
        Field(
            "schema_version",
            by_itself({"const": SCHEMA_VERSION}, int),
            "Version of this form.",
            lambda _: SCHEMA_VERSION,
        ),
        Field("outfit", TEXT, "Id of the outfit."),
        Field("outfit_name", TEXT, "Its name."),
        Field("as_of", DAY, "The day on which it was planned."),
        Field("yards", list_of(part("yard")), "The yards, with colonies and season."),
        Field("tasks", list_of(part("task")), "All tasks, by day, then walking order, then id."),
        Field("visits", list_of(part("visit")), "All visits, by day."),
        Field("conflicts", list_of(part("conflict")), "What has to be read."),
        Field("refusals", list_of(part("refusal")), "What is not offered, and why not."),
        Field("notes", TEXTS, "Things to know."),
        Field("rules_checked", TEXTS, "When rules were last checked, where that is worth saying."),
        Field("calls", list_of(part("call")), "What the counts of each yard say to do."),
        Field("courses", list_of(part("course")), "The treatments that the journal tells of."),
        Field("lying", list_of(part("lying")), "What lies in the hives, now and as planned."),
        Field("drives", list_of(part("drive")), "The days on which several yards are visited, with their order."),
        Field("choosing", list_of(part("choosing")), "The courses that were chosen for each yard, and why."),
        Field("mites", list_of(part("mite_year")), "The mites as they are drawn, season by season."),
        Field("reviews", list_of(part("review")), "The seasons, looked back on."),
        Field("worth", list_of(part("worth")), "How many visits each yard takes, and the least there can be."),
        Field("reasons", list_of(part("reason")), "Every reason once; each rests on earlier rows.", _filled_last),
        Field("values", list_of(part("value")), "Every value that a reason rests on, once.", _filled_last),
        Field("choices", list_of(part("choices")), "Every table of choices, once.", _filled_last),
        Field("answers", list_of(part("answer")), "Every answer to a finding on a day, once.", _filled_last),
        Field("texts", TEXTS, "Every text that comes again and again, once.", _filled_last),
    ),
)

SHARED: Final = (
    *(_VALUE, _REASON, _WINDOW, _ANSWER, _CHOICE, _CHOICES, _TASK, _BRING, _VISIT, _CONFLICT, _REFUSAL),
    *(_TRAP, _BOX, _COLONY, _MARK, _ALARMS, _YARD, _COUNT, _CALL, _COURSE, _LYING, _WORTH, _DRIVE, _CHOOSING),
    *MITE_SHAPES,
    *REVIEW_SHAPES,
)
SHAPES: Final = {shape.name: shape for shape in (*SHARED, WHOLE)}
