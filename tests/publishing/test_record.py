"""The record on paper and as CSV, read back as an inspector would: the PDF by pdfplumber, the CSV by the csv module."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from planning.test_record import lines, yards
from planning.yards import colony, on, outfit, shipped, yard
from publishing.pdf_reading import pages, texts

from ipmcal.model.outfit.outfit import Keeper
from ipmcal.model.outfit.record import Record
from ipmcal.planning.record import make_record
from ipmcal.publishing.paper.pdf import render
from ipmcal.publishing.record import publish_record, record_csv, record_html

STORY = (
    "2027-08-10 orchard 1 count 9/300",
    "2027-08-14 orchard 1 strips_in Streifen 4 lot K21 by AK",
    "2027-08-14 orchard 2 strips_in Streifen 2 lot K21 by AK",
    "2027-08-14 orchard 3 strips_in Streifen 2 lot K21 by AK",
    "2027-08-28 orchard 2 moved mill",
    "2027-09-04 orchard 3 united 1",
    "2027-09-25 orchard 1 strips_out amitraz_strip 6 by AK",
    "2027-10-02 mill 2 strips_out Streifen 2 by BL",
    "2027-12-11 orchard 1 treated oxalic_trickle 35 mL",
    "2027-12-12 mill 9 strips_in formic_strips_pair 2 by AK",
    "2028-03-06 orchard 1 died",
)
"""An invented year: four hives in two yards, one moved, one united, one dead in spring."""
KEEPER = Keeper("A. Keeper", "1 Fern Lane", "")


def record(*story: str, jurisdiction: str = "us", year: int | None = 2027) -> Record:
    of = outfit(*yards(jurisdiction, jurisdiction), journal=lines(*(story or STORY)))
    of = replace(of, name="Fernhill", products={"Streifen": "amitraz_strip"}, keeper=KEEPER)
    return make_record(of, shipped(), on("2028-03-10"), year)


def read(record: Record) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(record_csv(record), newline=""), strict=True))


# CSV ------------------------------------------------------------------------------------------------------------------


def test_the_csv_reads_back() -> None:
    rows = {(row["hive"], row["treatment"]): row for row in read(record())}
    assert len(rows) == 5
    one = rows["1", "amitraz_strip"]
    assert one["given_on"] == "2027-08-14"
    assert (one["product"], one["own_name"], one["batch"]) == ("Amitraz strips", "Streifen", "K21")
    assert (one["amount"], one["unit"], one["given_by"]) == ("4", "strips", "AK")
    assert (one["taken_out"], one["still_in"], one["last_day"]) == ("4 on 2027-09-25", "0", "2027-09-25")
    assert (one["withdrawal_days"], one["withdrawal_over"], one["keep_until"]) == ("14", "2027-10-09", "2029-09-25")
    assert (one["count_before"], one["became"]) == ("9/300 on 2027-08-10", "died on 2028-03-06")
    assert rows["2", "amitraz_strip"]["taken_out"] == "2 on 2027-10-02 in mill"
    assert rows["3", "amitraz_strip"]["taken_out"] == "2 on 2027-09-25 from hive 1"
    assert rows["3", "amitraz_strip"]["became"] == "united with 1 on 2027-09-04"
    assert (rows["9", "formic_strips_pair"]["still_in"], rows["9", "formic_strips_pair"]["keep_until"]) == ("2", "")
    assert rows["1", "oxalic_trickle"]["batch"] == rows["1", "oxalic_trickle"]["given_by"] == ""


def test_the_csv_has_an_empty_column_for_what_is_filled_in_by_hand() -> None:
    british = read(record(jurisdiction="uk"))[0]
    assert {british[name] for name in ("supplier", "bought", "proof", "vet", "disposed", "disposal")} == {""}
    assert "supplier" not in read(record())[0]
    assert "certificate" in read(record())[0]


def test_lines_of_the_csv_end_as_rfc_4180_has_it_and_awkward_signs_come_back() -> None:
    story = '2027-08-14 orchard 1 strips_in amitraz_strip 2 lot a,"b";é by X'
    made = record(story)
    assert record_csv(made).count("\r\n") == record_csv(made).count("\n") == 2
    assert read(made)[0]["batch"] == 'a,"b";é'


# Paper ----------------------------------------------------------------------------------------------------------------


def test_what_an_inspector_reads() -> None:
    found = texts(render(record_html(record())))
    text = " ".join(found)
    assert "Record of treatments, 2027" in text
    assert "Keeper A. Keeper" in text
    assert "Address 1 Fern Lane" in text
    for words in ("EPA Reg. No.", "87243-1", "K21", "(Streifen)", "4 strips", "nothing to take", "9/300", "25 Sept"):
        assert words in text, words
    assert "Hive 2: moved from Orchard to Mill Field on 28 Aug 2027." in text
    assert "Hive 3: united with 1 on 4 Sept 2027." in text
    assert "Hive 1: died on 6 Mar 2028." in text
    assert "Keep this record 2 years" in text
    for number, page in enumerate(found, 1):
        assert f"page {number} of {len(found)}" in page
        assert "Filled in from the journal of 10 Mar 2028; blanks are to be filled in by hand" in page


def test_a_hive_that_moved_stands_under_both_yards() -> None:
    """Each table names the other yard: where it was given, where it was taken out."""
    text = record_html(record())
    orchard, mill = text.split("<h2>Orchard", 1)[1].split("<h2>Mill Field", 1)
    assert "2 on 2 Oct 2027 at Mill Field by BL" in orchard
    assert "<p>at Orchard</p>" in mill
    assert "<p>2 on 2 Oct 2027 by BL</p>" in mill


def test_the_paper_is_the_yards_lying() -> None:
    for paper, size in (("a4", (842, 595)), ("letter", (792, 612))):
        orchard = replace(yard(colony("1"), key="orchard"), paper=paper)
        of = outfit(orchard, journal=lines("2027-12-11 orchard 1 treated oxalic_trickle 35 mL"))
        with pages(render(record_html(make_record(of, shipped(), on("2028-01-01"))))) as opened:
            assert [(round(page.width), round(page.height)) for page in opened] == [size]


def test_hives_that_got_the_same_share_a_line() -> None:
    story = [f"2027-12-11 orchard {key} treated oxalic_trickle 35 mL lot 7 by AK" for key in "123"]
    html = record_html(record(*story))
    assert "<p>1, 2 and 3</p>" in html
    assert "<p>35 mL each,</p><p>105 mL in all</p>" in html


@pytest.mark.parametrize("jurisdiction", ["us", "uk", "de", "fr", "au", "nz", "ca"])
def test_every_column_that_is_asked_for_is_there(jurisdiction: str) -> None:
    from ipmcal.publishing.record import HEADS

    text = " ".join(texts(render(record_html(record(jurisdiction=jurisdiction)))))
    law = shipped().jurisdictions[jurisdiction]
    for name in law.record_fields:
        if name != "yard":
            for word in HEADS[name][0].split():  # a heading may be broken over lines
                assert word in text, (jurisdiction, name)


def test_years_from_no_source_are_said_to_be_assumed() -> None:
    assert "The years are an assumption" in record_html(record(jurisdiction="nz"))
    assert "The years are an assumption" not in record_html(record(jurisdiction="uk"))


def test_nothing_in_the_journal_is_said() -> None:
    html = record_html(record(year=2031))
    assert "No treatment is in the journal for Orchard and Mill Field." in html


def test_what_a_keeper_writes_is_no_markup() -> None:
    html = record_html(record("2027-08-14 orchard 1 strips_in amitraz_strip 2 lot <b>1</b> by <i>X</i>"))
    assert "<b>1" not in html
    assert "&lt;b&gt;1&lt;/b&gt;" in html


def test_the_lines_stay_on_the_paper() -> None:
    """Forty hives, long batch numbers: no letter is cut off at an edge."""
    story = [f"2027-08-14 orchard {key} strips_in amitraz_strip 2 lot {'X' * 30}{n} by AB" for n, key in
             enumerate(["1", "2", "3"] * 13)]  # fmt: skip
    with pages(render(record_html(record(*story, jurisdiction="de")))) as opened:
        assert len(opened) > 1
        for page in opened:
            assert min(char["x0"] for char in page.chars) > 20
            assert max(char["x1"] for char in page.chars) < page.width - 20
            assert max(char["bottom"] for char in page.chars) < page.height - 10


# Files ----------------------------------------------------------------------------------------------------------------


def test_the_same_record_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        done = publish_record(record(), tmp_path / name)
        assert done.documents == ("treatments-2027.csv", "treatments-2027.html", "treatments-2027.pdf")
    for name in done.documents:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_the_command(tmp_path: Path) -> None:
    (tmp_path / "orchard.yaml").write_text(
        'yard: "Orchard"\nplace: {latitude: 42.11, longitude: -76.06, elevation: 260 m}\nregion: us_northeast\n'
        "jurisdiction: us\nprogram: full\ncolonies:\n"
        "  - {key: 1, began: 2025 overwintered, hive: langstroth_10, boxes: [deep]}\n",
        "utf-8",
    )
    (tmp_path / "orchard.journal.csv").write_text(
        "date,yard,colony,event,value,note\n2027-08-14,orchard,1,strips_in,amitraz_strip 2,\n"
        "2027-09-25,orchard,1,strips_out,amitraz_strip 3,\n",
        "utf-8",
    )
    command = [sys.executable, "-W", "error", "-m", "ipmcal", "record", "orchard.yaml", "--year", "2027"]
    done = subprocess.run(
        [*command, "--as-of", "2028-01-01"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1, done.stderr
    assert done.stdout == (
        "Orchard: 2 applications in 2027. treatments-2027.csv, treatments-2027.html, treatments-2027.pdf in "
        "out/orchard.\n"
        "  to put right: orchard.journal.csv:3:1: 1 of amitraz_strip taken out of hive 1, and no line says when they "
        "went in.\n"
    )
    assert sorted(p.name for p in (tmp_path / "out" / "orchard").iterdir()) == [
        "treatments-2027.csv", "treatments-2027.html", "treatments-2027.pdf"
    ]  # fmt: skip
