"""What the page of a year must never say beside its courses: answers to counts, second choices, the winter dose.

In: a ``YearPlan``, its page. Out: nothing; AssertionError where it fails. Each is a family of faults that readers of
year plans found. Text is read again here, by days and labels alone: nothing of what wrote it is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.saying.year.products import called, may_stay

MONTHS = "Jan|Feb|Mar|Apr|May|June|July|Aug|Sept|Oct|Nov|Dec"
DAY = rf"[0-9]+ (?:{MONTHS})"
WEEK = 7
NOW_OR_NEVER = (
    "no label here fits",
    "too cold yet",
    "too late in the year",
    "has not worked yet",
    "where the queen is caged",
    "a wash reads high",
    "a board reads high",
    "leave the ",
    "has to rest",
)


def check_answers(made: YearPlan, text: str) -> None:
    """All of them."""
    cagings_keep_apart(made, text)
    over_the_line_is_of_that_week(made, text)
    the_course_without_caging_is_named(text)
    supers_come_off_for_what_is_offered(made, text)
    nothing_is_offered_outside_its_warmth(made, text)
    nothing_is_moved(text)
    supers_come_back_as_the_label_says(made, text)
    what_failed_is_not_given_again(made, text)
    late_in_the_year_no_eggs_say_nothing(made, text)
    winter_ends_where_advisers_end_it(made, text)
    one_dose_a_winter(made, text)
    another_class_is_another(made, text)
    whoever_handles_acids_is_told(made, text)
    a_dose_over_brood_has_a_stand_in(made, text)
    no_law_is_left_out(text)
    nothing_slow_ends_in_the_cold(made, text)
    nothing_poor_in_heat_stands_alone(made, text)
    the_winter_dose_is_told_of(made, text)
    a_caging_moves_nowhere(made, text)


def on_or_after(day: int, words: str) -> int:
    """The ordinal of a day of a month, on a day or in the year after it."""
    return next(one for one in range(day, day + YEAR_DAYS + 1) if month_day(one) == words)


def rows(made: YearPlan, text: str) -> Iterator[tuple[int, str]]:
    """Each count's day and line."""
    lines = text.split("\n")
    for day in plan_counts(made):
        yield day, next(line for line in lines if line.startswith(f"- {month_day(day)}, "))


def answers(made: YearPlan, text: str) -> Iterator[tuple[int, str]]:
    """What each count over its line is answered by."""
    for day, row in rows(made, text):
        found = re.search(r"At (?:or over it|[0-9]+ or more in [0-9]+): (.+)", row)
        if found:
            yield day, found[1]


def offered(made: YearPlan, words: str) -> Iterator[tuple[str, str, str]]:
    """Products that stand with a day from which they may be given: product, day, what stands behind them."""
    names = sorted(made.known.asked.book.treatments, key=lambda n: -len(called(made.known.asked.book, n)))
    left = words
    for name in names:
        said = re.escape(called(made.known.asked.book, name))
        for found in re.finditer(rf"{said}(?: \([^)]*\))? from ({DAY})(.*?)(?= or [a-z]|;|\.|$)", left):
            yield name, found[1], found[2]
        left = re.sub(rf"{said}(?: \([^)]*\))? from {DAY}", "", left)


def cagings_keep_apart(made: YearPlan, text: str) -> None:
    """No caging within eight weeks of another's release, nor in the weeks in which winter bees are reared."""
    book, winter = made.known.asked.book, made.known.setting.mark("winter_bee_rearing_start")
    apart = round(book.planning.year_plans.offered.caged_apart.value.middle)
    mine = [one.rests for one in made.courses if one.rests]
    near = round(book.planning.year_plans.offered.answered.value.middle)
    for day, words in answers(made, text):
        for sooner in re.findall(rf"cage the queen today instead of on ({DAY})", words):
            planned = on_or_after(day, sooner)
            assert any(one.caged == planned for one in mine), "no such caging is planned"
            assert planned - day <= near, f"{month_day(day)}: brought forward by {planned - day} days"
        found = re.search(rf"cage the queen that day and give [^;]* on ({DAY})", words)
        if not found:
            continue
        out = on_or_after(day, found[1])
        assert any(said in words for said in NOW_OR_NEVER), f"{month_day(day)}: caged before a product is named"
        assert out <= winter, f"{month_day(day)}: caged while winter bees are reared"
        for one in mine:
            assert not one.released <= day < one.released + apart, f"{month_day(day)}: caged again too soon"
            near = day <= one.caged <= out + apart
            assert not near or f"the caging of {month_day(one.caged)} falls away" in words, "two cagings in a row"


def over_the_line_is_of_that_week(made: YearPlan, text: str) -> None:
    """What is given begins within a week, or the words say why not; a caging answers only where its acid is near."""
    far = round(made.known.asked.book.planning.year_plans.offered.answered.value.middle)
    for day, words in answers(made, text):
        first = words.split("; then a new plan")[0].split(" With the ")[0]
        if any(said in first for said in NOW_OR_NEVER):
            continue
        days = [on_or_after(day, one) for one in re.findall(rf"(?:from|on) ({DAY})", first)]
        assert not days or min(days) - day <= WEEK, f"{month_day(day)}: answered on {month_day(min(days))}"
        if "cage the queen" in first and "as planned" in first:
            acid = min(one.course.day for one in made.courses if one.rests and one.rests.caged >= day)
            assert acid - day <= far, f"{month_day(day)}: the acid is {acid - day} days off"


def the_winter_dose_is_told_of(made: YearPlan, text: str) -> None:
    """No year without a dose of winter tells of one; where one is ahead, nobody over the line is sent to spring."""
    doses = [one.course.day for one in made.courses if one.course.quick and one.round in ("winter", "autumn")]
    assert doses or "winter dose" not in text.partition("\nCounts\n")[2], "no winter dose is planned"
    for day, words in answers(made, text):
        passed = "wash on the first day that is warm enough" in words and any(day <= dose for dose in doses)
        assert not passed, f"{month_day(day)}: the winter dose is passed over"


def a_caging_moves_nowhere(made: YearPlan, text: str) -> None:
    """A caging behind a course that a count asked for would stop the rearing of winter bees."""
    if any(one.rests for one in made.courses):
        added = text.partition("What a high count adds:")[2].partition("\n")[0]
        assert "late summer's course" not in added.partition(" move")[0], "a caging that moves"
        assert "a caging moves nowhere" in added, "a caging that moves"


def the_course_without_caging_is_named(text: str) -> None:
    """Who does not find the queen is told a product, its day and supers."""
    for line in text.split("\n"):
        if "cage the queen on" in line and line.startswith("- "):
            found = re.search(rf"Without caging: (?:no course fits|.+ from {DAY}.*, honey supers )", line)
            assert found, "no course without caging"


def supers_come_off_for_what_is_offered(made: YearPlan, text: str) -> None:
    """What may not lie under supers says so wherever it is offered."""
    asked = made.known.asked
    work = text.partition("\nTreatments\n")[2].partition("\nProducts, by")[0]
    for line in work.split("\n"):
        for name, day, behind in offered(made, line):
            label = label_for(asked.book.treatments[name], asked.jurisdiction, asked.book)
            quick = label is not None and "take_out" not in label.steps and len(label.steps) <= 2
            stays = may_stay(asked.book, asked.jurisdiction, name) or quick
            assert stays or "honey supers off" in behind, f"{name} from {day}: no word of supers: {line[:50]}"


def nothing_is_offered_outside_its_warmth(made: YearPlan, text: str) -> None:
    """The means and highs of the label, held against the region's normals of the month in which it begins."""
    asked, setting = made.known.asked, made.known.setting
    counts = text.partition("\nCounts\n")[2].partition("\nProducts, by")[0]
    for line in counts.split("\n"):
        begins = re.match(rf"- ({DAY}), ", line)
        if not begins:
            continue
        day = next(one for one in plan_counts(made) if month_day(one) == begins[1])
        for name, first, _ in offered(made, line):
            label = label_for(asked.book.treatments[name], asked.jurisdiction, asked.book)
            assert label is not None, f"{name} has no label here"
            for limit in label.limits.temperature:
                low = None if limit.high is None else limit.high.value.low
                if limit.mean is not None and limit.mean.value.low is not None:
                    low = limit.mean.value.low  # the high is above the mean
                high = setting.high(on_or_after(day, first))
                assert low is None or high >= low - 0.1, f"{name} from {first} at a usual high of {high:.0f} °C"


def supers_come_back_as_the_label_says(made: YearPlan, text: str) -> None:
    """The day on which they may be back is as long after the beginning as the label's wait alone asks."""
    asked = made.known.asked
    counts = text.partition("\nCounts\n")[2].partition("\nProducts, by")[0]
    for line in counts.split("\n"):
        for name, day, behind in offered(made, line):
            label = label_for(asked.book.treatments[name], asked.jurisdiction, asked.book)
            limit = None if label is None else label.limits.supers
            back = re.search(rf"none before ({DAY})", behind)
            if limit is None or limit.during.value == "on" or "honey supers off" not in behind:
                continue
            assert back, f"{name} from {day}: no day on which supers are back"
            first = on_or_after(asked.season.first, day)
            wait = 0 if limit.after is None else limit.after.value.high or 0
            assert on_or_after(first, back[1]) - first > wait, f"{name} from {day}: supers back too soon"


def what_failed_is_not_given_again(made: YearPlan, text: str) -> None:
    """After a count that tells that a course did not do another class is named first; formic acid may follow itself."""
    book = made.known.asked.book
    often = book.planning.year_plans.walls.a_season
    for day, row in rows(made, text):
        told = re.findall(r"(?:after| and) the (.+?): did it work", row)
        words = re.search(r"At or over it: (.+)", row)
        names = [n for n in book.treatments if told and called(book, n) == told[-1].split("after the ")[-1]]
        given = [] if words is None else list(offered(made, words[1].split(" With the ")[0]))
        if not names or not given or book.treatments[names[0]].class_ in often or "as she comes out" in row:
            continue
        mine = [c.course.answer.use for c in made.courses if c.course.answer.product == names[0]]
        lasted, said = any(use.last > use.first for use in mine), "" if words is None else words[1]
        first = min(given, key=lambda one: said.find(called(book, one[0])))
        same = book.treatments[first[0]].class_ == book.treatments[names[0]].class_
        assert not lasted or not same, f"{month_day(day)}: {first[0]} after {names[0]} failed"


def nothing_is_moved(text: str) -> None:
    """Pads and strips of acid are not moved, nor what comes out that day."""
    assert "move the " not in text, "moved"


def late_in_the_year_no_eggs_say_nothing(made: YearPlan, text: str) -> None:
    """Where she is about to stop, or has stopped, two to three weeks after a course eggs are not asked for."""
    least = made.known.setting.mark("brood_minimum")
    for one in made.courses:
        begins = month_day(one.course.day)
        line = next((row for row in text.split("\n") if f", in on {begins}," in row), "")
        if one.course.day + 21 >= least - 35:  # in 14 days before her rest she lays little
            assert "Eggs have to be there two to three weeks" not in line, f"{begins}: eggs asked for"


def winter_ends_where_advisers_end_it(made: YearPlan, text: str) -> None:
    """No cluster is opened week by week, no queen hunted in the cold; a second look lies inside the round's days."""
    slot = next((one.slot for one in made.known.rounds if one.slot.name == "winter"), None)
    for line in text.split("\n"):
        if not line.startswith("- Winter: ") or slot is None:
            continue
        assert "wait a week" not in line, "opened week by week"
        assert made.known.asked.region.rarely_broodless or "cage the queen" not in line, "a queen hunted in the cold"
        assert "is capped: once more" not in line, "may be read as two doses"
        for words in re.findall(rf"look again on ({DAY})", line):
            assert on_or_after(slot.first, words) <= slot.last, "after the advisers' last day"


def one_dose_a_winter(made: YearPlan, text: str) -> None:
    """No second dose on the same winter's bees, and none over brood without a word."""
    quick = [one for one in made.courses if one.course.quick and one.rests is None and one.round != "package"]
    doses = [one.course.day for one in quick]
    for day, words in answers(made, text):
        for name, first, _ in offered(made, words):
            kills = made.known.asked.book.treatments[name]
            acid = kills.class_ == "oxalic" and kills.common.efficacy.acts.value is not None
            looked = "nothing is capped" in words or "nothing capped" in words
            assert not acid or looked, f"{name} from {first} over brood"
            assert not acid or not any(dose <= day for dose in doses), f"{name} from {first}: a second dose"


def another_class_is_another(made: YearPlan, text: str) -> None:
    """What is given in place of a course that fails is of another class than it."""
    book = made.known.asked.book
    for day, words in answers(made, text):
        found = re.search(r"another class[^:]*: ([^;]+);", words)
        lies = next((c.course.answer for c in made.courses if c.course.day < day <= c.course.answer.use.last), None)
        if found and lies is not None:
            for name, _, _ in offered(made, found[1]):
                assert book.treatments[name].class_ != lies.class_, f"{month_day(day)}: {name} is of the same class"


def whoever_handles_acids_is_told(made: YearPlan, text: str) -> None:
    """Formic acid and oxalic acid stand with a word on eyes, lungs and hands."""
    if "formic acid" in text.partition("\nTreatments\n")[2] or "oxalic acid" in text:
        line = next((row for row in text.split("\n") if row.startswith("- For yourself: ")), "")
        assert "gloves" in line, "no word on hands"
        assert "goggles" in line, "no word on eyes"
        assert "formic acid" not in text.partition("\nProducts, by")[2] or "upwind" in line.lower(), "none on lungs"


def a_dose_over_brood_has_a_stand_in(made: YearPlan, text: str) -> None:
    """Where brood hardly stops, a dose that answers a count says what is done where something is capped."""
    if made.known.asked.region.rarely_broodless:
        for day, words in answers(made, text):
            first = words.split(" With the ")[0]
            dose = "as planned, nothing capped" in first
            assert not dose or "where something is capped" in first, f"{month_day(day)}: nothing over brood"


def no_law_is_left_out(text: str) -> None:
    """Where law asks for a treatment without brood, the dose of winter does not end in leaving it out."""
    if "without brood in autumn or winter" not in text:
        return
    for line in text.split("\n"):
        if line.startswith(("- Winter: ", "- Autumn, by law, and the winter dose")):
            left = line.rpartition("leave it out")[1] or line.rpartition("may be left out")[1]
            assert "without brood" in line, "law asks for a dose without brood"
            assert not left or "in Italy" in line, "left out against the law"


BEES_MOVE = 15.0
"""Usual high, °C, at which bees still walk over strips (facts of ``planning.yaml``, held here by hand)."""


def nothing_slow_ends_in_the_cold(made: YearPlan, text: str) -> None:
    """Strips that spare cells are offered no later than three weeks, a worker's brood, before bees draw together."""
    asked, setting = made.known.asked, made.known.setting
    if asked.region.rarely_broodless:
        return
    for day, words in answers(made, text):
        for name, first, _ in offered(made, words):
            one, begins = asked.book.treatments[name], on_or_after(day, first)
            slow = one.common.kills.in_cells.value == "no" and one.common.efficacy.acts.value is None
            late = begins > setting.mark("winter_bee_rearing_start") and setting.high(begins + 21) < BEES_MOVE
            assert not slow or not late, f"{name} from {first}: bees sit still before it has worked"


def nothing_poor_in_heat_stands_alone(made: YearPlan, text: str) -> None:
    """Thymol above a usual high of 30 °C says that it is poor there, and what is better has its place before it."""
    asked, setting = made.known.asked, made.known.setting
    for day, words in answers(made, text):
        for name, first, behind in offered(made, words):
            hot = asked.book.treatments[name].class_ == "terpene" and setting.high(on_or_after(day, first)) > 30.0
            assert not hot or "poor in that heat" in behind, f"{name} from {first}: {setting.high(day):.0f} °C"


def excuses_are_fresh(text: str) -> None:
    """A dose of winter is left out by no wash of more than six weeks before it: mites come in until autumn."""
    for line in text.split("\n"):
        found = re.match(rf"- Winter: .+? on ({DAY}), .*left out only where the wash of ({DAY})", line)
        if found:
            wash = on_or_after(730_000, found[2])  # any year
            ahead = on_or_after(wash, found[1]) - wash
            assert ahead <= 42, f"left out by a wash {ahead} days before"
