"""The rulebook: what we ship loads, a keeper's own files lie over it, and all complaints come at once."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook, cited_values
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.source.complaints import BadInput

SHIPPED = folder("rules")
METHOD = """\
title: "Mow"
checked: 2026-11-24
cite: practice
per: yard
steps:
  mow: {do: "Mow", opens: 05-01, closes: 05-20, minutes: 20 min, logs: done}
"""


@pytest.fixture
def own(tmp_path: Path) -> Callable[..., Path]:
    """A folder of rules with some files."""

    def make(**files: str) -> Path:
        for key, text in files.items():
            path = tmp_path / "own" / f"{key.replace('__', '/')}.yaml"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
        return tmp_path / "own"

    return make


def complaints(shipped: Path, local: Path | None = None) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load_rulebook(shipped, local)
    for path in (shipped.parent, local.parent if local else shipped.parent):
        assert str(path) not in str(caught.value)
    return [str(c) for c in caught.value.complaints]


# What we ship --------------------------------------------------------------------------------------------------------


def test_what_we_ship_loads_without_a_complaint(book: Rulebook) -> None:
    files = {p.relative_to(SHIPPED).with_suffix("").as_posix() for p in SHIPPED.rglob("*.yaml")}
    assert {*book.files, "sources"} == files
    assert book.local == frozenset()


def test_every_value_has_a_source_of_the_bibliography(book: Rulebook) -> None:
    values = [value for file in book.files.values() for value in cited_values(file)]
    assert len(values) > 1000
    for value in values:
        assert value.cites, value.text
        assert {cite.source for cite in value.cites} <= set(book.sources), value.text


def test_every_value_knows_the_line_that_it_stands_in(book: Rulebook) -> None:
    lines = {
        f"rules/{p.relative_to(SHIPPED).as_posix()}": p.read_text("utf-8").split("\n") for p in SHIPPED.rglob("*.yaml")
    }
    for file in book.files.values():
        for value in cited_values(file):
            place = value.place if hasattr(value, "place") else value.text.place
            assert lines[place.file][place.line - 1][place.column - 1 :].lstrip("\"'").startswith(str(value.text)[:6])


def test_equal_files_give_an_equal_rulebook(book: Rulebook) -> None:
    assert load_rulebook(SHIPPED) == book


def test_loading_everything_takes_less_than_a_third_of_a_second() -> None:
    def once() -> float:
        begin = time.perf_counter()
        load_rulebook(SHIPPED)
        return time.perf_counter() - begin

    assert min(once() for _ in range(3)) < 0.3


# A keeper's own ------------------------------------------------------------------------------------------------------


def test_a_new_method_is_a_new_file_and_no_code(own: Callable[..., Path], book: Rulebook) -> None:
    made = load_rulebook(SHIPPED, own(methods__mow=METHOD))
    assert set(made.methods) == {*book.methods, "mow"}
    assert made.local == {"methods/mow"}


def test_a_file_of_the_same_name_replaces_the_shipped_one_whole(own: Callable[..., Path], book: Rulebook) -> None:
    made = load_rulebook(SHIPPED, own(methods__mite_count=METHOD))
    assert made.methods["mite_count"].title == "Mow"
    assert list(made.methods["mite_count"].steps) == ["mow"]
    assert set(made.methods) == set(book.methods)
    assert made.regions == book.regions


def test_an_empty_folder_changes_nothing(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "own").mkdir()
    assert load_rulebook(SHIPPED, tmp_path / "own") == book


def test_the_name_in_complaints_can_be_given(own: Callable[..., Path]) -> None:
    with pytest.raises(BadInput, match=r"^club/rules/methods/mow\.yaml:1:1 unknown key 'titel'"):
        load_rulebook(SHIPPED, own(methods__mow=METHOD.replace("title", "titel")), "club/rules")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("method/mow.yaml", "there is no kind of rule 'method/'; did you mean 'methods'?"),
        ("mow.yaml", "is not a rule file by its name; did you mean"),
        ("makrs.yaml", "is not a rule file by its name; did you mean 'marks.yaml'?"),
        ("methods/mow.yml", "is not read: a file's name has to end in '.yaml'"),
        ("methods/Mow it.yaml", "its name is the rule's id: use small letters, digits and '_', begin with a letter"),
    ],
)
def test_a_file_that_would_never_be_read_is_said(name: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "own" / name
    path.parent.mkdir(parents=True)
    path.write_text(METHOD, "utf-8")
    (one,) = complaints(SHIPPED, tmp_path / "own")
    assert one.startswith(f"own/{name} {words}")


def test_hidden_files_are_left_alone(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "own" / "methods").mkdir(parents=True)
    (tmp_path / "own" / "methods" / "._mow.yaml").write_bytes(b"\x00\x05\x16\x07")
    assert load_rulebook(SHIPPED, tmp_path / "own") == book


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    assert complaints(SHIPPED, tmp_path / "own") == ["own is not a folder of rules"]


# Complaints ----------------------------------------------------------------------------------------------------------


def test_complaints_of_all_files_come_at_once_in_order(own: Callable[..., Path]) -> None:
    local = own(
        methods__a=METHOD.replace("title", "titel"),
        methods__b=METHOD + "x: [\n",
        methods__c=METHOD.replace("logs: done", "logs: dun"),
        methods__d="",
        programs__e='title: "E"\nchecked: 2026-11-24\nmethods: [mite_count, mow]\n',
    )
    assert [c.partition(" ")[0] for c in complaints(SHIPPED, local)] == [
        "own/methods/a.yaml:1:1",
        "own/methods/b.yaml:8:1",
        "own/methods/c.yaml:6:72",
        "own/methods/d.yaml:1:1",
        "own/programs/e.yaml:3:23",
    ]


def test_what_refers_to_a_broken_file_is_no_fault(own: Callable[..., Path]) -> None:
    local = own(
        methods__mow=METHOD.replace("title", "titel"), programs__e='title: "E"\nchecked: 2026-11-24\nmethods: [mow]\n'
    )
    assert {c.partition(":")[0] for c in complaints(SHIPPED, local)} == {"own/methods/mow.yaml"}


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the shipped rules, to break."""
    return Path(shutil.copytree(SHIPPED, tmp_path / "rules"))


@pytest.mark.parametrize("name", ["sources", "marks", "events", "biology", "hives", "planning", "counting", "mites"])
def test_a_file_that_has_to_be_there(name: str, copy: Path) -> None:
    (copy / f"{name}.yaml").unlink()
    assert complaints(copy) == [f"rules/{name}.yaml is missing"]


def test_a_broken_bibliography_hides_no_other_complaint(copy: Path) -> None:
    sources = copy / "sources.yaml"
    sources.write_text(
        sources.read_text("utf-8").replace("kind: practice, basis: practice", "kind: custom", 1), "utf-8"
    )
    count = copy / "methods" / "mite_count.yaml"
    count.write_text(count.read_text("utf-8").replace("logs: count", "logs: counts", 1), "utf-8")
    first, second = complaints(copy)
    assert first.startswith("rules/methods/mite_count.yaml:")
    assert "'counts'" in first
    assert second.startswith("rules/sources.yaml:")
    assert "'custom' is not allowed here; allowed: paper, book" in second


def test_a_bibliography_that_is_no_yaml_is_the_only_complaint(copy: Path) -> None:
    (copy / "sources.yaml").write_text("sources: [\n", "utf-8")
    (one,) = complaints(copy)
    assert one.startswith("rules/sources.yaml:")


def test_what_a_state_leaves_out_holds_as_in_its_country(tmp_path: Path) -> None:
    (tmp_path / "jurisdictions").mkdir()
    (tmp_path / "jurisdictions" / "us_hills.yaml").write_text(
        'title: "A state of hills"\nchecked: 2027-01-01\nwithin: us\ninspector: "the hills\' inspector"\n'
    )
    book = load_rulebook(folder("rules"), tmp_path)
    state, country = book.jurisdictions["us_hills"], book.jurisdictions["us"]
    assert (state.title, state.inspector) == ("A state of hills", "the hills' inspector")
    assert (state.temperature, state.paper, state.thresholds) == (
        country.temperature,
        country.paper,
        country.thresholds,
    )


def test_a_jurisdiction_alone_says_everything_itself(tmp_path: Path) -> None:
    (tmp_path / "jurisdictions").mkdir()
    (tmp_path / "jurisdictions" / "isle.yaml").write_text('title: "An isle"\nchecked: 2027-01-01\npaper: a4\n')
    with pytest.raises(BadInput) as caught:
        load_rulebook(folder("rules"), tmp_path)
    assert [c.what for c in caught.value.complaints] == [
        "the key 'inspector' is missing",
        "the key 'temperature' is missing",
    ]
