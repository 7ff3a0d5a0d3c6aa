"""A club's list, as spreadsheets write it: whole rows become keepers, each bad row one complaint by row and column."""

from __future__ import annotations

import re

import pytest

from ipmcal.enrolling import EXAMPLE_LIST
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.club.keepers import keeper_folder, read_keepers, read_towns
from ipmcal.reading.source.complaints import BadInput

HEAD = "keeper,latitude,longitude,elevation,start,kind,hives,days"
GOOD = "Ada,43.02,-76.30,190 m,2027-05-01,package,2,sat"


def test_the_example_is_in_order(book: Rulebook) -> None:
    club = read_keepers(EXAMPLE_LIST, "list.csv", {}, book)
    assert (len(club.keepers), club.complaints, club.others) == (2, (), ())
    assert club.keepers[0].yard.count("- key:") == 2
    assert "elevation: 189 m" in club.keepers[1].yard, "620 ft are 189 m (0.3048 m a foot, by definition)"


def test_columns_come_in_any_order_and_others_are_left_alone(book: Rulebook) -> None:
    head = "Days;E-Mail;Hives;Kind;Start;Elevation;Longitude;Latitude;Keeper;Large print"
    text = f"{head}\r\nSat;a@b;1;package;1.5.2027;190 m;-76,30;43,02;Ada;yes\r\n"
    club = read_keepers(text, "list.csv", {}, book)
    assert club.complaints == ()
    assert club.others == ("E-Mail",)
    (one,) = club.keepers
    assert one.large
    assert "latitude: 43.02, longitude: -76.30" in one.yard
    assert "began: 2027-05-01 package" in one.yard


BAD = {
    "Ada,43.02,-76.30,190 m,2027-05-01,package,2,someday": ("someday", "days: 'someday' is not a weekday"),
    "Ada,43.02,-76.30,190 m,2027-05-01,package,none,sat": ("none", "hives: 'none' is not a number"),
    "Ada,93.02,-76.30,190 m,2027-05-01,package,2,sat": ("93.02", "latitude: a latitude lies between"),
    "Ada,43.02,-76.30,190 m,2027-05-01,bought,2,sat": ("", "kind: 'bought' is not a way to begin"),
    "Ada,43.02,-76.30,190 m,2027-02-30,package,2,sat": ("", "start: "),
    "Ada,43.02,-76.30,190 m,5/6/2027,package,2,sat": ("", "start: '5/6/2027' can be"),
    "Ada,43.02,-76.30,190 m,2026,package,2,sat": ("", "needs the day"),
    ",43.02,-76.30,190 m,2027-05-01,package,2,sat": ("", "keeper: is empty"),
    "Ada,,,,2027-05-01,package,2,sat": ("", "latitude: '' is not a number of degrees"),
    'Ada,"43.02,-76.30,190 m,2027-05-01,package,2,sat': ("", "double quote"),
    "Bo,43.02,-76.30,190 m,2027-05-01,package,2,sat": ("", "'Bo' stands in row 2; add"),
    "bo!,43.02,-76.30,190 m,2027-05-01,package,2,sat": ("", "would have the folder of 'Bo'"),
}


@pytest.mark.parametrize("row", BAD)
def test_a_bad_row_is_one_complaint_and_stops_no_other(row: str, book: Rulebook) -> None:
    others = (GOOD.replace("Ada", "Bo"), GOOD.replace("Ada", "Cy"))
    club = read_keepers("\n".join((HEAD, others[0], row, others[1])) + "\n", "list.csv", {}, book)
    assert [one.name for one in club.keepers] == ["Bo", "Cy"]
    (complaint,) = club.complaints
    cell, words = BAD[row]
    assert (complaint.file, complaint.line) == ("list.csv", 3)
    assert words in complaint.what
    assert not cell or complaint.column == row.index(cell) + 1


def test_all_that_is_wrong_with_a_row_is_told_at_once(book: Rulebook) -> None:
    """Each fault at its own cell; what only follows from a wrong one (a region, its country) is not told of besides."""
    head = "keeper,town,start,kind,hives,days,program,hive,large_print"
    text = f"{head}\nBo Example,Nowhere,2027-04-31,packge,0,someday,frist_year,langstrot,perhaps"
    found = read_keepers(text, "list.csv", {}, book).complaints
    names = [one.what.partition(":")[0] for one in found]
    assert names == ["town", "start", "kind", "hives", "days", "program", "hive", "large_print"]
    assert [one.column for one in found] == sorted({one.column for one in found})
    text = f"{head}\nBo Example,Nowhere,2027-04-31,package,0,sun,,,"
    names = [one.what.partition(":")[0] for one in read_keepers(text, "list.csv", {}, book).complaints]
    assert names == ["town", "start", "hives"]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("keeper,latitude,start,kind,hive_s,days", "no column 'hives'; is 'hive_s' meant"),
        ("keeper,keeper,start,kind,hives,days", "stands there twice"),
        ("", "is empty"),
    ],
)
def test_a_head_without_what_is_needed_is_refused(head: str, words: str, book: Rulebook) -> None:
    with pytest.raises(BadInput) as bad:
        read_keepers(head + "\n", "list.csv", {}, book)
    assert words in str(bad.value)


def test_a_town_is_found_in_the_keeper_s_own_file(book: Rulebook) -> None:
    towns = read_towns("town,latitude,longitude,elevation\nMilltown,43.02,-76.30,190 m\n", "towns.csv")
    rest = "2027-05-01,package,1,any"
    text = f"keeper,town,start,kind,hives,days\nAda,milltown,{rest}\nBo,Miltown,{rest}\n"
    club = read_keepers(text, "list.csv", towns, book)
    assert "latitude: 43.02" in club.keepers[0].yard
    assert "did you mean 'milltown'?" in club.complaints[0].what


def test_folders_are_plain_names_and_two_names_never_share_one() -> None:
    names = ["Ada Ex", "Дина", "Łukasz", "名前", "7 Hills", "x" * 300, "../up", "CON"]
    folders = [keeper_folder(name) for name in names]
    assert len(set(folders)) == len(folders)
    assert [folder for folder in folders if not re.fullmatch("[a-z][a-z0-9_]{0,59}", folder)] == []
