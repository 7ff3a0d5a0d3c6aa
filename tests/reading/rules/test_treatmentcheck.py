"""Treatments: labels against published figures, labels that are like another, the label's own words, doses and recipes.

Figures come from the sources named beside them; which of them were read, and which are from memory, the rule files say.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.labels import applications, efficacy_of, label_for, label_holder, last_step, removals
from ipmcal.model.rules.rulebook import Rulebook, cited_values
from ipmcal.model.rules.treatments import Label, Treatment, limits_of
from ipmcal.model.values import labelforms
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount, Bound
from ipmcal.model.values.labelforms import course_days, in_celsius, warmth, words_of
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.rules.treatmentcheck import whole_labels
from ipmcal.reading.source.complaints import BadInput

SOURCES = {"practice": Basis.PRACTICE}


def label(book: Rulebook, treatment: str, jurisdiction: str) -> Label:
    found = label_for(book.treatments[treatment], jurisdiction, book)
    assert found is not None
    return found


def ends(value: Amount) -> tuple[float | None, float | None, str]:
    """Both ends of a range to a hundredth, and its unit."""
    low, high = (None if end is None else round(end, 2) for end in (value.low, value.high))
    return low, high, value.unit


def days_in(book: Rulebook, of: Label) -> tuple[int, int]:
    """The fewest and the most days from the first application to the last day, by the steps' bounds."""
    edges = {next(iter(applications(of, book))): (0, 0)}
    for name, step in of.steps.items():
        if name in edges:
            continue
        low = [edges[b.anchor][0] + b.shift for b in step.opens if b.anchor in edges]
        high = [edges[b.anchor][1] + b.shift for b in (step.hard_stop or step.closes or ()) if b.anchor in edges]
        edges[name] = (max(low), min(high))
    return edges[last_step(of, book)]


# Labels against published figures ------------------------------------------------------------------------------------

TIMES = [
    # What an authority or a registrant gives as the days in the hive, by the facts' sources.
    ("formic_strips_pair", "uk", 7),  # label Vm 40476/4000
    ("formic_strips_pair", "at", 7),  # Austrian leaflet
    ("formic_strips_pair", "us", 14),  # two weeks: a supplier quoting the registrant
    ("formic_strips_single", "us", 20),  # 10 and 10 days: from memory of EPA 75710-3
    ("thymol_gel", "uk", 28),  # 4 to 6 weeks: registrant
    ("amitraz_strip", "us", 42),  # text of 2013
    ("amitraz_strip", "uk", 63),  # ten weeks with brood, less a week of room: German summary
    ("amitraz_strip", "nz", 42),  # 6 to 10 weeks: a supplier
    ("formic_evaporator_60", "de", 4),  # 85 g at 15 to 20 g a day in July: producer's text of 2018
    ("tau_fluvalinate_strip", "uk", 42),  # AN 00674/2014: not under 6, not over 8 weeks
    ("flumethrin_strip", "nz", 56),  # the full eight weeks
    ("coumaphos_strip", "us", 42),  # 42 to 45 days
    ("oxalic_slow_strip", "us", 42),  # 6 to 8 weeks
    ("hop_acid_strip", "us", 14),  # at least 14 days
]


@pytest.mark.parametrize(("treatment", "jurisdiction", "least"), TIMES)
def test_the_steps_keep_it_in_for_as_long_as_the_label_says(
    book: Rulebook, treatment: str, jurisdiction: str, least: int
) -> None:
    assert days_in(book, label(book, treatment, jurisdiction))[0] == least


MOST = [
    ("amitraz_strip", "us", 56),  # out by 56 days: text of 2013
    ("tau_fluvalinate_strip", "us", 56),  # MAAREC: 8 weeks at most
    ("thymol_gel", "uk", 42),
    ("flumethrin_strip", "uk", 42),  # NOAH data sheet of 2006: six weeks at most
    ("coumaphos_strip", "us", 45),
    ("flumethrin_entrance_strip", "de", 120),  # four months at most
    ("oxalic_slow_strip", "nz", 56),
]


@pytest.mark.parametrize(("treatment", "jurisdiction", "most"), MOST)
def test_nothing_stays_in_longer_than_the_label_allows(
    book: Rulebook, treatment: str, jurisdiction: str, most: int
) -> None:
    assert days_in(book, label(book, treatment, jurisdiction))[1] == most


SUPERS = [
    ("formic_strips_pair", "us", "on", 0),
    ("formic_strips_pair", "de", "off", 0),  # honey supers come off first: German summary of characteristics
    ("formic_strips_pair", "at", "off", 0),
    ("oxalic_trickle", "us", "on", 0),  # amended label of 2021
    ("oxalic_trickle", "uk", "off", 0),  # AN 01519/2014
    ("oxalic_vapour", "au", "on", 0),  # PER94609
    ("amitraz_strip", "us", "off", 14),  # back 14 days after removal
    ("amitraz_strip", "uk", "off", 0),
    ("thymol_mix_tablet", "us", "off", 30),
    ("coumaphos_strip", "ca", "off", 14),
    ("hop_acid_strip", "us", "on", 0),
    ("tau_fluvalinate_strip", "us", "off", 0),  # MAAREC: back at once
]


@pytest.mark.parametrize(("treatment", "jurisdiction", "during", "after"), SUPERS)
def test_supers_during_and_after(book: Rulebook, treatment: str, jurisdiction: str, during: str, after: int) -> None:
    supers = label(book, treatment, jurisdiction).limits.supers
    assert supers is not None
    assert supers.after is not None
    assert (supers.during.value, supers.after.value.middle) == (during, after)


WARMTH = [
    ("formic_strips_pair", "uk", 10, 29.5, Span(0, 0, 0)),  # Vm 40476/4000: the day of application
    ("formic_strips_pair", "us", 10, 29.44, Span(0, 0, 0)),  # the day they go in: supplier and registrant
    ("formic_strips_single", "us", 10, 29.44, Span(0, 0, 0)),
    ("oxalic_ready_trickle", "eu", 3, None, Span(0, 0, 0)),  # more than 3 °C: registrant
    ("oxalic_trickle_35", "de", 3, None, Span(0, 0, 0)),  # 3 °C outside at least: leaflet
    ("thymol_mix_tablet", "ca", 18, 35, None),  # an extension team on the registration of 2020
    ("formic_evaporator_60", "at", 12, 30, None),  # Austrian leaflet of 85 %
    ("thymol_gel", "uk", 15, 40, None),  # AN 01316/2014
    ("thymol_gel", "us", 15, 40.56, None),
    ("thymol_wafer", "uk", None, 30, None),  # AN 01911/2010
    ("thymol_mix_tablet", "uk", None, 30, None),  # AN 01017/2013
    ("thymol_mix_tablet", "us", None, 32.22, None),  # never above 90 °F
]


@pytest.mark.parametrize(("treatment", "jurisdiction", "low", "high", "on"), WARMTH)
def test_the_first_limit_of_warmth_is_the_labels(
    book: Rulebook, treatment: str, jurisdiction: str, low: float | None, high: float | None, on: Span | None
) -> None:
    first = label(book, treatment, jurisdiction).limits.temperature[0]
    assert first.high is not None
    assert ends(first.high.value) == (low, high, "°C")
    assert first.days.value == on
    assert not first.advice


DOSES = [
    # treatment, jurisdiction, amount, unit, per, cap
    ("formic_strips_pair", "uk", 2, "strips", "colony", None),
    ("oxalic_trickle", "us", 5, "mL", "seam", 50),
    ("oxalic_trickle", "fr", 5, "mL", "seam", 50),
    ("oxalic_vapour", "us", 4, "g", "chamber", None),  # label of 24 June 2025
    ("amitraz_strip", "us", 2, "strips", "chamber", None),
    ("amitraz_strip", "at", 2, "strips", "colony", None),
    ("tau_fluvalinate_strip", "uk", 2, "strips", "chamber", None),
    ("flumethrin_strip", "uk", 4, "strips", "chamber", None),
    ("hop_acid_strip", "us", 1, "strips", "bee_frames", None),
    ("coumaphos_strip", "us", 1, "strips", "bee_frames", None),
    ("thymol_wafer", "eu", 1, "wafers", "chamber", None),
]


@pytest.mark.parametrize(("treatment", "jurisdiction", "amount", "unit", "per", "most"), DOSES)
def test_a_dose(
    book: Rulebook, treatment: str, jurisdiction: str, amount: float, unit: str, per: str, most: float | None
) -> None:
    dose = label(book, treatment, jurisdiction).dose
    assert dose is not None
    assert (dose.amount.value.middle, dose.amount.value.unit, dose.per.value) == (amount, unit, per)
    assert (dose.most.value.middle if dose.most else None) == most
    assert (dose.each is not None) == (per == "bee_frames")


def test_syrup_by_mass_per_litre(book: Rulebook) -> None:
    """The American recipe holds 35 g dihydrate a litre; the European one 35 g of product to half a litre.

    Published: 2.5 and 4.2 % of acid, about 1.7 times as strong (dihydrate 126.07, acid 90.03 g/mol).
    """
    american, european = (label(book, "oxalic_trickle", j).recipe for j in ("us", "uk"))
    assert american is not None
    assert european is not None
    assert european.pure is not None
    ours = american.per_litre("oxalic_acid_dihydrate") * 90.03 / 126.07
    theirs = european.per_litre("oxalic_product") * european.pure.value.middle / 100 * 90.03 / 126.07
    assert ours / 10 == pytest.approx(2.5, abs=0.05)
    # 35 g to exactly half a litre would be 4.4 %; the published 4.2 % counts the volume with the powder in it.
    assert theirs / 10 == pytest.approx(4.2, abs=0.25)
    assert theirs / ours == pytest.approx(1.7, abs=0.1)


@pytest.mark.parametrize("jurisdiction", ["us", "uk"])
def test_a_batch_makes_the_volume_that_it_says(book: Rulebook, jurisdiction: str) -> None:
    """A gram of water is a millilitre, a gram of dissolved sugar 0.62 (density of sucrose in solution, handbooks)."""
    recipe = label(book, "oxalic_trickle", jurisdiction).recipe
    assert recipe is not None
    litres = (recipe.parts["water"].value.middle + 0.62 * recipe.parts["sugar"].value.middle) / 1000
    assert litres == pytest.approx(recipe.makes.value.middle, rel=0.04)


# Who has a label -----------------------------------------------------------------------------------------------------


def test_a_member_state_without_a_label_of_its_own_has_the_unions(book: Rulebook) -> None:
    treatment = book.treatments["thymol_gel"]
    assert [label_holder(treatment, j, book) for j in ("it", "es", "de", "fr")] == ["eu", "eu", "de", "fr"]


@pytest.mark.parametrize(
    ("treatment", "jurisdiction"),
    [
        ("oxalic_vapour", "de"),  # one powder only, its dose not seen: associations quoting the federal office
        ("tau_fluvalinate_strip", "de"),  # nothing with it is authorised: a trade journal
        ("flumethrin_strip", "us"),  # not registered
        ("formic_evaporator_60", "us"),
        ("oxalic_ready_trickle", "us"),
        ("rna_pouch", "uk"),
        ("amitraz_strip", "atlantis"),
    ],
)
def test_without_a_label_it_is_not_allowed(book: Rulebook, treatment: str, jurisdiction: str) -> None:
    assert label_for(book.treatments[treatment], jurisdiction, book) is None


def test_a_label_like_another_replaces_whole_keys_and_whole_limits(book: Rulebook) -> None:
    uk, de, us = (label(book, "formic_strips_pair", j) for j in ("uk", "de", "us"))
    assert de.like == "uk"
    assert de.dose == uk.dose  # copied
    assert de.limits.temperature == uk.limits.temperature
    assert de.limits.supers != uk.limits.supers  # its own
    assert us.steps["take_out"].hard_stop != uk.steps["take_out"].hard_stop
    assert uk.limits.kind == us.limits.kind  # by way of the other


def test_every_label_is_whole(book: Rulebook) -> None:
    for name, treatment in book.treatments.items():
        for key, one in treatment.labels.items():
            words = {word for word, _ in limits_of(one)}
            assert {"supers", "brood", "course"} <= words, (name, key)
            assert one.registration is not None, (name, key)
            assert one.dose is not None, (name, key)
            given, taken = list(applications(one, book)), list(removals(one, book))
            assert given, (name, key)
            logs = {one.steps[step].logs for step in given}
            assert bool(taken) == ("strips_in" in logs), (name, key)
            assert any(step.logs == "count" for step in one.steps.values()), (name, key)


def test_filling_in_twice_changes_nothing(book: Rulebook) -> None:
    for treatment in book.treatments.values():
        assert whole_labels(treatment) == treatment


def test_a_limit_from_memory_says_so(book: Rulebook) -> None:
    """EPA's own label of the paired strips was not read: its number and days rest on memory."""
    us = label(book, "formic_strips_pair", "us")
    assert us.registration is not None
    assert us.registration.basis is Basis.MEMORY
    uk = label(book, "formic_strips_pair", "uk")
    assert uk.limits.temperature[0].high is not None
    assert uk.limits.temperature[0].high.basis is Basis.READ


def test_each_citation_of_a_treatment_is_in_the_bibliography(book: Rulebook) -> None:
    values = [v for name in book.treatments for v in cited_values(book.files[f"treatments/{name}"])]
    assert len(values) > 1000
    assert {c.source for v in values for c in v.cites} <= set(book.sources)


def usual_day(book: Rulebook, region: str, bound: Bound) -> int | None:
    """The usual day of a bound on a mark, in a season of a region; None where it hangs on something else."""
    head, _, rest = bound.anchor.partition(".")
    if head != "season":
        return None
    of = book.regions[region]
    mark = of.marks[rest.partition(".")[0]].value
    assert mark.begins is not None
    assert not rest.endswith(".ends")
    return mark.begins.on_or_after(of.season[0].in_year(2027)) + bound.shift


def test_a_first_application_has_room_in_every_region(book: Rulebook) -> None:
    """The coarse frame in which a course may begin: never backwards, three weeks at least, its best day inside."""
    for name, region in book.regions.items():
        for treatment in book.treatments.values():
            one = label_for(treatment, region.jurisdiction, book) if region.jurisdiction else None
            first = one.steps[next(iter(applications(one, book)))] if one else None
            if first is None or first.best is None or first.closes is None:
                continue
            opens, best, closes = (usual_day(book, name, edge[0]) for edge in (first.opens, first.best, first.closes))
            if opens is not None and best is not None and closes is not None:
                assert opens <= best <= closes, (name, treatment.title)
                assert closes - opens >= 21, (name, treatment.title)


# The label's own words -----------------------------------------------------------------------------------------------


def test_fahrenheit_is_kept_in_celsius_and_printed_in_its_own_words(book: Rulebook) -> None:
    high = label(book, "thymol_gel", "us").limits.temperature[0].high
    assert high is not None
    assert ends(high.value) == (15.0, 40.56, "°C")
    assert words_of(high) == "59..105 °F"


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        # Exact by definition: °C = (°F - 32) / 1.8.
        ("32..212 °F", 0, 100),
        ("50..85 °F", 10, 29.44),
        ("-40.. °F", -40, None),
        ("..92 F", None, 33.33),
        ("15..40 °C", 15, 40),
        ("10..29.5 C", 10, 29.5),
    ],
)
def test_warmth(written: str, low: float | None, high: float | None) -> None:
    read = warmth(f"{written} @practice", SOURCES)
    assert ends(read.value) == (low, high, "°C")
    assert words_of(read) == written


@pytest.mark.parametrize("degrees", range(-40, 131))
def test_a_reading_of_just_the_limit_meets_it(degrees: int) -> None:
    """A reading in °F is taken as °C by the same formula (reading/temperatures.py): no rounding comes between."""
    high = in_celsius(Amount(None, None, float(degrees), "°F")).high
    assert high == (float(degrees) - 32.0) / 1.8


def test_an_amount_in_celsius_stays_as_it_is() -> None:
    assert in_celsius(Amount(1, 2, 3, "°C")) == Amount(1, 2, 3, "°C")


@pytest.mark.parametrize("written", ["20 d", "5", "warm"])
def test_what_is_no_warmth(written: str) -> None:
    with pytest.raises(ValueError, match=r"quantity|no temperature"):
        warmth(f"{written} @practice", SOURCES)


@pytest.mark.parametrize(
    ("written", "days"),
    [("0 d", Span(0, 0, 0)), ("0..3 d", Span(0, 2, 3)), ("0..2 days", Span(0, 1, 2)), ("all", None)],
)
def test_days_of_a_course(written: str, days: Span | None) -> None:
    assert course_days(f"{written} @practice", SOURCES).value == days


@pytest.mark.parametrize("written", ["a week", "3.. d", "2 °C"])
def test_what_is_no_day_of_a_course(written: str) -> None:
    with pytest.raises(ValueError, match=r"neither 'all' nor days, such as '0\.\.3 d'"):
        course_days(f"{written} @practice", SOURCES)


def test_a_course_of_more_than_a_year_is_a_slip() -> None:
    with pytest.raises(ValueError, match="lies outside 0 to 400 days"):
        course_days("0..500 d @practice", SOURCES)


# Names ---------------------------------------------------------------------------------------------------------------


def test_names_and_titles_are_the_substances(book: Rulebook) -> None:
    """No trade name: each title holds a word of its active substance."""
    for name, treatment in book.treatments.items():
        words = {w.strip(",").lower()[:6] for w in treatment.active.split()} - {"and", "acid", "acids"}
        told = treatment.title.lower()
        assert any(word in told for word in words) or name == "rna_pouch", name


# Records -------------------------------------------------------------------------------------------------------------


def test_the_unions_nine_items_are_columns_of_its_record(book: Rulebook) -> None:
    """Regulation (EU) 2019/6, article 108(2); the batch is not among them, and stands there as practice."""
    fields = book.jurisdictions["eu"].record_fields
    asked = {name for name, cites in fields.items() if any(c.source == "eu_2019_6" for c in cites)}
    assert asked == {
        *("date", "product", "amount", "supplier", "proof", "colonies", "vet", "withdrawal", "duration"),
        "prescription",  # 108(3)
    }
    assert fields["batch"][0].basis is Basis.PRACTICE
    keep = book.jurisdictions["fr"].keep
    assert keep is not None
    assert (keep.value.middle, keep.value.unit) == (5, "years")


def test_british_records_ask_for_the_batch_when_it_is_bought(book: Rulebook) -> None:
    """Veterinary Medicines Regulations 2013, regulation 19(1)."""
    fields = book.jurisdictions["uk"].record_fields
    bought = {name for name, cites in fields.items() if any(c.locus == "19(1)" for c in cites)}
    assert {"batch", "supplier", "bought", "bought_amount"} <= bought


# A file of one's own -------------------------------------------------------------------------------------------------


def test_a_new_treatment_is_a_file_and_no_code(tmp_path: Path) -> None:
    shipped = folder("rules") / "treatments" / "thymol_wafer.yaml"
    own = tmp_path / "own" / "treatments"
    own.mkdir(parents=True)
    (own / "my_wafer.yaml").write_text(shipped.read_text("utf-8").replace("15 g wafers", "wafers of mine"), "utf-8")
    book = load_rulebook(folder("rules"), tmp_path / "own")
    assert set(book.treatments) >= {"my_wafer", "thymol_wafer"}
    assert book.local == {"treatments/my_wafer"}


def test_labels_in_a_circle_are_complained_of_and_nothing_hangs(tmp_path: Path) -> None:
    shipped = (folder("rules") / "treatments" / "thymol_wafer.yaml").read_text("utf-8")
    own = tmp_path / "own" / "treatments"
    own.mkdir(parents=True)
    (own / "w.yaml").write_text(shipped + "  nz: {like: it}\n  it: {like: nz}\n  es: {like: it}\n", "utf-8")
    with pytest.raises(BadInput) as caught:
        load_rulebook(folder("rules"), tmp_path / "own")
    said = [c.what for c in caught.value.complaints]
    assert said == [f"labels.{j}.like: comes back to itself; write one of the labels out" for j in ("nz", "it")]


def test_short_forms_are_the_long_ones() -> None:
    made: Any = labelforms.short("value", "6.. bee_frames")
    assert made.read("6.. bee_frames") == {"value": "6.. bee_frames"}
    assert made.read({"value": "x", "advice": "yes"}) == {"value": "x", "advice": "yes"}


def test_common_facts_hold_of_the_substance_only() -> None:
    assert set(Treatment.model_fields["common"].annotation.model_fields) == {"cite", "kills", "efficacy", "toll"}  # type: ignore[union-attr]


def test_no_treatment_kills_nothing_and_none_is_free(book: Rulebook) -> None:
    """Every course of every label has a share that ends above nothing, whatever the brood, and a cost."""
    for name, treatment in book.treatments.items():
        assert treatment.common.toll.said(), name
        for label in treatment.labels.values():
            found = efficacy_of(treatment, label)
            shares = [share.value for share in (found.any_, found.broodless, found.with_brood) if share]
            assert shares, name
            assert all(share.closed and 0 < (share.high or 0) <= 100 for share in shares), name


def test_what_reaches_cells_says_how_much_of_them(book: Rulebook) -> None:
    """Formic acid is the only substance that does: 86 % of its dead lay in cells in Costa Rica."""
    reach = {name for name, one in book.treatments.items() if one.common.efficacy.in_cells}
    assert reach == {name for name, one in book.treatments.items() if one.class_ == "formic"}


def test_a_label_may_tell_of_another_efficacy(tmp_path: Path) -> None:
    shipped = (folder("rules") / "treatments" / "thymol_wafer.yaml").read_text("utf-8")
    own = tmp_path / "own" / "treatments"
    own.mkdir(parents=True)
    said = "  nz: {like: uk, efficacy: {any: 40..60 % @practice, acts: all @practice}}\n"
    (own / "w.yaml").write_text(shipped + said, "utf-8")
    one = load_rulebook(folder("rules"), tmp_path / "own").treatments["w"]
    assert efficacy_of(one, one.labels["nz"]).any_ != efficacy_of(one, one.labels["uk"]).any_
    assert efficacy_of(one, one.labels["uk"]) is one.common.efficacy


def test_in_austria_vapour_is_the_unions_and_in_germany_there_is_none(book: Rulebook) -> None:
    """What a file says that a state lacks does not fall through to the Union's label."""
    vapour = book.treatments["oxalic_vapour"]
    assert (label_holder(vapour, "at", book), label_holder(vapour, "de", book)) == ("eu", None)


@pytest.mark.parametrize(("treatment", "jurisdiction"), [("oxalic_trickle", "ca"), ("oxalic_vapour", "ca")])
def test_canada_gives_oxalic_acid_without_brood_and_without_supers(
    book: Rulebook, treatment: str, jurisdiction: str
) -> None:
    """The label as the national council copies it: late autumn or early spring, little or no brood, no supers."""
    limits = label(book, treatment, jurisdiction).limits
    assert limits.brood is not None
    assert limits.supers is not None
    assert (limits.brood.state.value, limits.supers.during.value) == ("none", "off")


@pytest.mark.parametrize("jurisdiction", ["de", "at", "eu"])
def test_nobody_opens_a_hive_with_formic_strips(book: Rulebook, jurisdiction: str) -> None:
    """German and Austrian texts: not disturbed while they are in, seven days, and a day before."""
    quiet = label(book, "formic_strips_pair", jurisdiction).limits.quiet
    assert quiet is not None
    assert quiet.before is not None
    assert quiet.after is not None
    assert (quiet.before.value.middle, quiet.after.value.middle, quiet.advice) == (1, 7, False)


def test_the_spanish_record_has_both_days(book: Rulebook) -> None:
    """Real Decreto 608/2006, annex II: start and end, dose, hives, product."""
    fields = book.jurisdictions["es"].record_fields
    asked = {name for name, cites in fields.items() if any(c.source == "es_rd_608_2006" for c in cites)}
    assert {"date", "removed", "amount", "colonies", "product"} <= asked
