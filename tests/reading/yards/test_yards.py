"""Yards and outfits: what the keeper wrote, as an ``Outfit``; whatever it is, an outfit or complaints."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Box, Colony, Event, Yard
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.yards import Loaded, load, slug

SHIPPED = folder("rules")
HEAD: dict[str, Any] = {
    "yard": "Orchard",
    "place": {"latitude": "42.11", "longitude": "-76.06", "elevation": "260 m"},
    "region": "us_northeast",
    "jurisdiction": "us",
    "program": "full",
}
COLONY: dict[str, Any] = {"key": "3", "began": "2025 overwintered", "hive": "langstroth_10", "boxes": ["deep", "deep"]}


def write(path: Path, data: Any) -> Path:
    """JSON in which every scalar is a string is read as the YAML that a keeper would write."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(data if isinstance(data, str) else json.dumps(data, ensure_ascii=False), "utf-8")
    return path


def lone(folder: Path, book: Rulebook, /, **changes: Any) -> Loaded:
    """A lone yard file with one colony, some keys changed."""
    data = HEAD | {"colonies": [COLONY]} | changes
    return load(write(folder / "orchard.yaml", data), SHIPPED, book)


def one(folder: Path, book: Rulebook, /, **changes: Any) -> Colony:
    """The colony of a lone yard file, some of its keys changed."""
    return lone(folder, book, colonies=[COLONY | changes]).outfit.yards[0].colonies[0]


def said(path: Path, book: Rulebook) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load(path, SHIPPED, book)
    assert str(path.parent) not in str(caught.value)
    return [str(c) for c in caught.value.complaints]


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


# A lone yard file ----------------------------------------------------------------------------------------------------


def test_a_yard_file_is_an_outfit_of_one(tmp_path: Path, book: Rulebook) -> None:
    loaded = lone(
        tmp_path,
        book,
        days=["sun", "sat", "sat"],
        away="2027-06-01..2027-06-14",
        observed={"first_pollen": "2027-03-20"},
    )
    outfit, yard = loaded.outfit, loaded.outfit.yards[0]
    assert (outfit.id, outfit.name, outfit.journal, len(outfit.yards)) == ("orchard", "Orchard", None, 1)
    assert (yard.key, yard.name, yard.file) == ("orchard", "Orchard", "orchard.yaml")
    assert (yard.latitude, yard.longitude, yard.elevation) == (42.11, -76.06, 260)
    assert (yard.weekdays, yard.away) == ((5, 6), ((day("2027-06-01"), day("2027-06-14")),))
    assert yard.observed == {"first_pollen": day("2027-03-20")}
    assert (yard.fahrenheit, yard.paper) == (True, "letter")  # as the jurisdiction has it
    assert loaded.book is book
    assert (loaded.ledger, loaded.journal) == (tmp_path / "orchard.ledger.json", tmp_path / "orchard.journal.csv")


@pytest.mark.parametrize(("days", "weekdays"), [("any", None), ("sat", (5,)), (["any", "sat"], None), (["mon"], (0,))])
def test_the_keepers_days(days: Any, weekdays: tuple[int, ...] | None, tmp_path: Path, book: Rulebook) -> None:
    assert lone(tmp_path, book, days=days).outfit.yards[0].weekdays == weekdays


def test_units_and_paper_can_be_chosen(tmp_path: Path, book: Rulebook) -> None:
    yard = lone(tmp_path, book, temperature="c", paper="a4").outfit.yards[0]
    assert (yard.fahrenheit, yard.paper) == (False, "a4")


@pytest.mark.parametrize("key", ["010", "no", "off", "3b", "A 1", "Ω", "🐝", "3.1"])
def test_a_key_is_what_is_painted_on_the_hive(key: str, tmp_path: Path, book: Rulebook) -> None:
    text = (
        json.dumps(HEAD)[:-1]
        + f", colonies: [{{key: {key}, began: 2025 overwintered, hive: langstroth_10, boxes: deep}}]}}"
    )
    loaded = load(write(tmp_path / "a.yaml", text), SHIPPED, book)
    assert loaded.outfit.yards[0].colonies[0].key == key


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd",
        "<script>alert(1)</script>",
        "one\ntwo\r\nthree",
        "Bienen 🐝 am Bach",
        "x" * 500,
        "a" * 60 + "/" * 40,
    ],
)
def test_any_name_is_accepted_and_safe(name: str, tmp_path: Path, book: Rulebook) -> None:
    outfit = lone(tmp_path, book, yard=name).outfit
    assert outfit.yards[0].name == " ".join(name.split())
    assert outfit.id == outfit.yards[0].key == "orchard"  # files are named after the yard file, never after the yard


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("orchard", "orchard"),
        ("Hollow Lane", "hollow-lane"),
        ("Übung_2", "ubung_2"),
        ("../x", "x"),
        ("日本", "yard"),
        ("", "yard"),
        ("a" * 90, "a" * 60),
        ("-.-", "yard"),
    ],
)
def test_a_short_name_is_safe(name: str, expected: str) -> None:
    assert slug(name) == expected


@given(st.text(max_size=80))
def test_any_short_name_is_safe(name: str) -> None:
    made = slug(name)
    assert 0 < len(made) <= 60
    assert set(made) <= set("abcdefghijklmnopqrstuvwxyz0123456789_-")
    assert slug(made) == made


# Colonies ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("began", "first", "kind", "text"),
    [
        ("2025 overwintered", "2025-01-01", "overwintered", "2025 overwintered"),
        ("2027-05-02 package", "2027-05-02", "package", "2027-05-02 package"),
        ("2027-05-02   swarm", "2027-05-02", "swarm", "2027-05-02 swarm"),
    ],
)
def test_how_a_colony_began(began: str, first: str, kind: str, text: str, tmp_path: Path, book: Rulebook) -> None:
    colony = one(tmp_path, book, began=began)
    assert (colony.began, colony.kind, colony.began_text) == (day(first), kind, text)


def test_boxes_in_short_and_in_long(tmp_path: Path, book: Rulebook) -> None:
    assert one(tmp_path, book, boxes="deep").boxes == (Box("deep", 10),)
    assert one(tmp_path, book, boxes={"kind": "deep", "frames": "9"}).boxes == (Box("deep", 9),)
    assert one(tmp_path, book, boxes=["deep", {"kind": "medium"}]).boxes == (Box("deep", 10), Box("medium", 10))


@pytest.mark.parametrize(
    ("traps", "slots"),
    [
        ("T1", {"T1": 2}),
        (["T1", "T2"], {"T1": 2, "T2": 9}),  # second from the left, then second from the right
        (["T1", "T2", "T3", "T4"], {"T1": 2, "T2": 9, "T3": 3, "T4": 8}),
        ({"T1": "9", "T2": {}}, {"T1": 9, "T2": 8}),
        ({"T1": {}, "T2": "2"}, {"T1": 3, "T2": 2}),  # what is written comes first
        ({"T1": "1 from right", "T2": "1"}, {"T1": 10, "T2": 1}),
        ({"T1": {"slot": "2", "box": "1"}, "T2": {"slot": "2", "box": "2"}}, {"T1": 2, "T2": 2}),
    ],
)
def test_slots_of_trap_frames(traps: Any, slots: dict[str, int], tmp_path: Path, book: Rulebook) -> None:
    assert {t.name: t.home for t in one(tmp_path, book, traps=traps).traps} == slots


@pytest.mark.parametrize(
    ("boxes", "trap", "box", "frame"),
    [
        (["deep", "deep", "medium"], {}, 2, "three_quarter"),  # the top brood box; the tallest frame that is shorter
        (["deep", "medium"], {"box": "2"}, 2, "shallow"),
        (["shallow"], {}, 1, "shallow"),  # nothing is shorter: the gap is none, which planning says
        (["deep"], {"frame": "shallow"}, 1, "shallow"),
    ],
)
def test_boxes_and_frames_of_traps(
    boxes: list[str], trap: dict[str, str], box: int, frame: str, tmp_path: Path, book: Rulebook
) -> None:
    (made,) = one(tmp_path, book, boxes=boxes, traps={"T1": trap}).traps
    assert (made.box, made.frame) == (box, frame)


def test_the_place_of_a_trap_frame_is_where_it_is_written(tmp_path: Path, book: Rulebook) -> None:
    text = (
        json.dumps(HEAD)[:-1] + ", colonies: [\n{key: 3, began: 2025 overwintered, hive: langstroth_10, boxes: deep,\n"
    )
    listed = load(write(tmp_path / "a.yaml", text + "traps: [T1, T2]}]}"), SHIPPED, book)
    named = load(write(tmp_path / "b.yaml", text + "traps: {T1: 2, T2: 9}}]}"), SHIPPED, book)
    assert [str(t.place) for t in listed.outfit.yards[0].colonies[0].traps] == ["a.yaml:3:9", "a.yaml:3:13"]
    assert [str(t.place) for t in named.outfit.yards[0].colonies[0].traps] == ["b.yaml:3:9", "b.yaml:3:16"]


def test_since_is_a_line_of_the_history(tmp_path: Path, book: Rulebook) -> None:
    history = ["2027-05-01 found T1 all_open", "2027-02-01 hefted heavy"]
    colony = one(tmp_path, book, traps={"T1": {"slot": "2", "since": "2027-02-13"}}, history=history)
    assert [(e.day, e.word, e.trap, e.value) for e in colony.history] == [
        (day("2027-02-01"), "hefted", None, "heavy"),
        (day("2027-02-13"), "trap_hung", "T1", "2"),
        (day("2027-05-01"), "found", "T1", "all_open"),
    ]
    assert isinstance(colony.history[0], Event)


def test_colonies_come_in_walking_order(tmp_path: Path, book: Rulebook) -> None:
    colonies = [
        COLONY | {"key": "1"},
        COLONY | {"key": "2", "walk": "9"},
        COLONY | {"key": "3"},
        COLONY | {"key": "4", "walk": "0"},
    ]
    assert [c.key for c in lone(tmp_path, book, colonies=colonies).outfit.yards[0].colonies] == ["4", "1", "3", "2"]


def test_a_thousand_colonies_and_not_one_more(tmp_path: Path, book: Rulebook) -> None:
    many = [COLONY | {"key": str(i)} for i in range(1001)]
    assert len(lone(tmp_path, book, colonies=many[:1000]).outfit.yards[0].colonies) == 1000
    (said,) = _complaints(tmp_path, book, colonies=many)
    assert said.endswith("colonies: takes 1000 of them at most, and has 1001")


def _complaints(folder: Path, book: Rulebook, /, **changes: Any) -> list[str]:
    with pytest.raises(BadInput) as caught:
        lone(folder, book, **changes)
    return [str(c) for c in caught.value.complaints]


def test_own_tasks(tmp_path: Path, book: Rulebook) -> None:
    tasks = {
        "mow": {"do": "Mow", "opens": "05-01", "closes": ["05-20", "usually season.swarm_start"], "minutes": "20"},
        "look": {"do": "Look", "opens": "2027-05-01", "closes": "2027-05-02", "per": "colony"},
    }
    mow, look = lone(tmp_path, book, tasks=tasks).outfit.yards[0].tasks
    assert (mow.name, mow.minutes, mow.per_colony, [b.anchor for b in mow.closes]) == (
        *("mow", 20, False),
        ["05-20", "season.swarm_start"],
    )
    assert (look.minutes, look.per_colony) == (10, True)


# Outfits -------------------------------------------------------------------------------------------------------------


def outfit(root: Path, **yards: Any) -> Path:
    write(root / "outfit.yaml", 'outfit: club\nname: "The club"\n')
    for name, data in yards.items():
        named = data if isinstance(data, str) else {**data, "yard": data.get("yard", "") + name}
        write(root / f"{name}.yaml", named)
    return root


def yard(*keys: str, **changes: Any) -> dict[str, Any]:
    return HEAD | {"colonies": [COLONY | {"key": key} for key in keys]} | changes


def test_an_outfit(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", b=yard("1", "2"), a=yard("3"))
    write(root / "journal.csv", "date,yard,colony,event\n2027-05-01,a,3,inspected\n2027-04-01,b,3,inspected\n")
    loaded = load(root, SHIPPED, book)
    made = loaded.outfit
    assert (made.id, made.name, [y.key for y in made.yards]) == ("club", "The club", ["a", "b"])
    assert made.yards[0].file == "club/a.yaml"
    assert made.journal is not None
    assert [(e.yard, e.colony) for e in made.journal] == [("b", "3"), ("a", "3")]
    assert (loaded.ledger, loaded.journal) == (root / "ledger.json", root / "journal.csv")


def test_the_examples_load(yards: Path, book: Rulebook) -> None:
    found = [p for p in sorted(yards.iterdir()) if p.is_dir() or p.suffix == ".yaml"]
    assert len(found) > 2
    for path in found:
        assert all(isinstance(y, Yard) for y in load(path, SHIPPED, book).outfit.yards)


def test_a_colony_key_twice_over_two_yards(tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(outfit(tmp_path / "club", a=yard("3"), b=yard("4", "3")), book)
    assert one.startswith("club/b.yaml:1:")
    assert "colonies.key: '3' is taken already (line 1 of club/a.yaml); a key holds for one colony, for life" in one


def test_two_files_with_one_short_name(tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(outfit(tmp_path / "club", **{"a b": yard("3"), "a-b": yard("4")}), book)
    assert one == "club/a-b.yaml has the short name 'a-b', as club/a b.yaml has; give the file another name"


def test_two_yards_of_one_name_are_refused(tmp_path: Path, book: Rulebook) -> None:
    """On paper, in calendars and in messages a yard is its name, however it is spaced or in which letters."""
    root = outfit(tmp_path / "club", a=yard("3"), b=yard("4"))
    for name, word in (("a", "Long Barrow"), ("b", "long  barrow")):
        write(root / f"{name}.yaml", yard(name, yard=word))
    (one,) = said(root, book)
    assert one.startswith("club/b.yaml:1:")
    assert "yard: 'long barrow' is another yard's name too (line 1 of club/a.yaml); add what tells them apart" in one


def test_all_complaints_of_all_files_come_at_once(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", a=yard("3", region="us_north_east"), b=yard("4", colour="red"), c="- [")
    write(root / "outfit.yaml", "outfit: club\n")
    write(root / "journal.csv", "date,yard,colony,event\n2027-05-01,a,99,inspect\n2027-05-01,gone,99,inspected\n")
    write(root / "rules" / "programs" / "x.yaml", 'title: "X"\nchecked: 2026-11-24\nmethods: [mow]\n')
    broken = ["club/b.yaml", "club/c.yaml", "club/outfit.yaml"]
    assert files(said(root, book)) == [*broken, "club/rules/programs/x.yaml"]
    (root / "rules" / "programs" / "x.yaml").unlink()
    assert files(said(root, book)) == ["club/a.yaml", *broken[:2], "club/journal.csv", broken[2]]


def files(complaints: list[str]) -> list[str]:
    return [one.partition(":")[0] for one in complaints]


def test_an_outfit_without_its_file(tmp_path: Path, book: Rulebook) -> None:
    write(tmp_path / "club" / "a.yaml", yard("3"))
    assert said(tmp_path / "club", book) == [
        "club/outfit.yaml is missing; write 'outfit: an_id' and 'name: \"...\"' into it"
    ]


def test_an_outfit_without_yards(tmp_path: Path, book: Rulebook) -> None:
    assert said(outfit(tmp_path / "club"), book) == ["club holds no yard file; a yard file's name ends in '.yaml'"]


def test_a_file_whose_name_ends_otherwise_is_said(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", a=yard("3"))
    write(root / "b.yml", yard("4"))
    assert said(root, book) == ["club/b.yml is not read: a file's name has to end in '.yaml'"]


def test_hidden_files_and_others_are_left_alone(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", a=yard("3"))
    write(root / "._a.yaml", "\x00\x05")
    write(root / "notes.txt", "x")
    (root / "out").mkdir()
    assert len(load(root, SHIPPED, book).outfit.yards) == 1


@pytest.mark.parametrize("name", ["gone.yaml", "gone", "x" * 300 + ".yaml"])
def test_a_path_that_is_not_there(name: str, tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(tmp_path / name, book)
    assert "can't be read: " in one


def test_a_file_name_can_not_break_a_complaint(tmp_path: Path, book: Rulebook) -> None:
    path = write(tmp_path / "a\n\x1b[31mb.yaml", yard("3", region="x"))
    (one,) = said(path, book)
    assert one.startswith("a �[31mb.yaml:1:")
    assert "\n" not in one


# The keeper's own rules ----------------------------------------------------------------------------------------------

METHOD = (
    'title: "Mow"\nchecked: 2026-11-24\ncite: practice\nper: yard\n'
    'steps:\n  mow: {do: "Mow", opens: 05-01, closes: 05-20, minutes: 20 min, logs: done}\n'
)


def test_an_outfits_own_rules_lie_in_its_folder(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", a=yard("3", methods={"add": "mow"}))
    write(root / "rules" / "methods" / "mow.yaml", METHOD)
    loaded = load(root, SHIPPED, book)
    assert loaded.book.local == {"methods/mow"}
    assert loaded.outfit.yards[0].added == ("mow",)


def test_a_lone_yard_names_its_rules(tmp_path: Path, book: Rulebook) -> None:
    write(tmp_path / "rules" / "methods" / "mow.yaml", METHOD)
    assert lone(tmp_path, book).book is book  # a folder beside it is not enough
    assert "mow" in lone(tmp_path, book, rules="rules/").book.methods


def test_a_complaint_about_own_rules_names_them_from_what_was_given(tmp_path: Path, book: Rulebook) -> None:
    root = outfit(tmp_path / "club", a=yard("3", rules="ours"))
    write(root / "ours" / "methods" / "mow.yaml", METHOD.replace("per: yard", "per: yards"))
    (one,) = said(root, book)
    assert one.startswith("club/ours/methods/mow.yaml:4:6 per: 'yards' is not allowed here; did you mean 'yard'?")


@pytest.mark.parametrize(
    ("key", "instead"),
    [
        ("course_moves: 13 d @assumption", "on which it does as good by the mites"),
        ("preference: [reach, best]", "name products in the order of liking"),
        ("winter_bees_within: 21 d @assumption", "late summer round under 'base' of a region"),
    ],
)
def test_a_key_of_an_older_release_in_own_rules_names_what_to_write_instead(
    tmp_path: Path, book: Rulebook, key: str, instead: str
) -> None:
    root = outfit(tmp_path / "club", a=yard("3", rules="ours"))
    write(root / "ours" / "planning.yaml", f"checked: 2026-11-24\n{key}\n")
    told = said(root, book)
    (one,) = [complaint for complaint in told if "no longer a key" in complaint]
    assert one.startswith("club/ours/planning.yaml:2:1 ")
    assert instead in one
    assert told == [one], "and nothing else is amiss"


def test_two_yards_with_different_rules(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "club" / "ours").mkdir(parents=True)
    (one,) = said(outfit(tmp_path / "club", a=yard("3", rules="ours"), b=yard("4", rules="theirs")), book)
    assert "rules: 'theirs' here and 'ours' in club/a.yaml:1:" in one


def test_rules_never_lie_outside(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "club").mkdir()
    (tmp_path / "club" / "link").symlink_to(tmp_path / "elsewhere")
    (tmp_path / "club" / "round").symlink_to("round")
    for name in ("../elsewhere", str(tmp_path / "elsewhere"), "link", "round", "..", "x" * 300):
        found = _complaints(tmp_path / "club", book, rules=name)
        assert len(found) == 1
        assert "is not a folder beside this file" in found[0]


# Anything ------------------------------------------------------------------------------------------------------------

FULL: dict[str, Any] = yard("3", "5") | {
    "days": ["sat"],
    "away": "2027-06-01",
    "observed": {"first_pollen": "2027-03-20"},
    "tasks": {"mow": {"do": "Mow", "opens": "05-01", "closes": "05-20"}},
    "methods": {"add": ["supers"]},
}
FULL["colonies"][0] |= {
    "traps": {"T1": "2", "T2": {"slot": "9", "since": "2027-02-13"}},
    "queen": {"year": "2025", "clipped": "no"},
    "history": ["2027-05-01 found T1 all_open"],
}
SCALARS = st.sampled_from(
    [
        *("", "x", "3", "-1", "0", "99", "yes", "any", "sat", "deep", "T1", "us", "2027-05-01", "2027-02-30", "05-20"),
        *("1..2", "usually season.swarm_start", "2025 overwintered", "0000 overwintered", "2 from right", "43.1"),
        *("9" * 400, "../x", "\n", "🐝", "<b>", "260 m"),
    ]
) | st.text(max_size=6)
ANYTHING = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["key", "slot", "kind", "x", "T1"]), inner)
    ),
    max_leaves=5,
)


def paths(data: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [here, *(path for key, value in steps for path in paths(value, (*here, key)))]


def with_put(data: Any, path: tuple[Any, ...], value: Any) -> Any:
    if not path:
        return value
    copied = dict(data) if isinstance(data, dict) else list(data)
    copied[path[0]] = with_put(data[path[0]], path[1:], value)
    return copied


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("any")


@settings(max_examples=300, deadline=None)
@given(path=st.sampled_from(paths(FULL)), value=ANYTHING)
def test_any_mapping_gives_an_outfit_or_complaints(
    path: tuple[Any, ...], value: Any, place: Path, book: Rulebook
) -> None:
    file = write(place / "any.yaml", json.dumps(with_put(FULL, path, value)))
    try:
        assert isinstance(load(file, SHIPPED, book), Loaded)
    except BadInput as error:
        said = [str(c) for c in error.complaints]
    else:
        return
    assert said
    assert all("\n" not in one and one.startswith("any.yaml") and str(place) not in one for one in said)
